"""
Transfers ahead: cars sold for a later day, offered to today's plan as transfers to the compound nearest their buyer.

What is paid for one is what its delivery would cost less from there, by a rate of the policy, so that a plan moves a car
the day or night before only where that pays.  A transfer that the plan leaves breaks no promise and is taken out again.
"""

from collections.abc import Iterable
from dataclasses import replace
from datetime import date

from planner.model.day import Day
from planner.model.moves import Move, MoveId, MoveKind
from planner.model.places import Compound, Place, PlaceId
from planner.model.policy import Policy
from planner.runs.plan import Plan
from planner.units import pounds_text

LEAST_NEARER_KM = 30.0  # less is not worth a second loading (common practice)
ENDING = ".AHEAD"


def ahead_id(order: str) -> MoveId:
    """Return the identifier of the transfer that goes ahead of an order."""
    return MoveId(f"{order}{ENDING}")


def is_ahead(move: Move) -> bool:
    """Return whether the move is a transfer offered here."""
    return move.kind is MoveKind.TRANSFER and move.move_id.endswith(ENDING)


def transfer_ahead(
    delivery: Move, *, promised: date, today: date, door: Place, stands_at: Compound, compounds: Iterable[Compound],
    policy: Policy,
) -> Move | None:  # fmt: skip
    """
    Return the transfer that would bring a later delivery's car to the open compound nearest its door.

    None where no compound is nearer by much, the promise is too far ahead, or the policy pays nothing for it.
    """
    if policy.ahead_pence_per_km <= 0 or not 0 < (promised - today).days <= policy.ahead_days or stands_at.window is None:
        return None
    from geopy.distance import great_circle

    def km(compound: Compound) -> float:
        away: float = great_circle((compound.place.lat, compound.place.lng), (door.lat, door.lng)).km
        return away

    nearest = min((item for item in compounds if item.window is not None), key=lambda item: (km(item), item.place_id))
    nearer_km = km(stands_at) - km(nearest)
    if nearer_km < LEAST_NEARER_KM:
        return None
    return replace(
        delivery, move_id=ahead_id(delivery.move_id), kind=MoveKind.TRANSFER, destination=nearest.place_id,
        destination_window=None, destination_min=0, no_large_vehicle=False, order=None, pinned_driver=None,
        pinned_transporter=None, stays_behind_pence=round(nearer_km * policy.ahead_pence_per_km),
    )  # fmt: skip


def without_idle(day: Day, plan: Plan) -> tuple[Day, Plan]:
    """
    Return day and plan without the transfers ahead that stay where they are, and a note on each that goes.

    What they would have been paid goes off the bound too: a plan of the smaller day costs that much less than it does as a
    plan of the larger one, so the figure still holds.
    """
    behind = {left.move: left.pence for left in plan.not_placed if is_ahead(day.move_of[left.move])}
    gone = [move for move in day.moves if is_ahead(move) and move.move_id not in behind]
    notes = tuple(_note(move.move_id.removesuffix(ENDING), move.destination, move.stays_behind_pence) for move in gone)
    if plan.bound is not None:
        plan = replace(plan, bound=replace(plan.bound, pence=max(0, plan.bound.pence - sum(behind.values()))))
    return (
        replace(day, moves=tuple(move for move in day.moves if move.move_id not in behind), notes=day.notes + notes),
        replace(plan, not_placed=tuple(left for left in plan.not_placed if left.move not in behind)),
    )


def _note(order: str, to: PlaceId, pence: int) -> str:
    return (
        f"{order} is for a later day and goes ahead to {to}, which should save some {pounds_text(pence)} on its delivery; "
        f"write {to} as where it stands once it is there."
    )
