"""Outcomes in a report: how the promises of each day ended and what its plans cost at last, as the day book was told."""

from collections.abc import Sequence

from planner.desk.day_book.outcomes import DayOutcome
from planner.desk.report_tables import Cell, Table, Unit


def outcome_table(days: Sequence[DayOutcome]) -> Table:
    """Return a row for each day of which the book has a published plan, and their sum in the last row."""
    rows = [(one.day, *_cells([one])) for one in days]
    return Table(
        key="outcomes", title="Promises as they ended, by the day book",
        columns=(
            ("day", Unit.DAY), ("promised", Unit.COUNT), ("kept", Unit.COUNT), ("late", Unit.COUNT), ("failed", Unit.COUNT),
            ("not told", Unit.COUNT), ("of earlier days, delivered at last", Unit.COUNT), ("share kept", Unit.SHARE),
            ("cost as first planned", Unit.POUNDS), ("cost of the last plan", Unit.POUNDS),
        ),
        rows=(*rows, (None, *_cells(days))),
        note="The last row is the period. The share is of the promises of which anybody told the end. The cost of the last plan "
        "holds what replanning changed, and what stays behind; hours really worked are not in it.",
    )  # fmt: skip


def _cells(days: Sequence[DayOutcome]) -> tuple[Cell, ...]:
    promised, kept, late, untold = (sum(getattr(one, name) for one in days) for name in ("promised", "kept", "late", "untold"))
    failed = sum(sum(one.failed.values()) for one in days)
    told = promised - untold
    return (
        promised, kept, late, failed, untold, sum(one.at_last for one in days), kept / told if told else None,
        sum(one.planned_pence for one in days), sum(one.final_pence for one in days),
    )  # fmt: skip
