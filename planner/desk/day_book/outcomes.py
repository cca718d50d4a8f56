"""
Outcomes: how a period's promises were kept and what its plans cost, told by the book alone.

A promise counts on the day of the first version that speaks of it.  It is kept when the work at the door began before the
window closed; it began on arrival where that was told, else as long before the car was handed over as the plan allowed for
the handover.  What nobody told of is neither kept nor broken.

An order that is still open after its promised day broke its promise then: delivered later it is counted apart, as delivered at
last, or as late where no plan of its promised day had ever spoken of it.
"""

from collections import Counter
from collections.abc import Iterable, Iterator, Mapping
from collections.abc import Set as AbstractSet
from dataclasses import dataclass, field
from datetime import date, datetime, timedelta
from typing import Any

from planner.desk.day_book.entries import Event
from planner.desk.day_book.happenings import ENDS, Happening
from planner.desk.day_book.queue import LOOK_BACK
from planner.desk.day_book.reader import Reader
from planner.desk.plan_changes import promised_until
from planner.model.day import Day
from planner.model.moves import MoveKind
from planner.model.orders import Order
from planner.runs.plan import Plan

NOT_PLANNED = "not planned"


@dataclass(frozen=True, kw_only=True, slots=True)
class DayOutcome:
    """
    One day: promises by how they ended, money in pence.

    ``planned_pence`` is the cost of the first version published, ``final_pence`` of the last; both with what stays behind.
    """

    day: date
    promised: int = 0
    kept: int = 0
    late: int = 0
    failed: Mapping[str, int] = field(default_factory=dict)  # by cause
    untold: int = 0
    at_last: int = 0  # delivered although the promise was broken on an earlier day
    versions: int = 0
    planned_pence: int = 0
    final_pence: int = 0


def promises(day: Day, plan: Plan, *, spoken_of: AbstractSet[str] = frozenset()) -> dict[str, Any]:
    """
    Return each promise of a plan's day: when its window closes, planned minutes at the door; None where nobody goes there.

    ``spoken_of`` are the orders of which a plan of an earlier day spoke; one of them that is overdue is marked ``again``.
    """
    ends = {move: visit for run in plan.runs for visit in run.visits for move in visit.leaves}
    found: dict[str, Any] = {
        str(order.ref): None for order in day.held if order.promise.day <= day.clock.day and not _is_again(day, order, spoken_of)
    }  # fmt: skip
    for move in day.moves:
        if move.kind is not MoveKind.DELIVERY or move.order is None:
            continue
        visit, order = ends.get(move.move_id), day.order_of[move.order]
        if visit is not None and visit.place != order.door.place_id:
            continue  # the first part of a move that was cut in two where its crew stopped, or a car on its way back
        if visit is None:
            found |= {} if _is_again(day, order, spoken_of) else {str(order.ref): None}
            continue
        closes = 0 if order.promise.day < day.clock.day else promised_until(day, move.move_id, visit)
        found[str(order.ref)] = {
            "closes": day.clock.iso(closes) if closes is not None else None, "work_min": visit.end_min - visit.start_min,
            **({"again": True} if _is_again(day, order, spoken_of) else {}),
        }  # fmt: skip
    return found


def _is_again(day: Day, order: Order, spoken_of: AbstractSet[str]) -> bool:
    return order.promise.day < day.clock.day and str(order.ref) in spoken_of


def spoken_of(reader: Reader, before: date) -> frozenset[str]:
    """Return the orders of which a plan published for one of the 60 days before a day spoke."""
    first, last = before - LOOK_BACK, before - timedelta(days=1)
    held = reader.between("version", first.isoformat(), last.isoformat())
    return frozenset(ref for one in held for ref in one.value.get("promises", {}))


def outcomes(reader: Reader, first: date, last: date) -> list[DayOutcome]:
    """Return the outcome of each day from ``first`` to ``last``, both included, of which a plan was published."""
    days = (first + timedelta(days=number) for number in range((last - first).days + 1))
    found = (day_outcome(day, reader.events(day=day.isoformat())) for day in days)
    return [one for one in found if one is not None]


def day_outcome(day: date, events: Iterable[Event]) -> DayOutcome | None:
    """Return the outcome of a day by its events, None when no plan of it was published."""
    versions, road, promised = list[Any](), dict[str, Any](), dict[str, Any]()
    for event in events:
        if event.thing == "version" and event.after:
            versions.append(event.after)
            promised |= {ref: said for ref, said in event.after.get("promises", {}).items() if said or ref not in promised}
        elif event.thing == "road":
            road[event.subject] = event.after
    if not versions:
        return None
    told = [one for one in road.values() if one is not None]
    again = {ref: promised.pop(ref) for ref in [ref for ref, said in promised.items() if said and said.get("again")]}
    at_last = sum(_end(ref, said, told) in ("kept", "late") for ref, said in again.items())
    ends = Counter(_end(ref, said, told) for ref, said in promised.items())
    kept, late, untold = ends.pop("kept", 0), ends.pop("late", 0), ends.pop("", 0)
    return DayOutcome(
        day=day, promised=len(promised), kept=kept, late=late, failed=dict(sorted(ends.items())), untold=untold,
        at_last=at_last, versions=len(versions), planned_pence=versions[0]["cost_pence"], final_pence=versions[-1]["cost_pence"],
    )  # fmt: skip


def _end(ref: str, said: Any, told: Iterable[Mapping[str, Any]]) -> str:
    own = [one for one in told if one["order"] == ref]
    end = next((one for one in own if Happening(one["what"]) in ENDS), None)
    if end is None:
        return NOT_PLANNED if said is None else ""
    if end["what"] != Happening.HANDED_OVER:
        return str(end["what"])
    arrived = [one["at"] for one in own if one["what"] == Happening.ARRIVED]
    began = datetime.fromisoformat(arrived[0]) if arrived else _before(end["at"], said)
    closes = said["closes"] if said else None
    return "kept" if closes is None or began < datetime.fromisoformat(closes) else "late"


def _before(at: str, said: Any) -> datetime:
    return datetime.fromisoformat(at) - timedelta(minutes=said["work_min"] if said else 0)


def total(days: Iterable[DayOutcome]) -> Iterator[tuple[str, int]]:
    """Yield the figures of a period by name: promises, how they ended, and pence."""
    days = list(days)
    for name in ("promised", "kept", "late", "untold", "at_last"):
        yield name, sum(getattr(one, name) for one in days)
    causes = Counter[str]()
    for one in days:
        causes.update(one.failed)
    yield from ((f"failed: {cause}", count) for cause, count in sorted(causes.items()))
    yield "planned_pence", sum(one.planned_pence for one in days)
    yield "replan_pence", sum(one.final_pence - one.planned_pence for one in days)
