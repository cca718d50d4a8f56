"""Orders: moves, holds, lateness, part-exchanges, returns and transfers, by the office's own rules."""

from datetime import date

import pytest

from planner.model.cars import Fuel
from planner.model.moves import MoveKind
from planner.model.orders import Gate
from planner.model.places import Window
from tests.planner.desk.small_folder import RATES, TABLES, faults, only_fault, order, orders_fault, read

TWO_YARDS = [{"compound": "Yard", "postcode": "NN11 8QL"}, {"compound": "Barn", "postcode": "WF6 1TN"}]
EARLY_RATES = RATES.replace("2026-04-01", "2026-01-01").replace("2026-10-01", "2026-01-01")
PX = {"part_exchange_registration": "QB15 BBB", "part_exchange_make_model": "Brackwell Pip", "part_exchange_body": "city car"}


class TestADelivery:
    def test_goes_from_its_compound_to_the_door_in_the_window_promised(self):
        day = read(orders=[order(window_opens="10:00", window_closes="2pm")])
        (move,) = day.moves
        assert (move.kind, move.origin, move.destination) == (MoveKind.DELIVERY, "Yard", "LA9 4PU")
        assert move.destination_window == Window(opens_min=600, closes_min=840)
        assert (move.origin_min, move.destination_min) == (0, day.policy.handover_min)
        assert move.origin_window is None
        assert day.order_of[move.order].buyer.name == "Ada Testwell"

    def test_has_the_doors_usual_hours_without_a_window(self):
        day = read(policy='day = 2026-11-26\ndoor_opens = "09:00"\ndoor_closes = 18:30:00')
        assert day.moves[0].destination_window == Window(opens_min=540, closes_min=1110)

    @pytest.mark.parametrize(("wish", "driven", "carried"), [("any", True, True), ("carried", False, True), ("driven", True, False)])
    def test_travels_as_wished(self, wish, driven, carried):
        (move,) = read(orders=[order(method=wish)]).moves
        assert (move.may_be_driven, move.may_be_carried) == (driven, carried)

    @pytest.mark.parametrize("column", ["stands_at", "buyer", "phone", "postcode", "promised"])
    def test_needs_its_cells(self, column):
        assert orders_fault(**{column: ""}) == (column, "a delivery needs this")

    def test_has_no_goes_to(self):
        assert orders_fault(goes_to="Yard") == ("goes_to", "a delivery has none")

    def test_may_be_pinned(self):
        (move,) = read(orders=[order(pinned_driver="d1", pinned_transporter="T1")]).moves
        assert (move.pinned_driver, move.pinned_transporter) == ("D1", "T1")
        assert orders_fault(pinned_driver="D9")[0] == "pinned_driver"

    def test_carries_what_is_known_of_the_car(self):
        car = read(orders=[order(mileage="18,250", value="£14,995", range_miles="100", equipment="two keys; cable")]).moves[0].car
        assert (car.mileage, car.value_pence, car.range_m, car.equipment) == (18250, 1499500, 160_934, ("two keys", "cable"))


class TestLateness:
    """The price of leaving a delivery: priority x (first day + days late x more days), which the reference page states."""

    POLICY = "day = 2026-11-26\nlate_first_day_pence = 100_000\nlate_more_days_pence = 30_000\nreturn_stays_pence = 10_000"

    @pytest.mark.parametrize(("promised", "priority", "pence"), [
        ("2026-11-26", "", 100_000),
        ("2026-11-25", "", 130_000),  # 100,000 + 1 x 30,000
        ("2026-11-24", "3", 480_000),  # 3 x (100,000 + 2 x 30,000)
    ])
    def test_prices_by_hand(self, promised, priority, pence):
        day = read(orders=[order(promised=promised, priority=priority)], policy=self.POLICY)
        assert day.moves[0].stays_behind_pence == pence

    def test_a_late_order_may_come_at_any_hour_and_the_notes_say_so(self):
        day = read(orders=[order(promised="2026-11-24", window_opens="10:00", window_closes="11:00")])
        assert day.moves[0].destination_window == Window(opens_min=480, closes_min=1200)
        assert "A1: promised for 24 November 2026, 2 days late already." in day.notes
        assert day.orders[0].promise.day == date(2026, 11, 24)
        assert day.orders[0].promise.window == Window(opens_min=600, closes_min=660)

    def test_an_order_promised_for_later_is_left_for_its_day_and_named(self):
        day = read(orders=[order(), order(order="A2", registration="Q2", promised="2026-11-27", postcode="TR18 2SU")])
        assert [move.move_id for move in day.moves] == ["A1"]
        assert "Promised after 26 November 2026 and left for their day: A2." in day.notes
        assert "TR18 2SU" not in day.place_of
        assert [(later.ref, later.promise.day, later.hold) for later in day.later] == [("A2", date(2026, 11, 27), None)]

    def test_an_order_for_later_is_still_checked(self):
        assert orders_fault(promised="2026-11-27", phone="x")[0] == "phone"


class TestGates:
    def test_an_unpassed_gate_holds_the_order_with_the_one_thing_to_do(self):
        day = read(orders=[order(gate_valet="no", gate_funds="n", gate_keys="yes")])
        (held,) = day.held
        assert (day.moves, day.orders) == ((), ())
        assert held.hold.gate is Gate.FUNDS  # the first in the order in which the office looks
        assert held.hold.cut_off_min == -480  # 16:00 on the day before
        assert "cleared" in held.hold.to_do

    def test_owner_and_cut_off_come_from_the_policy(self):
        policy = 'day = 2026-11-26\n[gates.valet]\nowner = "Nell"\ncut_off = "05:30"\ndays_before = 0\nto_do = "Wash it."'
        hold = read(orders=[order(gate_valet="no")], policy=policy).held[0].hold
        assert (hold.owner, hold.cut_off_min, hold.to_do) == ("Nell", 330, "Wash it.")

    def test_a_blank_gate_counts_as_the_policy_says(self):
        assert read().held == ()
        held = read(policy='day = 2026-11-26\nblank_gates = "not passed"').held
        assert held[0].hold.gate is Gate.FUNDS

    def test_a_blank_part_exchange_gate_holds_nothing_where_there_is_none(self):
        gates = {f"gate_{gate.value}": "yes" for gate in Gate if gate is not Gate.PART_EXCHANGE}
        assert read(orders=[order(**gates)], policy='day = 2026-11-26\nblank_gates = "not passed"').held == ()

    @pytest.mark.parametrize("why", [{"gate_mot": "no"}, {"mot_until": "2026-11-25"}, {"warning_light": "yes"}])
    def test_a_car_that_may_not_be_driven_is_carried_not_held(self, why):
        day = read(orders=[order(**why)])
        (move,) = day.moves
        assert (move.may_be_driven, move.car.may_be_driven, move.may_be_carried) == (False, False, True)
        assert any("is carried" in note for note in day.notes)

    @pytest.mark.parametrize(("why", "gate"), [({"gate_mot": "no"}, Gate.MOT), ({"warning_light": "yes"}, Gate.INSPECTION)])
    @pytest.mark.parametrize("nobody", [{"method": "driven"}, {"mass_kg": "1401"}])
    def test_it_is_held_when_nobody_may_carry_it(self, why, gate, nobody):
        assert read(orders=[order(**why, **nobody)]).held[0].hold.gate is gate

    def test_a_hired_carrier_may_carry_it(self):
        carriers = [{"carrier": "H1", "name": "Fictley", "per_mile": "1.50", "max_mass_kg": "2000"}]
        assert read(orders=[order(gate_mot="no", mass_kg="1401")], carriers=carriers).held == ()
        off = "day = 2026-11-26\nhired_carriers = false"
        assert len(read(orders=[order(gate_mot="no", mass_kg="1401")], carriers=carriers, policy=off).held) == 1

    @pytest.mark.parametrize("last_day", ["2026-11-26", "2026-12-31"])
    def test_an_mot_that_ends_on_the_day_is_still_valid(self, last_day):
        assert read(orders=[order(mot_until=last_day)]).moves[0].may_be_driven


class TestPartExchange:
    def test_leaves_the_same_door_in_the_same_window_for_the_compound_the_delivery_came_from(self):
        day = read(orders=[order(window_opens="10:00", window_closes="12:00", no_large_vehicle="yes", **PX)])
        delivery, back = day.moves
        assert (back.move_id, back.kind, back.tied_to) == ("A1.PX", MoveKind.PART_EXCHANGE, "A1")
        assert (back.origin, back.destination, back.origin_window) == (delivery.destination, "Yard", delivery.destination_window)
        assert (back.origin_min, back.stays_behind_pence, back.no_large_vehicle) == (day.policy.part_exchange_min, 0, True)
        assert back.car.mass_kg == 1050  # the body class says so
        assert "mass, length, height, width and fuel of the Brackwell Pip (QB15BBB) assumed" in " ".join(day.notes)

    def test_goes_elsewhere_when_a_cell_says_so(self):
        day = read(orders=[order(part_exchange_goes_to="barn", **PX)], compounds=TWO_YARDS)
        assert day.moves[1].destination == "Barn"

    def test_without_mot_is_carried(self):
        assert not read(orders=[order(part_exchange_mot="no", **PX)]).moves[1].may_be_driven

    def test_needs_a_registration_and_a_name(self):
        assert orders_fault(**{**PX, "part_exchange_registration": ""}) == ("part_exchange_registration", "a part-exchange needs this")

    def test_belongs_to_deliveries_only(self):
        assert orders_fault(kind="return", stands_at="", goes_to="Yard", **PX)[0] == "part_exchange_registration"

    def test_is_not_a_car_that_stands_elsewhere_in_the_file(self):
        column, says = orders_fault(**{**PX, "part_exchange_registration": "qa20aaa"})
        assert column == "part_exchange_registration"
        assert says == "this car stands in row 2 already, as registration"


class TestReturnsAndTransfers:
    def test_a_return_starts_at_the_door(self):
        day = read(orders=[order(kind="Return", stands_at="", goes_to="Yard", window_opens="09:00", window_closes="10:00")])
        (move,) = day.moves
        assert (move.kind, move.origin, move.destination) == (MoveKind.RETURN, "LA9 4PU", "Yard")
        assert (move.origin_window, move.origin_min) == (Window(opens_min=540, closes_min=600), day.policy.return_min)
        assert (move.destination_window, move.destination_min) == (None, 0)
        assert day.order_of[move.order].stands_at == "LA9 4PU"

    def test_a_transfer_between_compounds_has_no_door_and_no_order(self):
        row = {"order": "X1", "kind": "transfer", "registration": "Q1", "make_model": "Corvane", "body": "hatchback",
               "stands_at": "Yard", "goes_to": "Barn"}
        day = read(orders=[row], compounds=TWO_YARDS)
        (move,) = day.moves
        assert (move.origin, move.destination, move.order) == ("Yard", "Barn", None)
        assert (move.origin_window, move.destination_window) == (None, None)
        assert move.stays_behind_pence == day.policy.transfer_stays_pence
        assert day.orders == ()

    def test_a_transfer_may_start_at_a_supplier(self):
        day = read(orders=[order(kind="transfer", stands_at="", goes_to="Yard", promised="", phone="")])
        (move,) = day.moves
        assert (move.origin, move.destination) == ("LA9 4PU", "Yard")
        assert day.order_of[move.order].buyer.name == "Ada Testwell"

    def test_a_transfer_starts_at_one_place(self):
        assert orders_fault(kind="transfer", goes_to="Yard")[0] == "stands_at"
        assert orders_fault(kind="transfer", goes_to="Yard", postcode="") == ("goes_to", "the car stands there already")

    def test_a_held_transfer_is_held(self):
        day = read(orders=[order(kind="transfer", goes_to="Barn", postcode="", gate_keys="no")], compounds=TWO_YARDS)
        assert (len(day.held), day.moves) == (1, ())


class TestSizes:
    def test_come_from_the_body_class_only_where_they_are_blank(self):
        car = read(orders=[order(mass_kg="", height_mm="", fuel="", body="Electric Hatchback")]).moves[0].car
        assert (car.mass_kg, car.height_mm, car.length_mm, car.fuel) == (1880, 1570, 4000, Fuel.ELECTRIC)
        assert car.assumed == ("mass_kg", "height_mm", "fuel")

    def test_without_a_class_must_be_given(self):
        found = faults(orders=[order(mass_kg="", length_mm="")])
        assert [column for _, _, column, _ in found] == ["mass_kg", "length_mm"]

    def test_an_unknown_class_is_named_with_the_nearest(self):
        assert orders_fault(body="hatchbak") == ("body", "this body class is not in the table")

    def test_a_van_is_a_van(self):
        assert read(orders=[order(body="large van")]).moves[0].car.is_van


class TestPlaces:
    def test_a_slip_in_a_postcode_is_named(self):
        assert orders_fault(postcode="S014 0YG") == ("postcode", "is not a place we know")

    def test_by_arrangement_is_a_problem_never_a_wrong_point(self):
        assert "by arrangement" in orders_fault(postcode="BT1 5AA")[1]

    def test_an_unknown_compound_is_named(self):
        assert orders_fault(stands_at="Yrad") == ("stands_at", "this is no compound of the compounds table")

    def test_a_compound_with_a_fault_of_its_own_is_not_reported_again_for_each_order(self):
        file, _, column, _ = only_fault(compounds=[{"compound": "Yard", "postcode": "nowhere"}])
        assert (file, column) == ("compounds.csv", "postcode")

    def test_two_doors_in_one_postcode_are_one_place(self):
        day = read(orders=[order(), order(order="A2", registration="Q2")])
        assert len(day.places) == 2
        assert len({move.destination for move in day.moves}) == 1

    def test_a_door_is_not_taken_for_a_compound_of_the_same_name(self):
        day = read(orders=[order(stands_at="LA9 4PU")], compounds=[*TABLES["compounds"], {"compound": "LA9 4PU", "postcode": "WF6 1TN"}])
        (move,) = day.moves
        assert move.origin == "LA9 4PU"
        assert day.place_of[move.destination].name == "LA9 4PU"
        assert move.destination not in day.compound_of


class TestTwice:
    def test_references_and_cars_stand_once(self):
        found = faults(orders=[order(), order(order="a1", registration="qa20aaa")])
        assert [(row, column) for _, row, column, _ in found] == [(3, "order"), (3, "registration")]

    def test_a_reference_may_not_stand_for_a_part_exchange(self):
        assert only_fault(orders=[order(**PX), order(order="a1.px", registration="Q3")])[1:3] == (3, "order")


def test_vin_mileage_and_known_marks_are_read_for_both_cars():
    row = {name: value for prefix in ("", "part_exchange_") for name, value in (
        (f"{prefix}vin", "ZZZCV00T4PA012345"), (f"{prefix}mileage", "18250"), (f"{prefix}condition", "Scuff  on a wheel"))}
    (found,) = read(orders=[order(**PX, **row)]).orders
    for car in (found.car, found.part_exchange):
        assert (car.vin, car.mileage, car.condition) == ("ZZZCV00T4PA012345", 18250, "Scuff on a wheel")


class TestClockChange:
    """Great Britain, Summer Time Act 1972: forward at 01:00 UTC on the last Sunday of March, back on that of October."""

    def test_a_time_the_clocks_skip_is_a_problem(self):
        policy = "day = 2026-03-29"
        changes = {"promised": "2026-03-29", "window_opens": "01:30", "window_closes": "10:00"}
        found = faults(orders=[order(**changes)], policy=policy, rates=EARLY_RATES)
        assert [(row, column) for _, row, column, _ in found] == [(2, "window_opens")]
        assert "does not exist on 29 March 2026" in found[0][3]

    @pytest.mark.parametrize(("on", "ten"), [("2026-03-29", 540), ("2026-10-25", 660), ("2026-11-26", 600)])
    def test_ten_in_the_morning_is_so_many_real_minutes_after_midnight(self, on, ten):
        day = read(orders=[order(promised=on, window_opens="10:00", window_closes="11:00")], policy=f"day = {on}", rates=EARLY_RATES,
                   drivers=TABLES["drivers"])
        assert day.moves[0].destination_window == Window(opens_min=ten, closes_min=ten + 60)
        assert day.drivers[0].starts_from_min == ten - 240  # 06:00
