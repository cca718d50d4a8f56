"""
The law on hours: each rule read straight from a run's activities, one function a rule.

Sources: assimilated Regulation (EC) 561/2006, articles 6 to 8 (goods vehicles over 3.5 t with trailer); Road Transport
(Working Time) Regulations 2005 (the same vehicles); Transport Act 1968, part VI, as GOV.UK sums it up (goods vehicles to
3.5 t); Working Time Regulations 1998 (all others and, for rest, those to 3.5 t).  A car on trade plates is no goods
vehicle; there the company's own limits hold.  A ride is work.  Waiting is neither work nor a break.  Never uses article
12.  A planning aid: the operator's transport manager, the tachograph and the law decide.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date, time, timedelta

from planner.clock import DayClock
from planner.faults import SkippedTime
from planner.model.crews import Driver, WeekSoFar
from planner.model.day import Day
from planner.runs.referee.breach import Notebook, Rule
from planner.runs.run import Activity, ActivityKind, Run

OVER, TO_3500, PLATES = "over-3500", "up-to-3500", "plates"
WORK = (ActivityKind.DRIVE, ActivityKind.OTHER_WORK, ActivityKind.RIDE)
PAUSE = (ActivityKind.BREAK, ActivityKind.REST)
LEAST_DAILY_REST = 540


@dataclass(frozen=True, slots=True)
class Stretch:
    """Uninterrupted time of one kind; ``is_ferry`` marks availability aboard a ferry, which is travel in the job."""

    kind: ActivityKind
    start_min: int
    end_min: int
    is_ferry: bool = False

    @property
    def minutes(self) -> int:
        """How long it is."""
        return self.end_min - self.start_min


@dataclass(frozen=True, slots=True)
class Shift:
    """The time between two daily rests; the rests on either side in minutes, None where nobody knows."""

    stretches: tuple[Stretch, ...]
    rest_before_min: int | None
    rest_after_min: int | None

    def total(self, *kinds: ActivityKind) -> int:
        """Return the minutes of these kinds."""
        return sum(part.minutes for part in self.stretches if part.kind in kinds)

    @property
    def start_min(self) -> int:
        """When it begins."""
        return self.stretches[0].start_min

    @property
    def end_min(self) -> int:
        """When it ends."""
        return self.stretches[-1].end_min

    @property
    def spread_min(self) -> int:
        """From its start to its end."""
        return self.end_min - self.start_min

    @property
    def is_split_rest(self) -> bool:
        """Whether it holds three hours of rest, the first part of a split daily rest (article 4(g))."""
        return any(part.kind in PAUSE and part.minutes >= 180 for part in self.stretches)


def book_of(day: Day, run: Run) -> str:
    """Return the rule book by the vehicle under the driver."""
    if run.itinerary.transporter is not None:
        transporter = day.transporter_of[run.itinerary.transporter]
        return OVER if transporter.gross_kg + transporter.trailer_kg > 3500 else TO_3500
    drives_a_van = any(day.move_of[move].car.is_van for move in run.itinerary.moves)
    return TO_3500 if drives_a_van else PLATES


def stretches(activities: Sequence[Activity]) -> tuple[Stretch, ...]:
    """Return activities joined where one kind follows on; break and rest are one kind of pause."""
    joined: list[Stretch] = []
    for step in activities:
        if step.end_min == step.start_min:
            continue
        last = joined[-1] if joined else None
        is_ferry = step.kind is ActivityKind.AVAILABLE and step.visit is not None
        if last is not None and is_ferry is last.is_ferry and (last.kind is step.kind or {last.kind, step.kind} <= set(PAUSE)):
            kind = ActivityKind.REST if ActivityKind.REST in (last.kind, step.kind) else last.kind
            joined[-1] = Stretch(kind, last.start_min, step.end_min, is_ferry)
        else:
            joined.append(Stretch(step.kind, step.start_min, step.end_min, is_ferry))
    return tuple(joined)


def shifts(parts: Sequence[Stretch], week: WeekSoFar) -> tuple[Shift, ...]:
    """Return the run cut at its daily rests."""
    groups: list[list[Stretch]] = [[]]
    rests: list[int | None] = [None]
    for part in parts:
        if part.kind is ActivityKind.REST and part.minutes >= LEAST_DAILY_REST:
            groups.append([])
            rests.append(part.minutes)
        else:
            groups[-1].append(part)
    if week.last_duty_end_min is not None and parts:
        rests[0] = parts[0].start_min - week.last_duty_end_min
    rests.append(None)
    return tuple(Shift(tuple(group), rests[n], rests[n + 1]) for n, group in enumerate(groups) if group)


def check_hours(day: Day, run: Run, notes: Notebook) -> None:
    """Note every breach of the law on hours, for each driver of the run."""
    book = book_of(day, run)
    notes.compare(Rule.BOOK, "", "another book of rules governs this vehicle", book, run.book)
    for item in run.counters:
        if item.used > item.limit:
            notes.note(Rule.COUNTERS, item.rule, "more is used than the limit", expected=item.limit, found=item.used)
    parts = stretches(run.activities)
    for name in filter(None, (run.itinerary.driver, run.itinerary.support_driver)):
        driver = day.driver_of[name]
        law = _Law(day, driver, shifts(parts, driver.week), notes)
        law.every_book()
        if book == OVER:
            law.over_3500()
        else:
            law.domestic(is_plates=book == PLATES)


class _Law:
    """One driver's run against one book."""

    def __init__(self, day: Day, driver: Driver, days: Sequence[Shift], notes: Notebook) -> None:
        self.day, self.driver, self.week, self.days, self.notes = day, driver, driver.week, days, notes

    def at_most(self, rule: Rule, says: str, limit: int, found: int) -> None:
        """Note a breach when more than the limit is found."""
        if found > limit:
            self.notes.note(rule, self.driver.name, says, expected=f"at most {limit}", found=found)

    def at_least(self, rule: Rule, says: str, limit: int, found: int) -> None:
        """Note a breach when less than the limit is found."""
        if found < limit:
            self.notes.note(rule, self.driver.name, says, expected=f"at least {limit}", found=found)

    def every_book(self) -> None:
        """Six 24-hour periods between weekly rests (article 8(6); for others a company limit of the same length)."""
        if self.week.weekly_rest_ended_min is not None and self.days:
            since_min = self.days[-1].end_min - self.week.weekly_rest_ended_min
            self.at_most(Rule.WEEKLY_REST, "minutes since the weekly rest", 6 * 1440, since_min)
        self.at_most(Rule.WEEKLY_REST, "24-hour periods since the weekly rest", 6, self.week.duty_days + len(self.days))

    def over_3500(self) -> None:
        """Regulation 561/2006 and the Working Time Regulations 2005."""
        for shift in self.days:
            self.driving_break(shift)
            self.at_most(Rule.DAILY_DRIVING, "minutes of driving in a day (article 6(1))", 600, shift.total(ActivityKind.DRIVE))
            self.working_breaks(shift)
            if touches_night(self.day.clock, shift):
                self.at_most(Rule.NIGHT_WORK, "minutes of work in a day with night work (2005, reg. 9)", 600, shift.total(*WORK))
        self.daily_rests()
        self.weekly_totals()

    def driving_break(self, shift: Shift) -> None:
        """Article 7: 45 minutes, or 15 then 30, before driving goes beyond 4 h 30."""
        driven = 0
        has_first_part = False
        for part in shift.stretches:
            if part.kind is ActivityKind.DRIVE:
                driven += part.minutes
                if driven > 270:
                    self.at_most(Rule.DRIVING_BREAK, "minutes of driving without the break of article 7", 270, driven)
                    return
            elif part.kind in PAUSE and (part.minutes >= 45 or (part.minutes >= 30 and has_first_part)):
                driven, has_first_part = 0, False
            elif part.kind in PAUSE and part.minutes >= 15:
                has_first_part = True

    def working_breaks(self, shift: Shift) -> None:
        """Regulation 7 of 2005: never more than 6 h of work at a stretch; 30 minutes of breaks in 6 to 9 h, 45 beyond."""
        breaks = [part.minutes for part in shift.stretches if part.kind in PAUSE and part.minutes >= 15]
        self.at_most(Rule.WORK_BREAK, "minutes of work without a break of 15", 360, longest_work(shift, 15))
        work = shift.total(*WORK)
        needed = 45 if work > 540 else 30 if work > 360 else 0
        self.at_least(Rule.WORK_BREAK, f"minutes of breaks in {work} minutes of work", needed, sum(breaks))

    def daily_rests(self) -> None:
        """Article 8: 11 h in the 24 h after the last rest, or 9 h three times a week, or 3 h and then 9 h."""
        reduced = self.week.reduced_rests
        first = self.days[0] if self.days else None
        if first is not None and first.rest_before_min is not None and first.rest_before_min < 660:
            self.at_least(Rule.DAILY_REST, "minutes of rest before duty", LEAST_DAILY_REST, first.rest_before_min)
            reduced += 1
        for shift in self.days:
            room_min = 1440 - shift.spread_min
            rest_min = room_min if shift.rest_after_min is None else min(room_min, shift.rest_after_min)
            if rest_min >= 660:
                continue
            self.at_least(Rule.DAILY_REST, "minutes of rest within 24 h of the start of duty", LEAST_DAILY_REST, rest_min)
            if not shift.is_split_rest:
                reduced += 1
        if self.days:
            self.at_most(Rule.DAILY_REST, "reduced daily rests since the weekly rest", max(3, self.week.reduced_rests), reduced)

    def weekly_totals(self) -> None:
        """Article 6(1) to 6(3) and the 60 hours of regulation 4 of 2005, in weeks from Monday 00:00."""
        monday = next_monday_min(self.day.clock)
        drives = [part for shift in self.days for part in shift.stretches if part.kind is ActivityKind.DRIVE]
        works = [part for shift in self.days for part in shift.stretches if part.kind in WORK]
        this_week = self.week.driven_week_min + before(drives, monday)
        next_week = sum(part.minutes for part in drives) - before(drives, monday)
        self.at_most(Rule.WEEKLY_DRIVING, "minutes of driving in the week", 3360, this_week)
        self.at_most(Rule.FORTNIGHT_DRIVING, "minutes of driving in two weeks", 5400, self.week.driven_last_week_min + this_week)
        self.at_most(Rule.FORTNIGHT_DRIVING, "minutes of driving in two weeks", 5400, this_week + next_week)
        self.at_most(Rule.WEEKLY_WORK, "minutes of work in the week", 3600, self.week.worked_week_min + before(works, monday))
        extended = [shift for shift in self.days if shift.total(ActivityKind.DRIVE) > 540 and shift.start_min < monday]
        if extended:
            self.at_most(Rule.EXTENDED_DAYS, "days of more than 9 h driving in the week", 2,
                         self.week.extended_days + len(extended))  # fmt: skip

    def domestic(self, *, is_plates: bool) -> None:
        """Part VI of 1968 or the company's limits on plates; breaks and daily rest by the Regulations of 1998."""
        policy = self.day.policy
        driving, duty = (policy.plate_driving_max_min, policy.plate_duty_max_min) if is_plates else (600, 660)
        for shift in self.days:
            driven = shift.total(ActivityKind.DRIVE)
            self.at_most(Rule.DAILY_DRIVING, "minutes of driving in a day", driving, driven)
            if driven or is_plates:
                self.at_most(Rule.DUTY, "minutes of duty in a day, breaks left out", duty,
                             shift.total(*WORK, ActivityKind.AVAILABLE))  # fmt: skip
            if is_plates:
                self.plate_breaks(shift)
            # The Regulations of 1998 know no availability: a crossing made for the job is work there, a short wait is not.
            if shift.total(*WORK) + sum(part.minutes for part in shift.stretches if part.is_ferry) > 360:
                longest = max((part.minutes for part in shift.stretches if part.kind in PAUSE), default=0)
                self.at_least(Rule.WORK_BREAK, "minutes of the longest break in more than 6 h (1998, reg. 12)", 20, longest)
            if shift.rest_before_min is not None:
                self.at_least(Rule.DAILY_REST, "minutes of rest before duty (1998, reg. 10)", 660, shift.rest_before_min)
            self.at_most(Rule.DAILY_REST, "minutes from start to end of duty, which leave 11 h in 24", 780, shift.spread_min)

    def plate_breaks(self, shift: Shift) -> None:
        """Highway Code rule 91 as a company limit: a break of 15 minutes before driving goes beyond two hours."""
        every_min, break_min = self.day.policy.plate_break_every_min, self.day.policy.plate_break_min
        driven = 0
        for part in shift.stretches:
            if part.kind is ActivityKind.DRIVE:
                driven += part.minutes
                if every_min and driven > every_min:
                    self.at_most(Rule.DRIVING_BREAK, "minutes of driving without the company's break", every_min, driven)
                    return
            elif part.kind in PAUSE and part.minutes >= break_min:
                driven = 0


def longest_work(shift: Shift, break_min: int) -> int:
    """Return the most minutes of work between two breaks of at least ``break_min``; waiting neither adds nor ends it."""
    longest = current = 0
    for part in shift.stretches:
        if part.kind in WORK:
            current += part.minutes
        elif part.kind in PAUSE and part.minutes >= break_min:
            current = 0
        longest = max(longest, current)
    return longest


def before(parts: Sequence[Stretch], minute: int) -> int:
    """Return how many minutes of the stretches lie before ``minute``."""
    return sum(max(0, min(part.end_min, minute) - part.start_min) for part in parts)


def next_monday_min(clock: DayClock) -> int:
    """Return the minute at which the fixed week after the planning day's begins."""
    return clock.minute(time(), day=clock.day + timedelta(days=7 - clock.day.weekday()))


def touches_night(clock: DayClock, shift: Shift) -> bool:
    """Return whether any work lies between midnight and 04:00 on the wall (goods vehicles, 2005, reg. 2)."""
    return any(
        part.start_min < closes_min and opens_min < part.end_min
        for opens_min, closes_min in _nights(clock, shift.start_min, shift.end_min)
        for part in shift.stretches
        if part.kind in WORK
    )


def _nights(clock: DayClock, start_min: int, end_min: int) -> Iterator[tuple[int, int]]:
    first, last = clock.local(start_min).date(), clock.local(end_min).date()
    for number in range((last - first).days + 1):
        on: date = first + timedelta(days=number)
        try:
            yield clock.minute(time(), day=on), clock.minute(time(4), day=on)
        except SkippedTime:  # another country's clocks; the night is then half an hour to an hour shorter
            yield clock.minute(time(1), day=on), clock.minute(time(4), day=on)
