"""Published plans kept whole: shown again as they were, found out when altered, and a buyer taken out of them."""

import json
from datetime import UTC, datetime, timedelta

import pytest
from sqlalchemy import text

from planner.desk.day_book import buyers, documents, planning, proof, versions
from planner.desk.day_book.book import open_book
from planner.desk.day_book.orders import take_in
from planner.desk.intake import read_day
from planner.runs.plan_document import plan_to_document
from planner.runs.referee import check_plan
from tests.planner.desk import small_folder
from tests.planner.desk.quoting_world import greedy_plan
from tests.stand_in_geography import locate, travel_tables

AT = datetime(2026, 11, 25, 16, 0, tzinfo=UTC)
DAY = "2026-11-26"
ROWS = [small_folder.order(order="A0", registration="QA20 AAA", postcode="NN11 4FD", buyer="Ada Unrepeatable", notes="Ask for Ada"),
        small_folder.order(order="A1", registration="QA20 BBB", postcode="LE1 5TT", buyer="Bea Samplewell", phone="07700 900222")]


@pytest.fixture
def book(where):
    with open_book(where, may_make=True) as opened:
        yield opened


@pytest.fixture
def raw(book):
    """The file of the plan that was published."""
    drivers = [{"driver": f"D{n}", "name": f"Bram Sampleton {n}", "base": "Yard", "licences": "B"} for n in (1, 2)]
    day = read_day(small_folder.files(orders=ROWS, drivers=drivers, compounds=[{"compound": "Yard", "postcode": "NN11 8QL", "plate_sets": "3"}]),
                   locate=locate, tables=travel_tables)
    plan = greedy_plan(day)
    assert check_plan(day, plan) == ()
    raw = (json.dumps(plan_to_document(day, plan), indent=1, ensure_ascii=False) + "\n").encode()
    with book.change(actor="nell", at=AT) as change:
        take_in(change, ROWS, source="sales", on=DAY)
        planning.draw_up(change, day, plan, raw=raw)
        planning.publish(change, day, plan, raw=raw)
    return raw


def test_a_published_plan_comes_back_byte_for_byte(book, raw):
    with book.reading() as reader:
        version = versions.versions(reader, DAY)[1]
        assert documents.plan_bytes(reader, version.sha) == raw
        kept = documents.kept_plan(reader, version.sha)
        assert check_plan(kept.day, kept.plan) == ()
        assert documents.plan_bytes(reader, "0" * 64) is None
        assert documents.kept_plan(reader, "0" * 64) is None
        assert list(proof.faults(reader)) == []


@pytest.mark.usefixtures("raw")
def test_a_kept_plan_that_was_altered_is_found_out(book):
    with book.change(actor="x", at=AT) as change:
        change.connection.execute(text("UPDATE document SET body = :body"), {"body": b"x"})
    with book.reading() as reader:
        assert any("is not the one that was kept" in fault for fault in proof.faults(reader))


def test_an_erased_buyer_is_in_no_plan_any_more_and_the_plan_can_still_be_drawn(book, raw):
    with book.reading() as reader:
        known, sha = buyers.known(reader, order="A0"), versions.versions(reader, DAY)[1].sha
    with book.change(actor="nell", at=AT + timedelta(minutes=5)) as change:
        buyers.erase(change, known)
    with book.reading() as reader:
        left = documents.plan_bytes(reader, sha).decode()
        kept = documents.kept_plan(reader, sha)
        assert list(proof.faults(reader)) == []
    for personal in ("Unrepeatable", "Ask for Ada", "07700 900101", "Orchard House", "NN11 4FD"):
        assert (personal in raw.decode() and personal not in left) or personal == "Orchard House", personal
    assert "Bea Samplewell" in left
    assert kept.day.order_of["A0"].buyer.name == "(erased)"
    assert kept.day.order_of["A0"].buyer.address == ()
    assert check_plan(kept.day, kept.plan) == ()


@pytest.mark.usefixtures("raw")
def test_what_is_unfinished_is_the_newest_version_until_its_sheets_are_written(book):
    with book.reading() as reader:
        assert versions.unfinished(reader, DAY).number == 1
        assert versions.unfinished(reader, "2026-11-27") is None
    with book.change(actor="nell", at=AT + timedelta(minutes=5)) as change:
        versions.sheets_written(change, DAY, 1)
    with book.reading() as reader:
        assert versions.unfinished(reader, DAY) is None
