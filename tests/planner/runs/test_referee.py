"""The referee passes a plan worked by hand and names the very rule that each of its broken copies breaks."""

from dataclasses import replace

import pytest

from planner.model.crews import DriverId, TransporterId, VehicleClass, WeekSoFar
from planner.model.day import Day
from planner.model.decks import library
from planner.model.moves import MoveId
from planner.model.places import PlaceId, Window
from planner.runs.plan import Bound, Plan
from planner.runs.referee import Rule, check_plan
from planner.runs.run import ActivityKind, CostKind, Counter, Run, RunId
from tests.planner.runs.refereed import (
    M1,
    M2,
    M3,
    M4,
    M5,
    M6,
    REST,
    WAIT,
    act,
    legal_day,
    legal_plan,
    line,
    of_day,
)
from tests.planner.runs.worked_day import AYR, BEE, FAR, YARD

BROKEN = []


def broken(*rules: Rule):
    """Register a function that breaks the legal plan; the referee must find exactly these rules broken."""

    def keep(function):
        BROKEN.append(pytest.param(function, set(rules), id=function.__name__))
        return function

    return keep


def of_run(plan: Plan, number: int, **changes: object) -> Plan:
    runs = list(plan.runs)
    runs[number] = replace(runs[number], **changes)
    return replace(plan, runs=tuple(runs))


def of_step(plan: Plan, number: int, step: int, **changes: object) -> Plan:
    steps = list(plan.runs[number].activities)
    steps[step] = replace(steps[step], **changes)
    return of_run(plan, number, activities=tuple(steps))


def of_visit(plan: Plan, number: int, visit: int, **changes: object) -> Plan:
    visits = list(plan.runs[number].visits)
    visits[visit] = replace(visits[visit], **changes)
    return of_run(plan, number, visits=tuple(visits))


def of_cost(plan: Plan, number: int, kind: CostKind, pence: int) -> Plan:
    costs = tuple(replace(item, pence=pence) if item.kind is kind else item for item in plan.runs[number].costs)
    return of_run(plan, number, costs=costs)


def of_itinerary(plan: Plan, number: int, **changes: object) -> Plan:
    return of_run(plan, number, itinerary=replace(plan.runs[number].itinerary, **changes))


def shifted(run: Run, minutes: int, *, from_step: int = 0) -> Run:
    """Return the run with everything from one activity on later by so many minutes, the visits that start then too."""
    at_min = run.activities[from_step].start_min
    move_on = {"start_min": minutes, "end_min": minutes}
    steps = tuple(
        replace(step, **{key: getattr(step, key) + value for key, value in move_on.items()}) if number >= from_step else step
        for number, step in enumerate(run.activities)
    )
    visits = tuple(
        replace(
            visit,
            arrive_min=visit.arrive_min + (minutes if visit.arrive_min >= at_min else 0),
            start_min=visit.start_min + (minutes if visit.start_min >= at_min else 0),
            end_min=visit.end_min + (minutes if visit.end_min > at_min or visit.start_min >= at_min else 0),
        )
        for visit in run.visits
    )
    return replace(run, activities=steps, visits=visits)


def stretched(run: Run, step: int, minutes: int) -> Run:
    """Return the run with one activity longer by so many minutes and all that follows later."""
    if step + 1 < len(run.activities):
        run = shifted(run, minutes, from_step=step + 1)
    steps = list(run.activities)
    old_end = steps[step].end_min
    steps[step] = replace(steps[step], end_min=old_end + minutes)
    visits = tuple(replace(visit, end_min=old_end + minutes) if visit.end_min == old_end and visit.start_min < old_end else visit
                   for visit in run.visits)
    return replace(run, activities=tuple(steps), visits=visits)


def idle(run: Run, step: int, kind: ActivityKind, minutes: int) -> Run:
    """Return the run with a break, rest or wait before one of its activities, all that follows later."""
    at = run.activities[step]
    pause = act(kind, at.start_min, at.start_min + minutes, at.origin)
    later = shifted(run, minutes, from_step=step)
    return replace(later, activities=(*later.activities[:step], pause, *later.activities[step:]))


def with_run(plan: Plan, number: int, run: Run) -> Plan:
    return replace(plan, runs=(*plan.runs[:number], run, *plan.runs[number + 1 :]))


def slow(day: Day, vehicle_class: VehicleClass, seconds: int, metres: int, ends=(0, 3)) -> Day:
    table = day.tables[vehicle_class]
    changed = {name: getattr(table, name).copy() for name in ("metres", "seconds", "charge_mask", "ferry_seconds")}
    for row, column in (ends, ends[::-1]):
        changed["metres"][row, column], changed["seconds"][row, column] = metres, seconds
    return replace(day, tables={**day.tables, vehicle_class: replace(table, **changed)})


def test_the_plan_worked_by_hand_passes():
    assert [str(breach) for breach in check_plan(legal_day(), legal_plan())] == []
    assert legal_plan().cost_pence == 204_163


# The plan as a whole.


@broken(Rule.NAMES)
def a_driver_nobody_knows(day, plan):
    return day, of_itinerary(plan, 1, driver=DriverId("D9"))


@broken(Rule.NAMES)
def a_place_nobody_knows(day, plan):
    return day, of_step(plan, 0, 3, origin=PlaceId("nowhere"), destination=PlaceId("nowhere"))


@broken(Rule.NAMES, Rule.MOVE_ONCE)
def a_stranger_left_behind_instead(day, plan):
    return day, replace(plan, not_placed=(replace(plan.not_placed[0], move=MoveId("M99")),))


@broken(Rule.RUN_IDS)
def two_runs_of_one_number(day, plan):
    return day, of_run(plan, 1, run_id=RunId("R1"))


@broken(Rule.MOVE_ONCE)
def a_move_forgotten(day, plan):
    return day, replace(plan, not_placed=(), bound=None)


@broken(Rule.MOVE_ONCE)
def a_move_taken_and_left_behind(day, plan):
    return day, replace(plan, not_placed=(*plan.not_placed, replace(plan.not_placed[0], move=M6, pence=6_000)))


@broken(Rule.BEHIND)
def a_move_left_behind_for_less(day, plan):
    return day, replace(plan, not_placed=(replace(plan.not_placed[0], pence=149_999),))


@broken(Rule.BEHIND)
def a_move_left_behind_without_reason(day, plan):
    return day, replace(plan, not_placed=(replace(plan.not_placed[0], reason=" "),))


@broken(Rule.BOUND)
def a_bound_above_the_cost(day, plan):
    return day, replace(plan, bound=Bound(pence=204_164, covers="all"))


# What crews share.


@broken(Rule.DRIVER_ONCE)
def one_driver_in_two_runs(day, plan):
    return day, of_cost(of_itinerary(plan, 1, driver=DriverId("D2")), 1, CostKind.WAGES, 12_480)  # that role's least shift


@broken(Rule.TRANSPORTER_ONCE, Rule.DRIVER_ONCE, Rule.MOVE_ONCE, Rule.BAYS)
def one_transporter_in_two_runs(day, plan):
    return day, replace(plan, runs=(*plan.runs, replace(plan.runs[0], run_id=RunId("R4"))))


@broken(Rule.PLATE_SETS)
def more_plate_runs_than_plates(day, plan):
    return of_day(day, "compounds", YARD, plate_sets=0), plan


@broken(Rule.CARRIER_CARS)
def a_carrier_asked_for_too_many(day, plan):
    return of_day(day, "carriers", "C1", cars=0), plan


@broken(Rule.BAYS)
def a_compound_without_a_bay(day, plan):
    return of_day(day, "compounds", YARD, bays=0), plan


# The decision.


@broken(Rule.STOPS, Rule.LEG)
def a_car_left_before_it_is_taken(day, plan):
    stops = plan.runs[2].itinerary.stops
    return day, of_run(of_itinerary(plan, 2, stops=stops[::-1]), 2, visits=plan.runs[2].visits[::-1])


@broken(Rule.STOPS)
def a_car_left_at_the_wrong_door(day, plan):
    return of_day(day, "moves", M2, destination=FAR), plan


@broken(Rule.STOPS, Rule.SEQUENCE)
def a_car_kept_aboard(day, plan):
    stops = plan.runs[0].itinerary.stops
    return day, of_itinerary(plan, 0, stops=(*stops[:3], replace(stops[3], leaves=())))


@broken(Rule.PART_EXCHANGE)
def a_part_exchange_without_its_delivery(day, plan):
    return of_day(day, "moves", M3, tied_to=M2), plan


@broken(Rule.PART_EXCHANGE)
def a_delivery_without_its_part_exchange(day, plan):
    return of_day(day, "moves", M5, tied_to=M4), plan


@broken(Rule.CREW)
def nobody_drives(day, plan):
    return day, of_itinerary(plan, 1, driver=None)


@broken(Rule.CREW, Rule.DRIVER_ONCE, Rule.SEQUENCE)
def a_driver_follows_himself(day, plan):
    return day, of_itinerary(plan, 1, support_driver=DriverId("D1"))


@broken(Rule.LICENCE)
def a_transporter_driven_on_a_car_licence(day, plan):
    return of_day(day, "drivers", "D2", licences=frozenset({"B"})), plan


@broken(Rule.PLATES)
def a_driver_who_does_not_drive_on_plates(day, plan):
    return of_day(day, "drivers", "D1", may_drive_plates=False), plan


@broken(Rule.METHOD)
def a_car_with_a_warning_light_driven(day, plan):
    return of_day(day, "moves", M4, may_be_driven=False), plan


@broken(Rule.METHOD)
def a_car_without_test_certificate_driven(day, plan):
    m4 = day.move_of[M4]
    return of_day(day, "moves", M4, car=replace(m4.car, may_be_driven=False)), plan


@broken(Rule.METHOD)
def a_car_carried_that_must_be_driven(day, plan):
    return of_day(day, "moves", M2, may_be_carried=False), plan


@broken(Rule.DISTANCE)
def a_car_driven_too_far(day, plan):
    return replace(day, policy=replace(day.policy, driven_max_m=149_999)), plan


@broken(Rule.RANGE)
def a_car_driven_beyond_its_charge(day, plan):
    return of_day(day, "moves", M4, car=replace(day.move_of[M4].car, range_m=149_999)), plan


@broken(Rule.SHIFT_MOVES)
def too_many_driven_moves(day, plan):
    return replace(day, policy=replace(day.policy, driven_moves_a_shift=0)), plan


@broken(Rule.ACCESS, Rule.COST)
def a_large_transporter_at_a_narrow_door(day, plan):
    day = of_day(day, "transporters", "T1", trailer_kg=500)  # 8 t together: another fuel factor and another table
    day = replace(day, tables={**day.tables, VehicleClass.GOODS_HEAVY: replace(day.tables[VehicleClass.GOODS_7500],
                                                                             vehicle_class=VehicleClass.GOODS_HEAVY)})
    day = replace(day, rates=replace(day.rates, running={**day.rates.running,
                                                         VehicleClass.GOODS_HEAVY: day.rates.running[VehicleClass.GOODS_7500]}))
    return of_day(day, "moves", M2, no_large_vehicle=True), plan


@broken(Rule.PIN)
def a_move_pinned_to_another_driver(day, plan):
    return of_day(day, "moves", M4, pinned_driver="D3"), plan


@broken(Rule.PIN)
def a_move_pinned_to_a_transporter(day, plan):
    return of_day(day, "moves", M6, pinned_transporter="T1"), plan


@broken(Rule.PIN)
def a_plate_driver_pinned_to_a_transporter(day, plan):
    return of_day(day, "drivers", "D1", pinned_transporter=TransporterId("T1")), plan


@broken(Rule.SLOTS)
def more_cars_than_slots(day, plan):
    return of_day(day, "transporters", "T1", slots=1), plan


@broken(Rule.PAYLOAD, Rule.COST)
def more_mass_than_payload(day, plan):
    return of_day(day, "transporters", "T1", payload_kg=2_699), plan  # 2,700 kg leave the yard; fuel follows the payload


@broken(Rule.HIRED)
def a_carrier_with_a_car_too_heavy(day, plan):
    return of_day(day, "carriers", "C1", max_mass_kg=1_249), plan


@broken(Rule.HIRED)
def a_carrier_sent_too_far(day, plan):
    return of_day(day, "carriers", "C1", max_miles=93), plan


@broken(Rule.HIRED)
def a_carrier_with_a_kind_it_does_not_take(day, plan):
    return of_day(day, "carriers", "C1", kinds=frozenset()), plan


@broken(Rule.POLICY)
def a_carrier_hired_against_the_policy(day, plan):
    return replace(day, policy=replace(day.policy, hired_carriers=False)), plan


@broken(Rule.COMPOUND, Rule.VISIT)
def a_shut_compound_visited(day, plan):
    return of_day(day, "compounds", YARD, window=None), plan


@broken(Rule.ROAD)
def a_leg_without_a_road(day, plan):
    return slow(day, VehicleClass.GOODS_7500, -1, -1, ends=(1, 2)), plan


@broken(Rule.ROAD)
def a_ride_without_a_train(day, plan):
    minutes = day.rides.minutes.copy()
    minutes[3, 0] = -1
    return replace(day, rides=replace(day.rides, minutes=minutes)), plan


@broken(Rule.PLATES, Rule.STOPS, Rule.MOVE_ONCE, Rule.SEQUENCE)
def two_cars_on_one_set_of_plates(day, plan):
    stops = plan.runs[1].itinerary.stops
    return day, of_itinerary(plan, 1, stops=(replace(stops[0], takes=(M4, M5)), *stops[1:]))


# The times.


@broken(Rule.BOOK)
def another_book_of_rules(day, plan):
    return day, of_run(plan, 0, book="up-to-3500")


@broken(Rule.CLOCK)
def a_gap_in_the_day(day, plan):
    return day, of_step(plan, 0, 3, end_min=513)


@broken(Rule.CLOCK)
def an_activity_that_ends_before_it_starts(day, plan):
    return day, of_step(of_step(plan, 1, 0, end_min=470), 1, 1, start_min=470)


@broken(Rule.CLOCK)
def a_run_in_another_month(day, plan):
    return day, with_run(plan, 0, shifted(plan.runs[0], 30 * 1440))


@broken(Rule.SEQUENCE)
def an_activity_left_out(day, plan):
    return day, of_run(plan, 1, activities=plan.runs[1].activities[:-1])


@broken(Rule.SEQUENCE)
def an_activity_at_the_wrong_place(day, plan):
    return day, of_step(plan, 0, 5, origin=BEE, destination=BEE)


@broken(Rule.SEQUENCE)
def a_break_at_the_wrong_place(day, plan):
    return day, of_step(plan, 0, 3, origin=AYR, destination=AYR)


@broken(Rule.SEQUENCE)
def a_ride_where_the_car_should_be_driven(day, plan):
    return day, of_step(plan, 1, 1, kind=ActivityKind.RIDE)


@broken(Rule.DRIVE_TIME)
def a_drive_made_shorter(day, plan):
    return day, with_run(plan, 0, stretched(plan.runs[0], 6, -1))


@broken(Rule.DRIVE_TIME, Rule.LEG)
def a_reserve_forgotten(day, plan):
    return replace(day, policy=replace(day.policy, reserve_percent=10)), plan


@broken(Rule.RIDE_TIME)
def a_ride_made_longer(day, plan):
    return day, of_visit(with_run(plan, 1, stretched(plan.runs[1], 3, 5)), 1, 2, arrive_min=715, start_min=715, end_min=715)


@broken(Rule.FERRY_TIME, Rule.LEG)
def a_ferry_of_other_length(day, plan):
    return ferried(day, plan, stated_min=19)


@broken(Rule.METRES)
def metres_made_up(day, plan):
    return day, of_step(plan, 0, 6, metres=29_000)


@broken(Rule.METRES)
def metres_counted_on_both_slices(day, plan):
    return day, of_step(plan, 0, 4, metres=80_000)


@broken(Rule.METRES)
def a_break_that_moves(day, plan):
    return day, of_step(plan, 0, 3, metres=5)


@broken(Rule.WORK_TIME)
def a_handover_cut_short(day, plan):
    return day, with_run(plan, 0, stretched(plan.runs[0], 7, -5))


@broken(Rule.RESHUFFLES)
def a_reshuffle_stated_and_not_timed(day, plan):
    return day, of_run(plan, 0, reshuffles=1)


@broken(Rule.WORK_TIME)
def a_reshuffle_timed_and_not_stated(day, plan):
    return day, with_run(plan, 0, stretched(plan.runs[0], 7, 15))


@broken(Rule.WINDOW)
def a_handover_after_the_window(day, plan):
    day = of_day(day, "moves", M1, destination_window=Window(opens_min=480, closes_min=537))
    return day, of_visit(plan, 0, 1, window=Window(opens_min=480, closes_min=537))


@broken(Rule.WINDOW)
def a_handover_before_the_window(day, plan):
    day = of_day(day, "moves", M4, destination_window=Window(opens_min=591, closes_min=700))
    return day, of_visit(plan, 1, 1, window=Window(opens_min=591, closes_min=700))


@broken(Rule.WINDOW)
def a_hired_car_outside_its_window(day, plan):
    return of_day(day, "moves", M6, destination_window=Window(opens_min=600, closes_min=700)), plan


@broken(Rule.SHIFT)
def a_shift_before_its_start(day, plan):
    return of_day(day, "drivers", "D2", starts_from_min=421), plan


@broken(Rule.SHIFT)
def a_shift_after_its_end(day, plan):
    return of_day(day, "drivers", "D1", home_by_min=709), plan


@broken(Rule.NIGHTS, Rule.COST)
def a_night_out_that_was_none(day, plan):
    return day, of_run(plan, 0, nights=1)


@broken(Rule.POLICY)
def a_night_out_against_the_policy(day, plan):
    day, plan = night_out(day, plan)
    return replace(day, policy=replace(day.policy, nights_out=False)), plan


@broken(Rule.NIGHTS)
def a_night_out_of_a_driver_who_goes_home(day, plan):
    day, plan = night_out(day, plan)
    return of_day(day, "drivers", "D2", may_stay_out=False), plan


@broken(Rule.NIGHTS, Rule.SEQUENCE)
def a_night_out_at_the_transporters_own_base(day, plan):
    """Who rests where the run ends has gone home; the activity before it ends at B, so it is out of place too."""
    day, plan = night_out(day, plan)
    rest = next(n for n, step in enumerate(plan.runs[0].activities) if step.kind is REST)
    steps = list(plan.runs[0].activities)
    steps[rest] = replace(steps[rest], origin=YARD, destination=YARD)
    return day, of_run(plan, 0, activities=tuple(steps))


@broken(Rule.ABOARD)
def a_car_missing_on_the_leg(day, plan):
    return day, of_step(plan, 0, 6, aboard=(M2,))


@broken(Rule.ABOARD)
def a_car_missing_after_the_visit(day, plan):
    return day, of_visit(plan, 0, 1, aboard_after=(M2,))


@broken(Rule.VISIT)
def a_visit_left_out(day, plan):
    return day, of_run(plan, 1, visits=plan.runs[1].visits[:-1])


@broken(Rule.VISIT)
def a_visit_that_starts_at_another_time(day, plan):
    return day, of_visit(plan, 0, 1, start_min=540)


@broken(Rule.VISIT)
def a_visit_with_a_window_made_up(day, plan):
    return day, of_visit(plan, 0, 2, window=Window(opens_min=480, closes_min=900))


@broken(Rule.LEG)
def a_visit_with_a_longer_leg(day, plan):
    return day, of_visit(plan, 0, 2, leg_metres=31_000)


@broken(Rule.LEG)
def a_visit_without_its_toll(day, plan):
    return day, of_visit(plan, 0, 1, charges=())


# The deck, where it is laid out.


def laid_out(day: Day, plan: Plan) -> tuple[Day, Plan]:
    """
    The example deck of two cars, one over the other; the lower one stands in the way of the upper one.

    M1 leaves first and stands below, M2 above.  M3 comes on below and is moved out and back at B, so that M2 can leave:
    one reshuffle, 15 minutes.  Rear axle 0.8 x 1500 + 0.6 x 1200 = 1,920 kg of 2,600; the upper car is lifted to
    850 + 1500 + 200 = 2,550 mm of 2,900 and ends at 4,050 mm of 4,300.
    """
    day = of_day(replace(day, decks=library()), "transporters", "T1", deck="two-car-7500")
    run = replace(stretched(plan.runs[0], 7, 15), reshuffles=1)
    slots = (((M1, "L1"), (M2, "U1")), ((M2, "U1"), (M3, "L1")), ((M3, "L1"),), ())
    visits = tuple(replace(visit, slots=own) for visit, own in zip(run.visits, slots, strict=True))
    return day, of_visit(with_run(plan, 0, replace(run, visits=visits)), 0, 2, moved=(M3,))


def with_car(day: Day, move_id: MoveId, **changes: object) -> Day:
    return of_day(day, "moves", move_id, car=replace(day.move_of[move_id].car, **changes))


@broken(Rule.DECK)
def a_deck_nobody_knows(day, plan):
    day, plan = laid_out(day, plan)
    return of_day(day, "transporters", "T1", deck="raft"), plan


@broken(Rule.DECK)
def a_known_deck_that_is_not_laid_out(day, plan):
    return laid_out(day, plan)[0], plan


@broken(Rule.HEIGHT)
def a_load_too_tall_for_the_route(day, plan):
    day, plan = laid_out(day, plan)
    return replace(day, policy=replace(day.policy, route_height_mm=4_049)), plan


@broken(Rule.DECK)
def a_car_without_a_slot(day, plan):
    day, plan = laid_out(day, plan)
    return day, of_visit(plan, 0, 0, slots=((M1, "L1"),))


@broken(Rule.DECK)
def two_cars_in_one_slot(day, plan):
    day, plan = laid_out(day, plan)
    return day, of_visit(plan, 0, 0, slots=((M1, "L1"), (M2, "L1")))


@broken(Rule.DECK)
def a_slot_the_deck_does_not_have(day, plan):
    day, plan = laid_out(day, plan)
    return day, of_visit(plan, 0, 2, slots=((M3, "U7"),))


@broken(Rule.DECK, Rule.RESHUFFLES, Rule.WORK_TIME)
def a_car_in_the_way_of_another(day, plan):
    day, plan = laid_out(day, plan)
    return day, of_visit(plan, 0, 2, moved=())


@broken(Rule.DECK)
def a_car_that_changes_its_slot_unmoved(day, plan):
    day, plan = laid_out(day, plan)
    return day, of_visit(plan, 0, 1, slots=((M2, "L1"), (M3, "U1")))


@broken(Rule.DECK)
def a_car_moved_that_leaves(day, plan):
    day, plan = laid_out(day, plan)
    return day, of_visit(plan, 0, 2, moved=(M2,))


@broken(Rule.WORK_TIME, Rule.RESHUFFLES)
def a_reshuffle_that_takes_no_time(day, plan):
    day, plan = laid_out(day, plan)
    return day, of_visit(plan, 0, 1, moved=(M2,))


def _of_each_limit():
    for name, move_id, changes in (
        ("long", M2, {"length_mm": 5_001}), ("wide", M1, {"width_mm": 2_151}), ("tall", M2, {"height_mm": 1_901}),
        ("tall below, too high above", M1, {"height_mm": 1_751}), ("tall below, lifted too far", M1, {"height_mm": 1_851}),
        ("low", M1, {"ground_clearance_mm": 94}),
    ):  # fmt: skip
        def change(day, plan, move_id=move_id, changes=changes):
            day, plan = laid_out(day, plan)
            return with_car(day, move_id, **changes), plan

        yield pytest.param(change, {Rule.DECK}, id=f"a car too {name}")
    for name, move_id, mass_kg, rules in (
        ("heavy for its slot", M2, 2_001, {Rule.DECK, Rule.COST, Rule.PAYLOAD}),  # 3,501 kg leave the yard
        ("heavy for the rear axle", M1, 2_351, {Rule.DECK, Rule.COST, Rule.PAYLOAD}),  # 1,880.8 + 720 = 2,600.8 kg
        ("heavy, yet no limit of the deck", M3, 1_800, {Rule.COST}),  # 3,000 kg aboard, 0.8 x 1800 + 0.6 x 1200 = 2,160 kg
    ):
        def weigh(day, plan, move_id=move_id, mass_kg=mass_kg):
            day, plan = laid_out(day, plan)
            return with_car(day, move_id, mass_kg=mass_kg), plan

        yield pytest.param(weigh, rules, id=f"a car too {name}")


BROKEN += _of_each_limit()


# Hours: one plan each; the rules themselves are tried in test_referee_hours.py.


@broken(Rule.WEEKLY_DRIVING)
def a_week_of_too_much_driving(day, plan):
    return of_day(day, "drivers", "D2", week=WeekSoFar(driven_week_min=3_234)), plan  # 3,234 + 127 = 3,361


@broken(Rule.FORTNIGHT_DRIVING)
def two_weeks_of_too_much_driving(day, plan):
    return of_day(day, "drivers", "D2", week=WeekSoFar(driven_week_min=2_000, driven_last_week_min=3_274)), plan  # 5,401


@broken(Rule.WEEKLY_WORK)
def a_week_of_too_much_work(day, plan):
    return of_day(day, "drivers", "D2", week=WeekSoFar(worked_week_min=3_303)), plan  # 313 - 15 = 298 more: 3,601


@broken(Rule.WEEKLY_REST)
def a_seventh_day(day, plan):
    return of_day(day, "drivers", "D2", week=WeekSoFar(duty_days=6)), plan


@broken(Rule.DAILY_REST)
def a_short_rest_before_duty(day, plan):
    return of_day(day, "drivers", "D2", week=WeekSoFar(last_duty_end_min=-119)), plan  # 539 minutes before 07:00


@broken(Rule.DRIVING_BREAK)
def two_hours_on_plates_without_a_break(day, plan):
    return replace(day, policy=replace(day.policy, plate_break_every_min=94)), plan


@broken(Rule.DAILY_DRIVING)
def more_driving_than_the_company_allows(day, plan):
    return replace(day, policy=replace(day.policy, plate_driving_max_min=94)), plan


@broken(Rule.DUTY)
def more_duty_than_the_company_allows(day, plan):
    return replace(day, policy=replace(day.policy, plate_duty_max_min=229)), plan


@broken(Rule.COUNTERS)
def a_counter_beyond_its_limit(day, plan):
    return day, of_run(plan, 0, counters=(Counter(rule="daily driving", used=601, limit=600, source="article 6(1)"),))


# Money.


@broken(Rule.RATES)
def no_wage_for_the_role(day, plan):
    return of_day(day, "drivers", "D2", role="acrobat"), plan


def _of_each_kind():
    for number, run in enumerate(legal_plan().runs):
        for item in run.costs:
            yield pytest.param(
                lambda day, plan, number=number, item=item: (day, of_cost(plan, number, item.kind, item.pence + 1)),
                {Rule.COST}, id=f"a penny more: {item.kind} of {run.run_id}",
            )  # fmt: skip


BROKEN += _of_each_kind()


@broken(Rule.COST)
def a_cost_line_left_out(day, plan):
    return day, of_run(plan, 1, costs=plan.runs[1].costs[:-1])


@broken(Rule.COST)
def a_cost_line_nobody_asked_for(day, plan):
    return day, of_run(plan, 1, costs=(*plan.runs[1].costs, line(CostKind.TOLL, 100)))


@broken(Rule.COST)
def a_negative_line(day, plan):
    costs = plan.runs[1].costs
    return day, of_run(plan, 1, costs=(*costs, line(CostKind.TOLL, -100)))


def ferried(day: Day, plan: Plan, *, stated_min: int) -> tuple[Day, Plan]:
    """The plate run with 20 minutes of its 90-minute leg aboard a ferry: 70 x 1.05 = 73.5, so 74 at the wheel."""
    table = day.tables[VehicleClass.CAR]
    ferry = table.ferry_seconds.copy()
    ferry[0, 3] = ferry[3, 0] = 1_200
    day = replace(day, tables={**day.tables, VehicleClass.CAR: replace(table, ferry_seconds=ferry)})
    run = plan.runs[1]
    at_min = 495 + 74 + stated_min
    run = replace(
        run,
        activities=(
            run.activities[0], replace(run.activities[1], end_min=569), act(WAIT, 569, at_min, FAR, visit=1, aboard=(M4,)),
            replace(run.activities[2], start_min=at_min, end_min=at_min + 30),
            replace(run.activities[3], start_min=at_min + 30, end_min=at_min + 120),
        ),
        visits=(
            run.visits[0],
            replace(run.visits[1], arrive_min=at_min, start_min=at_min, end_min=at_min + 30, leg_min=74 + stated_min),
            replace(run.visits[2], arrive_min=at_min + 120, start_min=at_min + 120, end_min=at_min + 120),
        ),
    )  # fmt: skip
    return day, with_run(plan, 1, run)


def night_out(day: Day, plan: Plan) -> tuple[Day, Plan]:
    """
    The transporter rests 11 h at B before it comes home; wages as before (313 minutes of duty), the night 6,500.

    Home 22:21 to 23:13: 52 minutes at night x 240 p / 60 = 208.
    """
    day = of_day(day, "drivers", "D2", may_stay_out=True)
    run = idle(replace(plan.runs[0], nights=1), 8, REST, 660)
    run = replace(run, costs=(*run.costs, line(CostKind.NIGHT_OUT, 6_500), line(CostKind.NIGHT_PREMIUM, 208)))
    late = Window(opens_min=300, closes_min=1_400)  # the compound opens until 23:20, when the transporter is home
    run = replace(run, visits=tuple(replace(visit, window=late) if visit.place == YARD else visit for visit in run.visits))
    day = of_day(day, "compounds", YARD, window=late)
    plan = of_visit(plan, 1, 0, window=late)
    return day, of_itinerary(with_run(plan, 0, run), 0, may_stay_out=True)


def test_every_rule_is_broken_here_or_among_the_hours():
    tried = set().union(*(case.values[1] for case in BROKEN))
    assert set(Rule) - tried == {
        Rule.SUMS,  # test_referee_file.py
        Rule.PAST,  # test_past.py
        Rule.EXTENDED_DAYS, Rule.WORK_BREAK, Rule.NIGHT_WORK,  # test_referee_hours.py
    }  # fmt: skip


@pytest.mark.parametrize(("breaks", "rules"), BROKEN)
def test_each_broken_plan_breaks_the_rule_it_should(breaks, rules):
    day, plan = breaks(legal_day(), legal_plan())
    assert {breach.rule for breach in check_plan(day, plan)} == rules


@pytest.mark.parametrize(("changes"), [night_out, laid_out, lambda day, plan: ferried(day, plan, stated_min=20)])
def test_other_legal_plans_pass(changes):
    assert [str(breach) for breach in check_plan(*changes(legal_day(), legal_plan()))] == []


def test_waiting_for_a_window_passes():
    day, plan = legal_day(), legal_plan()
    plan = with_run(plan, 0, idle(plan.runs[0], 7, WAIT, 30))
    plan = of_visit(plan, 0, 2, arrive_min=641)
    assert [str(breach) for breach in check_plan(day, plan)] == []


def test_the_order_of_runs_does_not_matter():
    plan = legal_plan()
    assert check_plan(legal_day(), replace(plan, runs=plan.runs[::-1])) == ()


def test_a_breach_says_where_what_and_both_values():
    (breach,) = check_plan(legal_day(), of_step(legal_plan(), 0, 6, metres=29_000))
    assert str(breach) == (
        "run R1, drive door-a to door-b at 10:09: metres differ from the table (all on the first slice) [metres]. "
        "Expected 30000, found 29000."
    )
