"""``homeleg day now``: every run as it is expected from now on, and the promises that are at risk before they are late."""

from typing import TYPE_CHECKING, Annotated

import typer

from cli.day_options import BOOK, Book, On, Who

if TYPE_CHECKING:
    from collections.abc import Iterator

    from planner.desk.expected import RunAhead
    from planner.model.day import Day

At = Annotated[str, typer.Option("--at", help="Look from this time of the planning day; now when not given.")]


def now(at: At = "", book: Book = BOOK, who: Who = "", on: On = None) -> None:
    """Tell where every run is, its next visit, who will be late and whom to ring, and what is left of the driver's hours."""
    from cli.day_desk import at_desk
    from cli.day_under_way import standing
    from planner.desk.expected import expected

    with at_desk(book, actor=who, on=on) as desk:
        stand = standing(desk, at)
    day, clock = stand.kept.day, stand.kept.day.clock
    ahead = expected(day, stand.kept.plan, stand.progress)
    print(f"{desk.on} at {clock.wall(stand.progress.now_min)}, version {stand.version.number}:")
    for one in ahead:
        print("\n".join(_lines(day, one)))
    late = [risk for one in ahead for risk in one.at_risk]
    print(f"{len(late)} promise{'s' if len(late) > 1 else ''} at risk." if late else "No promise is at risk.")
    print("Hours are a planning aid: the operator's transport manager, the tachograph and the law decide.")


def _lines(day: "Day", one: "RunAhead") -> "Iterator[str]":
    from planner.units import hours_text

    run, wall = one.run, day.clock.wall
    crew = " with ".join(str(name) for name in (run.itinerary.driver, run.itinerary.transporter, run.itinerary.carrier) if name)
    heard = "" if one.is_heard_of else "  (nothing heard)"
    if one.next_visit is None:
        yield f"  {run.run_id}  {crew:18} home {wall(run.end_min)}{heard}"
    else:
        visit = run.visits[one.next_visit]
        window = f", window to {wall(visit.window.closes_min)}" if visit.window else ""
        left = "" if one.tightest is None else f", {hours_text(one.tightest.slack)} left of {one.tightest.rule}"
        yield (f"  {run.run_id}  {crew:18} next {day.place_of[visit.place].name} {wall(visit.start_min)}{window}; "
               f"home {wall(run.end_min)}{left}{heard}")  # fmt: skip
    if one.stopped:
        yield f"       stopped: {one.stopped}. Replan with 'homeleg day replan'."
    if one.rule:
        yield f"       cannot be kept: {one.says} ({one.rule})"
    for risk in one.at_risk:
        by = f"late by {risk.late_min} min" if risk.late_min else "nearly late"
        yield (f"       {risk.order}: {by}, expected {wall(risk.expected_min)}, promised before {wall(risk.closes_min)}; "
               f"ring {risk.buyer}, {risk.phone}")  # fmt: skip
