"""
Cells: one text of a table read as what it stands for, or refused with a sentence and a remedy.

Each reader takes a text without blanks around it and never an empty one.  Spreadsheets write dates as days since
30 December 1899 and times as parts of a day; both are read.  Clock times are whole minutes that a clock on the wall
shows, 1440 for 24:00; turning them into minutes of a day is for :mod:`planner.clock`.
"""

import re
from collections.abc import Callable
from datetime import date, timedelta
from decimal import ROUND_HALF_UP, Decimal
from difflib import get_close_matches
from enum import StrEnum
from typing import Any, TypeVar

#: Reads the text of one cell; raises :class:`CellFault`.
Reader = Callable[[str], Any]
E = TypeVar("E", bound=StrEnum)

_SPREADSHEET_ZERO = date(1899, 12, 30)
_MONTHS = ("jan", "feb", "mar", "apr", "may", "jun", "jul", "aug", "sep", "oct", "nov", "dec")
_YES = {"yes", "y", "true", "1", "x", "✓"}
_NO = {"no", "n", "false", "0"}


class CellFault(Exception):
    """A cell that cannot be read: what is wrong with it and what to do."""

    def __init__(self, says: str, advice: str = "") -> None:
        self.says, self.advice = says, advice
        super().__init__(f"{says}. {advice}")


def closest(text: str, known: Any) -> str:
    """Return the one of ``known`` that ``text`` was probably meant to be, "" when none is near."""
    folded = {str(name).casefold(): str(name) for name in known}
    near = get_close_matches(text.casefold(), list(folded), n=1, cutoff=0.6)
    return folded[near[0]] if near else ""


def unknown(what: str, text: str, known: Any) -> CellFault:
    """Return the fault for a name that is not one of ``known``."""
    near = closest(text, known)
    return CellFault(f"this is no {what}", f"Did you mean {near}?" if near else f"Use one of: {', '.join(map(str, known))}.")


def words(text: str) -> str:
    """Return free text with every run of blanks made one."""
    return " ".join(text.split())


def name(text: str) -> str:
    """Return a short text that names something."""
    plain = words(text)
    if len(plain) > 80:
        raise CellFault(f"a name of {len(plain)} characters is too long", "Use at most 80.")
    return plain


def number(*, least: Decimal | int, most: Decimal | int, unit: str = "") -> Reader:
    """Return a reader of numbers from ``least`` to ``most``, as Decimal; thousands may be set off by commas."""
    wanted = f"a number from {least} to {most}" + (f" {unit}" if unit else "")

    def read(text: str) -> Decimal:
        plain = text.removesuffix(unit).strip() if unit else text
        if not re.fullmatch(r"-?(\d{1,3}(,\d{3})+|\d+)(\.\d+)?", plain, re.ASCII) or len(plain) > 25:
            raise CellFault(f"{wanted} is expected", "Write digits, with a full stop before any decimals.")
        value = Decimal(plain.replace(",", ""))
        if not least <= value <= most:
            raise CellFault(f"{wanted} is expected", "Check the figure and its unit.")
        return value

    return read


def whole(*, least: int, most: int, unit: str = "") -> Reader:
    """Return a reader of whole numbers from ``least`` to ``most``."""
    read_number = number(least=least, most=most, unit=unit)

    def read(text: str) -> int:
        value: Decimal = read_number(text)
        if value != value.to_integral_value():
            raise CellFault("a whole number is expected", "Round it.")
        return int(value)

    return read


def decimal(*, least: float, most: float, unit: str = "") -> Reader:
    """Return a reader of numbers as float."""
    read_number = number(least=Decimal(str(least)), most=Decimal(str(most)), unit=unit)
    return lambda text: float(read_number(text))


def pounds(text: str) -> int:
    """Return an amount of pounds, such as ``£1,234.50``, in pence."""
    value: Decimal = number(least=0, most=10_000_000)(text.removeprefix("£").strip())
    if value * 100 != (value * 100).to_integral_value():
        raise CellFault("this has parts of a penny", "Write pounds with at most two decimals.")
    return int(value * 100)


def miles(*, most: int) -> Reader:
    """Return a reader of miles, as whole metres."""
    read_number = number(least=0, most=most)
    return lambda text: int((read_number(text) * Decimal("1609.344")).quantize(Decimal(1), rounding=ROUND_HALF_UP))


def yes_no(text: str) -> bool:
    """Return whether the cell says yes."""
    plain = text.casefold()
    if plain in _YES | _NO:
        return plain in _YES
    raise CellFault("yes or no is expected", "Write yes, no or leave it blank.")


def choice(kind: type[E]) -> Reader:
    """Return a reader of one word out of an enumeration."""

    def read(text: str) -> E:
        plain = words(text).casefold().replace("_", "-")
        for member in kind:
            if plain in (member.value.replace("_", "-"), member.value.replace("-", " ")):
                return member
        raise unknown("known word here", text, [member.value for member in kind])

    return read


def listing(read_item: Reader, *, split: str = ",;") -> Reader:
    """Return a reader of several items in one cell, parted by any character of ``split``."""

    def read(text: str) -> tuple[Any, ...]:
        parts = [part.strip() for part in re.split(f"[{re.escape(split)}]", text)]
        return tuple(dict.fromkeys(read_item(part) for part in parts if part))

    return read


def day(text: str) -> date:
    """Return a date, written 2026-11-26, 26/11/2026, 26 Nov 2026, or as a spreadsheet counts days."""
    plain = re.sub(r"[T ]00:00(:00(\.0+)?)?$", "", text)
    if re.fullmatch(r"\d{5}(\.0+)?", plain, re.ASCII):
        return _SPREADSHEET_ZERO + timedelta(days=int(plain[:5]))
    if match := re.fullmatch(r"(\d{4})-(\d{1,2})-(\d{1,2})", plain, re.ASCII):
        return _calendar_day(int(match[1]), int(match[2]), int(match[3]))
    if match := re.fullmatch(r"(\d{1,2})[/.-](\d{1,2})[/.-](\d{4}|\d{2})", plain, re.ASCII):
        return _calendar_day(_full_year(match[3]), int(match[2]), int(match[1]))
    match = re.fullmatch(r"(\d{1,2})[ -]([A-Za-z]{3,9})[ -](\d{4}|\d{2})", plain, re.ASCII)
    if match and (month := match[2].casefold()[:3]) in _MONTHS:
        return _calendar_day(_full_year(match[3]), _MONTHS.index(month) + 1, int(match[1]))
    raise CellFault("a date is expected", "Write it as 2026-11-26 or 26/11/2026.")


def toml_day(value: Any) -> date:
    """Return a date of a TOML file, written as one or as text."""
    return value if type(value) is date else day(str(value).strip())


def _full_year(text: str) -> int:
    return int(text) + 2000 if len(text) == 2 else int(text)


def _calendar_day(year: int, month: int, day_: int) -> date:
    try:
        made = date(year, month, day_)
    except ValueError:
        if month == 2 and day_ == 29:
            raise CellFault(f"{year} has no 29 February", "Give the day that is meant.") from None
        if month > 12 >= day_:
            raise CellFault("there is no such month", "Write the day first: 26/11/2026, or 2026-11-26.") from None
        raise CellFault("there is no such day", "Check it against a calendar.") from None
    if not 2000 <= year <= 2100:
        raise CellFault("this year is too far away", "Write years in full, from 2000 to 2100.")
    return made


def clock_time(text: str) -> int:
    """Return a time of day, written 08:30, 8:30am, 0830, 24:00 or as a part of a day, in minutes that clocks show."""
    if match := re.fullmatch(r"(\d{1,2}):(\d{2})(?::(\d{2})(?:\.0+)?)? ?(am|pm)?", text.casefold(), re.ASCII):
        hours, minutes, seconds = int(match[1]), int(match[2]), int(match[3] or 0)
        return _wall_minutes(hours, minutes, seconds, match[4])
    if match := re.fullmatch(r"(\d{1,2}) ?(am|pm)", text.casefold(), re.ASCII):
        return _wall_minutes(int(match[1]), 0, 0, match[2])
    if match := re.fullmatch(r"(\d{2})(\d{2})", text, re.ASCII):
        return _wall_minutes(int(match[1]), int(match[2]), 0, None)
    if re.fullmatch(r"0\.\d+|0|1|1\.0", text, re.ASCII):
        return int((Decimal(text) * 1440).quantize(Decimal(1), rounding=ROUND_HALF_UP))
    raise CellFault("a time of day is expected", "Write it as 08:30.")


def _wall_minutes(hours: int, minutes: int, seconds: int, half: str | None) -> int:
    if half is not None:
        if not 1 <= hours <= 12:
            raise CellFault("there is no such time", "Write it as 08:30 or 20:30.")
        hours = hours % 12 + (12 if half == "pm" else 0)
    if seconds:
        raise CellFault("a time to the minute is expected", "Leave the seconds out.")
    if minutes > 59 or hours * 60 + minutes > 1440:
        raise CellFault("there is no such time", "Write it as 08:30; the day ends at 24:00.")
    return hours * 60 + minutes


def moment(text: str) -> tuple[date, int]:
    """Return a date and the minutes that clocks show, written 2026-11-25 17:40 or as a spreadsheet counts."""
    if re.fullmatch(r"\d{5}(\.\d+)?", text, re.ASCII):
        minutes = int((Decimal(text) % 1 * 1440).quantize(Decimal(1), rounding=ROUND_HALF_UP))
        return day(text[:5]), minutes
    parts = re.split(r"[T ](?=\d{1,2}:)", text, maxsplit=1)
    if len(parts) != 2:
        raise CellFault("a date and a time are expected", "Write them as 2026-11-25 17:40.")
    return day(parts[0].strip()), clock_time(parts[1].strip())


def hours(text: str) -> int:
    """Return a stretch of time in minutes, written 38:30 or as hours with decimals (38.5)."""
    if match := re.fullmatch(r"(\d{1,3}):([0-5]\d)(?::00)?", text, re.ASCII):
        minutes = int(match[1]) * 60 + int(match[2])
    else:
        try:
            exact: Decimal = number(least=0, most=200)(text) * 60
        except CellFault:
            raise CellFault("hours are expected", "Write them as 38:30 or 38.5.") from None
        minutes = int(exact.quantize(Decimal(1), rounding=ROUND_HALF_UP))
    if minutes > 200 * 60:
        raise CellFault("this is more hours than a week or two of work has", "Check the figure.")
    return minutes


def phone(text: str) -> str:
    """Return a telephone number as typed, a nought given back that a spreadsheet took away."""
    plain = words(text)
    digits = re.sub(r"[ ()\-.]", "", plain)
    if not re.fullmatch(r"\+?\d{9,15}", digits, re.ASCII):
        raise CellFault("a telephone number is expected", "Write 9 to 15 digits, such as 07700 900123.")
    if re.fullmatch(r"[127]\d{9}", digits, re.ASCII):
        return f"0{digits}"
    return plain


def registration(text: str) -> str:
    """Return a registration or stock number in capitals without blanks."""
    plain = "".join(text.upper().split())
    if not re.fullmatch(r"[A-Z0-9][A-Z0-9/_.-]{0,19}", plain):
        raise CellFault("this is no registration or stock number", "Use up to 20 letters and digits.")
    return plain


def vin(text: str) -> str:
    """Return a vehicle identification number in capitals: 17 letters and digits without I, O and Q (ISO 3779)."""
    plain = "".join(text.upper().split())
    if not re.fullmatch(r"[A-HJ-NPR-Z0-9]{17}", plain):
        raise CellFault("this is no vehicle identification number", "Use its 17 letters and digits, or leave it blank.")
    return plain


def reference(text: str) -> str:
    """Return a reference that may stand in a file name."""
    plain = text.strip()
    if not re.fullmatch(r"[A-Za-z0-9][A-Za-z0-9_.-]{0,39}", plain):
        raise CellFault("this is no reference", "Use up to 40 letters, digits, full stops, hyphens and underscores.")
    return plain


def district(text: str) -> str:
    """Return a postcode district in capitals."""
    plain = "".join(text.upper().split())
    if not re.fullmatch(r"[A-Z]{1,2}[0-9][A-Z0-9]?", plain):
        raise CellFault("this is no postcode district", "Give the first half of a postcode, such as TR1 or EC1A.")
    return plain


LICENCES = ("AM", "A", "B", "BE", "C1", "C1E", "C", "CE", "D1", "D1E", "D", "DE")  # gov.uk, driving licence categories


def licence(text: str) -> str:
    """Return one driving-licence category."""
    plain = text.upper().replace("+", "")
    if plain not in LICENCES:
        raise unknown("driving-licence category", text, LICENCES)
    return plain


WEEKDAYS = ("monday", "tuesday", "wednesday", "thursday", "friday", "saturday", "sunday")


def day_or_weekday(text: str) -> date | str:
    """Return a date, or the name of a weekday in small letters."""
    plain = text.casefold()
    for weekday in WEEKDAYS:
        if plain in (weekday, weekday[:3]):
            return weekday
    try:
        return day(text)
    except CellFault as fault:
        raise CellFault("a date or a weekday is expected", "Write 2026-11-26 or Thursday.") from fault
