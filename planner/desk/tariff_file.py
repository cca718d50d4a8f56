"""
The file of a tariff: ``tariff.toml`` read into a :class:`~planner.desk.tariff.Tariff`, every fault named at once.

Keys are those of the tariff; amounts are written in pounds (``floor = 49``), times as "16:00", windows as
"08:00-12:00", weekdays as "Mon".  Bands are rows ``[[bands]]`` with ``up_to_miles`` and ``charge``.
"""

import re
import tomllib
from collections.abc import Callable, Mapping
from decimal import Decimal, InvalidOperation
from itertools import pairwise
from typing import Any

from planner.desk.tariff import Band, Beyond, Islands, Tariff
from planner.faults import BadFiles, Problem
from planner.model.places import Window

FILE = "tariff.toml"
#: What nobody means who writes more.
MOST_POUNDS, MOST_MILES, MOST_PERCENT, MOST_HOLD_MIN, MOST_HORIZON_DAYS = 100_000, 10_000, 1000, 43_200, 366
WEEKDAYS = ("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun")


class _Fault(Exception):
    """What is wrong with one value, and what to do; ``at`` says where in the value, and ``value`` what stands there."""

    def __init__(self, says: str, advice: str, *, at: str = "", value: Any = None) -> None:
        super().__init__(says, advice)
        self.says, self.advice, self.at, self.value = says, advice, at, value


def read_tariff(text: str, *, file: str = FILE) -> Tariff:
    """
    Return the tariff that a ``tariff.toml`` holds, or ``file``; keys left out keep their defaults.

    Raises
    ------
    BadFiles
        With a problem for each key that is unknown or holds what it must not.

    """
    try:
        table = tomllib.loads(text, parse_float=Decimal)
    except tomllib.TOMLDecodeError as fault:
        raise BadFiles([Problem(file=file, says=f"cannot be read: {fault}", advice="Mend the line.")]) from fault
    values: dict[str, Any] = {}
    problems: list[Problem] = []
    for key, value in table.items():
        if key not in READERS:
            known = ", ".join(sorted(READERS))
            problems.append(Problem(file=file, column=key, says="is no key of a tariff", advice=f"The keys are {known}."))
            continue
        name, reader = READERS[key]
        try:
            values[name] = reader(value)
        except _Fault as fault:
            shown = _shown(value if fault.value is None else fault.value)
            problems.append(Problem(file=file, column=key + fault.at, value=shown, says=fault.says, advice=fault.advice))
    problems += _together(values, file)
    if problems:
        raise BadFiles(problems)
    return Tariff(**values)


def _shown(value: Any) -> str:
    return str(value)[:60]


def _together(values: Mapping[str, Any], file: str) -> list[Problem]:
    """Return what is wrong between keys that are right alone."""
    floor, cap = values.get("floor_pence", 0), values.get("cap_pence")
    if cap is not None and floor > cap:
        says = f"is below floor, {cap / 100:g} against {floor / 100:g} pounds"
        return [Problem(file=file, column="cap", says=says, advice="Swap the two.")]
    return []


def _number(value: Any, what: str, most: int) -> Decimal:
    if isinstance(value, bool) or not isinstance(value, int | Decimal | str):
        raise _Fault(f"is no {what}", "Write a plain figure.")
    try:
        number = Decimal(value)
    except InvalidOperation:
        raise _Fault(f"is no {what}", "Write a plain figure.") from None
    if not number.is_finite():
        raise _Fault(f"is no {what}", "Write a plain figure.")
    if number < 0:
        raise _Fault(f"is below zero; a {what} is not", "Write zero or more.")
    if number > most:
        raise _Fault(f"is above {most}", f"Write {most} at most.")
    return number


def _pence(value: Any) -> int:
    pence = _number(value, "sum of money", MOST_POUNDS) * 100
    if pence != int(pence):
        raise _Fault("has parts of a penny", "Write pounds with at most two decimals.")
    return int(pence)


def _miles(value: Any) -> float:
    return float(_number(value, "distance", MOST_MILES))


def _percent(value: Any) -> Decimal:
    return _number(value, "percentage", MOST_PERCENT)


def _whole(most: int) -> Callable[[Any], int]:
    def read(value: Any) -> int:
        number = _number(value, "whole number", most)
        if number != int(number):
            raise _Fault("is no whole number", "Leave the decimals out.")
        return int(number)

    return read


def _one_of(kind: type[Beyond] | type[Islands]) -> Callable[[Any], Beyond | Islands]:
    def read(value: Any) -> Beyond | Islands:
        try:
            return kind(value)
        except ValueError:
            raise _Fault("is not known", f"Write {' or '.join(repr(str(word)) for word in kind)}.") from None

    return read


def _truth(value: Any) -> bool:
    if not isinstance(value, bool):
        raise _Fault("is neither true nor false", "Write true or false.")
    return value


def minute_of(text: str) -> int | None:
    """Return "16:00" as minutes of the day, None when it is no time; 24:00 is the end of the day."""
    found = re.fullmatch(r"(\d{1,2}):(\d\d)", text.strip())
    if not found or int(found[2]) > 59:
        return None
    minute = int(found[1]) * 60 + int(found[2])
    return minute if minute <= 1440 else None


def window_of(text: str) -> Window | None:
    """Return "08:00-12:00" as a window, None when it is none or ends before it begins."""
    opens, dash, closes = text.replace("–", "-").partition("-")
    start, end = minute_of(opens), minute_of(closes)
    if not dash or start is None or end is None or start >= end:
        return None
    return Window(opens_min=start, closes_min=end)


def _time(value: Any) -> int:
    minute = minute_of(value) if isinstance(value, str) else None
    if minute is None:
        raise _Fault("is no time of day", 'Write it as "16:00".')
    return minute


def _list(value: Any, of: str) -> list[Any]:
    if not isinstance(value, list):
        raise _Fault(f"is no list of {of}", "Write it in square brackets.")
    if not value:
        raise _Fault(f"is empty; without {of} nothing can be promised", "Name one at least, or leave it out for the usual ones.")
    return value


def _windows(value: Any) -> tuple[Window, ...]:
    found = [window_of(item) if isinstance(item, str) else None for item in _list(value, "windows")]
    if None in found:
        raise _Fault("holds what is no window", 'Write each as "08:00-12:00", the earlier time first.')
    return tuple(window for window in found if window is not None)


def _weekdays(value: Any) -> frozenset[int]:
    days = _list(value, "weekdays")
    if strangers := [str(day) for day in days if day not in WEEKDAYS]:
        raise _Fault(f"holds {', '.join(strangers)}", f"The days are {', '.join(WEEKDAYS)}.")
    return frozenset(WEEKDAYS.index(day) for day in days)


def _in_band(number: int, row: Mapping[str, Any], key: str, reader: Callable[[Any], Any]) -> Any:
    try:
        return reader(row[key])
    except _Fault as fault:
        raise _Fault(fault.says, fault.advice, at=f"[{number}].{key}", value=row[key]) from fault


def _bands(value: Any) -> tuple[Band, ...]:
    bands: list[Band] = []
    if value == []:
        return ()
    for number, row in enumerate(_list(value, "bands"), 1):
        if not isinstance(row, Mapping) or set(row) != {"up_to_miles", "charge"}:
            raise _Fault("is no band", "Each band has up_to_miles and charge, and nothing else.", at=f"[{number}]", value=row)
        far, charge = _in_band(number, row, "up_to_miles", _miles), _in_band(number, row, "charge", _pence)
        bands.append(Band(up_to_miles=far, pence=charge))
    if any(near.up_to_miles >= far.up_to_miles for near, far in pairwise(bands)):
        raise _Fault("are not in order of distance", "Sort them by up_to_miles, each farther than the one before.")
    return tuple(bands)


READERS: dict[str, tuple[str, Callable[[Any], Any]]] = {
    "free_miles": ("free_miles", _miles),
    "bands": ("bands", _bands),
    "beyond": ("beyond", _one_of(Beyond)),
    "margin_percent": ("margin_percent", _percent),
    "floor": ("floor_pence", _pence),
    "cap": ("cap_pence", _pence),
    "round_up_to": ("round_up_to_pence", lambda value: max(1, _pence(value))),
    "vat_percent": ("vat_percent", _percent),
    "islands": ("islands", _one_of(Islands)),
    "hold_min": ("hold_min", _whole(MOST_HOLD_MIN)),
    "horizon_days": ("horizon_days", _whole(MOST_HORIZON_DAYS)),
    "cut_off": ("cut_off_min", _time),
    "weekdays": ("weekdays", _weekdays),
    "bank_holidays": ("bank_holidays", _truth),
    "windows": ("windows", _windows),
}
