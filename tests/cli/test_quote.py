"""The quote, tariff and price-list commands, each run as people run them, on a plan of ten moves on real roads."""

import csv
import json
import subprocess
import sys
from dataclasses import replace
from datetime import date, datetime, timedelta

import pytest

from cli import quoting
from cli.quote_store import read_held
from maps.gazetteer import locate
from maps.travel import travel_tables
from planner.clock import DayClock
from planner.desk.quote import Booked, QuoteDesk
from planner.desk.tariff import Tariff
from planner.model.crews import VehicleClass
from planner.model.orders import Buyer, Order, OrderRef, Promise
from planner.model.places import PlaceId, Window
from planner.model.rides import ride_table
from planner.runs.plan_document import plan_to_document
from planner.runs.refusal import Refusal
from tests.planner.desk.quoting_world import greedy_plan, world

TOMORROW = datetime.now().astimezone().date() + timedelta(days=1)
YARDS = (("LS11 5TZ", "Leeds yard"), ("CV6 6AA", "Coventry yard"), ("RG2 0NJ", "Reading yard"))
DOORS = ("York", "Bolton", "Derby", "Telford", "Oxford", "Cambridge", "Swindon", "Lincoln", "Sheffield", "Leicester")


def real_day(moves: int = 10, **crews: int):
    """The invented crews and moves, on real postcodes and the built-in roads."""
    day = world(moves=moves, **crews)
    yards = [replace(locate(code), place_id=PlaceId(name), name=name) for code, name in YARDS]
    doors = [replace(locate(code), place_id=PlaceId(f"D{number}")) for number, code in enumerate(DOORS[:moves])]
    places = (*yards, *doors)
    tables, charges = travel_tables(places, (VehicleClass.CAR, VehicleClass.GOODS_7500, VehicleClass.GOODS_HEAVY), day=TOMORROW)
    called = {old.place_id: new.place_id for old, new in zip(day.places, places, strict=True)}
    return replace(
        day, clock=DayClock(TOMORROW), places=places, tables=tables, charges=charges,
        compounds=tuple(replace(compound, place=yard) for compound, yard in zip(day.compounds, yards, strict=True)),
        moves=tuple(replace(move, origin=called[move.origin], destination=called[move.destination]) for move in day.moves),
        drivers=tuple(replace(driver, base=called[driver.base]) for driver in day.drivers),
        transporters=tuple(replace(transporter, base=called[transporter.base]) for transporter in day.transporters),
        rides=ride_table(tables[VehicleClass.CAR], day.policy),
    )  # fmt: skip


def written(folder, day):
    folder.mkdir(exist_ok=True)
    (folder / "plan.json").write_text(json.dumps(plan_to_document(day, greedy_plan(day))))
    days = ", ".join(f'"{name}"' for name in ("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun"))
    text = f'weekdays = [{days}]\nbank_holidays = true\ncut_off = "24:00"\n'  # so that tomorrow is open whenever this runs
    (folder / "tariff.toml").write_text(text)
    return folder


@pytest.fixture(scope="module")
def folder(tmp_path_factory):
    return written(tmp_path_factory.mktemp("quote"), real_day(plate_drivers=6, transporters=3))


def test_a_quote_is_read_out_held_shown_again_and_dropped(run, folder):
    asked = run("quote", "HG1 1RJ", "--day", str(folder), "--json", "--car", "estate diesel", "--out", str(folder / "quote.html"))
    assert asked.returncode == 0, asked.stderr
    document = json.loads(asked.stdout)
    for key in ("charge_pence", "cost_alone_pence", "cost_in_plan_pence", "earliest_date", "method"):
        assert document[key] is not None
    assert document["from"] == "Leeds yard"
    page = (folder / "quote.html").read_text()
    assert document["reference"] in page
    assert "<svg" in page
    assert "http" not in page.replace("http://www.w3.org/2000/svg", ""), "nothing is fetched"
    shown = run("quote", "--show", document["reference"].lower(), "--day", str(folder))
    assert document["reply"] in shown.stdout
    assert "its place is held until" in shown.stdout.splitlines()[0]
    dropped = run("quote", "--drop", document["reference"], "--day", str(folder))
    assert "its place is free again" in dropped.stdout
    again = run("quote", "--drop", document["reference"], "--day", str(folder))
    assert "expired at" in again.stdout.splitlines()[0], "nothing is free that was not held"


def test_two_people_asking_at_once_cannot_both_get_the_last_place(tmp_path):
    """One driver, no transporter, no carrier; both ask for the same two hours of the same day in the same second."""
    day = replace(real_day(0, plate_drivers=1, transporters=0), carriers=())
    narrow = written(tmp_path / "narrow", day)
    words = [sys.executable, "-m", "cli", "quote", "--day", str(narrow), "--json", "--window", "12:00-14:00",
             "--date", TOMORROW.isoformat()]  # fmt: skip
    both = [subprocess.Popen([*words, code], stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True)
            for code in ("HG1 1RJ", "LS1 1UR")]  # fmt: skip
    said = [json.loads(process.communicate()[0]) for process in both]
    assert sorted(document["earliest_date"] is None for document in said) == [False, True]


@pytest.mark.parametrize(
    ("words", "code", "says"),
    [
        (("HG1 1RJX",), 1, "HG1 1RJX"),
        (("HG1 1RJ", "--date", "2020-01-02"), 1, "is in the past. Give a date from tomorrow on."),
        (("HG1 1RJ", "--date", "2099-01-02"), 1, "is beyond the 14 days for which we quote"),
        (("HG1 1RJ", "--car", "spaceship"), 1, "so the car has no mass"),
        (("HG1 1RJ", "--window", "12:00-08:00"), 2, "is no window"),
        (("HG1 1RJ", "--from", "Nowhere"), 1, "is no compound of this day. Use one of: Leeds yard"),
        (("--order", "ZZ99"), 1, "No order 'ZZ99' on this day"),
        (("--show", "QXXXXX"), 1, "No quote 'QXXXXX'"),
        ((), 2, "give a postcode"),
        (("--batch", "list.csv", "--date", "2020-01-02", "--json"), 2, "--batch: does not go with --date, --json."),
        (("--order", "ZZ99", "--car", "estate"), 2, "--order: does not go with --car."),
    ],
)
def test_what_cannot_be_quoted_gets_a_sentence_and_a_code(run, folder, words, code, says):
    answer = run("quote", *words, "--day", str(folder))
    assert answer.returncode == code
    assert says in " ".join(answer.stderr.replace("│", " ").split())
    assert "Traceback" not in answer.stderr


def test_a_folder_without_a_plan_or_with_a_bad_tariff_says_so(run, folder, tmp_path):
    assert "holds no plan.json. Make one with" in run("quote", "HG1 1RJ", "--day", str(tmp_path)).stderr
    bad = tmp_path / "tariff.toml"
    bad.write_text("margin_percent = -10")
    answer = run("quote", "HG1 1RJ", "--day", str(folder), "--tariff", str(bad))
    assert answer.returncode == 1
    assert "margin_percent: is below zero" in answer.stderr
    bad.write_bytes(b"\xff\xfe")
    answer = run("quote", "HG1 1RJ", "--day", str(folder), "--tariff", str(bad))
    assert (answer.returncode, "cannot be read as UTF-8. Give a tariff.toml" in answer.stderr) == (1, True)


def test_a_folder_that_takes_no_lock_is_told(run, tmp_path):
    locked = written(tmp_path / "locked", real_day(1, plate_drivers=1, transporters=0))
    (locked / ".quotes.json.lock").mkdir()
    answer = run("quote", "HG1 1RJ", "--day", str(locked))
    assert answer.returncode == 1
    assert "quotes.json: this file cannot be written (is a directory)" in answer.stderr


def test_a_price_list_says_where_delivery_is_by_arrangement(run, folder, tmp_path):
    asked = tmp_path / "asked.csv"
    asked.write_text("postcode\nBT1 5GS\nHG1 1RJ\n")
    answer = run("quote", "--batch", str(asked), "--day", str(folder))
    assert answer.returncode == 0, answer.stderr
    elsewhere, here = csv.DictReader(answer.stdout.splitlines())
    assert (elsewhere["postcode"], elsewhere["charge_pounds"]) == ("BT1 5GS", "")
    assert elsewhere["charge_reason"] == "by arrangement: Northern Ireland"
    assert here["charge_pounds"]


def test_a_price_list_has_a_row_for_each_postcode(run, folder, tmp_path):
    asked, told = tmp_path / "asked.csv", tmp_path / "told.csv"
    asked.write_text("note,Postcode\na,HG1 1RJ\nb,CV1 1GF\n\nc,PO30 1UD\n")
    answer = run("quote", "--batch", str(asked), "--day", str(folder), "--out", str(told))
    assert answer.returncode == 0, answer.stderr
    rows = list(csv.DictReader(told.read_text().splitlines()))
    assert [row["postcode"] for row in rows] == ["HG1 1RJ", "CV1 1GF", "PO30 1UD"]
    assert rows[2]["charge_reason"] == "islands are by arrangement"
    assert float(rows[0]["charge_pounds"]) > 0
    asked.write_text("postcode\nHG1 1RJ\nXX1 1XX\nnowhere at all\n")
    told.unlink()
    answer = run("quote", "--batch", str(asked), "--day", str(folder), "--out", str(told))
    assert answer.returncode == 1
    assert "row 3" in answer.stderr
    assert "row 4" in answer.stderr
    assert not told.exists()


def test_the_tariff_is_said_and_drawn(run, folder, tmp_path):
    assert "cost plus 10% and VAT" in run("tariff", "rules", "--day", str(folder)).stdout
    out = tmp_path / "tariff.html"
    answer = run("tariff", "map", "--day", str(folder), "--cell-km", "100", "--out", str(out))
    assert answer.returncode == 0, answer.stderr
    page = out.read_text()
    assert page.count("<svg") == 2
    assert "Earliest day that can be promised" in page


def order_of(move, day, **changes):
    """The order to which a move of the invented day belongs."""
    made = Order(
        ref=OrderRef(f"OR-{move.move_id}"), car=move.car, stands_at=move.origin, door=day.place_of[move.destination],
        buyer=Buyer(name="A. Nobody", phone="01632 960001", address=("1 No Street",)),
        promise=Promise(day=day.clock.day, window=move.destination_window),
    )  # fmt: skip
    return replace(made, **changes)


def with_order(day, number=0, **changes):
    order = order_of(day.moves[number], day, **changes)
    moves = tuple(replace(move, order=order.ref) if at == number else move for at, move in enumerate(day.moves))
    return replace(day, moves=moves, orders=(order,))


def test_a_run_that_cannot_be_timed_without_an_order_keeps_its_crew_and_its_cars(monkeypatch):
    day = replace(real_day(10, plate_drivers=0, transporters=3), carriers=())
    plan = greedy_plan(day)
    shared = max(plan.runs, key=lambda run: len(run.itinerary.moves))
    assert len(shared.itinerary.moves) > 1, "the run has other cars"
    number = next(at for at, move in enumerate(day.moves) if move.move_id in shared.itinerary.moves)
    day = with_order(day, number)
    desk = QuoteDesk(day=day, tariff=Tariff(), calendar=None, booked={day.clock.day: Booked(moves=day.moves, runs=plan.runs)})
    without = quoting.without_order(desk, day.orders[0]).booked[day.clock.day]
    assert day.moves[number] not in without.moves
    monkeypatch.setattr("planner.runs.priced.lay_out", lambda *_, **__: Refusal(rule="hours", says="it takes too long"))
    kept = quoting.without_order(desk, day.orders[0]).booked[day.clock.day]
    assert shared in kept.runs
    assert day.moves[number] in kept.moves


@pytest.fixture
def ordered(tmp_path):
    """One driver, who has time for one car between ten and noon and one after; the first is an order of the plan."""
    day = replace(real_day(1, plate_drivers=1, transporters=0), carriers=())
    window = Window(opens_min=600, closes_min=720)
    day = replace(day, moves=tuple(replace(move, destination_window=window) for move in day.moves))
    return written(tmp_path / "ordered", with_order(day))


def test_an_order_asked_for_again_in_its_own_window_holds_no_second_place(run, ordered):
    asked = run("quote", "--order", "OR-M0", "--day", str(ordered), "--json", "--window", "10:00-12:00")
    document = json.loads(asked.stdout)
    assert document["earliest_date"] == TOMORROW.isoformat()
    assert not document["is_held"]
    assert "OR-M0 is promised already" in " ".join(document["reasons"])
    assert not (ordered / "quotes.json").exists()


def test_an_order_asked_for_another_day_keeps_both_places_and_only_one_of_each(run, ordered):
    later = (TOMORROW + timedelta(days=1)).isoformat()
    words = ("quote", "--order", "OR-M0", "--day", str(ordered), "--json", "--date", later)
    first, second = (json.loads(run(*words).stdout) for _ in range(2))
    assert first["is_held"]
    assert second["earliest_window"] == first["earliest_window"], "the earlier quote for the same car is no obstacle"
    store = read_held(ordered / "quotes.json")
    now = datetime.now().astimezone()
    assert [quote.reference for quote in store.open_at(now)] == [second["reference"]]
    order = with_order(real_day(1)).orders[0]
    (held,) = store.open_at(now)
    moved = replace(order, promise=Promise(day=held.day, window=held.window))
    assert store.open_at(now, (), [moved]) == (), "the order has the place now"
    assert store.open_at(now, (), [order]) == (held,)


def test_a_place_that_is_only_free_without_the_order_is_told_and_not_held(run, ordered):
    asked = run("quote", "--order", "OR-M0", "--day", str(ordered), "--json", "--date", TOMORROW.isoformat(), "--window", "10:30-12:30")
    document = json.loads(asked.stdout)
    assert document["earliest_date"] is not None
    assert not document["is_held"]
    assert "nothing is held yet" in document["reply"]
    assert "OR-M0 keeps the place it has in the plan" in " ".join(document["reasons"])
    again = run("quote", "LS1 1UR", "--day", str(ordered), "--json", "--date", TOMORROW.isoformat(), "--window", "10:00-12:00")
    assert json.loads(again.stdout)["earliest_date"] is None, "the order still has its place"


def test_the_car_of_an_order_is_asked_for_at_another_door(run, ordered):
    asked = run("quote", "LS1 1UR", "--order", "OR-M0", "--day", str(ordered), "--json", "--window", "10:00-12:00")
    document = json.loads(asked.stdout)
    assert document["door"]["postcode"] == "LS1 1UR"
    assert document["car"]["mass_kg"] == real_day(1).moves[0].car.mass_kg
    assert document["earliest_date"] == TOMORROW.isoformat(), "its own place is free for it"
    assert not document["is_held"]
    assert "change its address in the orders" in " ".join(document["reasons"])


def test_an_order_that_waits_for_a_gate_holds_the_place_that_it_is_told(run, tmp_path):
    day = with_order(real_day(2, plate_drivers=2, transporters=0))
    waiting = replace(day, moves=day.moves[1:], orders=(), held=day.orders)
    folder = written(tmp_path / "waiting", waiting)
    document = json.loads(run("quote", "--order", "OR-M0", "--day", str(folder), "--json").stdout)
    assert document["is_held"]
    assert document["reference"] in document["reply"]


def test_an_order_of_a_later_day_is_told_from_one_that_nobody_knows():
    day = with_order(real_day(1))
    later = replace(day.orders[0], ref=OrderRef("OR-LATER"), promise=Promise(day=date(2026, 12, 1), window=None))
    day = replace(day, later=(later,))
    with pytest.raises(quoting.LaterOrder, match="OR-LATER is promised for Tuesday 1 December, which is not planned yet"):
        quoting.order_named(day, "or-later")
    with pytest.raises(quoting.UnknownOrder):
        quoting.order_named(day, "OR-NEVER")


def test_a_part_exchange_is_priced_and_told(run, tmp_path):
    day = replace(real_day(1, plate_drivers=1, transporters=0), carriers=())
    old_car = replace(day.moves[0].car, make_model="Old Five")
    folder = written(tmp_path / "exchange", with_order(day, part_exchange=old_car))
    asked = run("quote", "--order", "OR-M0", "--day", str(folder), "--json", "--no-hold")
    assert "Bringing in its part-exchange (Old Five) is in these costs." in json.loads(asked.stdout)["reasons"]
