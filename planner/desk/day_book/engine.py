"""
The engine: one way to reach a day book in a SQLite file or in PostgreSQL, and what its failures mean in words.

A writing transaction takes the book's lock at its first statement and waits for it; a reading one sees one moment.  A
SQLite file keeps a write-ahead log and is flushed to the disk at each commit.
"""

import shutil
import sqlite3
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

from sqlalchemy import URL, Connection, Engine, create_engine, event, exc, make_url

from planner.desk.day_book import refusals
from planner.faults import PlannerError

PATIENCE_S = 30
_LOG_INDEX_BYTES = 2 * 32_768  # sqlite.org, "WAL-mode File Format", 2: the index grows by 32768 bytes (from memory)
WRITES = {"homeleg_writes": True}
_UNREACHABLE = ("SQLITE_CANTOPEN", "SQLITE_READONLY", "SQLITE_PERM", "08", "28", "3D", "42501", "57P")


def url_of(where: str) -> str:
    """
    Return the database URL of a book: a path is a SQLite file, anything with ``://`` is taken as it is.

    >>> url_of("books/day.db"), url_of("postgresql://host/book")
    ('sqlite:///books/day.db', 'postgresql+psycopg://host/book')
    """
    if "://" not in where:
        return f"sqlite:///{where}"
    scheme, rest = where.split("://", 1)
    return f"postgresql+psycopg://{rest}" if scheme in ("postgres", "postgresql") else where


def name_of(where: str) -> str:
    """Return how a book is called in messages, without any password."""
    return where if "://" not in where else parsed(where).render_as_string(hide_password=True)


def parsed(where: str) -> URL:
    """
    Return the URL of a book in its parts.

    Raises
    ------
    BookUnwritable
        If it is none.

    """
    try:
        return make_url(url_of(where))
    except exc.ArgumentError:
        raise refusals.BookUnwritable(where, "this is no path and no database URL") from None


def file_of(where: str) -> Path | None:
    """Return the file of a SQLite book, None for another database."""
    url = parsed(where)
    return Path(url.database) if url.get_backend_name() == "sqlite" and url.database else None


def engine_for(where: str) -> Engine:
    """
    Return an engine for the book at ``where``; nothing is opened yet.

    Raises
    ------
    BookUnwritable
        If the driver for that database is not installed, or the URL is none.

    """
    if parsed(where).get_backend_name() not in ("sqlite", "postgresql"):
        raise refusals.BookUnwritable(name_of(where), "a day book is kept in SQLite or PostgreSQL only")
    try:
        made = create_engine(parsed(where), hide_parameters=True)  # else an error would print buyers' data
    except ModuleNotFoundError as fault:
        raise refusals.BookUnwritable(name_of(where), f"{fault.name} is missing; install homeleg[postgres]") from None
    except exc.NoSuchModuleError:
        raise refusals.BookUnwritable(name_of(where), "a day book is kept in SQLite or PostgreSQL only") from None
    if made.dialect.name == "sqlite":
        event.listen(made, "connect", _prepare_sqlite)
        event.listen(made, "begin", _begin_sqlite)
    else:
        event.listen(made, "begin", _begin_postgres)
    return made


def _prepare_sqlite(raw: Any, _record: Any) -> None:
    raw.isolation_level = None  # transactions begin where we say, see _begin_sqlite
    for pragma in (f"busy_timeout={PATIENCE_S * 1000}", "foreign_keys=ON", "synchronous=FULL", "secure_delete=ON"):
        raw.execute(f"PRAGMA {pragma}")
    if raw.execute("PRAGMA journal_mode").fetchone()[0] != "wal":
        raw.execute("PRAGMA journal_mode=WAL")


def _begin_sqlite(connection: Connection) -> None:
    writes = connection.get_execution_options().get("homeleg_writes", False)
    connection.exec_driver_sql("BEGIN IMMEDIATE" if writes else "BEGIN")


def _begin_postgres(connection: Connection) -> None:
    if connection.get_execution_options().get("homeleg_writes", False):
        connection.exec_driver_sql(f"SET LOCAL lock_timeout = '{PATIENCE_S}s'")
    else:
        connection.exec_driver_sql("SET TRANSACTION ISOLATION LEVEL REPEATABLE READ READ ONLY")


@contextmanager
def told(where: str) -> Iterator[None]:
    """Turn what a database says inside the block into a refusal of the book."""
    try:
        yield
    except exc.DBAPIError as fault:
        refusal = _refusal(name_of(where), fault.orig)
        if refusal is None:
            raise
        raise refusal from None
    except sqlite3.Error as fault:  # raised before SQLAlchemy wraps it, while a connection is prepared
        refusal = _refusal(name_of(where), fault)
        if refusal is None:
            raise
        raise refusal from None


def _refusal(where: str, fault: BaseException | None) -> PlannerError | None:
    said = str(getattr(fault, "sqlite_errorname", "") or getattr(fault, "sqlstate", "") or "")
    made: PlannerError | None = None
    if said in ("SQLITE_FULL", "53100"):
        made = refusals.BookFull(where)
    elif said.startswith(("SQLITE_CORRUPT", "SQLITE_NOTADB", "XX001", "XX002")):
        made = refusals.BookDamaged(where)
    elif said.startswith(("SQLITE_BUSY", "SQLITE_LOCKED", "55P03", "40P01")):
        made = refusals.BookBusy(where)
    elif said in ("SQLITE_CONSTRAINT_TRIGGER", "P0001"):
        made = refusals.BookRefuses(where)
    elif said.startswith("SQLITE_IOERR"):
        made = refusals.BookFull(where) if _is_full(where) else refusals.BookUnwritable(where, "the disk reports a fault")
    elif said.startswith(_UNREACHABLE) or (not said and type(fault).__name__ == "OperationalError"):
        made = refusals.BookUnwritable(where, _first_line(fault))  # the second: a server that never answered
    return made


def _is_full(where: str) -> bool:
    """Return whether the disk of a SQLite book lacks room even for the index of its write-ahead log (32 KiB at a time)."""
    try:
        return shutil.disk_usage(Path(where).absolute().parent).free < _LOG_INDEX_BYTES
    except OSError:
        return False


def _first_line(fault: BaseException | None) -> str:
    return str(fault).strip().splitlines()[0].rstrip(".") if str(fault).strip() else "no answer"
