"""
Report: what each car and each run of some days cost and used, as rows from which every table and picture is made.

Costs are those of the plan, shared among the cars of a run (:mod:`planner.runs.sharing`); charges are without tax, so that
the two compare.  Whatever a row cannot know is None.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import date
from decimal import Decimal

from planner.desk.quote_offers import offers_alone
from planner.model.cars import Fuel
from planner.model.day import Day
from planner.model.moves import Move, MoveId, MoveKind
from planner.runs.costing import wage_of
from planner.runs.crew_fit import aboard_after
from planner.runs.driven_legs import DrivenLeg, driven_legs
from planner.runs.emissions import emissions
from planner.runs.plan import Plan
from planner.runs.run import ActivityKind, Run, RunKind
from planner.runs.sharing import direct_metres, retimed_cost, share_costs
from planner.runs.shift import duty_min
from planner.units import pence

KEPT, LATE, HELD = "kept", "not kept", "held back"


@dataclass(frozen=True, kw_only=True, slots=True)
class CarRow:
    """One move of one day; ``outcome`` is "" for moves without a promise, ``run`` "" for what was not done."""

    day: date
    move: str
    kind: MoveKind
    order: str
    by: RunKind | None
    run: str
    area: str  # letters of the buyer's postcode
    nation: str
    metres: int
    cost_pence: int
    charge_net_pence: int | None
    grams: int
    outcome: str
    alone_pence: int | None = None  # a part-exchange fetched on a journey of its own
    added_pence: int | None = None  # what it added to its run


@dataclass(frozen=True, kw_only=True, slots=True)
class RunRow:
    """One run of one day.  ``slot_metres`` is how far each slot was driven, ``used_slot_metres`` with a car in it."""

    day: date
    run: str
    kind: RunKind
    crew: str
    transporter: str
    cars: int
    cost_pence: int
    duty_min: int
    drive_min: int
    overtime_min: int
    metres: int
    empty_metres: int
    support_metres: int
    ride_min: int
    slots: int
    most_aboard: int
    slot_metres: int
    used_slot_metres: int
    litres: float
    kwh: float
    grams: int
    nights: int


@dataclass(frozen=True, kw_only=True, slots=True)
class DayRow:
    """What one day had to offer, and what was left."""

    day: date
    drivers: int
    drivers_used: int
    transporters: int
    transporters_used: int
    held: int
    behind: int
    behind_pence: int


@dataclass(frozen=True, kw_only=True, slots=True)
class Report:
    """Every row of the days reported on."""

    cars: tuple[CarRow, ...]
    runs: tuple[RunRow, ...]
    days: tuple[DayRow, ...]


def report(days: Sequence[tuple[Day, Plan]], *, vat_percent: Decimal = Decimal(20)) -> Report:
    """
    Return the rows of some planned days.

    Parameters
    ----------
    days
        Each day with its plan, in any order.
    vat_percent
        The tax that is in the charges, and comes off them here.

    """
    ordered = sorted(days, key=lambda item: item[0].clock.day)
    return Report(
        cars=tuple(row for day, plan in ordered for row in car_rows(day, plan, vat_percent)),
        runs=tuple(run_row(day, run) for day, plan in ordered for run in plan.runs),
        days=tuple(day_row(day, plan) for day, plan in ordered),
    )


def car_rows(day: Day, plan: Plan, vat_percent: Decimal) -> Iterator[CarRow]:
    """Yield every move of a day: done, left behind, or held back as an order."""
    for run in plan.runs:
        shares = {share.move: share.pence for share in share_costs(day, run)}
        grams = emissions(day, run).of_move
        for move_id in run.itinerary.moves:
            row = _car_row(day, day.move_of[move_id], vat_percent, outcome=_promise(day, move_id, run))
            alone, added = _part_exchange(day, run, move_id)
            yield replace(
                row, by=run.kind, run=str(run.run_id), cost_pence=shares[move_id], grams=grams[move_id],
                alone_pence=alone, added_pence=added,
            )  # fmt: skip
    for left in plan.not_placed:
        move = day.move_of[left.move]
        outcome = LATE if move.kind is MoveKind.DELIVERY else ""
        yield _car_row(day, move, vat_percent, outcome=outcome)
    for order in day.held:
        if order.promise.day <= day.clock.day:
            yield CarRow(
                day=day.clock.day, move=str(order.ref), kind=MoveKind.DELIVERY, order=str(order.ref), by=None, run="",
                area=area_of(order.door.postcode), nation=order.door.nation, metres=0, cost_pence=0,
                charge_net_pence=_net(order.charge_pence, vat_percent), grams=0, outcome=HELD,
            )  # fmt: skip


def _car_row(day: Day, move: Move, vat_percent: Decimal, *, outcome: str) -> CarRow:
    order = day.order_of.get(move.order) if move.order is not None else None
    door = day.place_of[move.destination if move.kind is MoveKind.DELIVERY else move.origin]
    charge = order.charge_pence if order is not None and move.kind is MoveKind.DELIVERY else None
    return CarRow(
        day=day.clock.day, move=str(move.move_id), kind=move.kind, order=str(move.order or ""), by=None, run="",
        area=area_of(door.postcode), nation=door.nation, metres=direct_metres(day, move.move_id), cost_pence=0,
        charge_net_pence=_net(charge, vat_percent), grams=0, outcome=outcome,
    )  # fmt: skip


def _net(charge_pence: int | None, vat_percent: Decimal) -> int | None:
    return None if charge_pence is None else pence(Decimal(charge_pence) * 100 / (100 + vat_percent))


def area_of(postcode: str) -> str:
    """
    Return the letters with which a postcode begins, "?" when there is none.

    >>> area_of("YO1 7HH"), area_of("m1 1ae"), area_of("")
    ('YO', 'M', '?')
    """
    letters = ""
    for letter in postcode.strip().upper():
        if not letter.isalpha():
            break
        letters += letter
    return letters or "?"


def _promise(day: Day, move_id: MoveId, run: Run) -> str:
    """Return whether the delivery starts inside its window on its promised day; "" where nothing was promised."""
    move = day.move_of[move_id]
    order = day.order_of.get(move.order) if move.order is not None else None
    if move.kind is not MoveKind.DELIVERY:
        return ""
    visit = next((visit for visit in run.visits if move_id in visit.leaves), None)
    window = move.destination_window
    in_window = visit is not None and (window is None or window.opens_min <= visit.start_min < window.closes_min)
    on_day = order is None or order.promise.day >= day.clock.day
    return KEPT if in_window and on_day else LATE


def _part_exchange(day: Day, run: Run, move_id: MoveId) -> tuple[int | None, int | None]:
    """Return what fetching a part-exchange on its own would cost, and what it added to its run."""
    move = day.move_of[move_id]
    if move.kind is not MoveKind.PART_EXCHANGE:
        return None, None
    free = replace(move, tied_to=None)
    moves = tuple(free if other.move_id == move_id else other for other in day.moves)
    alone = offers_alone(replace(day, moves=moves), free).best
    without = retimed_cost(day, run, frozenset((move_id,)))
    added = None if without is None else run.cost_pence - without
    return (alone[0].extra_pence if alone else None), added


def run_row(day: Day, run: Run) -> RunRow:
    """Return one run as a row."""
    itinerary, legs = run.itinerary, driven_legs(day, run)
    transporter = day.transporter_of[itinerary.transporter] if itinerary.transporter else None
    slots = transporter.slots if transporter else 0
    own = [leg for leg in legs if leg.vehicle.key != "support car"]
    support = [leg for leg in legs if leg.vehicle.key == "support car"]
    return RunRow(
        day=day.clock.day,
        run=str(run.run_id),
        kind=run.kind,
        crew=_crew(day, run),
        transporter=transporter.name if transporter else "",
        cars=len(itinerary.moves),
        cost_pence=run.cost_pence,
        duty_min=duty_min(run),
        drive_min=_minutes(run, ActivityKind.DRIVE),
        overtime_min=_overtime(day, run),
        metres=_metres(own),
        empty_metres=_metres([leg for leg in own if not leg.aboard]),
        support_metres=_metres(support),
        ride_min=_minutes(run, ActivityKind.RIDE),
        slots=slots,
        most_aboard=max((len(aboard) for _, aboard in aboard_after(itinerary)), default=0),
        slot_metres=slots * _metres(own),
        used_slot_metres=sum(leg.metres * len(leg.aboard) for leg in own) if slots else 0,
        litres=sum(leg.burnt for leg in legs if leg.vehicle.fuel is not Fuel.ELECTRIC),
        kwh=sum(leg.burnt for leg in legs if leg.vehicle.fuel is Fuel.ELECTRIC),
        grams=emissions(day, run).grams,
        nights=run.nights,
    )


def _metres(legs: Sequence[DrivenLeg]) -> int:
    return sum(leg.metres for leg in legs)


def _minutes(run: Run, kind: ActivityKind) -> int:
    return sum(step.end_min - step.start_min for step in run.activities if step.kind is kind)


def _overtime(day: Day, run: Run) -> int:
    drivers = [day.driver_of[name] for name in run.itinerary.drivers]
    return sum(max(0, duty_min(run) - wage_of(day, driver).overtime_after_min) for driver in drivers)


def _crew(day: Day, run: Run) -> str:
    if run.itinerary.carrier is not None:
        return day.carrier_of[run.itinerary.carrier].name
    return " and ".join(day.driver_of[name].name for name in run.itinerary.drivers)


def day_row(day: Day, plan: Plan) -> DayRow:
    """Return what a day had to offer and what was left of it."""
    drivers = {name for run in plan.runs for name in run.itinerary.drivers}
    transporters = {run.itinerary.transporter for run in plan.runs if run.itinerary.transporter}
    return DayRow(
        day=day.clock.day,
        drivers=len(day.drivers),
        drivers_used=len(drivers),
        transporters=len(day.transporters),
        transporters_used=len(transporters),
        held=len(day.held),
        behind=len(plan.not_placed),
        behind_pence=sum(left.pence for left in plan.not_placed),
    )
