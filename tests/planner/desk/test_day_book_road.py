"""What is rung in from the road: in every story, once, and refused in words when it cannot be so; on both databases."""

from datetime import UTC, date, datetime, timedelta

import pytest

from cli.commands.day_road import words_of
from planner.clock import DayClock
from planner.desk.day_book import planning, proof
from planner.desk.day_book.book import open_book
from planner.desk.day_book.happenings import ENDS, IN_TURN, OF_CREWS, OF_ORDERS, Happening, happening
from planner.desk.day_book.orders import take_in
from planner.desk.day_book.refusals import NotSo
from planner.desk.day_book.road import Road
from planner.desk.day_book.road_events import Told, road_events
from planner.desk.day_book.road_form import problems_of, read_form
from planner.desk.day_book.road_log import record, take_back
from planner.desk.day_book.words import sentence
from planner.desk.intake import read_day
from planner.desk.intake_cells import CellFault
from planner.faults import BadFiles
from planner.runs.referee import check_plan
from tests.planner.desk import small_folder
from tests.planner.desk.quoting_world import greedy_plan
from tests.stand_in_geography import locate, travel_tables

AT = datetime(2026, 11, 26, 6, 0, tzinfo=UTC)
DAY = "2026-11-26"
CLOCK = DayClock(date(2026, 11, 26))
DOORS = ("NN11 4FD", "CV21 4HZ", "LE1 5TT")
ROWS = [small_folder.order(order=f"A{n}", registration=f"QA20 A{n}A", postcode=code) for n, code in enumerate(DOORS)]
DRIVERS = [{"driver": f"D{n}", "name": f"Bram Sampleton {n}", "base": "Yard", "licences": "B"} for n in (1, 2, 3)]

YARD = [{"compound": "Yard", "postcode": "NN11 8QL", "plate_sets": "3"}]  # A0 and A2 go by plate runs, A1 stays behind


@pytest.fixture
def book(where):
    """A book with a published day of two plate runs."""
    with open_book(where, may_make=True) as opened:
        day = read_day(small_folder.files(orders=ROWS, drivers=DRIVERS, compounds=YARD), locate=locate, tables=travel_tables)
        plan = greedy_plan(day)
        assert check_plan(day, plan) == ()
        with opened.change(actor="nell", at=AT) as change:
            take_in(change, ROWS, source="sales", on=DAY)
            planning.draw_up(change, day, plan, raw=b"s1")
            planning.publish(change, day, plan, raw=b"s1")
        yield opened
        with opened.reading() as reader:
            assert list(proof.faults(reader)) == [], "whatever a test did, the book holds together"


def crew(book, ref):
    with book.reading() as reader:
        return reader.value("placing", ref)["driver"]


def begins(book, ref):
    with book.reading() as reader:
        return CLOCK.from_iso(reader.value("sheet", f"{DAY} {crew(book, ref)}")["begins"])


class Refused(Exception):
    pass


def tell(book, *told, now_min=None):
    """Record (who, what, minute and perhaps late minutes and a remark); raise all faults as sentences."""
    rows = [Told(who=who, what=Happening(what), at_min=at, **dict(zip(("late_min", "says"), more, strict=False)))
            for who, what, at, *more in told]
    with book.change(actor="nell", at=AT + timedelta(minutes=1)) as change:
        new, faults = record(change, rows, CLOCK, now_min=now_min)
        if faults:
            raise Refused("\n".join(f"{fault.part}: {fault.says}. {fault.advice}" for fault in faults))
    return new


def entries(book, topic):
    with book.reading() as reader:
        return list(reader.events(topic=topic))


def story(book, topic):
    return [sentence(event).split(": ", 1)[1] for event in entries(book, topic) if event.thing in ("road", "told")]


def last_event(book):
    with book.reading() as reader:
        return reader.last_event


def test_an_event_stands_in_the_story_of_the_order_and_of_its_crew(book):
    driver, start = crew(book, "A2"), begins(book, "A2")
    at = CLOCK.wall(start + 100)
    assert tell(book, ("A2", "arrived", start + 100), ("A2", "refused", start + 120, None, "a scratch on the bonnet")) == 2
    said = [f"A2 arrived at {at} ({driver})", f"A2 refused at {CLOCK.wall(start + 120)} ({driver}): a scratch on the bonnet"]
    assert story(book, "A2") == said
    assert story(book, driver) == said
    assert len({event.change for event in entries(book, driver) if event.thing == "road"}) == 1, "one transaction"
    with book.reading() as reader:
        assert (reader.value("order", "A2")["state"], reader.value("order", "A2")["failed"]) == ("open", 1)
        assert [one.what for one in road_events(reader, CLOCK)] == [Happening.ARRIVED, Happening.REFUSED]


def test_the_same_again_changes_nothing_even_when_the_order_is_finished_or_the_crew_no_longer_has_a_run(book):
    driver, start = crew(book, "A0"), begins(book, "A0")
    rows = ((driver.lower(), "on duty", start - 10), ("A0", "handed over", start + 90), (driver, "off duty", start + 200))
    assert tell(book, *rows) == 3
    before = last_event(book)
    assert tell(book, *rows) == 0
    with book.change(actor="nell", at=AT + timedelta(minutes=2)) as change:
        change.put("sheet withdrawn", "sheet", f"{DAY} {driver}", None, topic=driver, day=DAY)
    assert tell(book, *rows) == 0
    assert last_event(book) == before + 1
    assert tell(book, (driver, "late", start + 210, 30)) == 1, "a crew that was heard of is still known"


def test_another_remark_is_kept_beside_the_first(book):
    driver, start = crew(book, "A0"), begins(book, "A0")
    tell(book, ("A0", "arrived", start + 50))
    tell(book, ("A0", "arrived", start + 50, None, "gate shut"))
    tell(book, ("A0", "arrived", start + 50))
    assert story(book, "A0") == [f"A0 arrived at {CLOCK.wall(start + 50)} ({driver})",
                                 f"said more: A0 arrived at {CLOCK.wall(start + 50)} ({driver}): gate shut"]


@pytest.mark.parametrize(("told", "words"), [
    ([("A9", "handed over", 700)], "who: there is no order and no crew of that name"),
    ([("D1X", "left", 700)], r"who: .*Did you mean D\d\?"),
    ([("A0", "arrived", 60)], r"at: 01:00 lies before the run of D\d began \(\d\d:\d\d\)\. If it began sooner, say that first"),
    ([("A0", "arrived", 5000)], "at: .* is not near 2026-11-26"),
    ([("A0", "handed over", 900), ("A0", "refused", 910)], "who: this order is delivered, so nothing more can happen to it"),
    ([("A0", "nobody home", 900), ("A0", "handed over", 910)], "who: its visit of this day has ended already"),
    ([("A1", "arrived", 700)], "who: this order is in no published run"),
    ([("A0", "late", 700)], "minutes: by how many minutes is not said"),
    ([("A0", "arrived", 700, 20)], "minutes: minutes belong to 'late'"),
    ([("D1", "handed over", 700)], "what: a crew is not 'handed over'"),
    ([("A0", "breakdown", 700)], "what: an order is not 'breakdown'"),
    ([("A0", "late", 700, 1441)], "minutes: nobody is late by 1,441 minutes. Give 1 to 1,440"),
    ([("A0", "late", 700, 0)], "minutes: nobody is late by 0 minutes"),
    ([("D1", "breakdown", 60)], r"what: D1 has no car before its run begins \(\d\d:\d\d\)\. Say 'driver ill'"),
])
def test_what_cannot_be_so_is_refused_in_words_and_nothing_is_written(book, told, words):
    before = last_event(book)
    with pytest.raises(Refused, match=words):
        tell(book, *told)
    assert last_event(book) == before


def test_a_time_that_has_not_come_or_goes_back_is_refused(book):
    driver, start = crew(book, "A0"), begins(book, "A0")
    with pytest.raises(Refused, match="has not come yet; it is 06:00"):
        tell(book, ("A0", "cancelled", 700), now_min=360)
    tell(book, ("A0", "arrived", start + 60))
    with pytest.raises(Refused, match=rf"lies before the last word from {driver} \(arrived A0 at"):
        tell(book, ("A0", "handed over", start + 40))
    tell(book, (driver, "late", start + 40, 10)), "a word that is not of the crew's own doing may come in late"
    with pytest.raises(Refused, match="began"):
        tell(book, (driver, "off duty", start - 40))


def test_a_run_may_begin_sooner_than_planned_when_that_is_said_first(book):
    start = begins(book, "A0")
    assert tell(book, (crew(book, "A0"), "on duty", start - 60), ("A0", "arrived", start - 10)) == 2


def tell_form(book, told, problems):
    with book.change(actor="nell", at=AT + timedelta(minutes=1)) as change:
        _, faults = record(change, [one for _, one in told], CLOCK, now_min=None)
        raise BadFiles([*problems, *problems_of("road.csv", told, faults)])


def test_all_faults_of_a_form_are_told_at_once_with_their_rows(book):
    rows = [["07:65", "A0", "arrived", ""], ["12:00", "A0", "nobody hom", ""], ["", "A2", "arrived", ""], ["12:00", "A7", "arrived", ""],
            ["12:00", "A2", "late", "0"], ["12:05", "A2", "late", ""], ["12:00", "A2", "arrived", ""], ["2026-11-27 00:20", "A2", "refused", ""]]
    cells = [dict(zip(("at", "who", "what", "minutes"), row, strict=True)) for row in rows]
    table = small_folder.table("road", cells)
    problems = []
    told = read_form(table, CLOCK, problems)
    before = last_event(book)
    with pytest.raises(BadFiles) as refused:
        tell_form(book, told, problems)
    assert [(problem.row, problem.column) for problem in sorted(refused.value.problems, key=lambda one: one.row)] == [
        (2, "at"), (3, "what"), (4, "at"), (5, "who"), (6, "minutes"), (7, "minutes")]
    assert last_event(book) == before
    assert told[-1][1].at_min == 1440 + 20


def test_rows_may_stand_in_any_order(book):
    start = begins(book, "A0")
    assert tell(book, ("A0", "handed over", start + 90), ("A0", "arrived", start + 60), (crew(book, "A0"), "on duty", start)) == 3


def test_what_was_not_so_is_taken_back_and_both_stay_in_the_story(book):
    driver, start = crew(book, "A0"), begins(book, "A0")
    tell(book, ("A0", "handed over", start + 90))
    wrong = next(event.id for event in entries(book, driver) if event.kind == "handed over")
    with book.change(actor="nell", at=AT + timedelta(minutes=2)) as change:
        take_back(change, wrong)
    with book.reading() as reader:
        assert reader.value("order", "A0")["state"] == "open"
        assert road_events(reader, CLOCK) == []
    assert len(story(book, "A0")) == 2
    assert story(book, "A0")[1].startswith("taken back: A0 handed over")
    tell(book, ("A0", "nobody home", start + 90))
    with pytest.raises(NotSo, match="was taken back already"), book.change(actor="nell", at=AT + timedelta(minutes=2)) as change:
        take_back(change, wrong)
    with pytest.raises(NotSo, match="tells nothing of the road"), book.change(actor="nell", at=AT + timedelta(minutes=2)) as change:
        take_back(change, 1)
    with pytest.raises(NotSo, match="tells nothing of the road"), book.change(actor="nell", at=AT + timedelta(minutes=2)) as change:
        take_back(change, 99_999)


def test_an_entry_is_not_taken_back_under_a_later_change_of_its_order(book):
    start = begins(book, "A0")
    tell(book, ("A0", "nobody home", start + 90))
    wrong = next(event.id for event in entries(book, "A0") if event.thing == "told")
    with book.change(actor="nell", at=AT + timedelta(minutes=2)) as change:
        take_in(change, [{**row, "mass_kg": "1250"} for row in ROWS], source="sales", on=DAY)
    with pytest.raises(NotSo, match="Order A0 was changed after entry"), book.change(actor="nell", at=AT + timedelta(minutes=3)) as change:
        take_back(change, wrong)


def test_a_run_may_be_named_by_its_number(book):
    with book.reading() as reader:
        crews = reader.value("version", DAY)["crews"]
        road = Road(reader, CLOCK, now_min=None)
        for run, driver in crews.items():
            assert road.event(Told(who=run, what=Happening.BREAKDOWN, at_min=600)).crew == driver


SAID_OF_ORDERS = ("left", "arrived", "collected", "handed over", "refused", "nobody home", "failed its check", "not reached",
                  "part-exchange not as described", "cancelled", "late")
SAID_OF_CREWS = ("on duty", "left", "arrived", "late", "breakdown", "going again", "driver ill", "off duty")


@pytest.mark.parametrize(("who", "what"), [*(("A0", what) for what in SAID_OF_ORDERS), *(("D", what) for what in SAID_OF_CREWS)])
def test_each_kind_of_event_is_taken_by_command_and_by_form_and_is_the_same(book, who, what):
    """The words of the command are read by the command's own function; the form's by the form's."""
    who, at_min = crew(book, "A0") if who == "D" else who, begins(book, "A0") + 90
    happened, late_min = words_of([*what.split(), *(["40"] if what == "late" else [])])
    by_command = Told(who=who, what=happened, at_min=at_min, late_min=late_min)
    cells = {"at": CLOCK.wall(at_min), "who": who, "what": what, "minutes": "40" if what == "late" else ""}
    problems = []
    ((_, by_form),) = read_form(small_folder.table("road", [cells]), CLOCK, problems)
    assert problems == []
    assert by_form == by_command
    assert tell(book, (who, by_form.what, at_min, *([40] if what == "late" else []))) == 1
    assert [one.what for one in entries_told(book)] == [what]
    if who == "A0" and happening(what) in ENDS:
        with book.reading() as reader:
            assert reader.value("order", "A0")["state"] == ENDS[happening(what)]


def entries_told(book):
    with book.reading() as reader:
        return road_events(reader, CLOCK)


def test_every_kind_of_event_is_tried():
    assert {*SAID_OF_ORDERS, *SAID_OF_CREWS} == set(Happening)


def test_each_word_is_known_and_belongs_to_an_order_a_crew_or_either():
    assert all(happening(one.value.upper()) is one for one in Happening)
    assert not OF_ORDERS & OF_CREWS
    assert set(Happening) - OF_ORDERS - OF_CREWS == {Happening.LEFT, Happening.ARRIVED, Happening.LATE}
    assert set(ENDS) <= OF_ORDERS
    assert Happening.LATE not in IN_TURN
    for text, near in (("handed ovr", "handed over"), ("zzz", "Use one of")):
        with pytest.raises(CellFault, match="nothing that happens") as refused:
            happening(text)
        assert near in str(refused.value)
