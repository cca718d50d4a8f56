"""The steps of a run sheet: the day of a crew in order, each stretch of time as printed, each visit with what it needs."""

from collections.abc import Callable
from dataclasses import dataclass

from planner.model.crews import VehicleClass
from planner.model.day import Day
from planner.model.moves import Move
from planner.model.orders import Order
from planner.model.places import PlaceId
from planner.runs.run import Activity, ActivityKind, Run, RunKind, Visit
from planner.sheets.legs import LegPart, leg_class, leg_parts
from planner.sheets.load_figures import loaded_after
from planner.sheets.plain_text import address_lines, car_text, miles_text, place_name, place_text, plate, short_name, window_text
from planner.sheets.qr import geo_uri, qr_svg
from planner.sheets.words import Words, words
from planner.sheets.work_text import work_text
from planner.units import hours_text, miles

#: Roads by number along a leg, such as ("A45", "M1", "A14"); empty where nobody knows.
LegRoads = Callable[[PlaceId, PlaceId, VehicleClass], tuple[str, ...]]


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


def run_steps(day: Day, run: Run, *, roads: LegRoads | None = None, with_qr: bool = True) -> tuple[Step, ...]:
    """Return the steps of a run; those of a hired carrier are its visits only."""
    return tuple(_Steps(day, run, roads, with_qr=with_qr).written())


class _Steps:
    """Walks through the activities of a run once, with what has been driven of the leg so far."""

    def __init__(self, day: Day, run: Run, roads: LegRoads | None, *, with_qr: bool) -> None:
        self.day, self.run, self.w, self.roads, self.with_qr = day, run, words(), roads, with_qr
        self.loaded = loaded_after(day, run)

    def written(self) -> list[Step]:
        """Return the steps; a hired carrier has visits only."""
        if not self.run.activities:
            return [self.visit_step(number, visit) for number, visit in enumerate(self.run.visits)]
        steps, called = [], set[int]()
        for activity, part in zip(self.run.activities, leg_parts(self.run), strict=True):
            number = activity.visit
            at_visit = number is not None and number < len(self.run.itinerary.stops)
            if at_visit and activity.kind is ActivityKind.OTHER_WORK and number not in called:
                assert number is not None
                called.add(number)
                steps.append(self.visit_step(number, self.run.visits[number]))
            elif not (at_visit and activity.kind is ActivityKind.OTHER_WORK):
                steps.append(self.plain_step(activity, part))
        return steps

    def visit_step(self, number: int, visit: Visit) -> Step:
        """Return a visit with its call."""
        is_ours = bool(self.run.activities)  # a hired carrier plans its own hours inside the window
        return Step(
            kind="visit", start=self.day.clock.wall(visit.start_min) if is_ours else "",
            end=self.day.clock.wall(visit.end_min) if is_ours else "",
            minutes=self.w("unit.minutes", minutes=visit.end_min - visit.start_min) if is_ours else "",
            title=place_name(self.day, visit.place), call=self.call(number, visit),
        )  # fmt: skip

    def plain_step(self, activity: Activity, part: LegPart | None) -> Step:
        """Return a drive, break, rest, ride, wait or work away from any visit."""
        minutes = activity.end_min - activity.start_min
        return Step(
            kind=str(activity.kind), start=self.day.clock.wall(activity.start_min), end=self.day.clock.wall(activity.end_min),
            minutes=hours_text(minutes) if minutes >= 60 else self.w("unit.minutes", minutes=minutes),
            title=self.title(activity, part), detail=self.detail(activity, part), leg=self.leg_of(activity, part),
        )  # fmt: skip

    def leg_of(self, activity: Activity, part: LegPart | None) -> int | None:
        """Return the leg that a drive or ride is part of."""
        return part.leg if part is not None and activity.kind in (ActivityKind.DRIVE, ActivityKind.RIDE) else None

    def title(self, activity: Activity, part: LegPart | None) -> str:
        """Return what is done, in the words of the planner where it gave any."""
        key = f"step.{activity.kind.name.lower()}"
        to = place_text(self.day, activity.destination)
        if activity.kind is ActivityKind.DRIVE:
            return self.w("step.drive_again" if part is not None and part.metres_before else key, to=to)
        if activity.kind is ActivityKind.RIDE:
            return self.w(key, to=to)
        if activity.kind in (ActivityKind.BREAK, ActivityKind.REST):
            return self.w(key)
        return work_text(self.day, self.run, activity, self.w) or self.w(key)

    def detail(self, activity: Activity, part: LegPart | None) -> str:
        """Return miles, roads, what is aboard and what the vehicle then weighs and measures, or where on the road a break is."""
        if activity.kind is ActivityKind.DRIVE:
            far = miles_text(self.w, activity.metres if part is None else part.metres)
            parts = [far, self.with_what(activity), self.loaded_on(part), self.by_roads(activity, part)]
            return ", ".join(text for text in parts if text)
        if activity.kind in (ActivityKind.BREAK, ActivityKind.REST):
            if part is not None:
                return self.w("step.on_the_way", miles=round(miles(part.metres_before)))
            return self.w("step.at_place", place=place_name(self.day, activity.origin))
        return ""

    def with_what(self, activity: Activity) -> str:
        """Return what is driven or carried on a leg."""
        marks = [plate(self.day.move_of[move].car.registration) for move in activity.aboard]
        if self.run.kind is RunKind.TRANSPORTER:
            return self.w("step.aboard", num=len(marks)) if marks else self.w("step.empty")
        return self.w("step.in_car", car=", ".join(marks)) if marks else self.w("step.in_support_car")

    def loaded_on(self, part: LegPart | None) -> str:
        """Return mass and height of a transporter at the first drive of a leg."""
        return "" if part is None or part.metres_before or part.leg >= len(self.loaded) else self.loaded[part.leg]

    def by_roads(self, activity: Activity, part: LegPart | None) -> str:
        """Return the roads by number at the first drive of a leg, empty without a source of them."""
        if self.roads is None or part is None or part.metres_before:
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
            address=tuple(
                line for line in address_lines(self.day, visit.place, order) if line != place.name or line == place.postcode
            ),
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
        before, after = dict(self.run.visits[number - 1].slots) if number else {}, dict(visit.slots)
        lines = [self.car_line(self.day.move_of[move], off=True, where=before.get(move, "")) for move in visit.leaves]
        lines += [self.moved_line(self.day.move_of[move], after.get(move, "")) for move in visit.moved]
        place = {move: at for at, move in enumerate(after)}  # in the order in which they go on
        taken = sorted(visit.takes, key=lambda move: place.get(move, 0))
        return lines + [self.car_line(self.day.move_of[move], off=False, where=after.get(move, "")) for move in taken]

    def car_line(self, move: Move, *, off: bool, where: str) -> CarLine:
        """Return one car at a visit."""
        return CarLine(
            sign=self.w("sign.off" if off else "sign.on"),
            car=car_text(move.car),
            why=self.w(f"move.{move.kind.name.lower()}"),
            where=self.w("sign.slot", slot=where) if where else "",
            to="" if off else self.w("sign.to", place=place_text(self.day, move.destination)),
            warning=self.warning(move),
        )

    def warning(self, move: Move) -> str:
        """Return what forbids driving the car: the law and its state first, then what the buyer was promised."""
        if not move.car.may_be_driven:
            return self.w("sign.not_driven")
        return "" if move.may_be_driven else self.w("sign.carried_only")

    def moved_line(self, move: Move, where: str) -> CarLine:
        """Return one car that is moved out of the way and back."""
        slot = self.w("sign.slot", slot=where) if where else ""
        return CarLine(sign=self.w("sign.move"), car=car_text(move.car), why=self.w("sign.out_and_back"), where=slot)

    def aboard(self, visit: Visit) -> str:
        """Return what is aboard of a transporter when leaving a visit that did more than leave cars or load an empty deck."""
        just_taken = set(visit.aboard_after) == set(visit.takes)  # the lines above say so already
        if self.run.kind is not RunKind.TRANSPORTER or just_taken or not (visit.takes or visit.moved):
            return ""
        marks = ", ".join(plate(self.day.move_of[move].car.registration) for move in visit.aboard_after)
        return self.w("step.then_aboard", num=len(visit.aboard_after), cars=marks) if marks else self.w("step.then_empty")


def _access(order: Order | None, moves: list[Move], w: Words) -> str:
    parts = [order.access_notes.strip()] if order is not None else []
    if any(move.no_large_vehicle for move in moves) or (order is not None and order.no_large_vehicle):
        parts.append(w("step.no_large_vehicle"))
    return " ".join(part if part.endswith((".", "!", "?")) else f"{part}." for part in parts if part)
