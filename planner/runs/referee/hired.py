"""A hired carrier's run: two visits of one move, no activities of ours, one price."""

from planner.model.crews import VehicleClass
from planner.model.day import Day
from planner.runs.referee.breach import Notebook, Rule
from planner.runs.referee.money import check_costs
from planner.runs.referee.script import road
from planner.runs.referee.trail import window_text
from planner.runs.run import Run


def check_hired(day: Day, run: Run, notes: Notebook) -> None:
    """Note what differs from the one move at the carrier's rate, left inside the window of its promise."""
    if run.activities or run.nights or run.reshuffles:
        notes.note(Rule.SEQUENCE, "", "a hired carrier's time is its own, yet activities, nights or reshuffles are stated")
    notes.compare(Rule.BOOK, "", "our book of hours rules does not govern it", "", run.book)
    stops = run.itinerary.stops
    if len(run.itinerary.moves) != 1 or len(stops) != 2:
        return  # said with the decision
    if not notes.compare(Rule.VISIT, "", "number of visits differs from the stops", len(stops), len(run.visits)):
        return
    aboard: list[str] = []
    earlier_min = run.visits[0].arrive_min
    for number, (stop, visit) in enumerate(zip(stops, run.visits, strict=True)):
        where = f"visit {number + 1} at {stop.place}"
        notes.compare(Rule.VISIT, where, "place or cars differ from the stop", (stop.place, stop.leaves, stop.takes),
                      (visit.place, visit.leaves, visit.takes))  # fmt: skip
        aboard = [move for move in aboard if move not in stop.leaves] + list(stop.takes)
        notes.compare(Rule.ABOARD, where, "cars aboard afterwards differ", aboard, list(visit.aboard_after))
        if not earlier_min <= visit.arrive_min <= visit.start_min <= visit.end_min:
            notes.note(Rule.VISIT, where, "times are out of order")
        earlier_min = visit.end_min
    move = day.move_of[run.itinerary.moves[0]]
    window, visit = move.destination_window, run.visits[1]
    if window is not None and not window.opens_min <= visit.start_min < window.closes_min:
        notes.note(Rule.WINDOW, f"visit 2 at {visit.place}", "the car is left outside the window",
                   expected=window_text(day, window), found=day.clock.wall(visit.start_min))  # fmt: skip
    way = road(day, VehicleClass.CAR, move.origin, move.destination)
    if way is not None:
        notes.compare(Rule.LEG, f"visit 2 at {visit.place}", "metres of the leg differ", way.metres, visit.leg_metres)
    check_costs(day, run, None, (), notes)
