"""The load sheet: deck, drawing and order of loading as the load plan has them."""

from dataclasses import replace

import pytest

from planner.model.decks import library
from planner.runs.loading import load, slots_after
from planner.sheets.load_sheet import load_sheet
from planner.sheets.pack import pack
from planner.sheets.run_sheet import run_sheet
from planner.sheets.typst_pages import typst_data
from tests.sheet_days import a_day, a_plan, transporter_run


@pytest.fixture
def day():
    plain = a_day()
    deck = library()["four-car-rigid"]
    truck = replace(plain.transporters[0], deck=deck.name, payload_kg=deck.payload_kg, gross_kg=deck.gross_kg, slots=len(deck.slots))
    return replace(plain, transporters=(truck,), decks={deck.name: deck})


def test_without_a_deck_there_is_no_load_sheet():
    assert load_sheet(a_day(), transporter_run()) is None
    assert pack(a_day(), a_plan(), a_plan().runs[0]).load_sheet is None


def test_it_shows_the_deck_where_cars_come_on_with_registrations_and_slots(day):
    sheet = load_sheet(day, transporter_run())
    assert [stage.title for stage in sheet.stages] == ["1. Daventry preparation centre"]
    assert sorted(step.split(" into ")[0] for step in sheet.stages[0].steps) == ["On: AB12 CDE", "On: CD34 EFG"]
    assert "AB12 CDE" in sheet.stages[0].drawing
    assert "H-101" not in sheet.stages[0].drawing


def test_the_run_sheet_tells_the_same_order_of_loading_as_the_load_sheet(day):
    run = transporter_run()
    found = load(day, run.itinerary)
    slots = slots_after(found, 0)
    run = replace(run, visits=(replace(run.visits[0], slots=slots), *run.visits[1:]))
    told = run_sheet(day, replace(a_plan(), runs=(run,)), run)
    first = next(step.call for step in told.steps if step.call)
    by_load_sheet = [step.removeprefix("On: ").split(" into ")[0] for step in load_sheet(day, run).stages[0].steps]
    assert [line.car[:8] for line in first.cars] == by_load_sheet
    assert told.loading == "Load in the order of visit 1; 2,500 kg (kerb) of 8,400 kg payload"


def test_the_run_sheet_tells_mass_and_height_on_every_leg_and_the_licence(day):
    """By hand: 18,000 - 8,400 = 9,600 kg unladen, two cars of 1,250 kg; empty it stands 2,950 mm (the deck file)."""
    run = transporter_run()
    sheet = run_sheet(day, a_plan(), run)
    details = [step.detail for step in sheet.steps if step.kind == "drive"]
    tall = f"{load(day, run.itinerary).stages[0].height_mm / 1000:.2f} m tall"
    assert "12,100 kg, " + tall in details[0]
    assert sum("10,850 kg, " in detail for detail in details) == 1
    assert "empty, 9,600 kg, 2.95 m tall" in details[-1]
    assert sheet.licence == load_sheet(day, run).licence == "Driving licence C, for 18,000 kg"  # gov.uk, driving licence categories


def test_without_a_deck_the_mass_is_told_and_no_height():
    sheet = run_sheet(a_day(), a_plan(), transporter_run())
    first = next(step.detail for step in sheet.steps if step.kind == "drive")
    assert "6,700 kg" in first  # 7,500 - 3,300 + 2 x 1,250
    assert "tall" not in first
    assert sheet.licence == "Driving licence C1, for 7,500 kg"


def test_what_is_read_while_loading_stands_on_the_load_sheet_and_nowhere_twice(day):
    one = pack(day, a_plan(), a_plan().runs[1])
    at_deck, on_the_way = ({caution.code for caution in sheet.cautions} for sheet in (one.load_sheet, one.run_sheet))
    assert at_deck == {"C08", "C09", "C18"}
    assert not at_deck & on_the_way
    alone = run_sheet(day, a_plan(), a_plan().runs[1])
    assert at_deck | on_the_way == {caution.code for caution in alone.cautions}


def test_the_height_of_the_load_plan_is_that_of_the_caution(day):
    one = pack(day, a_plan(), a_plan().runs[1])
    height = f"{one.load_sheet.height_mm / 1000:.2f} m"
    assert any(height in caution.says for caution in one.run_sheet.cautions)


def test_on_paper_the_drawing_uses_our_own_letters(day):
    data = typst_data(pack(day, a_plan(), a_plan().runs[1]).sheets)
    assert "sans-serif" not in data
