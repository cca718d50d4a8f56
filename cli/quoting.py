"""The sales desk opened from disk: plan, tariff and open quotes of a folder, and the roads of a new door."""

import gc
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, replace
from datetime import date, datetime
from pathlib import Path
from typing import TYPE_CHECKING
from zoneinfo import ZoneInfo

from cli.locked import locked
from cli.plan_file import read_plan
from cli.prices_file import is_as_written, read_near
from cli.quote_store import NAME, read_held
from planner.faults import PlannerError

#: Things made, then looks, before the next look for garbage: of what a question makes hardly anything goes in circles.
MADE_BEFORE_A_LOOK = (50_000, 20, 20)

if TYPE_CHECKING:
    from planner.desk.quote import QuoteDesk
    from planner.desk.quote_day import Roads
    from planner.desk.quote_held import HeldQuotes
    from planner.desk.tariff import Tariff
    from planner.model.day import Day
    from planner.model.moves import Move, MoveId
    from planner.model.orders import Order
    from planner.model.places import Place, PlaceId
    from planner.model.travel import Charge


class NoPlan(PlannerError):
    """A folder without a plan."""

    def __init__(self, folder: Path) -> None:
        super().__init__(f"{folder} holds no plan.json. Make one with 'homeleg plan DAY --out {folder}', or name it with --day.")


class UnknownOrder(PlannerError):
    """A reference that is no order of the day."""

    def __init__(self, reference: str, near: tuple[str, ...]) -> None:
        meant = f" Did you mean {' or '.join(near)}?" if near else " Give a reference from orders.csv."
        super().__init__(f"No order {reference!r} on this day.{meant}")


class LaterOrder(PlannerError):
    """An order of a later day, which has no place in this plan that could be asked for anew."""

    def __init__(self, order: "Order") -> None:
        day = order.promise.day
        super().__init__(
            f"{order.ref} is promised for {day:%A} {day.day} {day:%B}, which is not planned yet. "
            f"Ask for its postcode ({order.door.postcode or order.door.name}), with --date for another day."
        )


class UnknownCompound(PlannerError):
    """A name that is no compound of the day."""

    def __init__(self, name: str, known: tuple[str, ...]) -> None:
        super().__init__(f"--from {name!r} is no compound of this day. Use one of: {', '.join(known)}.")


@dataclass(frozen=True, kw_only=True)
class OpenDesk:
    """The desk with every open quote in its place, the store it came from, and what could not be kept."""

    desk: "QuoteDesk"
    store: "HeldQuotes"
    path: Path
    warnings: tuple[str, ...]


def plan_path(folder: Path) -> Path:
    """
    Return the plan file of a folder.

    Raises
    ------
    NoPlan
        If there is none.

    """
    for path in (folder, folder / "plan.json", folder / "out" / "plan.json"):
        if path.is_file():
            return path
    raise NoPlan(folder)


def tariff_of(folder: Path, file: Path | None = None) -> "Tariff":
    """Return the tariff in ``file``, or of the folder or the one above it; the usual tariff when there is none."""
    from planner.desk.tariff import Tariff
    from planner.desk.tariff_file import FILE, read_tariff

    for path in (file,) if file else (folder / FILE, folder.resolve().parent / FILE):
        if path.is_file() or file:
            try:
                return read_tariff(path.read_text(encoding="utf-8-sig"), file=path.name)
            except OSError as fault:
                raise NoTariff(path, fault.strerror or "cannot be read") from fault
            except UnicodeDecodeError as fault:
                raise NoTariff(path, "cannot be read as UTF-8") from fault
    return Tariff()


def tariff_text(folder: Path) -> str | None:
    """Return the tariff of a day folder as it is written, looked through for faults; None when there is none."""
    from planner.desk.tariff_file import FILE, read_tariff

    path = folder / FILE
    if not path.is_file():
        return None
    try:
        text = path.read_text(encoding="utf-8-sig")
    except UnicodeDecodeError as fault:
        raise NoTariff(path, "cannot be read as UTF-8") from fault
    read_tariff(text)
    return text


class NoTariff(PlannerError):
    """A tariff file that was named and cannot be read."""

    def __init__(self, path: Path, says: str) -> None:
        super().__init__(f"{path}: {says[:1].lower()}{says[1:]}. Give a tariff.toml, or leave --tariff out.")


@contextmanager
def open_desk(folder: Path, *, now: datetime, tariff: "Tariff", asked_again: str | None = None) -> Iterator[OpenDesk]:
    """
    Yield the desk of a folder; nobody else can promise anything until the block ends.

    Open quotes for the order ``asked_again`` are left out: whoever asks anew wants one place, not two.
    """
    from planner.desk.quote import Booked, QuoteDesk
    from planner.desk.quote_dates import Calendar
    from planner.desk.quote_held import reopened

    file = plan_path(folder)
    path = file.with_name(NAME)
    with locked(path):
        read = read_plan(file, is_as_written=is_as_written(file))
        day, plan = read.day, read.plan
        now = now.astimezone(ZoneInfo(day.clock.zone))
        calendar = Calendar(tariff=tariff, planned=day.clock.day, now=now, holiday=_holiday, charge_on=_charge_on)
        placed = {move for run in plan.runs for move in run.itinerary.moves}
        booked = Booked(moves=tuple(move for move in day.moves if move.move_id in placed), runs=plan.runs)
        near = None if calendar.refuse(day.clock.day) else read_near(file.parent, plan)  # what is closed is not promised
        desk = QuoteDesk(day=day, tariff=tariff, calendar=calendar, booked={day.clock.day: booked}, near=near)
        store = read_held(path)
        known = {str(order.ref) for order in (*day.orders, *day.held)} | {str(move.move_id) for move in day.moves}
        again = "" if asked_again is None else asked_again.strip().casefold()
        still = [
            held for held in store.open_at(now, known, day.orders)
            if not again or str(held.asked.order or "").casefold() != again
        ]  # fmt: skip
        desk, warnings = reopened(desk, still, roads_to)
        gc.freeze()  # what was read stays: no question has it looked through for garbage
        gc.set_threshold(*MADE_BEFORE_A_LOOK)
        yield OpenDesk(desk=desk, store=store, path=path, warnings=warnings)


def warm_up() -> None:
    """Unpack what a question about a postcode will need, in a thread of its own while the plan is read."""
    from threading import Thread

    gc.disable()  # one question leaves nothing worth collecting, and somebody waits on the telephone

    def unpack() -> None:
        from maps.postcodes import table
        from maps.roads import built_in
        from maps.travel_joins import edge_points

        table()
        edge_points(built_in())

    Thread(target=unpack, daemon=True).start()


def _holiday(on: date) -> str:
    from planner.desk.intake_calendar import bank_holidays
    from planner.model.places import Nation

    return bank_holidays(Nation.ENGLAND, on.year).get(on, "")


def _charge_on(charge: "Charge", on: date) -> "Charge":
    """Return a toll, zone or ferry of the package as it stands on another date; any other as it is."""
    from maps.crossings import bit_of, charge_on, crossings

    bit = bit_of().get(charge.key)
    return charge if bit is None else charge_on(crossings()[bit], on)


def roads_to(day: "Day", doors: Sequence["Place"]) -> "Roads":
    """Return the roads of new doors."""
    from maps.door_roads import roads_to as found

    return found(day, doors)


def roads_apart(day: "Day", doors: Sequence["Place"]) -> "Roads":
    """Return the roads of many doors that are each asked about alone."""
    from maps.door_roads import roads_to as found

    return found(day, doors, between=False)


def compound_named(day: "Day", name: str) -> "PlaceId":
    """Return the compound of that name, whatever its case."""
    for compound in day.compounds:
        if name.strip().casefold() in (compound.place.name.casefold(), compound.place_id.casefold()):
            return compound.place_id
    raise UnknownCompound(name, tuple(compound.place.name for compound in day.compounds))


def order_named(day: "Day", reference: str) -> "Order":
    """Return the order of that reference, held ones too."""
    from difflib import get_close_matches

    wanted = reference.strip().casefold()
    for order in (*day.orders, *day.held):
        if order.ref.casefold() == wanted:
            return order
    for order in day.later:
        if order.ref.casefold() == wanted:
            raise LaterOrder(order)
    near = get_close_matches(reference, [str(order.ref) for order in (*day.orders, *day.held)], n=2)
    raise UnknownOrder(reference, tuple(near))


def without_order(desk: "QuoteDesk", order: "Order") -> "QuoteDesk":
    """
    Return the desk with the moves of an order taken out of the plan, so that it can be asked for anew.

    A run that cannot be timed without the order stays as it is, with the order in it: its crew is not free.
    """
    from planner.desk.quote import Booked
    from planner.runs.priced import priced
    from planner.runs.run import Run
    from planner.runs.sharing import without_moves

    day = desk.day.clock.day
    booked = desk.booked[day]
    gone = moves_of(booked.moves, order)
    runs = []
    for run in booked.runs:
        if not gone & set(run.itinerary.moves):
            runs.append(run)
            continue
        rest = without_moves(run.itinerary, gone)
        again = priced(desk.day, rest, run_id=run.run_id) if rest.stops else None
        if isinstance(again, Run):
            runs.append(again)
        elif again is not None:
            runs.append(run)
            gone -= set(run.itinerary.moves)
    moves = tuple(move for move in booked.moves if move.move_id not in gone)
    return replace(desk, booked={**desk.booked, day: Booked(moves=moves, runs=tuple(runs))})


def moves_of(moves: "Sequence[Move]", order: "Order") -> "frozenset[MoveId]":
    """Return those of some moves that belong to an order: its delivery and its part-exchange."""
    return frozenset(move.move_id for move in moves if move.order == order.ref)


def new_reference(taken: "HeldQuotes") -> str:
    """Return a short reference that nobody has, without letters that sound or look alike on the phone."""
    import secrets

    letters = "23456789ACEFHJKLMNPRTUVWXY"
    while True:
        reference = "Q" + "".join(secrets.choice(letters) for _ in range(5))
        if taken.find(reference) is None:
            return reference


