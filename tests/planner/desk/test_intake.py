"""The demo day as a whole: what its folder says is what the frozen day holds."""

from pathlib import Path

import pytest

from cli.day_folder import load_day, read_files
from planner.desk.intake import planning_day
from planner.desk.transfers_ahead import is_ahead
from planner.model.moves import MoveKind
from planner.model.orders import Gate
from planner.model.places import Nation
from tests.planner.desk.small_folder import only_fault, read
from tests.stand_in_geography import locate, travel_tables

DEMO = Path(__file__).parents[3] / "demo_data" / "demo_day"


@pytest.fixture(scope="module")
def day():
    return load_day(DEMO, locate=locate, tables=travel_tables)


def test_the_demo_day_has_what_its_description_promises(day):
    kinds = [move.kind for move in day.moves if not is_ahead(move)]  # where these stand is chance in the stand-in
    assert (len(day.compounds), len(day.drivers), len(day.transporters), len(day.carriers)) == (3, 25, 9, 2)
    assert kinds.count(MoveKind.DELIVERY) == 49
    assert kinds.count(MoveKind.RETURN) == 2
    assert kinds.count(MoveKind.TRANSFER) == 2
    assert kinds.count(MoveKind.PART_EXCHANGE) >= 8
    assert {order.hold.gate for order in day.held} == {Gate.FUNDS, Gate.VALET, Gate.INSURANCE, Gate.KEYS, Gate.PART_EXCHANGE}
    assert {compound.place.nation for compound in day.compounds} == {Nation.ENGLAND, Nation.SCOTLAND}


def test_a_ride_the_office_knows_better_is_taken_both_ways():
    ride = {"district": "nn11", "other_district": "LA9", "minutes": "300", "fare": "99.50"}
    day = read(rides=[ride])
    assert (day.rides.minutes[0, 1], day.rides.fare_pence[1, 0]) == (300, 9950)
    assert only_fault(rides=[ride, {**ride, "district": "LA9", "other_district": "NN11"}])[1:3] == (3, "other_district")
    assert only_fault(rides=[{**ride, "district": "Kendal"}])[2:] == ("district", "this is no postcode district")


def test_the_folder_names_the_day():
    assert planning_day(read_files(DEMO)).isoformat() == "2026-11-26"


def test_nothing_of_the_demo_day_is_left_out_in_silence(day):
    rows = (DEMO / "orders.csv").read_text(encoding="utf-8").splitlines()[1:]
    moved = {str(move.move_id) for move in day.moves} | {str(order.ref) for order in day.held}
    noted = " ".join(day.notes)
    assert [row for row in rows if row.split(",")[0] not in moved and row.split(",")[0] not in noted] == []


def test_a_part_exchange_leaves_the_door_of_its_delivery_for_the_compound_it_came_from(day):
    for move in day.moves:
        if move.kind is MoveKind.PART_EXCHANGE:
            delivery = day.move_of[move.tied_to]
            assert (move.origin, move.destination) == (delivery.destination, delivery.origin)
            assert move.origin_window == delivery.destination_window
            assert move.origin_min == day.policy.part_exchange_min


def test_no_move_of_the_demo_day_is_both_undriven_and_uncarried(day):
    assert all(move.may_be_driven or move.may_be_carried for move in day.moves)


def test_the_heavy_electric_car_is_above_the_payload_of_the_lightest_transporter(day):
    heaviest = max(move.car.mass_kg for move in day.moves)
    assert min(transporter.payload_kg for transporter in day.transporters) < heaviest
    assert max(transporter.payload_kg for transporter in day.transporters) > heaviest
