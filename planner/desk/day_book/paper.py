"""
Paper: which sheets of a new version differ from those that the crews hold, so that only these are printed again.

What a crew has done already is no news on paper, nor is a door of its run under way that is reached a few minutes earlier or
later; other stops, cars, places, orders or hours are.
"""

from functools import cache
from hashlib import sha256
from typing import Any

from planner.desk.day_book.change import Change
from planner.desk.day_book.documents import kept_plan
from planner.desk.day_book.entries import Put
from planner.desk.day_book.seal import canonical
from planner.desk.plan_changes import SLIGHT_MIN
from planner.model.day import Day
from planner.model.documents import to_document
from planner.runs.plan import Plan
from planner.runs.plan_document import PlanFile
from planner.runs.run import Run, Visit


def put_sheets(change: Change, day: Day, plan: Plan, *, sha: str) -> tuple[tuple[str, ...], tuple[str, ...]]:
    """
    Put what each crew's sheet of a plan shows; return the runs whose sheet is new, and crews whose sheet is withdrawn.

    ``sha`` is that of the plan's file, by which it is kept.
    """
    on = day.clock.day.isoformat()
    before = {subject.removeprefix(f"{on} "): value for subject, value in change.standing("sheet", on).items()}

    @cache
    def held(plan_sha: str) -> PlanFile | None:
        return kept_plan(change, plan_sha)

    puts, new = [], []
    for run in plan.runs:
        crew, shown = crew_of(run), sha256(canonical(_on_paper(day, run)).encode()).hexdigest()
        old = before.pop(crew, None)
        if old is not None and (old["sha"] == shown or ("plan" in old and _still_holds(held(old["plan"]), crew, day, run))):
            continue
        new.append(str(run.run_id))
        value = {
            "sha": shown, "version_of_sheet": 1 if old is None else int(old["version_of_sheet"]) + 1, "plan": sha,
            "begins": day.clock.iso(run.start_min), "ends": day.clock.iso(run.end_min),
            "transporter": run.itinerary.transporter, "support_driver": run.itinerary.support_driver,
            "carrier": run.itinerary.carrier,
        }  # fmt: skip
        puts.append(Put(kind="new sheet", thing="sheet", subject=f"{on} {crew}", value=value, topic=crew, day=on))
    gone = tuple(sorted(before))
    puts += [
        Put(kind="sheet withdrawn", thing="sheet", subject=f"{on} {crew}", value=None, topic=crew, day=on) for crew in gone
    ]  # fmt: skip
    change.put_all(puts)
    return tuple(new), gone


def crew_of(run: Run) -> str:
    """Return by what name a run's sheet is kept: its driver, or the carrier with the move it takes."""
    itinerary = run.itinerary
    return str(itinerary.driver) if itinerary.driver else f"{itinerary.carrier} {itinerary.moves[0]}"


def _on_paper(day: Day, run: Run) -> list[Any]:
    """Return everything that a run's sheets show; its number in the plan and how far it has got do not count."""
    return [*_decided(run), to_document(run.activities), to_document(run.visits), _orders(day, run)]


def _decided(run: Run) -> list[Any]:
    plan = run.itinerary
    return [to_document(part) for part in (plan.driver, plan.support_driver, plan.transporter, plan.carrier, plan.stops)]


def _orders(day: Day, run: Run) -> Any:
    refs = {move.order for name in run.itinerary.moves if (move := day.move_of[name]).order in day.order_of}
    return to_document(tuple(day.order_of[ref] for ref in sorted(str(ref) for ref in refs)))  # type: ignore[index]


def _still_holds(held: PlanFile | None, crew: str, day: Day, run: Run) -> bool:
    """Return whether the sheet that a crew holds still tells what is ahead of it."""
    old = next((one for one in held.plan.runs if crew_of(one) == crew), None) if held is not None else None
    if held is None or old is None or run.itinerary.past is None:
        return False
    done = len(run.itinerary.past.visits)
    return (
        _decided(old) == _decided(run) and _orders(held.day, old) == _orders(day, run)
        and all(_same(*pair) for pair in zip(old.visits[done:], run.visits[done:], strict=True))
        and abs(old.end_min - run.end_min) < SLIGHT_MIN
    )  # fmt: skip


def _same(old: Visit, new: Visit) -> bool:
    slight = abs(old.start_min - new.start_min) < SLIGHT_MIN
    return slight and (old.place, old.leaves, old.takes, old.slots) == (new.place, new.leaves, new.takes, new.slots)
