"""``homeleg hours``: a driver's activities against the hours rules, legal or the first breach."""

import sys
from enum import StrEnum
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

if TYPE_CHECKING:
    from planner.desk.hours_file import HoursFile
    from planner.rules.hours_verdict import Verdict
    from planner.rules.timetable_shapes import LimitUse


class BookName(StrEnum):
    """The rule books by the vehicle driven."""

    OVER_3500 = "over-3500"
    UP_TO_3500 = "up-to-3500"
    PLATES = "plates"


def hours(
    file: Annotated[Path, typer.Argument(help="Activities, one a line, such as: drive 270.", metavar="FILE|-")],
    book: Annotated[BookName, typer.Option(help="The rules of the vehicle driven.")] = BookName.OVER_3500,
    as_json: Annotated[bool, typer.Option("--json", help="Print the verdict as JSON.")] = False,
) -> None:
    """Check hours: a week of driving, work, breaks and rests, legal or not; exits 1 when it is not."""
    import json

    from planner.desk.hours_file import read_hours
    from planner.rules.books import book_named
    from planner.rules.hours_verdict import judge

    record = read_hours(_text(file), name="standard input" if str(file) == "-" else file.name)
    verdict = judge(
        [(line.doing, line.minutes) for line in record.lines], book=book_named(book), week=record.week,
        calendar=record.calendar, drivers=record.drivers, is_resting_on=record.is_resting_on,
    )  # fmt: skip
    if as_json:
        print(json.dumps(_document(record, verdict), indent=2, ensure_ascii=False))
    else:
        print("\n".join(_lines(record, verdict)))
    if not verdict.is_legal:
        raise typer.Exit(1)


def _text(file: Path) -> str:
    from planner.faults import BadFiles, Problem

    try:
        raw = sys.stdin.buffer.read() if str(file) == "-" else file.read_bytes()
        return raw.decode("utf-8-sig")
    except (OSError, UnicodeDecodeError) as fault:
        advice = "Name a text file that is there, in UTF-8, or - for standard input."
        raise BadFiles([Problem(file=str(file), says=f"cannot be read: {fault}", advice=advice)]) from None


def _document(record: "HoursFile", verdict: "Verdict") -> dict[str, Any]:
    breach = verdict.first_breach
    found = None
    if breach is not None:
        line = record.lines[verdict.breach_at or 0]
        found = {
            "rule": breach.rule, "says": breach.says, "limit": breach.limit, "value": breach.value, "source": breach.source,
            "line": line.line, "activity": line.doing.value, "after_min": breach.at_min,
            "at": record.calendar.shown(breach.at_min),
        }  # fmt: skip
    return {
        "legal": verdict.is_legal,
        "book": verdict.book.name,
        "vehicles": verdict.book.title,
        "law": verdict.book.law,
        "first_breach": found,
        "counters": [
            {"rule": item.rule, "used": item.used, "limit": item.limit, "slack": item.limit - item.used, "source": item.source}
            for item in verdict.counters
        ],
        "notes": list(verdict.notes),
    }


def _lines(record: "HoursFile", verdict: "Verdict") -> list[str]:
    breach = verdict.first_breach
    lines = [f"{'Legal' if breach is None else 'Not legal'} by the rules for {verdict.book.title}."]
    if breach is not None:
        line = record.lines[verdict.breach_at or 0]
        when = f" ({record.calendar.shown(breach.at_min)})" if record.calendar.midnight is not None else ""
        lines.append(f"Line {line.line}, {line.doing} {line.minutes}{when}: {breach.says} ({breach.source})")
    lines.append("")
    lines.append("Used and allowed " + ("at the end:" if breach is None else "before that line:"))
    lines += [f"  {item.rule:<62} {_amount(item, item.used):>8} of {_amount(item, item.limit):>8}   {item.source}"
              for item in verdict.counters]  # fmt: skip
    return [*lines, "", *verdict.notes]


def _amount(item: "LimitUse", value: int) -> str:
    from planner.units import hours_text

    return str(value) if item.is_count else hours_text(value)
