"""
What the day book takes: ``python -m tests.bench.day_book big`` (100,000 orders, 1,000,000 events) or ``... hammer`` (a minute).

``big`` times opening a day and one order's story, each in a process that has the book's modules loaded and the file just
opened; ``hammer`` lets two processes write to one day for a minute and counts what was lost.
"""

import subprocess
import sys
import tempfile
import time
from datetime import UTC, date, datetime, timedelta
from pathlib import Path

from planner.desk.day_book import proof
from planner.desk.day_book.book import open_book
from planner.desk.day_book.entries import Put

ORDERS, ROUNDS, A_DAY = 100_000, 10, 100


def fill(where: str) -> None:
    """Put each order ten times, a hundred orders to a day."""
    first, at = date(2024, 1, 1), datetime(2024, 1, 1, 9, tzinfo=UTC)
    with open_book(where, may_make=True) as book:
        for round_ in range(ROUNDS):
            for start in range(0, ORDERS, 5000):
                at += timedelta(minutes=1)
                with book.change(actor="bench", at=at) as change:
                    change.put_all(
                        Put(kind="read", thing="order", subject=f"LL-{n}", topic=f"LL-{n}", day=(first + timedelta(n // A_DAY)).isoformat(),
                            value={"registration": f"QQ{n:06d}", "make_model": "Corvane Lumo", "state": "ready", "round": round_})
                        for n in range(start, start + 5000)
                    )


def big(where: str) -> None:
    began = time.perf_counter()
    fill(where)
    print(f"filled in {time.perf_counter() - began:.1f} s")
    for number in (0, 500, 999):
        day = (date(2024, 1, 1) + timedelta(number)).isoformat()
        began = time.perf_counter()
        with open_book(where) as book, book.reading() as reader:
            orders = len(reader.now(day=day))
            opened = time.perf_counter() - began
            began = time.perf_counter()
            story = len(list(reader.events(topic=f"LL-{number * A_DAY + 7}")))
            told = time.perf_counter() - began
        print(f"{day}: opened with {orders} orders in {opened:.3f} s; a story of {story} events in {told:.4f} s")
    began = time.perf_counter()
    with open_book(where) as book, book.reading() as reader:
        print(f"{reader.last_event} events proved, {len(list(proof.faults(reader)))} faults, in {time.perf_counter() - began:.1f} s")


def hammer(where: str, seconds: int = 60) -> None:
    open_book(where, may_make=True).close()
    words = [sys.executable, "-m", "tests.planner.desk.book_writer", where]
    both = [subprocess.Popen([*words, name, str(seconds)], stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True) for name in ("nell", "omar")]
    ended = [process.communicate() for process in both]
    done = sum(len(out.splitlines()) for out, _ in ended)
    refused = sum(int(out.splitlines()[-1].split()[1]) for out, _ in ended)
    with open_book(where) as book, book.reading() as reader:
        count, faults = reader.value("counter", "shared")["n"], list(proof.faults(reader))
    print(f"{done} changes reported, {count} counted, {refused} refused as stale and repeated, faults: {faults}")
    print("errors shown:", [said for _, said in ended])


if __name__ == "__main__":
    with tempfile.TemporaryDirectory() as folder:
        place = sys.argv[2] if len(sys.argv) > 2 else str(Path(folder) / "book.db")
        {"big": big, "hammer": hammer}[sys.argv[1]](place)
