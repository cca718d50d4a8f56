"""
Backups: the whole book as one compressed file of lines, the same from either database, brought back into an empty one.

The first line tells the form of the schema and the last event with its seal; the last line how many rows there are and
the SHA-256 of all lines before it, so that a file cut short is never mistaken for a whole one.
"""

import errno
import gzip
import json
import os
import zlib
from base64 import b64decode, b64encode
from collections.abc import Iterator
from hashlib import sha256
from pathlib import Path
from typing import Any

from sqlalchemy import delete, func, insert, select
from sqlalchemy.exc import IntegrityError

from planner.desk.day_book import tables
from planner.desk.day_book.book import Book, open_book
from planner.desk.day_book.engine import WRITES, told
from planner.desk.day_book.proof import faults
from planner.desk.day_book.reader import Reader
from planner.desk.day_book.refusals import BadBackup, BookFull, NewerBook
from planner.desk.day_book.schema import REVISIONS, revision_of

_KEPT = (tables.document, tables.personal, tables.event, tables.now, tables.head, tables.seen)
_AT_ONCE = 2000


def write_backup(book: Book, path: Path) -> int:
    """Write the book as it is at one moment to ``path``, whole or not at all; return the number of its last event."""
    half = path.with_name(f".{path.name}.half")
    try:
        with book.reading() as reader, gzip.open(half, "wb", compresslevel=5) as file:
            digest = sha256()
            for line in _lines(reader):
                raw = (json.dumps(line, ensure_ascii=False, separators=(",", ":")) + "\n").encode()
                digest.update(raw)
                file.write(raw)
            file.write((json.dumps({"sha256": digest.hexdigest()}) + "\n").encode())
            last = reader.last_event
        with half.open("rb") as file:
            os.fsync(file.fileno())
        half.replace(path)
    except OSError as fault:
        if fault.errno == errno.ENOSPC:
            raise BookFull(str(path)) from None
        raise BadBackup(str(path), f"it cannot be written ({fault.strerror})") from None
    finally:
        half.unlink(missing_ok=True)
    return last


def _lines(reader: Reader) -> Iterator[dict[str, Any]]:
    head = reader.connection.execute(select(tables.head)).mappings().one()
    yield {"day_book": revision_of(reader.connection), "last_event": head["event"], "seal": head["seal"]}
    for table in _KEPT:
        query = select(table).order_by(*table.primary_key.columns)
        for row in reader.connection.execute(query, execution_options={"yield_per": _AT_ONCE}).mappings():
            yield {"table": table.name, "row": {name: _packed(value) for name, value in row.items()}}


def _packed(value: Any) -> Any:
    return {"base64": b64encode(value).decode()} if isinstance(value, bytes) else value


def restore(path: Path, where: str) -> int:
    """
    Bring a backup back into a new or empty book at ``where``; return the number of its last event.

    Raises
    ------
    BadBackup
        If the file is damaged, cut short or no backup, if a book with events is there already, or if its events do
        not follow from one another; the new book is then left empty.
    NewerBook
        If a later program wrote it.

    """
    head = _checked(path)
    if head.get("day_book") not in REVISIONS:
        raise NewerBook(str(path), str(head.get("day_book")))
    with (
        open_book(where, may_make=True) as book, told(where),
        book.engine.connect().execution_options(**WRITES) as connection, connection.begin(),
    ):  # fmt: skip
        if connection.execute(select(func.count()).select_from(tables.event)).scalar():
            raise BadBackup(str(path), f"{where} holds events already; give the place of a new book with --book")
        connection.execute(delete(tables.head))
        try:
            for table, rows in _batches(path):
                connection.execute(insert(table), rows)
        except IntegrityError:
            raise BadBackup(str(path), "the same entry stands in it twice") from None
        if wrong := next(faults(Reader(connection)), None):
            raise BadBackup(str(path), f"it does not hold together: {wrong}")
    return int(head["last_event"])


def _checked(path: Path) -> dict[str, Any]:
    """Return the first line of a backup all of whose lines are there and unharmed."""
    digest, first, last = sha256(), b"", b""
    try:
        with gzip.open(path, "rb") as file:
            for line in file:
                if last:
                    digest.update(last)
                first, last = first or line, line
        head, tail = json.loads(first), json.loads(last)
    except FileNotFoundError:
        raise BadBackup(str(path), "there is no such file") from None
    except (OSError, EOFError, ValueError, zlib.error):
        raise BadBackup(str(path), "it is damaged, cut short or no backup of a day book") from None
    if not isinstance(head, dict) or "day_book" not in head or tail.get("sha256") != digest.hexdigest():
        raise BadBackup(str(path), "it is damaged, cut short or no backup of a day book")
    return head


def _batches(path: Path) -> Iterator[tuple[Any, list[dict[str, Any]]]]:
    by_name = {table.name: table for table in _KEPT}
    batch: list[dict[str, Any]] = []
    name = ""
    with gzip.open(path, "rb") as file:
        for line in file:
            item = json.loads(line)
            if "table" not in item:
                continue
            if batch and (item["table"] != name or len(batch) >= _AT_ONCE):
                yield by_name[name], batch
                batch = []
            name = item["table"]
            batch.append({key: _unpacked(value) for key, value in item["row"].items()})
    if batch:
        yield by_name[name], batch


def _unpacked(value: Any) -> Any:
    return b64decode(value["base64"]) if isinstance(value, dict) and set(value) == {"base64"} else value
