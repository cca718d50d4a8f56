"""Moves left behind: the price of each, and the reason in words that a router can act on."""

from collections.abc import Collection, Iterable
from dataclasses import replace

from planner.model.day import Day
from planner.model.moves import Move, MoveId
from planner.runs.costing import price
from planner.runs.plan import NotPlaced
from planner.runs.refusal import Refusal
from planner.runs.run import Run
from planner.runs.timing import lay_out
from planner.search.single import alone, lead_moves
from planner.units import pounds_text


def left_behind(day: Day, runs: Iterable[Run], *, out: Collection[str] = ()) -> tuple[NotPlaced, ...]:
    """Return every move that no run takes, in the order of the day; drivers and transporters that are ``out`` could take none."""
    able = replace(
        day, drivers=tuple(one for one in day.drivers if one.driver_id not in out),
        transporters=tuple(one for one in day.transporters if one.transporter_id not in out),
    ) if out else day  # fmt: skip
    placed = {move for run in runs for move in run.itinerary.moves}
    busy = {name for run in runs for name in (*run.itinerary.drivers, run.itinerary.carrier) if name}
    reasons: dict[MoveId, str] = {}
    for move in lead_moves(day):
        if move.move_id not in placed:
            reasons[move.move_id] = reason(able, move, busy)
            follower = day.part_exchange_of.get(move.move_id)
            if follower is not None:
                reasons[follower.move_id] = f"Stays behind with its delivery {move.move_id}."
    return tuple(
        NotPlaced(move=move.move_id, pence=move.stays_behind_pence, reason=reasons[move.move_id])
        for move in day.moves
        if move.move_id in reasons
    )


def reason(day: Day, move: Move, busy: Collection[str]) -> str:
    """Return why the move stays behind: what hinders every crew, or that the crews that could are better used."""
    refusals: list[Refusal] = []
    cheapest: tuple[int, str] | None = None
    for itinerary in alone(day, move, one_of_each=True):
        answer = lay_out(day, itinerary)
        if isinstance(answer, Refusal):
            refusals.append(answer)
            continue
        pence = sum(line.pence for line in price(day, answer))
        who = itinerary.driver or itinerary.carrier or ""
        if cheapest is None or pence < cheapest[0]:
            cheapest = (pence, who)
    if cheapest is not None:
        pence, who = cheapest
        word = "is taken" if who in busy else "is dearer than leaving it"
        return f"{who} could do it alone for {pounds_text(pence)} but {word}; one more such crew or carrier would place it."
    if not refusals:
        return "No crew or carrier is on duty."
    nearest = min(refusals, key=lambda refusal: (refusal.short_by_min is None, refusal.short_by_min or 0))
    others = len({refusal.says for refusal in refusals}) - 1
    short = f" ({nearest.short_by_min} minutes short)" if nearest.short_by_min else ""
    rest = f"; {others} other reason{'s' if others > 1 else ''} for the rest" if others else ""
    return f"No crew can: {nearest.says.removesuffix('.')}{short}{rest}."
