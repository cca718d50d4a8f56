"""The next morning: a late finish and an early usual start leave too little rest, and it is said."""

from dataclasses import replace

from planner.model.places import Window
from planner.runs.next_morning import next_mornings
from planner.runs.run import Itinerary, Stop
from planner.runs.timing import lay_out
from tests.planner.runs.worked_day import FAR, YARD, worked_day

RUN = Itinerary(driver="D3", stops=(Stop(place=YARD, takes=("M4",)), Stop(place=FAR, leaves=("M4",))))


def late_day(opens_min):
    day = worked_day()
    late = Window(opens_min=opens_min, closes_min=opens_min + 60)
    moves = tuple(replace(move, destination_window=late) if move.move_id == "M4" else move for move in day.moves)
    return replace(day, moves=moves, drivers=tuple(replace(driver, home_by_min=1440) for driver in day.drivers))


def test_eleven_hours_before_the_usual_start_are_enough():
    # Working Time Regulations 1998, reg. 10: 11 h of rest in each 24 h.  Handed over at 16:50, 30 minutes there, 90 home: 18:50.
    day = late_day(1010)
    (morning,) = next_mornings(day, lay_out(day, RUN))
    assert morning.allowed.earliest_min == 1130 + 660
    assert morning.breach is None  # 05:50, before the usual 06:00


def test_eleven_minutes_too_late_is_a_breach_with_minutes():
    day = late_day(1031)
    (morning,) = next_mornings(day, lay_out(day, RUN))
    assert morning.breach is not None
    assert morning.breach.short_by_min == 11


def test_a_hired_carrier_has_no_morning():
    day = worked_day()
    assert next_mornings(day, lay_out(day, Itinerary(driver=None, carrier="C1", stops=RUN.stops))) == ()
