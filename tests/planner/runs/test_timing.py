"""From an itinerary to a run: minutes of the table, work at the stops, visits, and refusals in words."""

from dataclasses import replace

import numpy as np

from planner.model.crews import VehicleClass, WeekSoFar
from planner.model.places import Window
from planner.model.travel import TravelTable
from planner.runs.costing import price
from planner.runs.plan import NotPlaced, Plan
from planner.runs.referee import check_plan
from planner.runs.refusal import Refusal
from planner.runs.run import ActivityKind, Itinerary, Stop
from planner.runs.timing import fullest_week, lay_out
from tests.planner.runs.worked_day import AYR, BEE, FAR, YARD, table, worked_day

FAR_ON_PLATES = Itinerary(driver="D3", stops=(Stop(place=YARD, takes=("M4",)), Stop(place=FAR, leaves=("M4",))))


def assert_fair(day, run):
    """The referee finds nothing in a plan of this run, priced, with all else left behind."""
    priced = replace(run, costs=price(day, run))
    left = tuple(
        NotPlaced(move=move.move_id, pence=move.stays_behind_pence, reason="left for this test")
        for move in day.moves if move.move_id not in run.itinerary.moves
    )  # fmt: skip
    assert check_plan(day, Plan(runs=(priced,), not_placed=left)) == ()


WITH_PART_EXCHANGE = Itinerary(
    driver="D2",
    transporter="T1",
    stops=(
        Stop(place=YARD, takes=("M1",)),
        Stop(place=AYR, leaves=("M1",), takes=("M3",)),
        Stop(place=YARD, leaves=("M3",)),
    ),
)


def test_a_plate_run_by_hand():
    # 5,400 s with 5% reserve are 94.5, so 95 minutes; collect 15, hand over 30, ride home 90.
    run = lay_out(worked_day(), FAR_ON_PLATES)
    assert [(step.kind, step.end_min - step.start_min) for step in run.activities] == [
        (ActivityKind.OTHER_WORK, 15),
        (ActivityKind.DRIVE, 95),
        (ActivityKind.OTHER_WORK, 30),
        (ActivityKind.RIDE, 90),
    ]
    assert [visit.leg_by for visit in run.visits] == ["", "car", "ride"]
    assert [visit.aboard_after for visit in run.visits] == [("M4",), (), ()]
    assert run.book == "plates"
    assert_fair(worked_day(), run)


def test_a_transporter_run_by_hand():
    # walk round 15, load 12, 63 minutes each way (3,600 s and 5%), at the door 30 + 10 + 20 + 12, unload 10, end of day 10.
    run = lay_out(worked_day(), WITH_PART_EXCHANGE)
    assert run.end_min - run.start_min == 15 + 12 + 63 + 72 + 63 + 10 + 10
    assert run.visits[1].leaves == ("M1",)
    assert run.visits[1].aboard_after == ("M3",)
    assert run.metres == 160_000
    assert_fair(worked_day(), run)


def test_work_waits_for_the_window_and_duty_starts_late_rather_than_waits():
    day = worked_day()
    moves = tuple(
        replace(move, destination_window=Window(opens_min=720, closes_min=780)) if move.move_id == "M4" else move
        for move in day.moves
    )
    run = lay_out(replace(day, moves=moves), FAR_ON_PLATES)
    assert run.visits[1].start_min == 720
    assert run.start_min == 720 - 95 - 15


def test_a_window_in_the_past_is_an_answer_with_minutes():
    day = worked_day()
    moves = tuple(
        replace(move, destination_window=Window(opens_min=300, closes_min=400)) if move.move_id == "M4" else move
        for move in day.moves
    )
    refusal = lay_out(replace(day, moves=moves), FAR_ON_PLATES)
    assert isinstance(refusal, Refusal)
    assert refusal.short_by_min == 360 + 15 + 95 - 399  # arrives at 470; 399 is the last minute inside


def test_a_shut_compound_cannot_be_visited():
    day = worked_day()
    shut = replace(day, compounds=(replace(day.compounds[0], window=None),))
    refusal = lay_out(shut, FAR_ON_PLATES)
    assert isinstance(refusal, Refusal)
    assert refusal.rule == "compound"


def test_where_no_road_leads_the_refusal_says_so():
    day = worked_day()
    cut = table(VehicleClass.CAR)
    seconds, metres = cut.seconds.copy(), cut.metres.copy()
    seconds[0, 3] = metres[0, 3] = -1
    broken = TravelTable(vehicle_class=VehicleClass.CAR, metres=metres, seconds=seconds, charge_mask=cut.charge_mask,
                         ferry_seconds=cut.ferry_seconds)  # fmt: skip
    refusal = lay_out(replace(day, tables={**day.tables, VehicleClass.CAR: broken}), FAR_ON_PLATES)
    assert isinstance(refusal, Refusal)
    assert refusal.rule == "road"


def test_a_ferry_is_neither_driving_nor_a_break():
    day = worked_day()
    car = table(VehicleClass.CAR)
    ferry = np.zeros((4, 4), np.int32)
    ferry[0, 3] = 2_400
    sea = TravelTable(vehicle_class=VehicleClass.CAR, metres=car.metres, seconds=car.seconds, charge_mask=car.charge_mask,
                      ferry_seconds=ferry)  # fmt: skip
    run = lay_out(replace(day, tables={**day.tables, VehicleClass.CAR: sea}), FAR_ON_PLATES)
    kinds = [(step.kind, step.end_min - step.start_min) for step in run.activities]
    assert kinds[1:3] == [(ActivityKind.DRIVE, 53), (ActivityKind.AVAILABLE, 40)]  # 3,000 s and 5%; 2,400 s


def test_a_support_car_brings_the_driver_home():
    run = lay_out(worked_day(), replace(FAR_ON_PLATES, support_driver="D1"))
    assert [visit.leg_by for visit in run.visits] == ["", "car", "support car"]
    assert run.metres == 300_000
    assert_fair(worked_day(), run)


def test_two_drivers_share_the_fuller_week():
    one = WeekSoFar(driven_week_min=600, driven_last_week_min=3_000, last_duty_end_min=-400, weekly_rest_ended_min=-4_000)
    other = WeekSoFar(driven_week_min=900, duty_days=2, reduced_rests=1, last_duty_end_min=None)
    assert fullest_week([one]) == one
    assert fullest_week([one, other]) == WeekSoFar(
        driven_week_min=900, driven_last_week_min=2_700, duty_days=2, reduced_rests=1, last_duty_end_min=-400,
        weekly_rest_ended_min=-4_000,
    )  # in two weeks 3,600 either way


def test_one_visit_does_both_ends_of_a_door():
    run = lay_out(worked_day(), WITH_PART_EXCHANGE)
    assert [visit.place for visit in run.visits] == [YARD, AYR, YARD]
    stops = (*WITH_PART_EXCHANGE.stops[:2], Stop(place=BEE), Stop(place=YARD, leaves=("M3",)))
    longer = lay_out(worked_day(), replace(WITH_PART_EXCHANGE, stops=stops))
    assert longer.end_min - longer.start_min > run.end_min - run.start_min
