"""Days that are not the ordinary one: support cars, rides home, vans, moved cars, doors known by postcode alone."""

from dataclasses import replace

from planner.model.crews import DriverId, VehicleClass
from planner.model.moves import MoveId, MoveKind
from planner.model.orders import Method
from planner.model.places import Place, PlaceId
from planner.runs.run import ActivityKind, CostKind, CostLine, Itinerary
from planner.sheets.handover_sheet import handover_sheet
from planner.sheets.legs import leg_class, leg_parts
from planner.sheets.plain_text import place_name, place_text, vehicle_name
from planner.sheets.run_sheet import run_sheet
from planner.sheets.story import story
from planner.sheets.words import words
from tests.sheet_days import ORDERS, a_day, a_plan, order, plate_run, step, tables, transporter_run, visit


def sheet_of(day, run):
    return run_sheet(day, replace(a_plan(), runs=(run,)), run)


def test_a_support_car_is_named_and_brings_everybody_home():
    run = plate_run()
    run = replace(run, itinerary=replace(run.itinerary, support_driver=DriverId("T1")))
    empty = step(ActivityKind.DRIVE, 945, 960, "DAV", "D1", metres=10_000, visit=3)
    sheet = sheet_of(a_day(), replace(run, activities=(*run.activities, empty)))
    assert sheet.crew == "Pat Plate + Terry Transporter"
    assert vehicle_name(a_day(), run, words()) == "trade plates, with a support car"
    assert sheet.way_home == "Home in the support car."
    assert sheet.steps[-1].detail.endswith("in the support car")
    assert "C16" not in [caution.code for caution in sheet.cautions]  # nobody is alone at a home


def test_a_ride_home_says_how_long_and_what_it_costs():
    run = plate_run()
    ride = step(ActivityKind.RIDE, 945, 1035, "DAV", "D1", visit=3)
    run = replace(
        run, activities=(*run.activities, ride), visits=(*run.visits[:3], visit("D1", 1035, 1035, 1035, leg_min=90, leg_by="ride")),
        costs=(*run.costs, CostLine(kind=CostKind.FARE, says="train", pence=2480)),
    )
    sheet = sheet_of(a_day(), run)
    assert sheet.way_home == "Home by train, coach or taxi: about 1 h 30, about £24.80. Keep the receipts."
    assert sheet.steps[-1].title == "Train, coach or taxi to Kettering NN16 8SA"


def test_home_with_a_return_and_nothing_said_where_the_last_door_is_the_end():
    day, run = a_day(), plate_run()
    fetched = tuple(replace(move, kind=MoveKind.RETURN, tied_to=None) if move.kind is MoveKind.PART_EXCHANGE else move for move in day.moves)
    assert sheet_of(replace(day, moves=fetched), run).way_home == "Home with OLD1PX Corvane Dart."
    only_there = replace(run, visits=(run.visits[0], replace(run.visits[1], takes=()), run.visits[3]))
    assert sheet_of(day, only_there).way_home == ""


def test_the_roads_of_a_sold_van_are_those_of_goods_vehicles():
    day = a_day()
    van = replace(day.moves[1], car=replace(day.moves[1].car, is_van=True))
    day = replace(day, moves=(day.moves[0], van, *day.moves[2:]))
    assert leg_class(day, plate_run(), (van.move_id,)) is VehicleClass.GOODS_3500


def test_a_car_moved_out_of_the_way_and_a_door_too_narrow_are_told():
    day, run = a_day(), transporter_run()
    far = MoveId("H-103")
    visits = (run.visits[0], replace(run.visits[1], moved=(far,), slots=((far, "2"),)), *run.visits[2:])
    narrow = replace(day.moves[0], no_large_vehicle=True)
    sheet = sheet_of(replace(day, moves=(narrow, *day.moves[1:])), replace(run, visits=visits))
    kettering = next(one.call for one in sheet.steps if one.call and one.call.number == "2")
    assert [(line.sign, line.why, line.where) for line in kettering.cars][1] == ("MOVE", "out of the way and back", "slot 2")
    assert kettering.access.endswith("No large vehicle at this door.")
    assert kettering.aboard_after == "Then 1 aboard: CD34 EFG"


def test_the_parts_of_a_leg_add_up_to_it():
    parts = [part for part in leg_parts(plate_run()) if part is not None]
    assert sum(part.metres for part in parts if part.leg == 0) == 200_000
    assert [part.metres for part in parts if part.leg == 1] == [200_000]


def test_a_door_known_by_its_postcode_is_called_by_its_town():
    day = a_day()
    door = Place(place_id=PlaceId("LE3 9AT"), name="LE3 9AT", lng=-1.15, lat=52.65, postcode="LE3 9AT")
    sold = order("H-200", ORDERS[0].car, door, "Ann Example", 540, 720)
    sold = replace(sold, buyer=replace(sold.buyer, address=("Mill View", "Leicester", "LE3 9AT")))
    lone = replace(door, place_id=PlaceId("X"))
    places = (*day.places[:2], door, lone)
    day = replace(day, places=places, orders=(sold,), moves=(), tables=tables(places))
    assert (place_name(day, door.place_id), place_text(day, door.place_id)) == ("Leicester", "Leicester LE3 9AT")
    assert (place_name(day, lone.place_id), place_text(day, lone.place_id)) == ("LE3 9AT", "LE3 9AT")


def test_a_car_whose_mileage_nobody_wrote_down_has_no_line_for_it():
    run = transporter_run()
    bare = replace(ORDERS[0], car=replace(ORDERS[0].car, mileage=None))
    assert [label for label, _ in handover_sheet(a_day(), bare, run, run.visits[1]).head.identity] == ["VIN", "Fuel"]


def test_stories_of_wishes_of_no_window_and_of_no_reason():
    day, plan = a_day(), a_plan()
    carried = replace(ORDERS[0], method=Method.CARRIED)
    assert "Carried, because the order asks for it." in story(day, plan, carried)
    run = transporter_run()
    open_door = replace(plan, runs=(replace(run, visits=(run.visits[0], replace(run.visits[1], window=None), *run.visits[2:])),))
    assert "Planned for 09:00." in story(day, open_door, ORDERS[0])
    assert story(day, replace(plan, runs=(), not_placed=()), ORDERS[0])[0] == "No run takes it and no reason was kept."
    stranger = order("H-999", ORDERS[0].car, day.places[2], "Nobody Here", 540, 600)
    assert story(day, plan, stranger)[0] == "It is not part of this day's moves."
    alone = replace(run, itinerary=Itinerary(driver=DriverId("T1"), transporter=run.itinerary.transporter, stops=(
        replace(run.itinerary.stops[0], takes=(MoveId("H-101"),)), run.itinerary.stops[1])))
    assert any("No other door is on that run." in says for says in story(day, replace(plan, runs=(alone,)), ORDERS[0]))
