"""Handover, part-exchange and return sheets, and the pack that holds them."""

from dataclasses import asdict, replace

import pytest

from planner.model.orders import OrderRef
from planner.sheets.handover_sheet import HandoverSheet, functions_shown, handover_sheet
from planner.sheets.pack import order_pack, pack
from planner.sheets.part_exchange_sheet import PartExchangeSheet, part_exchange_sheet
from planner.sheets.return_sheet import ReturnSheet
from planner.sheets.words import words
from tests.sheet_days import ORDERS, a_day, a_plan, car


def packs():
    day, plan = a_day(), a_plan()
    return [pack(day, plan, run) for run in plan.runs]


def test_a_pack_holds_the_sheets_in_the_order_of_the_day():
    plate, transporter, hired = packs()
    assert [type(sheet) for sheet in plate.door_sheets] == [HandoverSheet, PartExchangeSheet]
    assert [sheet.head.order for sheet in transporter.door_sheets] == ["H-101", "H-103"]
    assert [type(sheet) for sheet in hired.door_sheets] == [ReturnSheet]


def test_one_order_alone():
    found = order_pack(a_day(), a_plan(), OrderRef("H-102"))
    assert found is not None
    assert found.run_sheet is None
    assert [sheet.head.order for sheet in found.door_sheets] == ["H-102", "H-102"]
    assert order_pack(a_day(), a_plan(), OrderRef("H-104")) is None


def test_right_to_cancel_ends_fourteen_days_after_the_day_of_handover():
    """Consumer Contracts Regulations 2013 (SI 2013/3134) reg. 30(3), from memory: received on 17 March, the last day is 31 March."""
    run = a_plan().runs[0]
    assert "Tuesday 31 March 2026" in handover_sheet(a_day(), ORDERS[1], run, run.visits[1]).cancel


def test_the_sheet_of_a_visit_shows_no_price_no_email_no_other_buyer():
    """UK GDPR art. 5(1)(c), data minimisation."""
    for one in packs():
        for sheet in one.door_sheets:
            text = str(asdict(sheet))
            assert "never@printed" not in text
            assert "19900" not in text
            names = [name for name in ("A. Example", "B. Sample", "P. Slaughterford") if name in text]
            assert len(names) <= 1


def test_gates_are_ticked_as_the_office_left_them_and_part_exchange_only_where_there_is_one():
    run = a_plan().runs[1]
    order = replace(ORDERS[0], gates={**ORDERS[0].gates})
    gates = handover_sheet(a_day(), order, run, run.visits[1]).gates
    assert all(gate.done for gate in gates)
    assert "Part-exchange agreed" not in [gate.says for gate in gates]


def test_what_is_shown_follows_the_equipment_list():
    shown = " ".join(functions_shown(car("AB12CDE", equipment=("Adaptive Cruise Control", "Towbar")), words()))
    assert "Cruise control" in shown
    assert "Tow bar" in shown
    assert "Sunroof" not in shown


def test_high_voltage_caution_stands_on_the_sheet_of_an_electric_car_only():
    run = a_plan().runs[0]
    assert [c.code for c in handover_sheet(a_day(), ORDERS[1], run, run.visits[1]).cautions] == ["C10"]
    assert [c.code for c in handover_sheet(a_day(), ORDERS[0], run, run.visits[1]).cautions] == []


def test_a_part_exchange_sheet_needs_a_part_exchange():
    run = a_plan().runs[0]
    with pytest.raises(ValueError, match="H-101"):
        part_exchange_sheet(a_day(), ORDERS[0], run, run.visits[1])


def test_the_buyers_copy_has_welsh_headings():
    run = a_plan().runs[0]
    sheet = handover_sheet(a_day(), ORDERS[1], run, run.visits[1], language="cy")
    assert sheet.head.title == "Taflen drosglwyddo"
    assert sheet.documents  # falls back to English where the catalogue has nothing


def test_known_marks_and_the_vin_stand_beside_what_is_found():
    run, marked = a_plan().runs[0], {"vin": "ZZZCV00T4PA012345", "condition": "Scuff on the rear left wheel"}
    old = replace(ORDERS[1], car=replace(ORDERS[1].car, **marked), part_exchange=car("OLD1PX", "Corvane Dart", mileage=98012, **marked))
    sheet = handover_sheet(a_day(), old, run, run.visits[1])
    assert (sheet.known, dict(sheet.head.identity)["VIN"]) == ("Scuff on the rear left wheel", "ZZZCV00T4PA012345")
    taken = part_exchange_sheet(a_day(), old, run, run.visits[1])
    assert dict(taken.appraisal) == {
        "Mileage": "98,012", "Keys": "2, or as agreed", "Warning lights": "none", "Marks and faults": "Scuff on the rear left wheel",
    }  # fmt: skip


def test_a_part_exchange_that_is_not_to_be_driven_says_so_in_a_box():
    day, run = a_day(), a_plan().runs[0]
    unfit = replace(ORDERS[1], part_exchange=replace(ORDERS[1].part_exchange, may_be_driven=False))
    found = part_exchange_sheet(day, unfit, run, run.visits[1])
    assert [caution.code for caution in found.cautions if caution.stands_out] == ["C05"]
    assert "OLD1PX" in found.cautions[0].says
    assert dict(found.appraisal)["Warning lights"] != "none"
    fit = part_exchange_sheet(day, ORDERS[1], run, run.visits[1])
    assert not any(caution.stands_out for caution in fit.cautions)
    assert dict(fit.appraisal)["Warning lights"] == "none"
