"""Crews, compounds and calendars: who and what is to be had on the day, and where their figures come from."""

from datetime import date

import pytest

from planner.desk.intake_calendar import bank_holidays
from planner.model.crews import Carrier, WeekSoFar
from planner.model.moves import MoveKind
from planner.model.places import Nation, Window
from tests.planner.desk.small_folder import RATES, TABLES, faults, only_fault, order, read

DRIVER = TABLES["drivers"][0]
TRANSPORTER = TABLES["transporters"][0]
YARD = TABLES["compounds"][0]
EARLY_RATES = RATES.replace("2026-04-01", "2026-01-01").replace("2026-10-01", "2026-01-01")


class TestDrivers:
    def test_week_so_far_is_in_minutes_of_the_planning_day(self):
        row = {**DRIVER, "driven_this_week": "18:30", "driven_last_week": "41.5", "worked_this_week": "29:15", "duty_days": "3",
               "long_days": "1", "short_rests": "2", "last_duty_ended": "25/11/2026 17:40", "weekly_rest_ended": "2026-11-23 06:00",
               "rest_owed": "3"}
        assert read(drivers=[row]).drivers[0].week == WeekSoFar(
            driven_week_min=1110, driven_last_week_min=2490, worked_week_min=1755, duty_days=3, extended_days=1, reduced_rests=2,
            last_duty_end_min=-380,  # 17:40 is 6 h 20 before midnight
            weekly_rest_ended_min=-3 * 1440 + 360, rest_owed_min=180)

    def test_start_at_home_when_a_cell_says_so(self):
        driver = read(drivers=[{**DRIVER, "home_postcode": "LA9 4PU"}]).drivers[0]
        assert (driver.base, driver.home, driver.starts_at) == ("Yard", "LA9 4PU", "LA9 4PU")

    def test_a_shift_may_run_over_midnight(self):
        driver = read(drivers=[{**DRIVER, "starts_from": "18:00", "home_by": "06:00"}]).drivers[0]
        assert (driver.starts_from_min, driver.home_by_min) == (1080, 1440 + 360)

    @pytest.mark.parametrize("off", ["2026-11-26", "Sunday; Thursday", "25/12/2026, 26/11/2026"])
    def test_who_is_off_is_left_out_and_named(self, off):
        day = read(drivers=[DRIVER, {**DRIVER, "driver": "D2", "name": "Cora Fictley", "days_off": off, "home_postcode": "TR18 2SU"}])
        assert [driver.driver_id for driver in day.drivers] == ["D1"]
        assert any("Cora Fictley (D2) does not work on Thursday" in note for note in day.notes)
        assert "TR18 2SU" not in day.place_of

    @pytest.mark.parametrize(("changes", "column"), [
        ({"transporter": "T9"}, "transporter"),
        ({"base": "Nowhere"}, "base"),
        ({"licences": "B+X"}, "licences"),
        ({"last_duty_ended": "2026-11-26 09:00"}, "last_duty_ended"),
        ({"driven_this_week": "20", "worked_this_week": "10"}, "worked_this_week"),
        ({"home_postcode": "nowhere"}, "home_postcode"),
    ])
    def test_faults_are_named(self, changes, column):
        assert only_fault(drivers=[{**DRIVER, **changes}])[:3] == ("drivers.csv", 2, column)

    def test_a_role_without_a_wage_is_a_fault_of_the_rates(self):
        assert only_fault(drivers=[{**DRIVER, "role": "heavy driver"}]) == (
            "rates.toml", None, "", "no wage of a heavy driver is in force on 26 November 2026")


class TestTransporters:
    def test_off_the_road_is_left_out_and_named(self):
        day = read(transporters=[{**TRANSPORTER, "off_the_road": "Thursday"}])
        assert day.transporters == ()
        assert any("T1 is off the road" in note for note in day.notes)

    def test_is_named_by_its_short_name_when_it_has_no_other(self):
        assert read().transporters[0].name == "T1"

    def test_payload_is_below_the_maximum_mass(self):
        assert only_fault(transporters=[{**TRANSPORTER, "payload_kg": "3500"}])[2] == "payload_kg"

    def test_two_do_not_share_a_registration(self):
        assert only_fault(transporters=[TRANSPORTER, {**TRANSPORTER, "transporter": "T2"}])[1:3] == (3, "registration")


OWN_DECK = """
[our-own]
says = "One car"
gross_kg = 3500
payload_kg = 1500
height_mm = 3000
empty_height_mm = 2300
length_mm = 6900
slots = [{ name = "1", level = "bed", x_mm = 1950, base_mm = 780, length_mm = 5200, width_mm = 2150, height_mm = 2200, mass_kg = 2600 }]
levels = [{ name = "bed", length_mm = 4900 }]
"""


class TestDecks:
    def test_those_in_use_stand_in_the_day(self):
        assert list(read().decks) == ["one-car-3500"]

    def test_give_the_slots_where_the_row_does_not(self):
        row = {**TRANSPORTER, "deck": "NINE-car-drawbar", "gross_kg": "22000", "trailer_kg": "18000", "payload_kg": "16000", "slots": ""}
        transporter = read(transporters=[row]).transporters[0]
        assert (transporter.deck, transporter.slots) == ("nine-car-drawbar", 9)

    def test_may_be_the_firms_own(self):
        day = read(transporters=[{**TRANSPORTER, "deck": "our-own"}], decks=OWN_DECK)
        assert day.decks["our-own"].payload_kg == 1500

    def test_that_nobody_described_are_named(self):
        assert only_fault(transporters=[{**TRANSPORTER, "deck": "one-car-350"}]) == ("transporters.csv", 2, "deck", "there is no such deck")

    def test_with_fewer_slots_than_the_row_says_are_named(self):
        assert only_fault(transporters=[{**TRANSPORTER, "slots": "2"}])[2] == "slots"

    def test_faults_of_the_firms_own_come_with_the_rest(self):
        found = faults(decks="[x]\nsays = 3", drivers=[{**DRIVER, "base": "Nowhere"}])
        assert {file for file, *_ in found} == {"decks.toml", "drivers.csv"}


class TestCarriers:
    def test_money_and_kinds(self):
        row = {"carrier": "H1", "name": "Fictley Haulage", "phone": "01632 960250", "cars": "3", "base_charge": "£60", "per_mile": "1.35",
               "minimum_charge": "180", "max_miles": "600", "max_mass_kg": "2600", "takes": "delivery; transfer", "ask_by": "16:00"}
        assert read(carriers=[row]).carriers == (Carrier(
            carrier_id="H1", name="Fictley Haulage", phone="01632 960250", cars=3, base_pence=6000, pence_per_mile=135,
            minimum_pence=18000, max_miles=600, max_mass_kg=2600, kinds=frozenset({MoveKind.DELIVERY, MoveKind.TRANSFER}),
            notice_by_min=-480),)  # 16:00 on the day before is 8 h before midnight


class TestCompounds:
    @pytest.mark.parametrize(("on", "window"), [
        ("2026-11-26", Window(opens_min=300, closes_min=1320)),  # a Thursday
        ("2026-11-28", Window(opens_min=420, closes_min=780)),  # a Saturday
        ("2026-11-29", None),  # a Sunday: nothing is given
        ("2026-12-25", None),  # Christmas Day, a Friday
        ("2026-11-30", Window(opens_min=300, closes_min=1320)),  # St Andrew's Day, not in England
    ])
    def test_hours_follow_the_calendar(self, on, window):
        row = {**YARD, "opens": "05:00", "closes": "22:00", "saturday_opens": "07:00", "saturday_closes": "13:00"}
        day = read(compounds=[row], orders=[order(promised=on)], on=date.fromisoformat(on))
        assert day.compounds[0].window == window
        assert any("Yard is shut" in note for note in day.notes) == (window is None)

    def test_bank_holidays_are_those_of_its_nation(self):
        row = {**YARD, "postcode": "EH54 8SB", "bank_holiday_opens": "09:00", "bank_holiday_closes": "12:00"}
        day = read(compounds=[row], on=date(2026, 11, 30), orders=[order(promised="2026-11-30")])
        assert day.compounds[0].window == Window(opens_min=540, closes_min=720)
        assert day.rates.is_weekend

    def test_the_policy_adds_and_takes_away_bank_holidays(self):
        more = "more_bank_holidays = [2026-11-26]"
        assert read(policy=f"day = 2026-11-26\n{more}").compounds[0].window is None
        assert read(on=date(2026, 12, 25), orders=[order(promised="2026-12-25")],
                    policy="no_bank_holidays = [2026-12-25]").compounds[0].window is not None

    def test_shut_on_a_date(self):
        assert read(compounds=[{**YARD, "shut_on": "26/11/2026"}]).compounds[0].window is None

    @pytest.mark.parametrize(("changes", "column"), [
        ({"saturday_opens": "07:00"}, "saturday_closes"),
        ({"opens": "09:00", "closes": "08:00"}, "closes"),
        ({"postcode": "nowhere"}, "postcode"),
        ({"bays": "0"}, "bays"),
    ])
    def test_faults_are_named(self, changes, column):
        assert only_fault(compounds=[{**YARD, **changes}])[:3] == ("compounds.csv", 2, column)

    def test_names_stand_once_whatever_their_case(self):
        assert faults(compounds=[YARD, {**YARD, "compound": "YARD"}])[0][1:3] == (3, "compound")


@pytest.mark.parametrize(("nation", "days"), [
    # gov.uk/bank-holidays, 2026 (from memory): England and Wales 1 Jan, 3 and 6 Apr, 4 and 25 May, 31 Aug, 25 and 28 Dec;
    # Scotland 1 and 2 Jan, 3 Apr, 4 and 25 May, 3 Aug, 30 Nov, 25 and 28 Dec.
    (Nation.ENGLAND, ["01-01", "04-03", "04-06", "05-04", "05-25", "08-31", "12-25", "12-28"]),
    (Nation.WALES, ["01-01", "04-03", "04-06", "05-04", "05-25", "08-31", "12-25", "12-28"]),
    (Nation.SCOTLAND, ["01-01", "01-02", "04-03", "05-04", "05-25", "08-03", "11-30", "12-25", "12-28"]),
])
def test_bank_holidays_are_those_published(nation, days):
    assert {date.fromisoformat(f"2026-{day}") for day in days} <= set(bank_holidays(nation, 2026))


class TestWeekendWages:
    @pytest.mark.parametrize(("on", "is_weekend"), [("2026-11-26", False), ("2026-11-28", True), ("2026-12-25", True)])
    def test_are_paid_on_saturdays_sundays_and_bank_holidays(self, on, is_weekend):
        assert read(on=date.fromisoformat(on), orders=[order(promised=on)]).rates.is_weekend is is_weekend
