"""Orders taken in again and again, the afternoon's changes, and versions of plans, on both databases."""

from dataclasses import replace
from datetime import UTC, date, datetime, timedelta

import pytest

from planner.clock import DayClock
from planner.desk.day_book import afternoon, buyers, planning, proof, queue
from planner.desk.day_book.book import open_book
from planner.desk.day_book.happenings import Happening
from planner.desk.day_book.orders import mapped, rows_of, take_in
from planner.desk.day_book.refusals import NotSo, StaleView
from planner.desk.day_book.road_events import Told
from planner.desk.day_book.road_log import record
from planner.desk.intake import read_day
from planner.model.orders import Gate, OrderRef
from planner.runs.plan import Plan
from planner.runs.referee import check_plan
from tests.planner.desk import small_folder
from tests.planner.desk.quoting_world import greedy_plan
from tests.stand_in_geography import locate, travel_tables

AT = datetime(2026, 11, 25, 14, 0, tzinfo=UTC)
DAY = "2026-11-26"
CARS = ("AA", "BB", "CC", "DD", "EE", "FF", "GG", "HH", "JJ", "KK")
ROWS = [small_folder.order(order=f"A{n}", registration=f"QA20 {car}A", phone=f"07700 9001{n:02}") for n, car in enumerate(CARS)]


@pytest.fixture
def book(where):
    with open_book(where, may_make=True) as opened:
        yield opened
        with opened.reading() as reader:
            assert list(proof.faults(reader)) == [], "whatever a test did, the book holds together"


def take(book, rows, *, source="sales", minutes=0, **options):
    with book.change(actor="nell", at=AT + timedelta(minutes=minutes)) as change:
        return take_in(change, rows, source=source, on=DAY, **options)


def last_event(book):
    with book.reading() as reader:
        return reader.last_event


def test_the_same_file_twice_changes_nothing(book):
    assert take(book, ROWS).new == tuple(row["order"] for row in ROWS)
    before = last_event(book)
    again = take(book, ROWS, minutes=5)
    assert (again.new, again.changed, again.withdrawn, again.same) == ((), (), (), 10)
    assert last_event(book) == before


def test_a_changed_order_tells_its_difference_and_buyers_stay_out_of_the_events(book):
    take(book, ROWS)
    taken = take(book, [{**ROWS[0], "window_opens": "10:00", "mass_kg": "1250", "phone": "07700 900999"}, *ROWS[1:]], minutes=5)
    assert taken.changed == (("A0", ("mass kg 1200 -> 1250", "window opens 10:00", "buyer's data 1 -> 2")),)
    with book.reading() as reader:
        said = repr(list(reader.events()))
    for personal in ("Ada Testwell", "07700", "Orchard House", "LA9 4PU"):
        assert personal not in said


def test_a_withdrawn_order_is_cancelled_and_stays_and_may_come_back(book):
    take(book, ROWS)
    other = small_folder.order(order="B1", registration="QB20 BBB", promised="2026-11-27")
    assert take(book, [other], minutes=1).withdrawn == (), "a file of another day withdraws nothing of this one"
    assert take(book, [small_folder.order(order="C1", registration="QC20 CCC")], source="web", minutes=2).withdrawn == ()
    assert take(book, ROWS[1:], minutes=3).withdrawn == ("A0",)
    with book.reading() as reader:
        assert reader.value("order", "A0")["state"] == "cancelled"
        assert [event.kind for event in reader.events(topic="A0")] == ["taken in", "withdrawn"]
        assert "A0" not in [row["order"] for row in planning.rows_to_plan(reader, date(2026, 11, 26))]
    assert take(book, ROWS, minutes=4).changed == (("A0", ("cancelled -> open",)),)


def test_a_file_cut_short_is_refused_whole(book):
    take(book, ROWS)
    before = last_event(book)
    with pytest.raises(NotSo, match="would cancel 8 of the 10 open orders"):
        take(book, ROWS[:2], minutes=5)
    assert last_event(book) == before
    assert len(take(book, ROWS[:2], minutes=5, may_cancel_many=True).withdrawn) == 8


def test_two_sources_cannot_own_one_order(book):
    take(book, ROWS)
    with pytest.raises(NotSo, match="came from sales"):
        take(book, ROWS[:1], source="web")


def test_a_source_has_its_own_headings():
    table = small_folder.table("orders", [{"Order No.": "A1", "REG": "QA20 AAA"}, {"Order No.": " ", "REG": ""}])
    assert rows_of(mapped(table, {"order no": "order", "Reg": "registration"})) == [{"order": "A1", "registration": "QA20 AAA"}]


def day_from(book):
    with book.reading() as reader:
        files = planning.files_with(small_folder.files(), planning.rows_to_plan(reader, date(2026, 11, 26)))
        return planning.as_said(read_day(files, locate=locate, tables=travel_tables, on=date(2026, 11, 26)), reader)


def said(book, does, *words, minutes=10, actor="nell", seen=None, **options):
    with book.change(actor=actor, at=AT + timedelta(minutes=minutes), seen=seen) as change:
        return does(change, *words, day=DAY, **options)


def test_what_the_office_says_reaches_the_day_that_is_planned(book):
    take(book, [*ROWS[:3], {**ROWS[3], "gate_valet": "no"}])
    assert [order.ref for order in day_from(book).held] == ["A3"]
    said(book, afternoon.hold, "A0", gate=Gate.FUNDS, owner="accounts", by="2026-11-25 16:30", to_do="Ring the lender.")
    said(book, afternoon.release, "A3", gate=Gate.VALET)
    said(book, afternoon.pin, "A1", driver="D1", transporter=None)
    said(book, afternoon.crew_off, "T1", why="brakes")
    day = day_from(book)
    assert [(order.ref, order.hold.owner, order.hold.to_do, order.hold.cut_off_min) for order in day.held] == [
        ("A0", "accounts", "Ring the lender.", 16 * 60 + 30 - 1440)]
    assert sorted(day.move_of) == ["A1", "A2", "A3"]
    assert day.move_of["A1"].pinned_driver == "D1"
    assert day.transporters == ()
    take(book, [*ROWS[:3], {**ROWS[3], "gate_valet": "no"}], minutes=12)
    assert sorted(day_from(book).move_of) == ["A1", "A2", "A3"], "it outlasts the file coming again"
    said(book, afternoon.hold, "A0", gate=Gate.FUNDS, owner="accounts", by="05:30", to_do="", minutes=13)  # as older books have it
    assert [order.hold.cut_off_min for order in day_from(book).held] == [330]
    said(book, afternoon.release, "A0", minutes=15)
    said(book, afternoon.pin, "A1", driver=None, transporter=None, minutes=15)
    said(book, afternoon.crew_off, "T1", why=None, minutes=15)
    day = day_from(book)
    assert (len(day.held), len(day.moves), len(day.transporters), day.move_of["A1"].pinned_driver) == (0, 4, 1, None)


def test_a_release_with_nothing_held_asks_which_gate(book):
    take(book, ROWS)
    with pytest.raises(NotSo, match="Name the gate"):
        said(book, afternoon.release, "A0")


def test_nothing_more_happens_to_a_finished_order(book):
    take(book, ROWS)
    rung_in(book, "A0", Happening.HANDED_OVER)
    before = last_event(book)
    with pytest.raises(NotSo, match="Order A0 is delivered"):
        said(book, afternoon.pin, "A0", driver="D1", transporter=None, minutes=20)
    with pytest.raises(NotSo, match="No order 'A99'"):
        said(book, afternoon.release, "A99", minutes=20)
    assert last_event(book) == before


def rung_in(book, ref, what):
    with book.change(actor="nell", at=AT + timedelta(minutes=10)) as change:
        assert record(change, [Told(who=ref, what=what, at_min=640)], DayClock(date(2026, 11, 26)), now_min=None) == (1, [])


def test_a_failed_delivery_goes_back_in_the_queue_dearer_to_leave(book):
    take(book, ROWS[:2])
    before = day_from(book).move_of["A0"].stays_behind_pence
    rung_in(book, "A0", Happening.NOBODY_HOME)
    assert day_from(book).move_of["A0"].stays_behind_pence == 2 * before
    with book.reading() as reader:
        for on in (DAY, "2026-11-27", "2027-01-25"):
            assert queue.waiting_again(reader, date.fromisoformat(on)) == [("A0", 1, "nobody home", "2")]
        assert queue.waiting_again(reader, date(2026, 11, 25)) == []
        assert queue.waiting_again(reader, date(2027, 1, 26)) == [], "61 days later it is looked for by hand"


def test_what_was_erased_does_not_come_back_with_the_next_file(book):
    take(book, ROWS[:2])
    rung_in(book, "A0", Happening.HANDED_OVER)
    with book.reading() as reader:
        found = buyers.known(reader, order="A0")
    with book.change(actor="nell", at=AT + timedelta(minutes=20)) as change:
        buyers.erase(change, found)
    before = last_event(book)
    assert take(book, ROWS[:2], minutes=30).same == 2
    assert last_event(book) == before
    with book.reading() as reader:
        assert set(buyers.latest(reader, ["A0", "A1"])) == {"A1"}
    assert take(book, [{**ROWS[0], "charge": "59.00"}, ROWS[1]], minutes=40).changed == (("A0", ("charge 59.00",)),)
    with book.reading() as reader:
        assert set(buyers.latest(reader, ["A0", "A1"])) == {"A1"}


def test_two_routers_at_one_order_are_told(book):
    take(book, ROWS)
    seen = last_event(book)
    said(book, afternoon.pin, "A0", driver="D1", transporter=None, actor="omar")
    with pytest.raises(StaleView, match=r"omar: A0 pinned \(driver D1\)"):
        said(book, afternoon.hold, "A0", gate=Gate.KEYS, owner="valet", by="17:00", to_do="", seen=seen)


def published(book, day, plan, raw, *, minutes, actor="nell", seen=None):
    with book.change(actor=actor, at=AT + timedelta(minutes=minutes)) as change:
        planning.draw_up(change, day, plan, raw=raw)
    with book.change(actor=actor, at=AT + timedelta(minutes=minutes), seen=seen) as change:
        return planning.publish(change, day, plan, raw=raw)


def test_a_version_tells_which_sheets_are_new_and_which_orders_moved(book):
    drivers = [{"driver": f"D{n}", "name": f"Bram Sampleton {n}", "base": "Yard", "licences": "B"} for n in (1, 2, 3)]
    doors = [{**row, "postcode": code} for row, code in zip(ROWS, ("NN11 4FD", "CV21 4HZ", "LE1 5TT"), strict=False)]
    take(book, doors)
    day = read_day(small_folder.files(orders=doors, drivers=drivers), locate=locate, tables=travel_tables)
    plan = greedy_plan(day)
    assert check_plan(day, plan) == ()
    assert plan.runs
    first = published(book, day, plan, b"s1", minutes=10)
    assert (first.number, len(first.new_sheets), first.moved_orders) == (1, len(plan.runs), ())
    with pytest.raises(NotSo, match="is version 1 of"):
        published(book, day, plan, b"s1", minutes=11)
    fewer = Plan(runs=plan.runs[1:], not_placed=())
    second = published(book, day, fewer, b"s2", minutes=12)
    assert (second.number, second.new_sheets, second.gone_sheets) == (2, (), (planning.crew_of(plan.runs[0]),))
    assert set(second.moved_orders) == {str(day.move_of[move].order) for move in plan.runs[0].itinerary.moves}
    ref = OrderRef(second.moved_orders[0])
    new_phone = replace(day.order_of[ref], buyer=replace(day.order_of[ref].buyer, phone="07700 900555"))
    told = replace(day, orders=tuple(new_phone if order.ref == ref else order for order in day.orders))
    third = published(book, told, plan, b"s3", minutes=14)
    assert third.new_sheets == (plan.runs[0].run_id,), "its sheet was withdrawn and comes anew; nobody else's is touched"


def test_a_draft_is_not_published_once_the_day_has_changed(book):
    take(book, ROWS[:1])
    day = day_from(book)
    plan = Plan(runs=(), not_placed=())
    with book.change(actor="nell", at=AT + timedelta(minutes=10)) as change:
        planning.draw_up(change, day, plan, raw=b"s1")
    seen = last_event(book)
    with pytest.raises(NotSo, match="not the plan that was drawn up"), book.change(actor="nell", at=AT + timedelta(minutes=10)) as change:
        planning.publish(change, day, plan, raw=b"other")
    said(book, afternoon.pin, "A0", driver="D1", transporter=None, actor="omar", minutes=11)
    with pytest.raises(StaleView), book.change(actor="nell", at=AT + timedelta(minutes=12), seen=seen) as change:
        planning.publish(change, day, plan, raw=b"s1")
    with pytest.raises(NotSo, match="Since this plan was drawn up, A0 changed"), book.change(actor="nell", at=AT + timedelta(minutes=12)) as change:
        planning.publish(change, day, plan, raw=b"s1")
