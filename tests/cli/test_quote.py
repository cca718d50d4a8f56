"""The quote, tariff and price-list commands, each run as people run them, on a plan of ten moves on real roads."""

import csv
import json
import subprocess
import sys
from dataclasses import replace
from datetime import datetime, timedelta
from types import SimpleNamespace

import pytest

from cli.app import main
from maps.gazetteer import locate
from maps.travel import travel_tables
from planner.clock import DayClock
from planner.model.crews import VehicleClass
from planner.model.places import PlaceId
from planner.model.rides import ride_table
from planner.runs.plan_document import plan_to_document
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


@pytest.fixture
def run(capsys, monkeypatch):
    """Run the command in this process, as the shell would: exit code, what was printed, what was said of faults."""

    def run(*words: str):
        monkeypatch.setattr(sys, "argv", ["homeleg", *words])
        with pytest.raises(SystemExit) as ended:
            main()
        printed = capsys.readouterr()
        return SimpleNamespace(returncode=ended.value.code or 0, stdout=printed.out, stderr=printed.err)

    return run


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
    assert "Its place is held until" in shown.stdout
    dropped = run("quote", "--drop", document["reference"], "--day", str(folder))
    assert "its place is free again" in dropped.stdout


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
