"""
Orders of a day: rows become orders, the moves that may leave, and orders held with the one thing to do.

An order is due when its promise is on the planning day or before it; the car of a later one may go ahead to another
compound.  A car without a valid MOT or with a warning light is carried, and only held when nobody may carry it.  For a
return, and for a car fetched from a supplier, the car stands at the door.
"""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field, replace
from datetime import date, timedelta
from typing import Any

from planner.clock import DayClock
from planner.desk.intake_atlas import Atlas, minute_at, row_window
from planner.desk.intake_cars import SIZES, assumed_note, read_car
from planner.desk.intake_columns import OrderKind
from planner.desk.intake_crews import refuse_unknown
from planner.desk.intake_policy import FILE, HouseRules
from planner.desk.intake_table import Row, refuse_twice
from planner.desk.transfers_ahead import ENDING, transfer_ahead
from planner.faults import Problem, SkippedTime
from planner.model.cars import Car
from planner.model.moves import Move, MoveId, MoveKind, part_exchange_id
from planner.model.orders import Buyer, Gate, Hold, Method, Order, OrderRef, Promise
from planner.model.places import Compound, Place, PlaceId, Window
from planner.model.policy import Policy

#: Columns that each kind of row must have, and those it must leave blank.
NEEDED = {
    OrderKind.DELIVERY: ("stands_at", "buyer", "phone", "postcode", "promised"),
    OrderKind.RETURN: ("goes_to", "buyer", "phone", "postcode", "promised"),
    OrderKind.TRANSFER: ("goes_to",),
}
BLANK = {OrderKind.DELIVERY: ("goes_to",), OrderKind.RETURN: ("stands_at",), OrderKind.TRANSFER: ()}
PART_EXCHANGE_CAR = ("registration", "make_model", "body", *SIZES, "fuel")


@dataclass(kw_only=True, slots=True)
class Office:
    """What reading an order needs to know beside its row."""

    clock: DayClock
    policy: Policy
    rules: HouseRules
    atlas: Atlas
    drivers: Mapping[str, str]
    transporters: Mapping[str, str]
    may_carry: Callable[[int], bool]  # whether anybody carries a car of so many kg
    cut_offs: Mapping[Gate, int]


@dataclass(kw_only=True, slots=True)
class OrderBook:
    """What the rows came to."""

    orders: list[Order] = field(default_factory=list)
    held: list[Order] = field(default_factory=list)
    moves: list[Move] = field(default_factory=list)
    cars: list[Car] = field(default_factory=list)
    later: list[str] = field(default_factory=list)
    later_deliveries: list[Order] = field(default_factory=list)
    notes: list[str] = field(default_factory=list)


def cut_offs(clock: DayClock, rules: HouseRules, problems: list[Problem]) -> dict[Gate, int]:
    """Return the minute by which each gate must be passed; one that the clocks skip is a problem."""
    found = {}
    for gate, rule in rules.gates.items():
        try:
            found[gate] = minute_at(clock, rule.cut_off, clock.day - timedelta(days=rule.days_before))
        except SkippedTime as fault:
            problems.append(Problem(file=FILE, column=f"gates.{gate.value}.cut_off", says=str(fault).rstrip(".")))
    return found


def read_orders(rows: list[Row], office: Office) -> OrderBook:
    """Return the orders, held orders and moves of the day; every fault of a row is noted in it."""
    refuse_twice(rows, "order", "order")
    _refuse_car_twice(rows)
    book = OrderBook()
    for row in rows:
        _refuse_kept_ending(row)
        _refuse_by_kind(row)
        _read_order(row, office, book)
    if book.later:
        book.notes.append(f"Promised after {office.clock.day:%d %B %Y} and left for their day: {', '.join(book.later)}.")
    return book


def _refuse_car_twice(rows: list[Row]) -> None:
    first: dict[str, tuple[int, str]] = {}
    for row in rows:
        for column in ("registration", "part_exchange_registration"):
            if (value := row[column]) is not None:
                earlier, other = first.setdefault(value, (row.number, column))
                if (earlier, other) != (row.number, column):
                    row.refuse(column, f"this car stands in row {earlier} already, as {other}", "Keep the row that holds.")


def _refuse_kept_ending(row: Row) -> None:
    for ending, what in ((part_exchange_id(""), "part-exchanges"), (ENDING, "transfers ahead")):
        if row["order"] is not None and row["order"].upper().endswith(ending):
            row.refuse("order", f"this ending is kept for {what}", "Give the order another reference.")


def _refuse_by_kind(row: Row) -> None:
    kind = row["kind"]
    if kind is not None:
        _refuse_ends(row, kind)
    cells = [f"part_exchange_{name}" for name in PART_EXCHANGE_CAR]
    if any(row[column] is not None or column in row.faulty for column in cells):
        if kind in (OrderKind.RETURN, OrderKind.TRANSFER):
            row.refuse(cells[0], f"a {kind} has no part-exchange", "Give the car a row of its own.")
        for column in cells[:2]:
            _require(row, column, "a part-exchange")


def _refuse_ends(row: Row, kind: OrderKind) -> None:
    for column in NEEDED[kind]:
        _require(row, column, f"a {kind}")
    for column in BLANK[kind]:
        if row.texts.get(column):
            row.refuse(column, f"a {kind} has none", f"Clear this cell; a {kind} is between its compound and the postcode.")
    if kind is OrderKind.TRANSFER and not {"stands_at", "postcode"} & row.faulty:
        if (row["stands_at"] is None) == (row["postcode"] is None):
            row.refuse("stands_at", "a transfer starts at a compound or at a postcode", "Fill in one of the two.")
        elif row["postcode"] is not None:
            _require(row, "buyer", "a transfer from a postcode")
        elif row["stands_at"].casefold() == str(row["goes_to"]).casefold():
            row.refuse("goes_to", "the car stands there already", "Give the compound to which it goes.")


def _require(row: Row, column: str, what: str) -> None:
    if row[column] is None and column not in row.faulty:
        row.refuse(column, f"{what} needs this", "Fill it in.")


@dataclass(frozen=True, kw_only=True, slots=True)
class _Reading:
    """One row with everything about it found, before it becomes an order."""

    row: Row
    kind: OrderKind
    car: Car
    part_exchange: Car | None
    stands_at: Compound | None
    goes_to: Compound | None
    px_goes_to: Compound | None
    door: Place | None
    promise: Promise
    window_today: Window | None  # None for a transfer between compounds
    pinned_driver: str | None
    pinned_transporter: str | None

    @property
    def key(self) -> str:
        return str(self.row["order"])


def _read_order(row: Row, office: Office, book: OrderBook) -> None:
    reading = _read(row, office)
    if reading is None or not row.is_sound:
        return
    book.cars += [car for car in (reading.car, reading.part_exchange) if car is not None]
    if reading.promise.day > office.clock.day:
        book.later.append(reading.key)
        book.moves += _ahead(reading, office)
        if reading.kind is OrderKind.DELIVERY and (order := _order(reading, office, OrderBook())) is not None:
            book.later_deliveries.append(replace(order, hold=None))  # what holds it today may be done by its day
        return
    if reading.door is not None:
        reading = replace(reading, door=office.atlas.door(row, "postcode", reading.key, town=_town(row)))
    book.notes += [note for car in (reading.car, reading.part_exchange) if car and (note := assumed_note(reading.key, car))]
    days_late = (office.clock.day - reading.promise.day).days
    if days_late and reading.kind is not OrderKind.TRANSFER:
        plural = "s" if days_late > 1 else ""
        book.notes.append(f"{reading.key}: promised for {reading.promise.day:%d %B %Y}, {days_late} day{plural} late already.")
    order = _order(reading, office, book)
    if order is not None and order.hold is not None:
        book.held.append(order)
        return
    if order is not None:
        book.orders.append(order)
    book.moves += _moves(reading, order, office, days_late)


def _read(row: Row, office: Office) -> _Reading | None:
    fit = not row["warning_light"] and _mot_is_valid(row, office.clock.day)
    car = read_car(row, may_be_driven=fit)
    px_given = row["part_exchange_registration"] is not None or row["part_exchange_make_model"] is not None
    part_exchange = read_car(row, "part_exchange_", may_be_driven=row["part_exchange_mot"] is not False) if px_given else None
    stands_at, goes_to, px_goes_to = (
        office.atlas.compound(row, column) for column in ("stands_at", "goes_to", "part_exchange_goes_to")
    )
    door = office.atlas.find(row, "postcode")
    pinned_driver = refuse_unknown(row, "pinned_driver", "driver", office.drivers)
    pinned_transporter = refuse_unknown(row, "pinned_transporter", "transporter", office.transporters)
    promise, today = _promise(row, office)
    if car is None or promise is None or row["kind"] is None or not row.is_sound:
        return None
    if None in (stands_at, goes_to) and any(row[column] and found is None for column, found in (
        ("stands_at", stands_at), ("goes_to", goes_to), ("part_exchange_goes_to", px_goes_to))):  # fmt: skip
        return None  # it names a compound that has a fault of its own
    extra: dict[str, Any] = {name: row[name] for name in ("ground_clearance_mm", "equipment")}
    return _Reading(
        row=row, kind=row["kind"], car=replace(car, value_pence=row["value"], range_m=row["range_miles"], **extra),
        part_exchange=part_exchange, stands_at=stands_at, goes_to=goes_to, px_goes_to=px_goes_to, door=door, promise=promise,
        window_today=today if door is not None else None, pinned_driver=pinned_driver, pinned_transporter=pinned_transporter,
    )  # fmt: skip


def _mot_is_valid(row: Row, on: date) -> bool:
    return row["gate_mot"] is not False and (row["mot_until"] is None or row["mot_until"] >= on)


def _promise(row: Row, office: Office) -> tuple[Promise | None, Window | None]:
    """Return the promise in minutes of its own day, and the window that holds on the planning day."""
    on = row["promised"]
    if on is None and ("promised" in row.faulty or row["kind"] is not OrderKind.TRANSFER):
        return None, None
    on = on or office.clock.day
    usual = (office.rules.door_opens, office.rules.door_closes)
    own_day = DayClock(on, office.clock.zone)
    window = row_window(row, "window_opens", "window_closes", own_day, on, usual=usual)
    if window is None:
        return None, None
    if on == office.clock.day:
        return Promise(day=on, window=window), window
    opens, closes = (minute_at(office.clock, wall, office.clock.day) for wall in usual)
    return Promise(day=on, window=window), Window(opens_min=opens, closes_min=closes)


def _address(row: Row) -> tuple[str, ...]:
    return tuple(line for line in (row["address_1"], row["address_2"], row["address_3"]) if line)


def _town(row: Row) -> str:
    """Return the last line of the address, by which people call the door; blank when only one line is given."""
    lines = _address(row)
    return lines[-1] if len(lines) > 1 else ""


def _order(reading: _Reading, office: Office, book: OrderBook) -> Order | None:
    """Return the order with its hold, None for a transfer between compounds, which has no door."""
    row, door = reading.row, reading.door
    stands = reading.stands_at.place if reading.stands_at else door
    assert stands is not None
    gates = _gates(reading, office, book)
    order = Order(
        ref=OrderRef(reading.key), car=reading.car, stands_at=stands.place_id, door=door or stands, promise=reading.promise,
        buyer=Buyer(name=row["buyer"] or "", phone=row["phone"] or "", email=row["email"],
                    address=_address(row)),
        method=row["method"], part_exchange=reading.part_exchange, access_notes=row["access_notes"],
        no_large_vehicle=row["no_large_vehicle"], gates=gates, priority=row["priority"], charge_pence=row["charge"],
        notes=row["notes"],
    )  # fmt: skip
    gate = order.first_unpassed
    if gate is None:
        return order if door is not None else None
    rule = office.rules.gates[gate]
    hold = Hold(gate=gate, owner=rule.owner, cut_off_min=office.cut_offs.get(gate, 0), to_do=rule.to_do)
    return replace(order, hold=hold)


def _gates(reading: _Reading, office: Office, book: OrderBook) -> dict[Gate, bool]:
    row, blank = reading.row, office.rules.blank_gates == "passed"
    gates = {gate: blank if row[f"gate_{gate.value}"] is None else row[f"gate_{gate.value}"] for gate in Gate}
    if reading.part_exchange is None and row["gate_part_exchange"] is None:
        gates[Gate.PART_EXCHANGE] = True
    if row["mot_until"] is not None and row["gate_mot"] is None:
        gates[Gate.MOT] = True
    if not reading.car.may_be_driven:
        carried = row["method"] is not Method.DRIVEN and office.may_carry(reading.car.mass_kg)
        lit = bool(row["warning_light"])
        gates[Gate.MOT] = carried or _mot_is_valid(row, office.clock.day)
        gates[Gate.INSPECTION] = gates[Gate.INSPECTION] and (carried or not lit)
        if carried:
            why = "a warning light is on" if lit else "it has no MOT on the day"
            book.notes.append(f"{reading.key}: {reading.car.make_model} ({reading.car.registration}) is carried: {why}.")
    return gates


def _moves(reading: _Reading, order: Order | None, office: Office, days_late: int) -> list[Move]:
    row, policy = reading.row, office.policy
    method: Method = row["method"]
    origin, destination = _ends(reading)
    at_door: dict[str, Any] = {}
    if reading.kind is OrderKind.DELIVERY:
        at_door = {"destination_window": reading.window_today, "destination_min": policy.handover_min}
    elif reading.kind is OrderKind.RETURN:
        at_door = {"origin_window": reading.window_today, "origin_min": policy.return_min}
    elif reading.door is not None:
        at_door = {"origin_window": reading.window_today, "origin_min": policy.collect_at_compound_min}
    move = Move(
        move_id=MoveId(reading.key), kind=MoveKind(reading.kind.value), car=reading.car, origin=origin, destination=destination,
        may_be_driven=reading.car.may_be_driven and method is not Method.CARRIED, may_be_carried=method is not Method.DRIVEN,
        no_large_vehicle=row["no_large_vehicle"], order=order.ref if order else None, pinned_driver=reading.pinned_driver,
        stays_behind_pence=stays_behind_pence(reading.kind, policy, days_late, row["priority"]),
        pinned_transporter=reading.pinned_transporter, **at_door,
    )  # fmt: skip
    return [move] if reading.part_exchange is None else [move, _part_exchange(reading, reading.part_exchange, move, policy)]


def _ahead(reading: _Reading, office: Office) -> list[Move]:
    """Return the transfer that would bring the car of a later delivery nearer to its buyer, if its gates are passed."""
    if reading.kind is not OrderKind.DELIVERY or reading.stands_at is None or reading.door is None:
        return []
    if not all(_gates(reading, office, OrderBook()).values()):
        return []
    alone = replace(reading, part_exchange=None, pinned_driver=None, pinned_transporter=None)
    offered = transfer_ahead(
        _moves(alone, None, office, 0)[0], promised=reading.promise.day, today=office.clock.day, door=reading.door,
        stands_at=reading.stands_at, compounds=office.atlas.compounds.values(), policy=office.policy,
    )  # fmt: skip
    return [offered] if offered else []


def _ends(reading: _Reading) -> tuple[PlaceId, PlaceId]:
    first = reading.stands_at.place if reading.stands_at else reading.door
    last = reading.goes_to.place if reading.goes_to else reading.door
    assert first is not None
    assert last is not None
    return first.place_id, last.place_id


def _part_exchange(reading: _Reading, car: Car, delivery: Move, policy: Policy) -> Move:
    """Return the move of the buyer's old car, from the same door in the same visit."""
    return Move(
        move_id=part_exchange_id(reading.key), kind=MoveKind.PART_EXCHANGE, car=car, origin=delivery.destination,
        destination=reading.px_goes_to.place_id if reading.px_goes_to else delivery.origin,
        origin_window=delivery.destination_window, origin_min=policy.part_exchange_min, may_be_driven=car.may_be_driven,
        no_large_vehicle=delivery.no_large_vehicle, tied_to=delivery.move_id, order=delivery.order,
        pinned_driver=delivery.pinned_driver, pinned_transporter=delivery.pinned_transporter,
    )  # fmt: skip


def stays_behind_pence(kind: OrderKind, policy: Policy, days_late: int, priority: int) -> int:
    """Return the price of leaving a move for another day, which then is ``days_late`` + 1 days after its promise."""
    if kind is OrderKind.DELIVERY:
        return priority * (policy.late_first_day_pence + days_late * policy.late_more_days_pence)
    first = policy.return_stays_pence if kind is OrderKind.RETURN else policy.transfer_stays_pence
    return priority * first * (1 + days_late)
