"""
The form of the database: made, checked and brought up to date by alembic, one numbered step after another.

A book of the newest form is recognised by one small query; alembic is only loaded when there is something to do.
"""

from pathlib import Path

from sqlalchemy import Connection, Engine, inspect, text

from planner.desk.day_book.engine import WRITES, name_of
from planner.desk.day_book.refusals import BookDamaged, NewerBook, NoBook

#: Every form there was, oldest first; the last one is what this program reads and writes.
REVISIONS = ("0001", "0002", "0003")
HEAD = REVISIONS[-1]
_LOCK = 7_026_117  # of PostgreSQL's advisory locks, ours while the form is changed
_SCRIPTS = Path(__file__).parent / "migrations"


def revision_of(connection: Connection) -> str | None:
    """Return the form of a book, None for a database without one."""
    if not inspect(connection).has_table("alembic_version"):
        return None
    return connection.execute(text("SELECT version_num FROM alembic_version")).scalar()


def bring_up_to_date(engine: Engine, where: str, *, may_make: bool, to: str = HEAD) -> None:
    """
    Give the database the form ``to``, in one transaction; do nothing if it has it.

    Raises
    ------
    NewerBook
        If a later program gave it a form that is not known here.
    NoBook
        If there is no book and ``may_make`` is false.
    BookDamaged
        If there are tables of ours without a form.

    """
    with engine.connect() as connection, connection.begin():
        found = revision_of(connection)
    if found == to:
        return
    _check(found, where, may_make=may_make)
    with engine.connect().execution_options(**WRITES) as connection, connection.begin():
        if engine.dialect.name == "postgresql":
            connection.execute(text("SELECT pg_advisory_xact_lock(:key)"), {"key": _LOCK})
        found = revision_of(connection)  # somebody else may have been quicker
        if found == to:
            return
        _check(found, where, may_make=may_make)
        if found is None and inspect(connection).has_table("event"):
            raise BookDamaged(name_of(where), "there are tables of a day book but nothing says of which form")
        _run(connection, to)


def _check(found: str | None, where: str, *, may_make: bool) -> None:
    if found is None and not may_make:
        raise NoBook(name_of(where))
    if found is not None and found not in REVISIONS:
        raise NewerBook(name_of(where), found)


def _run(connection: Connection, to: str) -> None:
    from alembic import command
    from alembic.config import Config

    config = Config(attributes={"connection": connection})
    config.set_main_option("script_location", str(_SCRIPTS).replace("%", "%%"))
    config.set_main_option("path_separator", "os")
    command.upgrade(config, to)
