"""
A desk of its own process that writes to a day book: run as ``python book_writer.py WHERE NAME SECONDS``.

Each change adds one to a counter that all desks share (read, add, write on what was seen; again when refused as stale) and
puts three things of its own; only when it is committed is its number printed.
"""

import sys
import time
from datetime import UTC, datetime

from planner.desk.day_book.book import open_book
from planner.desk.day_book.refusals import StaleView

DAY = "2026-11-26"


def add_one(book, name, number):
    """Return after how many refusals it was done."""
    for refused in range(10_000):
        with book.reading() as reader:
            seen, count = reader.last_event, (reader.value("counter", "shared") or {"n": 0})["n"]
        try:
            with book.change(actor=name, at=datetime.now(UTC), seen=seen) as change:
                change.expect_fresh("shared")
                change.put("counted", "counter", "shared", {"n": count + 1}, topic="shared", day=DAY)
                for part in range(3):
                    change.put("wrote", "part", f"{name}-{number}-{part}", {"n": number}, topic=name, day=DAY)
        except StaleView:
            continue
        return refused
    raise AssertionError("refused ten thousand times")


def main(where, name, seconds):
    number = refusals = 0
    with open_book(where) as book:
        until = time.monotonic() + float(seconds)
        while number == 0 or time.monotonic() < until:
            refusals += add_one(book, name, number)
            print(number, refusals, flush=True)
            number += 1


if __name__ == "__main__":
    main(*sys.argv[1:])
