"""``homeleg day now`` and ``replan``: every run as it is expected from now on, promises at risk, and the day planned anew."""

from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from cli.day_options import BOOK, Book, On, Who

if TYPE_CHECKING:
    from collections.abc import Iterator

    from planner.desk.run_ahead import RunAhead
    from planner.model.day import Day
    from planner.model.progress import Progress
    from planner.runs.plan import Plan
    from planner.runs.run import Run

At = Annotated[str, typer.Option("--at", help="Look from this time of the planning day; now when not given.")]


def now(at: At = "", book: Book = BOOK, who: Who = "", on: On = None) -> None:
    """Tell where every run is, its next visit, who will be late and whom to ring, and what is left of the driver's hours."""
    from cli.day_desk import at_desk
    from cli.day_under_way import standing
    from planner.desk.run_ahead import runs_ahead

    with at_desk(book, actor=who, on=on) as desk:
        stand = standing(desk, at)
    day, clock = stand.kept.day, stand.kept.day.clock
    ahead = runs_ahead(day, stand.kept.plan, stand.progress)
    print(f"{desk.on} at {clock.wall(stand.progress.now_min)}, version {stand.version.number}:")
    for one in ahead:
        print("\n".join(_lines(day, one)))
    late = [risk for one in ahead for risk in one.at_risk]
    print(f"{len(late)} promise{'s' if len(late) > 1 else ''} at risk." if late else "No promise is at risk.")
    print("Hours are a planning aid: the operator's transport manager, the tachograph and the law decide.")


def _lines(day: "Day", one: "RunAhead") -> "Iterator[str]":
    from planner.runs.run import RunKind
    from planner.units import hours_text

    run, wall = one.run, day.clock.wall
    crew = _crew(run)
    heard = "" if one.is_heard_of else "  (nothing heard)"
    if run.kind is RunKind.HIRED:
        yield f"  {run.run_id}  {crew:18} hired; the carrier alone knows its hours{heard}"
    elif one.next_visit is None:
        yield f"  {run.run_id}  {crew:18} home {wall(run.end_min)}{heard}"
    else:
        visit = run.visits[one.next_visit]
        window = f", window to {wall(visit.window.closes_min)}" if visit.window else ""
        left = "" if one.tightest is None else f"; {hours_text(one.tightest.slack)} left ({one.tightest.rule})"
        yield (f"  {run.run_id}  {crew:18} next {day.place_of[visit.place].name} {wall(visit.start_min)}{window}; "
               f"home {wall(run.end_min)}{left}{heard}")  # fmt: skip
    if one.stopped:
        yield f"       stopped: {one.stopped}. Replan with 'homeleg day replan'."
    if one.rule:
        yield f"       cannot be kept: {one.says} ({one.rule})"
    for risk in one.at_risk:
        if risk.is_stranded:
            yield (f"       {risk.order}: no crew comes until the day is planned anew, promised before {wall(risk.closes_min)}; "
                   f"ring {risk.buyer}, {risk.phone}")  # fmt: skip
            continue
        by = f"late by {risk.late_min} min" if risk.late_min else "nearly late"
        yield (f"       {risk.order}: {by}, expected {wall(risk.expected_min)}, promised before {wall(risk.closes_min)}; "
               f"ring {risk.buyer}, {risk.phone}")  # fmt: skip


def _crew(run: "Run") -> str:
    return " with ".join(str(name) for name in (run.itinerary.driver, run.itinerary.transporter, run.itinerary.carrier) if name)


def _stands(day: "Day", plan: "Plan", progress: "Progress") -> "Iterator[tuple[str, str]]":
    """Yield each crew that stopped after its first visit, and where it is held to be."""
    for run in plan.runs:
        told = progress.of(run.run_id)
        if told is not None and told.stopped is not None and told.visits:
            place = told.stopped.place or run.visits[len(told.visits) - 1].place
            yield _crew(run), day.place_of[place].name


def replan(
    out: Annotated[Path, typer.Option(help="Folder for the draft: plan.json and the board.")],
    at: At = "", seconds: Annotated[float, typer.Option(min=1, help="Longest time to search.")] = 8,
    book: Book = BOOK, who: Who = "", on: On = None,
) -> None:  # fmt: skip
    """
    Plan anew from now, a draft until it is published.

    What is done stays, what is under way goes on; fewest promises are broken, then fewest orders change crew, then money.
    """
    from cli.day_desk import at_desk
    from cli.day_under_way import standing
    from cli.plan_files import write_plan
    from planner.desk.day_book.happenings import ROUTINE
    from planner.desk.day_book.planning import draw_up
    from planner.desk.plan_changes import in_words, plan_changes, was_before
    from planner.runs.past import with_silent
    from planner.search.replan_today import replan_today

    with at_desk(book, actor=who, on=on) as desk:
        stand = standing(desk, at)
        old = stand.kept
        progress = with_silent(old.plan, stand.progress)
        silent = [str(item.run) for item in progress.runs if stand.progress.of(item.run) is None]
        new = replan_today(old.day, old.plan, progress, seconds=seconds)
        changes = plan_changes(old.day, old.plan, new.day, new.plan)
        told, was = tuple(in_words(new.day, changes)), was_before(old.day, changes)
        write_plan(new.day, new.plan, out, made_at=desk.now, sheets=False, changes=told, was=was)
        with desk.book.change(actor=desk.actor, at=datetime.now().astimezone(), seen=stand.last_event) as change:
            change.expect_fresh_day(desk.on, routine=ROUTINE)
            draw_up(change, new.day, new.plan, raw=(out / "plan.json").read_bytes())
    print(f"{desk.on} from {new.day.clock.wall(stand.progress.now_min)}, against version {stand.version.number}:")
    for line in told:
        print(f"  {line}")
    for crew, place in _stands(old.day, old.plan, progress):
        print(f"  {crew} cannot go on: held to stand at {place}, where it was last; what is aboard is fetched from there.")
    if silent:
        print(f"  Nothing was heard of {', '.join(silent)}: held to be as planned.")
    for left in new.plan.not_placed:
        print(f"  stays behind: {left.move}: {left.reason}")
    for run, refusal in new.cannot:
        print(f"  {run} cannot be finished within the rules: {refusal.says} ({refusal.rule}). Ring the transport manager.")
    broken, moved = len(new.broken), len(new.moved)
    print(f"{broken} promise{'s' * (broken != 1)} broken, {moved} move{'s' * (moved != 1)} with another crew.")
    print(f"A draft in {out}; make it hold with 'homeleg day publish {out} --out DIR'.")
    print("Hours are a planning aid: the operator's transport manager, the tachograph and the law decide.")
