"""
A file of hours: a driver's activities, one a line, read into what the hours clock takes.

A line is an activity and its length, ``drive 270``, ``other work 1:30``, ``break 45``, or a stretch of clock time and an
activity, ``06:00-10:30 drive`` (``Sat 14:00 - Mon 06:00 rest``).  Words: drive, other (work), break, rest, available,
ride; ferry and cabin (rest on board), embark and disembark; light (driving up to 3.5 t on a day of heavier driving).
Lengths are minutes, ``4:30`` or ``4h30``.  ``rest`` without a length as the last line is a rest that goes on.  ``#``
begins a comment.

Before the activities a line may say what went before: ``start Mon 06:00``, ``drivers 2``, ``driven-this-week 20:00``,
``driven-last-week``, ``worked-this-week``, ``extended-days 1``, ``reduced-rests 2``, ``since-weekly-rest 24:00``,
``last-duty-ended 9:00`` (so long before the first line), ``rest-owed``.  Without them a full weekly rest has just ended.
"""

import re
from collections.abc import Iterable
from dataclasses import dataclass, field, replace

from planner.faults import BadFiles, Problem
from planner.model.crews import WeekSoFar
from planner.rules.hours_calendar import DAYS as WEEKDAYS
from planner.rules.hours_calendar import WEEK, Calendar
from planner.rules.hours_words import Doing
from planner.units import MINUTES_A_DAY

DAYS = tuple(name.lower() for name in WEEKDAYS)
WORDS = {
    "drive": Doing.DRIVE, "driving": Doing.DRIVE, "other": Doing.OTHER, "other work": Doing.OTHER, "work": Doing.OTHER,
    "break": Doing.BREAK, "rest": Doing.REST, "available": Doing.AVAILABLE, "availability": Doing.AVAILABLE, "ride": Doing.RIDE,
    "ferry": Doing.FERRY, "cabin": Doing.CABIN, "embark": Doing.EMBARK, "disembark": Doing.EMBARK, "light": Doing.LIGHT,
}  # fmt: skip
HEADERS = {
    "driven-this-week": "driven_week_min", "driven-last-week": "driven_last_week_min", "worked-this-week": "worked_week_min",
    "extended-days": "extended_days", "reduced-rests": "reduced_rests", "since-weekly-rest": "weekly_rest_ended_min",
    "last-duty-ended": "last_duty_end_min", "rest-owed": "rest_owed_min",
}  # fmt: skip
AGO = ("since-weekly-rest", "last-duty-ended")
CLOCK = r"(?:\b(?P<{0}day>(?:mon|tue|wed|thu|fri|sat|sun)[a-z]*)\s+)?(?P<{0}hour>\d{{1,2}}):(?P<{0}minute>\d{{2}})"
STRETCH = re.compile(CLOCK.format("from") + r"\s*(?:-|–|to)\s*" + CLOCK.format("to"), re.ASCII)
LENGTH = re.compile(r"(?:(?P<hours>\d+)\s*(?::|h)\s*)?(?P<minutes>\d+)?\s*(?:m|min|minutes)?", re.ASCII)


@dataclass(frozen=True, kw_only=True, slots=True)
class HoursLine:
    """One activity of a file, with the line it stands on; lines count from 1."""

    line: int
    doing: Doing
    minutes: int


@dataclass(frozen=True, kw_only=True, slots=True)
class HoursFile:
    """Everything a file of hours says; the first activity begins at minute 0 of the clock."""

    lines: tuple[HoursLine, ...]
    week: WeekSoFar = field(default_factory=WeekSoFar)
    calendar: Calendar = field(default_factory=Calendar)
    drivers: int = 1
    is_resting_on: bool = False


def read_hours(text: str, *, name: str) -> HoursFile:
    """
    Return the activities that ``text`` lists.

    Raises
    ------
    BadFiles
        With every line that cannot be read, or that does not follow on from the one before.

    """
    reader = _Reader(name)
    for number, raw in enumerate(text.lstrip("\ufeff").splitlines(), start=1):
        line = raw.split("#", maxsplit=1)[0].strip().rstrip(";,").strip().lower()
        if line:
            reader.take(number, line)
    return reader.done()


class _Reader:
    def __init__(self, name: str) -> None:
        self.name = name
        self.problems: list[Problem] = []
        self.lines: list[HoursLine] = []
        self.headers: dict[str, int] = {}
        self.started_at: tuple[int | None, int] | None = None  # weekday and minute of the day at minute 0
        self.total = 0
        self.open_rest: int | None = None

    def complain(self, number: int, says: str, value: str, advice: str) -> None:
        """Note a problem with a line."""
        self.problems.append(Problem(file=self.name, row=number, says=says, value=value, advice=advice))

    def take(self, number: int, line: str) -> None:
        """Read one line that is neither blank nor a comment."""
        if self.open_rest is not None:
            self.complain(self.open_rest, "a rest has no length", "rest", "Only the last line may be a rest that goes on.")
            self.open_rest = None
        head = re.match(r"(?P<key>[a-z-]+)\s*[:= ]\s*(?P<value>.*)", line)
        if head is not None and head["key"] in (*HEADERS, "drivers", "start"):
            self.header(number, head["key"], head["value"].strip(), line)
            return
        stretch = STRETCH.search(line)
        if stretch is not None:
            self.stretch(number, line, stretch)
        else:
            self.length(number, line)

    def header(self, number: int, key: str, value: str, line: str) -> None:
        """Read what went before the first activity."""
        if self.lines:
            self.complain(number, f"{key} comes after the first activity", line, "Put it above the activities.")
        elif key == "start":
            point = re.fullmatch(CLOCK.format(""), value)
            at = _point(point, "") if point else None
            if at is None:
                self.complain(number, "the start is no day and time", value, "Write it as: start Mon 06:00.")
            else:
                self.started_at = at
        elif key == "drivers":
            if value not in ("1", "2"):
                self.complain(number, "the number of drivers is neither 1 nor 2", value, "Write: drivers 2.")
            else:
                self.headers[key] = int(value)
        else:
            minutes = _minutes(value)
            if minutes is None:
                self.complain(number, f"{key} is no whole number of minutes", value, "Write minutes or hours, such as 20:30.")
            else:
                self.headers[key] = minutes

    def length(self, number: int, line: str) -> None:
        """Read an activity with its length, in either order."""
        found = re.fullmatch(r"(?P<word>[a-z][a-z ]*?)[\s,]*(?P<length>[-+]?\d.*)?", line) or re.fullmatch(
            r"(?P<length>[-+]?\d[\d:.]*(?:\s*h\s*\d*)?(?:\s*min)?)[\s,]+(?P<word>[a-z][a-z ]*)", line
        )
        word = found["word"].strip() if found else line
        doing = self.word(number, word, line)
        if doing is None:
            return
        length = found["length"] if found else None
        if length is None:
            if doing is Doing.REST:
                self.open_rest = number
            else:
                self.complain(number, f"{word} has no length", line, f"Write it in minutes, such as: {word} 45.")
            return
        minutes = _minutes(length)
        if minutes is None:
            says = "a length is negative" if length.startswith("-") else "a length is no whole number of minutes"
            self.complain(number, says, length, "Write whole minutes, such as 270, or 4:30.")
            return
        self.add(number, doing, minutes)

    def stretch(self, number: int, line: str, found: re.Match[str]) -> None:
        """Read an activity with its clock times, and see that it follows on."""
        word = (line[: found.start()] + line[found.end() :]).strip(" ,:")
        doing = self.word(number, word, line)
        start, end = _point(found, "from"), _point(found, "to")
        if start is None or end is None:
            self.complain(number, "a clock time does not exist", found.group(), "Write times as 06:00-10:30, days as Mon to Sun.")
            return
        if doing is None:
            return
        if self.started_at is None and not self.lines:
            self.started_at = start
        if not self.follows(number, start, found.group()):
            return
        gap = (end[1] - start[1]) % MINUTES_A_DAY
        if start[0] is not None and end[0] is not None:
            gap = (end[0] * MINUTES_A_DAY + end[1] - start[0] * MINUTES_A_DAY - start[1]) % WEEK or WEEK
        self.add(number, doing, gap or MINUTES_A_DAY)

    def follows(self, number: int, start: tuple[int | None, int], shown: str) -> bool:
        """Return whether a stretch begins where the record stands, and complain when it does not."""
        if self.started_at is None:
            self.complain(number, "the time of the lines before is not known", shown, "Begin with: start Mon 06:00.")
            return False
        day, minute = self.started_at
        now = minute + self.total
        due = now % MINUTES_A_DAY
        weekday = None if day is None else (day + now // MINUTES_A_DAY) % 7
        if start[1] == due and (start[0] is None or weekday is None or start[0] == weekday):
            return True
        stands = f"{DAYS[weekday].title()} " if weekday is not None else ""
        stands += f"{due // 60:02d}:{due % 60:02d}"
        says = f"it does not begin where the line before ended, at {stands}"
        self.complain(number, says, shown, "Say what the driver did in between, or mend the time.")
        return False

    def word(self, number: int, word: str, line: str) -> Doing | None:
        """Return the activity that a word means."""
        doing = WORDS.get(" ".join(word.split()))
        if doing is None:
            known = "drive, other, break, rest, available, ride, ferry, cabin, embark, disembark and light"
            self.complain(number, "it names no activity", line, f"The words are {known}.")
        return doing

    def add(self, number: int, doing: Doing, minutes: int) -> None:
        """Note one activity."""
        self.lines.append(HoursLine(line=number, doing=doing, minutes=minutes))
        self.total += minutes

    def done(self) -> HoursFile:
        """Return the file as read."""
        if not self.lines and not self.problems:
            advice = "Write one activity a line, such as: drive 270."
            self.problems.append(Problem(file=self.name, says="there is no activity in it", advice=advice))
        if self.problems:
            raise BadFiles(self.problems)
        drivers = self.headers.pop("drivers", 1)
        week = {HEADERS[key]: -value if key in AGO else value for key, value in self.headers.items()}
        day, minute = self.started_at or (None, None)
        calendar = Calendar(
            week_minute=None if day is None or minute is None else day * MINUTES_A_DAY + minute, day_minute=minute
        )
        return HoursFile(
            lines=tuple(_plain_work_after_the_ferry(self.lines)), week=WeekSoFar(**week), calendar=calendar, drivers=drivers,
            is_resting_on=self.open_rest is not None,
        )  # fmt: skip


def _plain_work_after_the_ferry(lines: list[HoursLine]) -> Iterable[HoursLine]:
    """Yield the lines; driving on or off that no rest follows ends the rest, and is other work."""
    for number, line in enumerate(lines):
        after = next((later for later in lines[number + 1 :] if later.doing is not Doing.EMBARK), None)
        is_plain = line.doing is Doing.EMBARK and (after is None or not after.doing.is_rest)
        yield replace(line, doing=Doing.OTHER) if is_plain else line


def _point(found: re.Match[str], which: str) -> tuple[int | None, int] | None:
    """Return (weekday, minute of the day) of a clock time, None when there is no such time."""
    hour, minute, day = int(found[which + "hour"]), int(found[which + "minute"]), found[which + "day"]
    weekday = None if day is None else next((n for n, name in enumerate(DAYS) if day.startswith(name)), -1)
    if weekday == -1 or minute > 59 or hour * 60 + minute > MINUTES_A_DAY:
        return None
    return weekday, hour * 60 + minute


def _minutes(text: str) -> int | None:
    """Return a length in minutes, None when it is none."""
    found = LENGTH.fullmatch(text.strip())
    if found is None or (found["hours"] is None and found["minutes"] is None):
        return None
    hours, minutes = int(found["hours"] or 0), int(found["minutes"] or 0)
    if found["hours"] is not None and minutes > 59:
        return None
    return hours * 60 + minutes
