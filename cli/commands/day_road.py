"""``homeleg day event`` and ``take-back``: what is rung in from the road, one thing at a time or as a form of many."""

from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from cli.day_options import BOOK, Book, On, Who

if TYPE_CHECKING:
    from cli.day_desk import Desk
    from planner.clock import DayClock
    from planner.desk.day_book.happenings import Happening

Rehearsal = Annotated[
    bool, typer.Option("--rehearsal", envvar="HOMELEG_REHEARSAL", help="The day is played through, so nothing is too early."),
]  # fmt: skip


def event(
    who: Annotated[str, typer.Argument(help="Order, driver, transporter or run; or a form, FILE.csv.", metavar="WHO")],
    what: Annotated[list[str] | None, typer.Argument(help="What happened, as in: handed over; nobody home; late 40.")] = None,
    at: Annotated[str, typer.Option(help="When: 10:40, or '2026-11-27 00:20'; now when not given.")] = "",
    says: Annotated[str, typer.Option(help="What else was said; no names, please.")] = "",
    rehearsal: Rehearsal = False, book: Book = BOOK, who_am_i: Who = "", on: On = None,
) -> None:  # fmt: skip
    """
    Record what happened on the road, while you are on the telephone, or from a form of many rows.

    What can happen: on duty, left, arrived, collected, handed over, refused, nobody home, failed its check, not reached,
    part-exchange not as described, cancelled, late MINUTES, breakdown, going again, driver ill, off duty.
    """
    from cli.day_desk import at_desk
    from planner.clock import DayClock

    with at_desk(book, actor=who_am_i, on=on) as desk:
        clock = DayClock(date.fromisoformat(desk.on))
        now_min = minute_of(desk, clock)
        if what:
            _one(desk, clock, who, what, at, says, None if rehearsal else now_min)
        else:
            _form(desk, clock, Path(who), None if rehearsal else now_min)


def minute_of(desk: "Desk", clock: "DayClock") -> int:
    """Return the minute of the planning day that it is."""
    return int((desk.now - clock.midnight).total_seconds() // 60)


def _one(desk: "Desk", clock: "DayClock", who: str, what: list[str], at: str, says: str, now_min: int | None) -> None:
    from planner.desk.day_book.refusals import NotSo
    from planner.desk.day_book.road_events import Told
    from planner.desk.day_book.road_log import record

    happened, late_min = words_of(what)
    at_min = minute_at_desk(desk, clock, at)
    told = Told(who=who, what=happened, at_min=at_min, late_min=late_min, says=says)
    with desk.change() as change:
        new, faults = record(change, [told], clock, now_min=now_min)
        if faults:
            raise NotSo("\n".join(f"{who}: {fault.says}. {fault.advice}" for fault in faults))
    late = f" by {late_min} minutes" if late_min is not None else ""
    print(f"{who}: {happened.value}{late} at {clock.wall(at_min)}{'' if new else '; the book has it already'}.")


def minute_at_desk(desk: "Desk", clock: "DayClock", at: str) -> int:
    """
    Return the minute of the planning day of a time as typed; now when it is blank.

    Raises
    ------
    NotSo
        If it is blank and the planning day is far from now.

    """
    from planner.desk.day_book.refusals import NotSo
    from planner.desk.day_book.road import EARLIEST_MIN, LATEST_MIN
    from planner.desk.day_book.road_form import when
    from planner.desk.intake_atlas import minute_at
    from planner.desk.intake_cells import CellFault

    if not at:
        now_min = minute_of(desk, clock)
        if not EARLIEST_MIN <= now_min <= LATEST_MIN:
            raise NotSo(f"It is {clock.local(now_min):%H:%M on %Y-%m-%d}, not near the planning day {desk.on}. "
                        "Give a time of that day with --at, as in --at 10:40, or another day with --date.")  # fmt: skip
        return now_min
    try:
        day, wall = when(at)
    except CellFault as fault:
        raise typer.BadParameter(f"{at!r}: {fault.says}. {fault.advice}") from None
    return minute_at(clock, wall, day or clock.day)


def words_of(what: list[str]) -> "tuple[Happening, int | None]":
    """Return what typed words say happened, and the minutes when they end with a number."""
    from planner.desk.day_book.happenings import happening
    from planner.desk.intake_cells import CellFault

    words = [word for word in what if word.casefold() not in ("by", "min", "minutes")]
    minutes = int(words.pop()) if len(words) > 1 and words[-1].isdigit() else None
    try:
        return happening(" ".join(words)), minutes
    except CellFault as fault:
        raise typer.BadParameter(f"{' '.join(what)!r}: {fault.says}. {fault.advice}") from None


def _form(desk: "Desk", clock: "DayClock", path: Path, now_min: int | None) -> None:
    from cli.day_folder import read_table
    from planner.desk.day_book.road_form import problems_of, read_form
    from planner.desk.day_book.road_log import record
    from planner.faults import BadFiles, Problem

    if path.suffix not in (".csv", ".xlsx"):
        raise typer.BadParameter(f"say what happened to {path}, or give a form: FILE.csv or FILE.xlsx")
    table = read_table(path)
    problems: list[Problem] = []
    rows = read_form(table, clock, problems)
    with desk.change() as change:
        new, faults = record(change, [told for _, told in rows], clock, now_min=now_min)
        problems += problems_of(table.file, rows, faults)
        if problems:
            raise BadFiles(sorted(problems, key=lambda problem: problem.row or 0))
    print(f"{path.name}: {new} new, {len(rows) - new} known already.")


def take_back(
    entry: Annotated[int, typer.Argument(help="Number of the entry, as the story shows it.")],
    book: Book = BOOK, who: Who = "", on: On = None,
) -> None:  # fmt: skip
    """Take back something that was told of the road and was not so; both stay in the book."""
    from cli.day_desk import at_desk
    from planner.desk.day_book.road_log import take_back as undo

    with at_desk(book, actor=who, on=on) as desk, desk.change() as change:
        what = undo(change, entry)
    print(f"Taken back: {what}.")
