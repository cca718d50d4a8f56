"""The decision: whether this crew may do these stops in this order, whatever the time."""

from collections import Counter

from planner.model.crews import Driver, Transporter, VehicleClass
from planner.model.day import Day
from planner.model.moves import Move, MoveId
from planner.runs.referee.breach import Notebook, Rule
from planner.runs.referee.script import class_on_plates, road, windows_at
from planner.runs.run import Itinerary, RunKind
from planner.units import METRES_A_MILE

#: Licence categories that the holder of each may also drive (gov.uk, "Driving licence categories").
ALSO = {
    "B": "", "BE": "B", "C1": "B", "C1E": "B BE C1", "C": "B C1", "CE": "B BE C1 C1E C", "C+E": "B BE C1 C1E C CE",
}  # fmt: skip


def check_decision(day: Day, itinerary: Itinerary, notes: Notebook) -> None:
    """Note every reason why the itinerary may not be run."""
    _stops(day, itinerary, notes)
    _pins(day, itinerary, notes)
    if itinerary.kind is RunKind.HIRED:
        _hired(day, itinerary, notes)
        return
    if itinerary.driver is None:
        notes.note(Rule.CREW, "", "nobody is named to drive")
        return
    _compounds(day, itinerary, notes)
    driver = day.driver_of[itinerary.driver]
    if itinerary.transporter is None:
        _plates(day, itinerary, driver, notes)
    else:
        _transporter(day, itinerary, driver, notes)


def _stops(day: Day, itinerary: Itinerary, notes: Notebook) -> None:
    """Each car is taken where it stands, left where it goes, later, once; a part-exchange when its delivery is left."""
    held: set[MoveId] = set()
    for number, stop in enumerate(itinerary.stops):
        where = f"stop {number + 1} at {stop.place}"
        for move_id in stop.leaves:
            if move_id not in held:
                notes.note(Rule.STOPS, where, f"{move_id} is left without being aboard")
            if day.move_of[move_id].destination != stop.place:
                goes_to = day.move_of[move_id].destination
                notes.note(Rule.STOPS, where, f"{move_id} is left elsewhere", expected=goes_to, found=stop.place)
            held.discard(move_id)
        for move_id in stop.takes:
            move = day.move_of[move_id]
            if move.origin != stop.place:
                notes.note(Rule.STOPS, where, f"{move_id} stands elsewhere", expected=move.origin, found=stop.place)
            if move.tied_to is not None and move.tied_to not in stop.leaves:
                notes.note(Rule.PART_EXCHANGE, where, f"{move_id} is taken, yet {move.tied_to} is not left in that visit")
            held.add(move_id)
    for move_id in sorted(held, key=str):
        notes.note(Rule.STOPS, "", f"{move_id} is taken and never left")
    for move_id, times in Counter(itinerary.moves).items():
        if times > 1:
            notes.note(Rule.STOPS, "", f"{move_id} is taken {times} times")


def _pins(day: Day, itinerary: Itinerary, notes: Notebook) -> None:
    for move_id in dict.fromkeys(itinerary.moves):
        move = day.move_of[move_id]
        if move.pinned_driver is not None and move.pinned_driver != itinerary.driver:
            notes.note(Rule.PIN, move_id, "another driver is pinned", expected=move.pinned_driver, found=itinerary.driver)
        if move.pinned_transporter is not None and move.pinned_transporter != itinerary.transporter:
            notes.note(Rule.PIN, move_id, "another transporter is pinned", expected=move.pinned_transporter,
                       found=itinerary.transporter)  # fmt: skip


def _compounds(day: Day, itinerary: Itinerary, notes: Notebook) -> None:
    for number, stop in enumerate(itinerary.stops):
        if windows_at(day, stop)[1]:
            notes.note(Rule.COMPOUND, f"stop {number + 1}", f"{day.place_of[stop.place].name} is shut on this day")


def _hired(day: Day, itinerary: Itinerary, notes: Notebook) -> None:
    if itinerary.driver is not None or itinerary.transporter is not None or itinerary.support_driver is not None:
        notes.note(Rule.CREW, "", "a hired carrier brings its own crew, yet one of ours is named")
    if not day.policy.hired_carriers:
        notes.note(Rule.POLICY, "", "hired carriers are switched off")
    if len(itinerary.moves) != 1 or len(itinerary.stops) != 2:
        notes.note(Rule.HIRED, "", "a hired carrier takes one move", expected=1, found=len(itinerary.moves))
        return
    assert itinerary.carrier is not None
    carrier, move = day.carrier_of[itinerary.carrier], day.move_of[itinerary.moves[0]]
    if not move.may_be_carried:
        notes.note(Rule.METHOD, move.move_id, "it may not be carried")
    if move.kind not in carrier.kinds:
        notes.note(Rule.HIRED, move.move_id, f"{carrier.name} takes no {move.kind}")
    if move.car.mass_kg > carrier.max_mass_kg:
        notes.note(Rule.HIRED, move.move_id, f"too heavy for {carrier.name}", expected=f"at most {carrier.max_mass_kg} kg",
                   found=f"{move.car.mass_kg} kg")  # fmt: skip
    way = road(day, VehicleClass.CAR, move.origin, move.destination)
    if way is None:
        notes.note(Rule.ROAD, move.move_id, "no road leads there")
    elif way.metres / METRES_A_MILE > carrier.max_miles:
        notes.note(Rule.HIRED, move.move_id, f"too far for {carrier.name}", expected=f"at most {carrier.max_miles} miles",
                   found=f"{way.metres / METRES_A_MILE:.1f} miles")  # fmt: skip


def _licence(driver: Driver, needed: str, vehicle: str, notes: Notebook) -> None:
    covered = {category for held in driver.licences for category in (held, *ALSO.get(held, "").split())}
    if needed not in covered:
        notes.note(Rule.LICENCE, vehicle, f"{driver.name} may not drive it", expected=needed,
                   found=", ".join(sorted(driver.licences)) or "no category")  # fmt: skip


def needed_category(transporter: Transporter) -> str:
    """Return the driving-licence category of a goods vehicle with its trailer (facts: gov.uk, electric vans to 4,250 kg)."""
    gross_kg, trailer_kg = transporter.gross_kg, transporter.trailer_kg
    if gross_kg <= (4250 if transporter.is_electric and gross_kg + trailer_kg <= 7000 else 3500):
        return "B" if trailer_kg <= 3500 else "BE"
    if trailer_kg > 750 and gross_kg + trailer_kg > 12_000:
        return "CE"
    return ("C1" if gross_kg <= 7500 else "C") + ("E" if trailer_kg > 750 else "")


def _transporter(day: Day, itinerary: Itinerary, driver: Driver, notes: Notebook) -> None:
    assert itinerary.transporter is not None
    transporter = day.transporter_of[itinerary.transporter]
    _licence(driver, needed_category(transporter), transporter.name, notes)
    if driver.pinned_transporter is not None and driver.pinned_transporter != transporter.transporter_id:
        notes.note(Rule.PIN, driver.driver_id, "the driver is pinned to another transporter",
                   expected=driver.pinned_transporter, found=transporter.transporter_id)  # fmt: skip
    if itinerary.support_driver is not None:
        notes.note(Rule.CREW, "", "a support car follows plate runs only")
    is_large = transporter.gross_kg + transporter.trailer_kg > 7500
    for move_id in dict.fromkeys(itinerary.moves):
        move = day.move_of[move_id]
        if not move.may_be_carried:
            notes.note(Rule.METHOD, move_id, "it may not be carried")
        if move.no_large_vehicle and is_large:
            notes.note(Rule.ACCESS, move_id, f"{transporter.name} is too large for that door")
    aboard: list[Move] = []
    for number, stop in enumerate(itinerary.stops):
        where = f"after stop {number + 1} at {stop.place}"
        aboard = [move for move in aboard if move.move_id not in stop.leaves]
        aboard += [day.move_of[move_id] for move_id in stop.takes]
        mass_kg = sum(move.car.mass_kg for move in aboard)
        if len(aboard) > transporter.slots:
            notes.note(Rule.SLOTS, where, "more cars than slots", expected=f"at most {transporter.slots}", found=len(aboard))
        if mass_kg > transporter.payload_kg:
            notes.note(Rule.PAYLOAD, where, "more mass than payload", expected=f"at most {transporter.payload_kg} kg",
                       found=f"{mass_kg} kg")  # fmt: skip


def _plates(day: Day, itinerary: Itinerary, driver: Driver, notes: Notebook) -> None:
    _licence(driver, "B", "a car on plates", notes)
    if not driver.may_drive_plates:
        notes.note(Rule.PLATES, "", f"{driver.name} does not drive on plates")
    if driver.pinned_transporter is not None:
        notes.note(Rule.PIN, driver.driver_id, "the driver is pinned to a transporter", expected=driver.pinned_transporter,
                   found="a plate run")  # fmt: skip
    with_cars = [stop for stop in itinerary.stops if stop.leaves or stop.takes]  # a call in vain leaves the car in hand
    for number, stop in enumerate(with_cars):
        following = with_cars[number + 1].leaves if number + 1 < len(with_cars) else ()
        if len(stop.takes) > 1:
            notes.note(Rule.PLATES, f"stop {number + 1}", "more than one car is taken", expected=1, found=len(stop.takes))
        elif stop.takes and following != stop.takes:
            notes.note(Rule.PLATES, f"stop {number + 1}", f"{stop.takes[0]} is not what the next stop leaves")
    limit = day.policy.driven_moves_a_shift
    if len(itinerary.moves) > limit:
        notes.note(Rule.SHIFT_MOVES, "", "too many driven moves", expected=f"at most {limit}", found=len(itinerary.moves))
    for move_id in dict.fromkeys(itinerary.moves):
        _driven(day, day.move_of[move_id], notes)
    if itinerary.support_driver is not None:
        _support(day, driver, day.driver_of[itinerary.support_driver], notes)


def _driven(day: Day, move: Move, notes: Notebook) -> None:
    if not move.may_be_driven or not move.car.may_be_driven:
        notes.note(Rule.METHOD, move.move_id, "it may not be driven")
    way = road(day, class_on_plates(move), move.origin, move.destination)
    if way is None:
        return  # said when the script is written
    if way.metres > day.policy.driven_max_m:
        notes.note(Rule.DISTANCE, move.move_id, "too far to be driven", expected=f"at most {day.policy.driven_max_m} m",
                   found=f"{way.metres} m")  # fmt: skip
    if move.car.range_m is not None and way.metres > move.car.range_m:
        notes.note(Rule.RANGE, move.move_id, "farther than its charge or fuel goes", expected=f"at most {move.car.range_m} m",
                   found=f"{way.metres} m")  # fmt: skip


def _support(day: Day, driver: Driver, second: Driver, notes: Notebook) -> None:
    if not day.policy.support_car_allowed:
        notes.note(Rule.POLICY, "", "support cars are switched off")
    if second.driver_id == driver.driver_id:
        notes.note(Rule.CREW, "", f"{driver.name} cannot follow in the support car as well")
    if second.starts_at != driver.starts_at:
        notes.note(Rule.CREW, "", "the two drivers do not start together", expected=driver.starts_at, found=second.starts_at)
    if second.pinned_transporter is not None:
        notes.note(Rule.PIN, second.driver_id, "the second driver is pinned to a transporter",
                   expected=second.pinned_transporter, found="a support car")  # fmt: skip
    _licence(second, "B", "the support car", notes)
