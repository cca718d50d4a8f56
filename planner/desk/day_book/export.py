"""
The auditor's export: every entry of the book, or of a day or a topic, as rows that a spreadsheet reads, with its seal.

Buyers appear by number alone.  ``at`` is UTC, ``in_words`` goes by the office's clocks.  ``seal`` is the SHA-256 of the seal
before it, followed by the entry's id, change, at, actor, kind, day, topic, thing, subject, before and after as a JSON list
without spaces, names sorted: anybody can work it out.
"""

import csv
import io
from collections.abc import Iterator

from planner.desk.day_book.reader import Reader
from planner.desk.day_book.seal import SEALED, canonical
from planner.desk.day_book.words import sentence

COLUMNS = (*SEALED, "seal", "in_words")


def rows(reader: Reader, *, day: str | None = None, topic: str | None = None) -> Iterator[str]:
    """Yield lines of CSV, the headings first; values before and after are JSON, blank where there was or is none."""
    yield _line(COLUMNS)
    for event in reader.events(day=day, topic=topic):
        fields = [getattr(event, name) for name in SEALED[:-2]]
        values = ["" if value is None else canonical(value) for value in (event.before, event.after)]
        yield _line([*("" if field is None else field for field in fields), *values, event.seal, sentence(event)])


def _line(cells: "tuple[str, ...] | list[object]") -> str:
    text = io.StringIO()
    csv.writer(text, lineterminator="\n").writerow(cells)
    return text.getvalue()
