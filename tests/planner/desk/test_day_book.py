"""
The day book's storage, on both databases: events stay, what holds follows from them, stale changes are refused.

The claims about SQLite (a write-ahead log survives a killed process, BEGIN IMMEDIATE waits for its turn) are those of its
documentation, "Write-Ahead Logging" and "Transaction" (sqlite.org, from memory); the tests below try them.
"""

import shutil
import sqlite3
import zlib
from datetime import UTC, datetime, timedelta
from hashlib import sha256

import pytest
from sqlalchemy import text

from planner.desk.day_book import backup, buyers, documents, proof, refusals, schema, tables
from planner.desk.day_book.book import open_book
from planner.desk.day_book.engine import engine_for, told
from planner.desk.day_book.entries import Put
from planner.faults import PlannerError

AT = datetime(2026, 11, 25, 14, 0, tzinfo=UTC)
DAY = "2026-11-26"


@pytest.fixture
def book(where):
    with open_book(where, may_make=True) as opened:
        yield opened


def hold(book, ref, *, actor="nell", at=AT, seen=None, gate="funds"):
    with book.change(actor=actor, at=at, seen=seen) as change:
        change.expect_fresh(ref)
        change.put("held", "hold", ref, {"gate": gate}, topic=ref, day=DAY)


def entries(book):
    with book.reading() as reader:
        return list(reader.events())


def test_a_change_is_an_event_with_before_and_after(book):
    hold(book, "A1")
    hold(book, "A1", gate="valet", at=AT + timedelta(minutes=5))
    first, second = entries(book)
    assert (first.before, first.after) == (None, {"gate": "funds"})
    assert (second.before, second.after) == ({"gate": "funds"}, {"gate": "valet"})
    assert second.at == "2026-11-25T14:05:00.000+00:00"
    with book.reading() as reader:
        assert [held.value for held in reader.now(day=DAY)] == [{"gate": "valet"}]


def test_putting_what_holds_already_makes_no_event(book):
    hold(book, "A1")
    hold(book, "A1")
    assert len(entries(book)) == 1


def half_a_change(book):
    with book.change(actor="nell", at=AT) as change:
        assert change.put("held", "hold", "A2", {"gate": "mot"}, topic="A2", day=DAY)
        assert change.put("released", "hold", "A1", None, topic="A1", day=DAY)
        raise KeyError


def test_a_change_that_fails_leaves_nothing(book):
    hold(book, "A1")
    with pytest.raises(KeyError):
        half_a_change(book)
    assert len(entries(book)) == 1
    with book.reading() as reader:
        assert [held.subject for held in reader.now()] == ["A1"]
        assert list(proof.faults(reader)) == []


@pytest.mark.parametrize("statement", [
    "UPDATE event SET actor = 'somebody else' WHERE id = 1",
    "DELETE FROM event WHERE id = 1",
    "DELETE FROM event",
])
def test_the_database_refuses_to_change_or_delete_an_event(book, statement):
    hold(book, "A1")
    with pytest.raises(refusals.BookRefuses, match="only ever added"), book.change(actor="x", at=AT) as change:
        change.connection.execute(text(statement))
    assert entries(book)[0].actor == "nell"


def test_an_event_cannot_be_replaced_or_truncated_away(book):
    hold(book, "A1")
    is_file = book.engine.dialect.name == "sqlite"
    statement = "INSERT OR REPLACE INTO event SELECT id, change, at, 'x', kind, day, topic, thing, subject, before, after, seal FROM event"
    with pytest.raises(refusals.BookRefuses), book.change(actor="x", at=AT) as change:
        change.connection.execute(text(statement if is_file else "TRUNCATE event"))
    assert entries(book)[0].actor == "nell"


def test_what_holds_is_rebuilt_from_the_events_alone(book):
    with book.change(actor="nell", at=AT) as change:
        change.put_all(Put(kind="read", thing="order", subject=f"A{number}", value={"n": number}, topic=f"A{number}", day=DAY)
                       for number in range(1000))
    with book.change(actor="nell", at=AT) as change:
        change.put("cancelled", "order", "A7", None, topic="A7", day=DAY)
        change.put("read", "order", "A8", {"n": -8}, topic="A8", day="2026-11-27")
    with book.reading() as reader:
        stands = {(row["thing"], row["subject"]): dict(row) for row in reader.connection.execute(tables.now.select()).mappings()}
        assert proof.rebuilt(reader) == stands
        assert len(stands) == 999
        assert list(proof.faults(reader)) == []


def test_seals_follow_the_published_hash(book):
    """SHA-256 as Python's hashlib has it, over the seal before and the entry as sorted JSON; written out by hand here."""
    hold(book, "A1")
    said = f'[1,1,"2026-11-25T14:00:00.000+00:00","nell","held","{DAY}","A1","hold","A1",null,{{"gate":"funds"}}]'
    assert entries(book)[0].seal == sha256(("0" * 64 + said).encode()).hexdigest()


def test_tampering_with_an_event_behind_the_triggers_is_found(tmp_path):
    with open_book(tmp_path / "book.db", may_make=True) as book:
        for number in range(5):
            hold(book, f"A{number}")
        with book.change(actor="x", at=AT) as change:
            change.connection.execute(text("DROP TRIGGER event_keeps_update"))
            change.connection.execute(text("UPDATE event SET actor = 'somebody else' WHERE id = 3"))
        with book.reading() as reader:
            assert list(proof.faults(reader)) == ["Event 3 does not carry the seal of what it says and of what went before."]
        with book.change(actor="x", at=AT) as change:
            change.connection.execute(text("DELETE FROM now WHERE subject = 'A4'"))
        with book.reading() as reader:
            assert list(proof.faults(reader))[-1] == "hold A4 stands otherwise than its events left it."


def test_a_change_on_a_stale_view_is_refused_with_what_changed_since(book):
    hold(book, "A1")
    with book.reading() as reader:
        seen = reader.last_event
    hold(book, "A2", actor="omar", gate="keys", at=AT + timedelta(minutes=1))
    hold(book, "A1", actor="omar", gate="keys", at=AT + timedelta(minutes=2))
    hold(book, "A3", seen=seen, at=AT + timedelta(minutes=3))  # nobody touched it
    with pytest.raises(refusals.StaleView) as refused:
        hold(book, "A1", seen=seen, at=AT + timedelta(minutes=3))
    assert refused.value.since == ("14:02 on 2026-11-25, omar: A1 held (gate funds -> keys)",)
    with book.reading() as reader:
        assert reader.value("hold", "A1") == {"gate": "keys"}
    with pytest.raises(refusals.StaleView) as refused, book.change(actor="nell", at=AT + timedelta(minutes=4), seen=seen) as change:
        change.expect_fresh_day(DAY)
    assert len(refused.value.since) == 2, "own changes are not counted"


def test_a_clock_that_went_back_is_told_and_nothing_recorded(book):
    hold(book, "A1")
    with pytest.raises(refusals.ClockWentBack, match="clock-was-wrong"):
        hold(book, "A2", at=AT - timedelta(hours=1))
    hold(book, "A2", at=AT - timedelta(seconds=90))  # two desks' clocks differ
    assert [event.at for event in entries(book)] == ["2026-11-25T14:00:00.000+00:00"] * 2
    with book.change(actor="nell", at=AT - timedelta(hours=1), clock_was_wrong=True) as change:
        change.put("clock was wrong", "clock", "book", {"wrong": True}, topic="book")
    hold(book, "A3", at=AT - timedelta(minutes=50))
    assert len(entries(book)) == 4


def test_a_moment_without_a_zone_is_refused(book):
    with pytest.raises(ValueError, match="time zone"):
        hold(book, "A1", at=datetime(2026, 11, 25, 14, 0))  # noqa: DTZ001 - the fault itself


def test_a_backup_comes_back_the_same_in_either_database(book, tmp_path, postgres):
    for number in range(50):
        hold(book, f"A{number}")
    with book.change(actor="nell", at=AT) as change:
        buyers.keep_buyer(change, "A1", {"buyer": "Ada Testwell", "phone": "07700 900101"})
        sha = documents.keep_plan(change, b"\x00\xff", day=DAY)
    assert backup.write_backup(book, tmp_path / "book.backup") == 50
    for where in (str(tmp_path / "again.db"), postgres()):
        assert backup.restore(tmp_path / "book.backup", where) == 50
        with open_book(where) as again, again.reading() as reader:
            assert list(reader.events()) == entries(book)
            assert list(proof.faults(reader)) == []
            assert buyers.latest(reader, ["A1"]) == {"A1": {"buyer": "Ada Testwell", "phone": "07700 900101"}}
            assert documents.plan_bytes(reader, sha) == b"\x00\xff"
        with pytest.raises(refusals.BadBackup, match="holds events already"):
            backup.restore(tmp_path / "book.backup", where)


def test_a_backup_that_is_harmed_is_refused(tmp_path):
    with open_book(tmp_path / "book.db", may_make=True) as book:
        hold(book, "A1")
        backup.write_backup(book, tmp_path / "good")
    raw = (tmp_path / "good").read_bytes()
    for number, bad in enumerate((raw[:-9], raw[: len(raw) // 2], b"no backup", b"", raw[:60] + bytes([raw[60] ^ 1]) + raw[61:])):
        (tmp_path / "bad").write_bytes(bad)
        with pytest.raises(refusals.BadBackup, match="damaged, cut short or no backup"):
            backup.restore(tmp_path / "bad", str(tmp_path / f"new{number}.db"))
    with pytest.raises(refusals.BadBackup, match="no such file"):
        backup.restore(tmp_path / "none", str(tmp_path / "new.db"))


@pytest.mark.parametrize("old", schema.REVISIONS[:-1])
def test_every_form_since_the_first_is_brought_up_to_date_with_all_it_held(where, old):
    """Each earlier form is filled by its own tables' names, not through the program of today."""
    from sqlalchemy import MetaData, Table

    engine = engine_for(where)
    schema.bring_up_to_date(engine, where, may_make=True, to=old)
    with engine.connect() as connection:
        assert schema.revision_of(connection) == old
    with engine.connect().execution_options(homeleg_writes=True) as connection, connection.begin():
        made = Table("event", MetaData(), autoload_with=connection)
        entry = {"id": 1, "change": 1, "at": "2026-11-25T14:00:00.000+00:00", "actor": "nell", "kind": "held", "day": DAY, "topic": "A1",
                 "thing": "hold", "subject": "A1", "after": {"gate": "funds"}}
        sealed = proof.seal(proof.FIRST, {**entry, "before": None})
        connection.execute(made.insert(), [{**entry, "seal": sealed}])
        for table, row in (("head", f"UPDATE head SET event = 1, at = '{entry['at']}', seal = '{sealed}'"),
                           ("now", f"INSERT INTO now VALUES ('hold', 'A1', '{DAY}', 'A1', '{{\"gate\": \"funds\"}}', 1)")):
            assert table in row
            connection.execute(text(row.replace(":", "\\:")))
        body = zlib.compress(b"a plan")
        for name, row in (("personal", {"buyer": 1, "version": 1, "order_ref": "A1", "phone": "7700900101", "data": {"buyer": "Ada Testwell"}}),
                          ("document", {"sha": sha256(b"a plan").hexdigest(), "kind": "plan", "body": body}),
                          ("seen", {"actor": "nell", "day": DAY, "event": 1})):
            connection.execute(Table(name, MetaData(), autoload_with=connection).insert(), [row])
    engine.dispose()
    with open_book(where) as book:
        hold(book, "A2")
        with book.reading() as reader:
            assert [event.subject for event in reader.events()] == ["A1", "A2"]
            assert list(proof.faults(reader)) == []
            assert schema.revision_of(reader.connection) == schema.HEAD
            assert buyers.latest(reader, ["A1"]) == {"A1": {"buyer": "Ada Testwell"}}
            assert documents.plan_bytes(reader, sha256(b"a plan").hexdigest()) == b"a plan"
            assert reader.seen_by("nell", DAY) == 1


def test_the_steps_end_at_the_form_this_program_reads_and_make_its_tables(where):
    from alembic.autogenerate import compare_metadata
    from alembic.migration import MigrationContext

    with open_book(where, may_make=True) as book, book.engine.connect() as connection:
        context = MigrationContext.configure(connection, opts={"compare_type": True})
        assert compare_metadata(context, tables.metadata) == []
        assert context.get_current_revision() == schema.HEAD


def test_a_book_of_a_newer_program_is_not_touched(book, where):
    with book.change(actor="x", at=AT) as change:
        change.connection.execute(text("UPDATE alembic_version SET version_num = '9999'"))
    with pytest.raises(refusals.NewerBook, match="a newer homeleg made"):
        open_book(where, may_make=True)


def test_what_is_no_book_is_told(tmp_path):
    with pytest.raises(refusals.NoBook, match="no day book here"):
        open_book(tmp_path / "none.db")
    assert not (tmp_path / "none.db").exists()
    (tmp_path / "letter.db").write_text("Dear Sir or Madam, " * 100)
    with pytest.raises(refusals.BookDamaged, match="is damaged"):
        open_book(tmp_path / "letter.db")
    (tmp_path / "empty.db").touch()
    with pytest.raises(refusals.BookDamaged, match="is empty"):
        open_book(tmp_path / "empty.db")
    with pytest.raises(refusals.BookUnwritable):
        open_book("postgresql://nobody@127.0.0.1:1/none?connect_timeout=1")
    with pytest.raises(refusals.BookUnwritable, match="no database URL"):
        open_book("://")
    with pytest.raises(refusals.BookUnwritable, match="SQLite or PostgreSQL only"):
        open_book("mysql://nobody@127.0.0.1/none")
    with pytest.raises(refusals.BookUnwritable, match="empty"):
        open_book(tmp_path / "empty.db" / "below" / "book.db", may_make=True)


def test_a_page_overwritten_in_the_file_is_told_and_the_backup_brings_it_back(tmp_path):
    path = tmp_path / "book.db"
    with open_book(path, may_make=True) as book:
        with book.change(actor="nell", at=AT) as change:
            change.put_all(Put(kind="read", thing="order", subject=f"A{n}", value={"n": n}, topic=f"A{n}", day=DAY) for n in range(2000))
        backup.write_backup(book, tmp_path / "kept")
    raw = bytearray(path.read_bytes())
    for page in range(8, len(raw) // 4096, 2):
        raw[page * 4096 : page * 4096 + 2048] = b"\x07" * 2048
    path.write_bytes(bytes(raw))
    with pytest.raises(refusals.BookDamaged, match="bring back the last backup"), open_book(path) as book, book.reading() as reader:
        list(proof.faults(reader))
    backup.restore(tmp_path / "kept", str(tmp_path / "again.db"))
    with open_book(tmp_path / "again.db") as book, book.reading() as reader:
        assert list(proof.faults(reader)) == []
        assert reader.last_event == 2000


def test_a_full_disk_is_told_and_nothing_is_lost(tmp_path):
    """SQLite's own limit of pages stands for the full disk: it answers SQLITE_FULL, the code of a full disk."""
    from sqlalchemy import event as on

    with open_book(tmp_path / "book.db", may_make=True) as book:
        hold(book, "A1")
        book.engine.dispose()
        on.listen(book.engine, "connect", lambda raw, _: raw.execute("PRAGMA max_page_count=60"))
        with pytest.raises(refusals.BookFull, match="the disk is full"), book.change(actor="nell", at=AT) as change:
            change.put_all(Put(kind="read", thing="order", subject=f"A{n}", value={"n": "x" * 200}, topic=f"A{n}") for n in range(2000))
        assert len(entries(book)) == 1
        hold(book, "A2")
        assert len(entries(book)) == 2


def refuse_with(name, where):
    with told(str(where)):
        fault = sqlite3.OperationalError("disk I/O error")
        fault.sqlite_errorname = name
        raise fault


@pytest.mark.parametrize(("free", "refusal"), [(0, refusals.BookFull), (1 << 40, refusals.BookUnwritable)])
def test_a_disk_too_full_for_the_index_of_the_log_is_told_as_full(tmp_path, monkeypatch, free, refusal):
    """On a full disk of its own (a 3 MiB tmpfs) SQLite answered with an I/O error of the index, not with SQLITE_FULL."""
    usage = shutil.disk_usage(tmp_path)
    monkeypatch.setattr("shutil.disk_usage", lambda _: usage._replace(free=free))
    with pytest.raises(refusal):
        refuse_with("SQLITE_IOERR_SHMSIZE", tmp_path / "book.db")


def test_a_buyer_can_be_found_exported_and_erased_while_events_stay_sealed(book):
    data = {"buyer": "Ada Testwell", "phone": "07700 900101", "email": "Ada@example.com", "address_1": "Orchard House Unseen"}
    with book.change(actor="nell", at=AT) as change:
        number, version = buyers.keep_buyer(change, "A1", data)
        assert buyers.keep_buyer(change, "A1", data) == (number, version), "the same data make no new version"
        assert buyers.keep_buyer(change, "A1", {**data, "phone": "07700 900102"}) == (number, version + 1)
        assert buyers.keep_buyer(change, "A2", data)[0] != number
        change.put("read", "order", "A1", {"buyer": number, "version": 2}, topic="A1", day=DAY)
    with book.reading() as reader:
        assert [one.order_ref for one in buyers.known(reader, phone="+44 7700 900101")] == ["A1", "A1", "A2"]
        assert buyers.known(reader) == []
        found = buyers.known(reader, order="A1")
        assert [one.data["phone"] for one in found] == ["07700 900101", "07700 900102"]
    before = entries(book)
    with book.change(actor="nell", at=AT) as change:
        assert buyers.erase(change, found) == ["A1"]
    buyers.sweep(book)
    with book.reading() as reader:
        assert buyers.latest(reader, ["A1", "A2"]) == {"A2": data}
        assert all(one.data is None for one in buyers.known(reader, order="A1"))
        assert list(reader.events())[: len(before)] == before
        assert list(proof.faults(reader)) == []


def test_what_was_erased_is_not_in_the_file_any_more(tmp_path):
    with open_book(tmp_path / "book.db", may_make=True) as book:
        with book.change(actor="nell", at=AT) as change:
            buyers.keep_buyer(change, "A1", {"buyer": "Ada Unrepeatable", "phone": "07700 900101"})
        with book.reading() as reader:
            found = buyers.known(reader, order="A1")
        with book.change(actor="nell", at=AT) as change:
            buyers.erase(change, found)
        buyers.sweep(book)
        assert not any(b"Unrepeatable" in path.read_bytes() for path in tmp_path.iterdir())


def test_every_refusal_is_one_of_the_planners():
    assert all(issubclass(kind, PlannerError) for kind in vars(refusals).values() if isinstance(kind, type) and kind.__module__ == refusals.__name__)
