"""
The run sheet: what one crew follows from the first minute to the last, as data ready to print.

Every field is text as printed unless its name wears a unit.  Steps are in the order of the day; a step that is a visit
carries its :class:`Call`.
"""

from collections.abc import Callable, Mapping
from dataclasses import dataclass

from planner.model.crews import VehicleClass
from planner.model.day import Day
from planner.model.moves import Move, MoveId, MoveKind
from planner.model.orders import Order
from planner.model.places import PlaceId
from planner.runs.plan import Plan
from planner.runs.run import Activity, ActivityKind, Counter, Run, RunKind, Visit
from planner.sheets.cautions import Caution, cautions, run_facts
from planner.sheets.legs import leg_class, leg_numbers
from planner.sheets.plain_text import (
    address_lines,
    car_text,
    crew_name,
    miles_text,
    place_text,
    plate,
    short_name,
    vehicle_name,
    window_text,
)
from planner.sheets.qr import geo_uri, qr_svg
from planner.sheets.stamp import Stamp
from planner.sheets.words import Words, words
from planner.units import hours_text, miles

#: Roads by number along a leg, such as ("A45", "M1", "A14"); empty where nobody knows.
LegRoads = Callable[[PlaceId, PlaceId, VehicleClass], tuple[str, ...]]
#: Where on the deck each car stands after a visit: by number of the visit, then by move.
DeckPlaces = Mapping[int, Mapping[MoveId, str]]


@dataclass(frozen=True, kw_only=True, slots=True)
class CarLine:
    """One car that comes on or goes off: ``sign`` is what is printed before it."""

    sign: str
    car: str
    why: str
    where: str = ""  # the slot on the deck
    to: str = ""
    warning: str = ""


@dataclass(frozen=True, kw_only=True, slots=True)
class Call:
    """What the driver needs to know at one visit, and nothing of any other."""

    number: str
    address: tuple[str, ...]
    who: str
    phone: str
    window: str
    access: str
    cars: tuple[CarLine, ...]
    aboard_after: str
    qr: str  # SVG
    geo: str


@dataclass(frozen=True, kw_only=True, slots=True)
class Step:
    """One stretch of the day."""

    kind: str  # an ActivityKind, or "wait"
    start: str
    end: str
    minutes: str
    title: str
    detail: str = ""
    leg: int | None = None  # which leg of the run it is part of, from 0
    call: Call | None = None


@dataclass(frozen=True, kw_only=True, slots=True)
class HoursRow:
    """One limit, what the run uses of it and what is left."""

    rule: str
    used: str
    limit: str
    left: str
    is_tight: bool


@dataclass(frozen=True, kw_only=True, slots=True)
class ChargeRow:
    """One toll, zone or ferry on the way and how to pay it."""

    name: str
    amount: str
    pay_by: str
    warning: str = ""


@dataclass(frozen=True, kw_only=True, slots=True)
class RunSheet:
    """Everything on the sheet of one run."""

    run_id: str
    kind: str
    date: str
    crew: str
    phone: str
    vehicle: str
    deck: str
    start: str
    end: str
    first_place: str
    totals: str
    loading: str
    steps: tuple[Step, ...]
    charges: tuple[ChargeRow, ...]
    fuel: tuple[str, ...]
    way_home: str
    hours: tuple[HoursRow, ...]
    cautions: tuple[Caution, ...]
    retailer: str
    desk_phone: str
    stamp: Stamp
    language: str = "en"


def run_sheet(
    day: Day, plan: Plan, run: Run, *, stamp: Stamp | None = None, roads: LegRoads | None = None,
    deck_places: DeckPlaces | None = None, loaded_height_mm: int | None = None, with_qr: bool = True,
) -> RunSheet:  # fmt: skip
    """
    Return the sheet of one run of ``plan``.

    ``roads`` names the roads of a leg and ``deck_places`` the slots of the cars; without them the sheet leaves
    them out, as it does the codes to scan without ``with_qr``.
    """
    assert run in plan.runs
    w = words()
    driver = day.driver_of.get(run.itinerary.driver) if run.itinerary.driver else None
    carrier = day.carrier_of.get(run.itinerary.carrier) if run.itinerary.carrier else None
    return RunSheet(
        run_id=run.run_id,
        kind=w(f"kind.{run.kind.name.lower()}"),
        date=f"{day.clock.day:%A %d %B %Y}",
        crew=crew_name(day, run),
        phone=carrier.phone if carrier else driver.phone if driver else "",
        vehicle=vehicle_name(day, run, w),
        deck=day.transporter_of[run.itinerary.transporter].deck if run.itinerary.transporter else "",
        start=day.clock.wall(run.start_min),
        end=day.clock.wall(run.end_min),
        first_place=place_text(day, run.visits[0].place),
        totals=_totals(run, w),
        loading=_loading(day, run, w),
        steps=tuple(_Steps(day, run, roads, deck_places or {}, with_qr=with_qr).written()),
        charges=charge_rows(day, run, w),
        fuel=_fuel(day, run, w),
        way_home=_way_home(day, run, w),
        hours=tuple(hours_row(counter) for counter in run.counters),
        cautions=cautions(run_facts(day, run, loaded_height_mm=loaded_height_mm)),
        retailer=day.policy.retailer,
        desk_phone=day.policy.phone,
        stamp=stamp or Stamp(),
    )


class _Steps:
    """Walks through the activities of a run once, with what has been driven of the leg so far."""

    def __init__(self, day: Day, run: Run, roads: LegRoads | None, deck_places: DeckPlaces, *, with_qr: bool) -> None:
        self.day, self.run, self.w, self.roads, self.deck_places, self.with_qr = day, run, words(), roads, deck_places, with_qr
        self.leg_metres = 0

    def written(self) -> list[Step]:
        """Return the steps; a hired carrier has visits only."""
        if not self.run.activities:
            return [self.visit_step(number, visit) for number, visit in enumerate(self.run.visits)]
        steps, called = [], set[int]()
        for activity, leg in zip(self.run.activities, leg_numbers(self.run), strict=True):
            number = activity.visit
            at_visit = number is not None and number < len(self.run.itinerary.stops)
            if at_visit and activity.kind is ActivityKind.OTHER_WORK and number not in called:
                assert number is not None
                called.add(number)
                steps.append(self.visit_step(number, self.run.visits[number]))
                self.leg_metres = 0
            elif not (at_visit and activity.kind is ActivityKind.OTHER_WORK):
                steps.append(self.plain_step(activity, leg))
        return steps

    def visit_step(self, number: int, visit: Visit) -> Step:
        """Return a visit with its call."""
        return Step(
            kind="visit", start=self.day.clock.wall(visit.start_min), end=self.day.clock.wall(visit.end_min),
            minutes=self.w("unit.minutes", minutes=visit.end_min - visit.start_min),
            title=self.day.place_of[visit.place].name, call=self.call(number, visit),
        )  # fmt: skip

    def plain_step(self, activity: Activity, leg: int | None) -> Step:
        """Return a drive, break, rest, ride, wait or work away from any visit."""
        minutes = activity.end_min - activity.start_min
        return Step(
            kind=str(activity.kind), start=self.day.clock.wall(activity.start_min), end=self.day.clock.wall(activity.end_min),
            minutes=hours_text(minutes) if minutes >= 60 else self.w("unit.minutes", minutes=minutes),
            title=self.title(activity), detail=self.detail(activity), leg=leg,
        )  # fmt: skip

    def title(self, activity: Activity) -> str:
        """Return what is done, in the words of the planner where it gave any."""
        key = f"step.{activity.kind.name.lower()}"
        to = place_text(self.day, activity.destination)
        if activity.kind is ActivityKind.DRIVE:
            return self.w("step.drive_again" if self.leg_metres else key, to=to)
        if activity.kind is ActivityKind.RIDE:
            return self.w(key, to=to)
        if activity.kind in (ActivityKind.BREAK, ActivityKind.REST):
            return self.w(key)
        return activity.says or self.w(key)

    def detail(self, activity: Activity) -> str:
        """Return miles, roads, what is aboard, or where on the road a break is."""
        if activity.kind is ActivityKind.DRIVE:
            self.leg_metres += activity.metres
            parts = [miles_text(self.w, activity.metres), self.with_what(activity), self.by_roads(activity)]
            return ", ".join(part for part in parts if part)
        if activity.kind in (ActivityKind.BREAK, ActivityKind.REST):
            if self.leg_metres and activity.origin != activity.destination:
                return self.w("step.on_the_way", miles=round(miles(self.leg_metres)))
            return self.w("step.at_place", place=self.day.place_of[activity.origin].name)
        return ""

    def with_what(self, activity: Activity) -> str:
        """Return what is driven or carried on a leg."""
        marks = [plate(self.day.move_of[move].car.registration) for move in activity.aboard]
        if self.run.kind is RunKind.TRANSPORTER:
            return self.w("step.aboard", num=len(marks)) if marks else self.w("step.empty")
        return self.w("step.in_car", car=", ".join(marks)) if marks else self.w("step.in_support_car")

    def by_roads(self, activity: Activity) -> str:
        """Return the roads by number, empty without a source of them."""
        if self.roads is None or activity.metres == 0:
            return ""
        names = self.roads(activity.origin, activity.destination, leg_class(self.day, self.run, activity.aboard))
        return self.w("step.roads", roads=", ".join(names)) if names else ""

    def call(self, number: int, visit: Visit) -> Call:
        """Return the visit as the driver needs it."""
        moves = [self.day.move_of[move] for move in (*visit.leaves, *visit.takes)]
        order = next((self.day.order_of[move.order] for move in moves if move.order is not None), None)
        compound = self.day.compound_of.get(visit.place)
        place = self.day.place_of[visit.place]
        buyer = order.buyer if order is not None and compound is None else None
        return Call(
            number=str(number + 1),
            address=address_lines(self.day, visit.place, order),
            who=short_name(buyer.name) if buyer else "",
            phone=buyer.phone if buyer else compound.phone if compound else "",
            window=window_text(self.day, visit.window),
            access=_access(order, moves, self.w) if compound is None else "",
            cars=tuple(self.car_lines(number, visit)),
            aboard_after=self.aboard(visit),
            qr=qr_svg(geo_uri(place)) if self.with_qr else "",
            geo=geo_uri(place),
        )

    def car_lines(self, number: int, visit: Visit) -> list[CarLine]:
        """Return a line for each car left, then for each car taken."""
        before, after = self.deck_places.get(number - 1, {}), self.deck_places.get(number, {})
        lines = [self.car_line(self.day.move_of[move], off=True, where=before.get(move, "")) for move in visit.leaves]
        return lines + [self.car_line(self.day.move_of[move], off=False, where=after.get(move, "")) for move in visit.takes]

    def car_line(self, move: Move, *, off: bool, where: str) -> CarLine:
        """Return one car at a visit."""
        kept = not (move.car.may_be_driven and move.may_be_driven)
        return CarLine(
            sign=self.w("sign.off" if off else "sign.on"),
            car=car_text(move.car),
            why=self.w(f"move.{move.kind.name.lower()}"),
            where=self.w("sign.slot", slot=where) if where else "",
            to="" if off else self.w("sign.to", place=place_text(self.day, move.destination)),
            warning=self.w("sign.not_driven") if kept else "",
        )

    def aboard(self, visit: Visit) -> str:
        """Return what is aboard when leaving a visit, for a transporter."""
        if self.run.kind is not RunKind.TRANSPORTER:
            return ""
        marks = ", ".join(plate(self.day.move_of[move].car.registration) for move in visit.aboard_after)
        return self.w("step.then_aboard", num=len(visit.aboard_after), cars=marks) if marks else self.w("step.then_empty")


def _access(order: Order | None, moves: list[Move], w: Words) -> str:
    parts = [order.access_notes.strip()] if order is not None else []
    if any(move.no_large_vehicle for move in moves) or (order is not None and order.no_large_vehicle):
        parts.append(w("step.no_large_vehicle"))
    return " ".join(part for part in parts if part)


def _totals(run: Run, w: Words) -> str:
    if not run.activities:
        return ""
    driven = sum(step.end_min - step.start_min for step in run.activities if step.kind is ActivityKind.DRIVE)
    duty = hours_text(run.end_min - run.start_min)
    return w("run.totals", miles=round(miles(run.metres)), driving=hours_text(driven), duty=duty, visits=len(run.itinerary.stops))


def _loading(day: Day, run: Run, w: Words) -> str:
    """Say in which order the cars go on at the first compound, first on first."""
    first = run.visits[0]
    if run.kind is not RunKind.TRANSPORTER or not first.takes:
        return ""
    cars = ", ".join(plate(day.move_of[move].car.registration) for move in first.takes)
    mass = sum(day.move_of[move].car.mass_kg for move in first.takes)
    payload = day.transporter_of[run.itinerary.transporter].payload_kg if run.itinerary.transporter else 0
    return w("run.loading", cars=cars, mass=f"{mass:,}", payload=f"{payload:,}")


def charge_rows(day: Day, run: Run, w: Words) -> tuple[ChargeRow, ...]:
    """Return a row for each passage of a toll, zone or ferry on the run, with how and by when to pay."""
    by_key = {charge.key: charge for charge in day.charges}
    rows = []
    for visit in run.visits:
        for key in visit.charges:
            charge = by_key[key]
            amounts = {
                band.pence for band in charge.bands if visit.leg_by == "transporter" or band.vehicle_class is VehicleClass.CAR
            }
            amount = w("charge.about", pounds=f"{max(amounts) / 100:.2f}") if amounts else ""
            old = charge.review_after is not None and charge.review_after < day.clock.day
            warnings = [w("charge.book")] * charge.must_book + [w("charge.old_price")] * old
            where = w("charge.before", place=day.place_of[visit.place].name)
            rows.append(
                ChargeRow(name=f"{charge.name} ({where})", amount=amount, pay_by=charge.pay_by, warning=" ".join(warnings))
            )
    return tuple(rows)


def _fuel(day: Day, run: Run, w: Words) -> tuple[str, ...]:
    """Say of each driven car how far it goes and how far it has to go."""
    if run.kind is not RunKind.PLATE:
        return ()
    metres: dict[MoveId, int] = {}
    for step in run.activities:
        for move in step.aboard:
            metres[move] = metres.get(move, 0) + step.metres
    lines = []
    for move_id, driven in metres.items():
        car = day.move_of[move_id].car
        key = "fuel.unknown" if car.range_m is None else "fuel.enough"
        holes = {
            "plate": plate(car.registration),
            "miles": round(miles(driven)),
            "range": round(miles(car.range_m or 0)),
            "fuel": w(f"fuel.{car.fuel}"),
        }
        lines.append(w(key, **holes))
    return tuple(lines)


def _way_home(day: Day, run: Run, w: Words) -> str:
    """Say how the crew comes home: the last move of a plate run may be a part-exchange, another car or a ride."""
    if run.kind is not RunKind.PLATE:
        return ""
    if run.itinerary.support_driver is not None:
        return w("home.support_car")
    if run.visits[-1].leg_by == "ride" and run.visits[-1].leg_min > 0:
        fare = sum(line.pence for line in run.costs if line.kind.name == "FARE")
        return w("home.ride", minutes=hours_text(run.visits[-1].leg_min), pounds=f"{fare / 100:.2f}")
    last = [day.move_of[move] for visit in run.visits for move in visit.takes]
    if last and last[-1].kind is MoveKind.PART_EXCHANGE:
        return w("home.part_exchange", car=car_text(last[-1].car))
    return w("home.other_car", car=car_text(last[-1].car)) if last else ""


def hours_row(counter: Counter) -> HoursRow:
    """Return a limit as printed; tight when under a tenth of it, or under a whole one of a count, is left."""
    is_count = counter.limit < 30
    shown = str if is_count else hours_text
    tight = counter.slack <= 0 if is_count else counter.slack * 10 < counter.limit
    return HoursRow(
        rule=counter.rule, used=shown(counter.used), limit=shown(counter.limit), left=shown(counter.slack), is_tight=tight
    )
