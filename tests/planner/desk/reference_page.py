"""What the tables of the reference page must say, drawn from the code, in the form in which the page has them."""

from dataclasses import MISSING, fields
from enum import Enum

from planner.desk.intake_cars import body_classes
from planner.desk.intake_policy import HouseRules, usual_gates
from planner.desk.intake_rates import EXTRAS
from planner.model.policy import Policy
from planner.model.rates import Rates, RunningCost, Wage


def wall(minutes):
    return f"{minutes // 60:02d}:{minutes % 60:02d}"


def blank_says(column):
    if column.needed:
        return "needed"
    if column.default_says:
        return column.default_says
    if column.default is None or column.default in ("", ()):
        return "nothing"
    if isinstance(column.default, bool):
        return "yes" if column.default else "no"
    if isinstance(column.default, Enum):
        return column.default.value
    return wall(column.default) if column.unit == "HH:MM" else str(column.default)


def table_of(columns):
    rows = [f"| `{column.name}` | {column.means} | {column.unit or '-'} | {blank_says(column)} | `{column.example}` |" for column in columns]
    return "\n".join(["| column | what it says | unit | when blank | example |", "|---|---|---|---|---|", *rows])


def shown(value):
    if isinstance(value, bool):
        return "true" if value else "false"
    return f'"{value}"' if isinstance(value, str) else f"{value:_}" if isinstance(value, int) else str(value)


def policy_table():
    rows = [f"| `{field.name}` | {shown(field.default)} |" for field in fields(Policy)]
    return "\n".join(["| key | usual value |", "|---|---|", *rows])


def rates_table():
    rows = []
    for group, kind, named in (("wages", Wage, "role"), ("running", RunningCost, "vehicle")):
        rows.append(f"| `[[{group}]]` | `{named}` | needed |")
        rows += [f"| `[[{group}]]` | `{field.name}` | {'needed' if field.default is MISSING else field.default} |" for field in fields(kind)]
    rows += [f"| `[[fuel]]` | `{fuel}` | needed if anything runs on it |" for fuel in ("petrol", "diesel")]
    rows.append("| `[[fuel]]` | `hybrid` | as petrol |")
    rows.append("| `[[fuel]]` | `electric` | needed if anything runs on it |")
    usual = {field.name: field.default for field in fields(Rates)}
    rows += [f"| `[[extras]]` | `{name}` | {usual[name]} |" for name in EXTRAS]
    return "\n".join(["| group | key | when left out |", "|---|---|---|", *rows])


def body_table():
    rows = []
    for name, row in body_classes().items():
        more = ", ".join(word for word in (row.get("fuel", ""), "van" if row.get("is_van") else "") if word)
        rows.append(f"| {name} | {row['mass_kg']} | {row['length_mm']} | {row['height_mm']} | {row['width_mm']} | {more or '-'} |")
    return "\n".join(["| body class | mass kg | length mm | height mm | width mm | also |", "|---|---|---|---|---|---|", *rows])


def gate_table():
    rows = [f"| `gate_{gate.value}` | {rule.owner} | {wall(rule.cut_off)} | {rule.to_do} |" for gate, rule in usual_gates().items()]
    return "\n".join(["| gate | owner | by, the day before | what there is to do |", "|---|---|---|---|", *rows])


def house_keys():
    return [field.name for field in fields(HouseRules)]
