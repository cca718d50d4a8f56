"""
Rates of a day: the dated rows of ``rates.toml`` from which those in force on the planning day are picked.

Every row starts on its ``from`` and holds until its ``until`` (that day included) or until a later row for the same
thing starts.  Figures are pence, decimals allowed.
"""

from collections.abc import Iterable, Mapping
from dataclasses import MISSING, fields
from datetime import date
from decimal import Decimal
from typing import Any, get_type_hints

from planner.desk import intake_cells as cells
from planner.desk.intake_cells import CellFault, closest
from planner.desk.intake_policy import read_toml
from planner.faults import NoRate, Problem
from planner.model.cars import Fuel
from planner.model.crews import VehicleClass
from planner.model.rates import Rates, RunningCost, Wage

FILE = "rates.toml"
DATED = ("from", "until")
EXTRAS = ("night_out_pence", "plate_day_pence", "revalet_pence", "value_fall_pence_per_km")
SPAN = ("night_from_min", "night_to_min")  # minutes, or clock times in quotes


def read_rates(
    text: str, on: date, problems: list[Problem], *, roles: Iterable[str], fuels: Iterable[Fuel],
    classes: Iterable[VehicleClass], is_weekend: bool = False,
) -> Rates:  # fmt: skip
    """
    Return the rates in force ``on`` that day, with a problem for each fault and for each thing needed without a rate.

    Parameters
    ----------
    text
        What ``rates.toml`` holds.
    on
        The planning day.
    problems
        Where faults go.
    roles, fuels, classes
        What the day needs a rate for; a hybrid may be priced as petrol.
    is_weekend
        Whether the day pays weekend wages.

    """
    found = len(problems)
    document = read_toml(FILE, text, problems, parse_float=Decimal)
    if len(problems) > found:  # what cannot be read lacks nothing
        roles, fuels, classes = (), (), ()
    for name in document:
        if name not in _KEYS:
            near = closest(name, _KEYS)
            problems.append(Problem(file=FILE, column=name, says="this group is not known",
                                    advice=f"Did you mean [[{near}]]?" if near else f"Use {', '.join(_KEYS)}."))  # fmt: skip
    picked = {name: _in_force(name, document.get(name, []), on, problems) for name in _KEYS}
    wages = {role: _made(Wage, row, problems, "wages") for role, row in picked["wages"].items()}
    running = {kind: _made(RunningCost, row, problems, "running") for kind, row in picked["running"].items()}
    fuel = {kind: row["pence"] for kind, row in picked["fuel"].items()}
    _refuse_missing("wage of a", roles, picked["wages"], on, problems)
    _refuse_missing("price of", fuels, {**fuel, **({Fuel.HYBRID: 0} if Fuel.PETROL in fuel else {})}, on, problems)
    _refuse_missing("running cost of the class", classes, picked["running"], on, problems)
    extras = {name: row["pence"] for name, row in picked["extras"].items()}
    return Rates(
        wages={role: wage for role, wage in wages.items() if wage is not None},
        fuel_pence=fuel,
        running={kind: cost for kind, cost in running.items() if cost is not None},
        is_weekend=is_weekend,
        **extras,
    )


def _refuse_missing(what: str, needed: Iterable[Any], have: Mapping[Any, Any], on: date, problems: list[Problem]) -> None:
    for key in sorted({str(item) for item in needed} - {str(item) for item in have}):
        sentence = str(NoRate(f"{what} {key}", on)).removeprefix(f"{FILE}: ")
        says, advice = sentence.split(". ", 1)
        problems.append(Problem(file=FILE, says=says, advice=advice))


def _in_force(group: str, rows: Any, on: date, problems: list[Problem]) -> dict[Any, dict[str, Any]]:
    """Return, for each thing the group prices, the figures of the latest row that holds on the day."""
    best: dict[Any, tuple[date, dict[str, Any]]] = {}
    seen: set[tuple[Any, date]] = set()
    if not isinstance(rows, list):
        problems.append(Problem(file=FILE, column=group, says="a list of rows is expected", advice=f"Write [[{group}]]."))
        rows = []
    for count, row in enumerate(rows, start=1):
        where = f"{group} no. {count}"
        try:
            start, end, priced = _read_row(group, row)
        except CellFault as fault:
            problems.append(Problem(file=FILE, column=where, value=_shown(row), says=fault.says, advice=fault.advice))
            continue
        for thing, figures in priced.items():
            if (thing, start) in seen:
                says = f"{thing} has two rows from {start}"
                problems.append(Problem(file=FILE, column=where, says=says, advice="Keep the one that holds."))
            seen.add((thing, start))
            if start <= on <= end and (thing not in best or best[thing][0] < start):
                best[thing] = (start, figures)
    return {thing: figures for thing, (_, figures) in best.items()}


def _shown(row: Any) -> str:
    return ", ".join(f"{key} = {value}" for key, value in row.items())[:80] if isinstance(row, dict) else str(row)[:80]


def _read_row(group: str, row: Any) -> tuple[date, date, dict[Any, dict[str, Any]]]:
    if not isinstance(row, dict):
        raise CellFault("a row of named figures is expected", f"Write [[{group}]] and the figures below it.")
    for key in row:
        if key not in (*DATED, *_KEYS[group]):
            raise cells.unknown(f"key of {group}", key, (*DATED, *_KEYS[group]))
    if "from" not in row:
        raise CellFault("the day from which it holds is missing", "Add a line such as: from = 2026-04-01")
    start, end = (cells.toml_day(row[key]) if key in row else date.max for key in DATED)
    if end < start:
        raise CellFault("it ends before it starts", "Swap from and until.")
    figures = {key: value for key, value in row.items() if key not in DATED}
    return start, end, _READERS[group](figures)


def _read_wages(row: dict[str, Any]) -> dict[Any, dict[str, Any]]:
    role = row.get("role")
    if not isinstance(role, str) or not role.strip():
        raise CellFault("the role is missing", 'Add a line such as: role = "plate driver"')
    return {" ".join(role.split()): {key: _figure(key, value) for key, value in row.items() if key != "role"}}


def _read_fuel(row: dict[str, Any]) -> dict[Any, dict[str, Any]]:
    return {Fuel(name): {"pence": _figure(name, value)} for name, value in row.items()}


def _read_running(row: dict[str, Any]) -> dict[Any, dict[str, Any]]:
    names = [kind.value for kind in VehicleClass]
    if row.get("vehicle") not in names:
        raise cells.unknown("vehicle class", str(row.get("vehicle", "")), names)
    return {VehicleClass(row["vehicle"]): {key: _figure(key, value) for key, value in row.items() if key != "vehicle"}}


def _read_extras(row: dict[str, Any]) -> dict[Any, dict[str, Any]]:
    return {name: {"pence": _figure(name, value)} for name, value in row.items()}


def _figure(key: str, value: Any) -> Decimal:
    if key in SPAN and isinstance(value, str):
        return Decimal(cells.clock_time(value))
    figure = Decimal(value) if isinstance(value, int | Decimal) and not isinstance(value, bool) else Decimal("NaN")
    if figure.is_nan() or not 0 <= figure <= 10**7:
        raise CellFault(f"{key} is a figure from 0 up", "Write it in pence (or minutes), without quotes.")
    return figure


def _made(kind: Any, row: dict[str, Any], problems: list[Problem], group: str) -> Any:
    hints = get_type_hints(kind)
    bare = [item.name for item in fields(kind) if item.default is MISSING and item.name not in row]
    whole = [key for key, value in row.items() if hints[key] is int and value != value.to_integral_value()]
    for key in (*bare, *whole):
        says = f"{key} is missing in the row in force" if key in bare else f"{key} is a whole number of minutes"
        problems.append(Problem(file=FILE, column=group, says=says, advice="Add it." if key in bare else "Round it."))
    if bare or whole:
        return None
    return kind(**{key: int(value) if hints[key] is int else value for key, value in row.items()})


_KEYS: dict[str, tuple[str, ...]] = {
    "wages": ("role", *(item.name for item in fields(Wage))),
    "fuel": tuple(fuel.value for fuel in Fuel),
    "running": ("vehicle", *(item.name for item in fields(RunningCost))),
    "extras": EXTRAS,
}
_READERS = {"wages": _read_wages, "fuel": _read_fuel, "running": _read_running, "extras": _read_extras}
