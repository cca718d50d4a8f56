"""
Policy of a day: ``policy.toml`` read into the policy, the planning date, the gates' owners and how tables are read.

Every key is optional and every unknown one is named.  Beside the fields of :class:`planner.model.policy.Policy` (see
there for meanings and defaults) stand those of :class:`HouseRules`.
"""

import tomllib
from collections.abc import Mapping
from dataclasses import dataclass, field, fields
from datetime import date, time
from functools import cache
from importlib.resources import files
from typing import Any, get_type_hints
from zoneinfo import ZoneInfo

from planner.desk import intake_cells as cells
from planner.desk.intake_cells import CellFault, closest
from planner.desk.intake_table import heading
from planner.faults import Problem
from planner.model.orders import Gate
from planner.model.policy import Policy
from planner.units import wall_text

FILE = "policy.toml"


@dataclass(frozen=True, kw_only=True, slots=True)
class GateRule:
    """Who passes a gate, by when (minutes that clocks show, so many days before delivery) and the one thing to do."""

    owner: str
    cut_off: int
    to_do: str
    days_before: int = 1


@cache
def usual_gates() -> Mapping[Gate, GateRule]:
    """Return who looks after each gate where ``policy.toml`` says nothing."""
    table = tomllib.loads(files(__package__).joinpath("gates.toml").read_text(encoding="utf-8"))
    return {
        Gate(name): GateRule(owner=row["owner"], cut_off=cells.clock_time(row["cut_off"]), to_do=row["to_do"],
                             days_before=row.get("days_before", 1))
        for name, row in table.items()
    }  # fmt: skip


@dataclass(frozen=True, kw_only=True, slots=True)
class HouseRules:
    """What the office settles about its files, beside the policy; times are minutes that clocks show."""

    day: date | None = None
    zone: str = "Europe/London"
    door_opens: int = 480
    door_closes: int = 1200
    blank_gates: str = "passed"  # or "not passed"
    ignored_columns: tuple[str, ...] = ()
    more_bank_holidays: tuple[date, ...] = ()
    no_bank_holidays: tuple[date, ...] = ()
    gates: dict[Gate, GateRule] = field(default_factory=lambda: dict(usual_gates()))


def read_toml(file: str, text: str, problems: list[Problem], **kwargs: Any) -> dict[str, Any]:
    """Return a TOML text as a dictionary; an empty one, and a problem, when it cannot be read."""
    try:
        return tomllib.loads(text.removeprefix("\ufeff"), **kwargs)
    except (tomllib.TOMLDecodeError, RecursionError, ValueError, ArithmeticError) as fault:
        says = f"this is not valid TOML: {str(fault) or type(fault).__name__}"
        problems.append(Problem(file=file, says=says, advice="Put that line right; text needs quotes, dates do not."))
        return {}


def read_policy(text: str, problems: list[Problem]) -> tuple[Policy, HouseRules]:
    """Return the policy and the house rules of a ``policy.toml``; defaults for whatever is missing or at fault."""
    document = read_toml(FILE, text, problems)
    policy_hints, house_hints = get_type_hints(Policy), {item.name for item in fields(HouseRules)}
    policy: dict[str, Any] = {}
    house: dict[str, Any] = {}
    for key, value in document.items():
        try:
            if key in house_hints:
                house[key] = _read_gates(value, problems) if key == "gates" else _HOUSE_READERS[key](value)
            else:
                policy[key] = _typed(key, value, policy_hints)
        except CellFault as fault:
            problems.append(Problem(file=FILE, column=key, value=str(value)[:80], says=fault.says, advice=fault.advice))
    rules = HouseRules(**house)
    if rules.door_opens >= rules.door_closes:
        says = f"doors close at {wall_text(rules.door_closes)}, before they open at {wall_text(rules.door_opens)}"
        problems.append(Problem(file=FILE, column="door_closes", says=says, advice="Swap the two times."))
    return Policy(**policy), rules


def _typed(key: str, value: Any, hints: Mapping[str, Any]) -> Any:
    if key not in hints:
        near = closest(key, [*hints, *_HOUSE_READERS, "gates"])
        raise CellFault("this key is not known", f"Did you mean {near}?" if near else "Delete it.")
    hint = hints[key]
    if hint is bool and isinstance(value, bool):
        return value
    if hint in (int, float) and isinstance(value, int | hint) and not isinstance(value, bool):
        if not 0 <= value <= 10**9:
            raise CellFault("a figure from 0 to a thousand million is expected", "Check the figure and its unit.")
        return value
    if hint is str and isinstance(value, str):
        return value
    wanted = {bool: "true or false", int: "a whole number", float: "a number", str: "text in quotes"}[hint]
    raise CellFault(f"{wanted} is expected", "Change it, or delete the line for the usual value.")


def _clock(value: Any) -> int:
    read: int = cells.clock_time(value.strftime("%H:%M") if isinstance(value, time) else str(value).strip())
    return read


def _dates(value: Any) -> tuple[date, ...]:
    return tuple(cells.toml_day(item) for item in _list(value))


def _column(value: Any) -> str:
    table, _, column = str(value).partition(".")
    if not column:
        raise CellFault("a table and a column are expected", 'Write them as "orders.salesperson".')
    return f"{heading(table)}.{heading(column)}"


def _list(value: Any) -> list[Any]:
    if not isinstance(value, list):
        raise CellFault("a list is expected", "Write it between square brackets.")
    return value


def _zone(value: Any) -> str:
    try:
        ZoneInfo(str(value))
    except (ValueError, OSError, LookupError):
        raise CellFault("this time zone is not known", "Great Britain is Europe/London.") from None
    return str(value)


def _blank_gates(value: Any) -> str:
    if value not in ("passed", "not passed"):
        raise CellFault('"passed" or "not passed" is expected', "A blank gate counts as what this says.")
    return str(value)


_HOUSE_READERS = {
    "day": cells.toml_day,
    "zone": _zone,
    "door_opens": _clock,
    "door_closes": _clock,
    "blank_gates": _blank_gates,
    "ignored_columns": lambda value: tuple(_column(item) for item in _list(value)),
    "more_bank_holidays": _dates,
    "no_bank_holidays": _dates,
}


def _read_gates(value: Any, problems: list[Problem]) -> dict[Gate, GateRule]:
    if not isinstance(value, dict):
        raise CellFault("a group is expected", "Write [gates.funds] and the keys below it.")
    gates = dict(usual_gates())
    names = [gate.value for gate in Gate]
    for name, row in value.items():
        try:
            if name not in names:
                raise cells.unknown("gate", name, names)
            gates[Gate(name)] = _read_gate(gates[Gate(name)], row)
        except CellFault as fault:
            problems.append(Problem(file=FILE, column=f"gates.{name}", value=str(row)[:80], says=fault.says, advice=fault.advice))
    return gates


def _read_gate(usual: GateRule, row: Any) -> GateRule:
    keys = [item.name for item in fields(GateRule)]
    if not isinstance(row, dict):
        raise CellFault("a group is expected", f"Give {', '.join(keys)}.")
    for key in row:
        if key not in keys:
            raise cells.unknown("key of a gate", key, keys)
    days_before = row.get("days_before", usual.days_before)
    if isinstance(days_before, bool) or not isinstance(days_before, int) or not 0 <= days_before <= 7:
        raise CellFault("days_before is a whole number from 0 to 7", "Change it.")
    return GateRule(
        owner=str(row.get("owner", usual.owner)),
        cut_off=_clock(row["cut_off"]) if "cut_off" in row else usual.cut_off,
        to_do=str(row.get("to_do", usual.to_do)),
        days_before=days_before,
    )
