"""
Breaches: what the referee finds wrong with a plan, each with the rule, the place, what should stand there and what does.

The rules are those of DEVELOPERS.md, "How a run is timed" and "How a run is priced", and the law on hours.
"""

from dataclasses import dataclass
from enum import StrEnum

from planner.runs.run import RunId


class Rule(StrEnum):
    """Every rule that the referee knows."""

    # The plan as a whole.
    NAMES = "names known to the day"
    RUN_IDS = "run numbers differ"
    MOVE_ONCE = "each move once or left behind"
    BEHIND = "price and reason of a move left behind"
    BOUND = "bound below the cost"
    SUMS = "sums as stated"
    # What one crew does at once, and what crews share.
    DRIVER_ONCE = "a driver in one run"
    TRANSPORTER_ONCE = "a transporter in one run"
    PLATE_SETS = "sets of trade plates"
    CARRIER_CARS = "cars a hired carrier takes"
    BAYS = "bays of a compound"
    # The decision.
    STOPS = "order of stops"
    PART_EXCHANGE = "part-exchange in the visit of its delivery"
    CREW = "crew"
    LICENCE = "licence"
    PLATES = "one car at a time on plates"
    METHOD = "driven or carried as allowed"
    DISTANCE = "longest driven move"
    RANGE = "range of the car"
    SHIFT_MOVES = "driven moves a shift"
    ACCESS = "no large vehicle"
    PIN = "pins"
    SLOTS = "slots"
    PAYLOAD = "payload"
    DECK = "deck"
    HEIGHT = "height on the route"
    HIRED = "what a hired carrier takes"
    POLICY = "switched off by policy"
    COMPOUND = "compound open"
    ROAD = "a road leads there"
    # The times.
    PAST = "what is done stays as it was"
    BOOK = "book of hours rules"
    CLOCK = "times follow on"
    SEQUENCE = "activities in order"
    DRIVE_TIME = "driving minutes"
    METRES = "metres"
    FERRY_TIME = "ferry minutes"
    RIDE_TIME = "ride minutes"
    WORK_TIME = "work minutes"
    RESHUFFLES = "reshuffles"
    WINDOW = "window"
    SHIFT = "shift"
    NIGHTS = "nights out"
    ABOARD = "cars aboard"
    VISIT = "visit as stated"
    LEG = "leg as stated"
    # The law on hours, and company limits that are stricter.
    DRIVING_BREAK = "break from driving"
    DAILY_DRIVING = "daily driving"
    DAILY_REST = "daily rest"
    WEEKLY_DRIVING = "weekly driving"
    FORTNIGHT_DRIVING = "driving in two weeks"
    EXTENDED_DAYS = "days of more than 9 h driving"
    WEEKLY_REST = "weekly rest"
    WORK_BREAK = "break from work"
    WEEKLY_WORK = "weekly working time"
    NIGHT_WORK = "night work"
    DUTY = "daily duty"
    COUNTERS = "counters within their limits"
    # Money.
    COST = "cost lines"
    RATES = "rates in force"


@dataclass(frozen=True, kw_only=True, slots=True)
class Breach:
    """One thing wrong; ``run`` is None when it concerns the plan as a whole."""

    rule: Rule
    run: RunId | None
    where: str
    says: str
    expected: str = ""
    found: str = ""

    def __str__(self) -> str:
        place = ", ".join(part for part in (f"run {self.run}" if self.run is not None else "plan", self.where) if part)
        compared = f" Expected {self.expected}, found {self.found}." if self.expected or self.found else ""
        return f"{place}: {self.says} [{self.rule}].{compared}"


class Notebook:
    """Gathers the breaches of one run, or of the plan, in the order in which they are found."""

    def __init__(self, run: RunId | None = None) -> None:
        self.run = run
        self.found: list[Breach] = []

    def note(self, rule: Rule, where: str, says: str, *, expected: object = "", found: object = "") -> None:
        """Write one breach down."""
        self.found.append(
            Breach(rule=rule, run=self.run, where=where, says=says, expected=str(expected), found=str(found)),
        )

    def compare(self, rule: Rule, where: str, says: str, expected: object, found: object) -> bool:
        """Write a breach down unless both are equal; return whether they are."""
        if expected != found:
            self.note(rule, where, says, expected=shown(expected), found=shown(found))
        return expected == found


def shown(value: object) -> str:
    """Return a value as a breach prints it."""
    if isinstance(value, tuple | list):
        return ", ".join(str(item) for item in value) or "none"
    return "none" if value is None else str(value)
