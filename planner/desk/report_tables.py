"""
Tables of a report: the rows summed up by method, distance, region, day and crew, ready for paper, CSV and workbook.

Numbers stay numbers until they are written; ``Unit`` says how each column is read.
"""

from collections import defaultdict
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from enum import StrEnum
from typing import Any

from planner.desk.report import HELD, KEPT, LATE, CarRow, Report, RunRow
from planner.model.mileage import approved_pence
from planner.model.moves import MoveKind
from planner.runs.run import RunKind
from planner.units import METRES_A_MILE, miles

Cell = str | int | float | date | None


class Unit(StrEnum):
    """How the numbers of a column are read."""

    TEXT = "text"
    DAY = "day"
    COUNT = "count"
    POUNDS = "pounds"  # held in pence
    MILES = "miles"  # held in metres
    HOURS = "hours"  # held in minutes
    SHARE = "share"  # 0 to 1
    KG = "kg"  # held in grams
    LITRES = "litres"
    KWH = "kWh"


@dataclass(frozen=True, kw_only=True, slots=True)
class Table:
    """One table; ``note`` says how it was made."""

    key: str
    title: str
    columns: tuple[tuple[str, Unit], ...]
    rows: tuple[tuple[Cell, ...], ...]
    note: str = ""


#: Upper ends in miles; the last has none.
DISTANCES = (25, 50, 100, 150, 200)


def tables(report: Report) -> tuple[Table, ...]:
    """Return every table of a report, in the order in which they are read."""
    return (
        summary(report),
        by_method(report),
        by_distance(report),
        by_region(report),
        by_day(report),
        promises(report),
        miles_table(report),
        crews(report),
        decks(report),
        part_exchanges(report),
        deliveries(report),
        runs(report),
    )


def _mean(total: float, count: int) -> float | None:
    return total / count if count else None


def _share(part: float, whole: float) -> float | None:
    return part / whole if whole else None


def done(report: Report) -> list[CarRow]:
    """Return the deliveries that were planned into a run."""
    return [row for row in report.cars if row.kind is MoveKind.DELIVERY and row.by is not None]


def summary(report: Report) -> Table:
    """Return the whole period in one table of two columns for each figure."""
    cars, made = report.cars, done(report)
    cost = sum(row.cost_pence for row in report.runs)
    charged = [row.charge_net_pence for row in made if row.charge_net_pence is not None]
    delivery_cost = sum(row.cost_pence for row in made)
    driven = sum(row.metres + row.support_metres for row in report.runs)
    empty = sum(row.empty_metres + row.support_metres for row in report.runs)
    promised = [row for row in cars if row.outcome]
    kept = sum(row.outcome == KEPT for row in promised)
    saved = sum(_saving(row) or 0 for row in cars)
    grams = sum(row.grams for row in report.runs)
    values: tuple[tuple[str, Cell, Unit], ...] = (
        ("Days", len(report.days), Unit.COUNT),
        ("Cars moved", sum(row.by is not None for row in cars), Unit.COUNT),
        ("Deliveries made", len(made), Unit.COUNT),
        ("Cost of all runs", cost, Unit.POUNDS),
        ("Cost per delivery", _mean(delivery_cost, len(made)), Unit.POUNDS),
        ("Charged for delivery, without VAT", sum(charged), Unit.POUNDS),
        ("Deliveries with a charge", len(charged), Unit.COUNT),
        ("Promises kept, as planned", _share(kept, len(promised)), Unit.SHARE),
        ("Miles driven", driven, Unit.MILES),
        ("Empty miles", _share(empty, driven), Unit.SHARE),
        ("Duty", sum(row.duty_min for row in report.runs), Unit.HOURS),
        ("Overtime", sum(row.overtime_min for row in report.runs), Unit.HOURS),
        ("Fuel", sum(row.litres for row in report.runs), Unit.LITRES),
        ("Charge for electric cars", sum(row.kwh for row in report.runs), Unit.KWH),
        ("Greenhouse gases, CO2e", grams, Unit.KG),
        ("Greenhouse gases a delivery", _mean(sum(row.grams for row in made), len(made)), Unit.KG),
        ("Saved by taking part-exchanges along", saved, Unit.POUNDS),
    )
    return Table(
        key="summary", title="The period at a glance",
        columns=(("figure", Unit.TEXT), ("value", Unit.TEXT), ("number", Unit.TEXT), ("unit", Unit.TEXT)),
        rows=tuple((name, shown(value, unit), number(value, unit), str(unit)) for name, value, unit in values),
        note="Planned figures. Hours are a planning aid: the operator's transport manager, the tachograph and the law decide.",
    )  # fmt: skip


COSTS = (
    ("deliveries", Unit.COUNT), ("cost", Unit.POUNDS), ("cost a delivery", Unit.POUNDS), ("charged a delivery", Unit.POUNDS),
    ("left over a delivery", Unit.POUNDS), ("miles a delivery", Unit.MILES), ("CO2e a delivery", Unit.KG),
)  # fmt: skip


def _cost_cells(rows: Sequence[CarRow]) -> tuple[Cell, ...]:
    cost = sum(row.cost_pence for row in rows)
    charged = [row for row in rows if row.charge_net_pence is not None]
    left = sum((row.charge_net_pence or 0) - row.cost_pence for row in charged)
    return (
        len(rows), cost, _mean(cost, len(rows)), _mean(sum(row.charge_net_pence or 0 for row in charged), len(charged)),
        _mean(left, len(charged)), _mean(sum(row.metres for row in rows), len(rows)),
        _mean(sum(row.grams for row in rows), len(rows)),
    )  # fmt: skip


def _grouped(
    key: str, title: str, what: str, rows: Iterable[CarRow], group: Callable[[CarRow], Any], name: Callable[[Any], str]
) -> Table:
    found: dict[Any, list[CarRow]] = defaultdict(list)
    for row in rows:
        found[group(row)].append(row)
    return Table(
        key=key, title=title, columns=((what, Unit.TEXT), *COSTS),
        rows=tuple((name(value), *_cost_cells(found[value])) for value in sorted(found)),
        note="Costs are shared among the cars of a run: what each causes, the rest by distance. Charges are without VAT; what is "
             "left over counts only deliveries with a charge.",
    )  # fmt: skip


def by_method(report: Report) -> Table:
    """Return costs by kind of run."""
    order = list(RunKind)
    return _grouped(
        "by_method", "Cost by method", "method", done(report), lambda row: order.index(row.by) if row.by else -1,
        lambda number: str(order[number]),
    )  # fmt: skip


def distance_band(metres: int) -> int:
    """Return which band of :data:`DISTANCES` a distance falls in; one that ends a band belongs to it."""
    return next((number for number, end in enumerate(DISTANCES) if miles(metres) <= end), len(DISTANCES))


def band_name(number: int) -> str:
    """Return a band as people say it."""
    if number == len(DISTANCES):
        return f"over {DISTANCES[-1]} miles"
    return f"{DISTANCES[number - 1]} to {DISTANCES[number]} miles" if number else f"up to {DISTANCES[0]} miles"


def by_distance(report: Report) -> Table:
    """Return costs by road distance from where the car stood."""
    return _grouped(
        "by_distance", "Cost by distance", "distance", done(report), lambda row: distance_band(row.metres), band_name
    )


def by_region(report: Report) -> Table:
    """Return costs by nation and postcode area of the door."""
    return _grouped(
        "by_region", "Cost by region", "region", done(report), lambda row: (row.nation, row.area),
        lambda pair: f"{pair[1]}, {pair[0]}",
    )  # fmt: skip


def by_day(report: Report) -> Table:
    """Return cost, charge, promises and gases of each day."""
    rows = []
    for day in report.days:
        cars = [row for row in report.cars if row.day == day.day]
        own = [row for row in report.runs if row.day == day.day]
        made = [row for row in cars if row.kind is MoveKind.DELIVERY and row.by is not None]
        charged = sum(row.charge_net_pence or 0 for row in made)
        driven = sum(row.metres + row.support_metres for row in own)
        empty = sum(row.empty_metres + row.support_metres for row in own)
        rows.append((
            day.day, len(own), len(made), sum(row.cost_pence for row in own), charged, day.behind, day.held,
            driven, _share(empty, driven), sum(row.duty_min for row in own), sum(row.grams for row in own),
        ))  # fmt: skip
    columns = (
        ("day", Unit.DAY), ("runs", Unit.COUNT), ("deliveries", Unit.COUNT), ("cost of runs", Unit.POUNDS),
        ("charged", Unit.POUNDS), ("left behind", Unit.COUNT), ("held", Unit.COUNT), ("miles", Unit.MILES),
        ("empty", Unit.SHARE), ("duty", Unit.HOURS), ("CO2e", Unit.KG),
    )  # fmt: skip
    return Table(key="by_day", title="Day by day", columns=columns, rows=tuple(rows))


def promises(report: Report) -> Table:
    """Return how many promises each day kept."""
    rows = []
    for day in report.days:
        outcomes = [row.outcome for row in report.cars if row.day == day.day and row.outcome]
        kept, late, held = (outcomes.count(outcome) for outcome in (KEPT, LATE, HELD))
        rows.append((day.day, len(outcomes), kept, late, held, _share(kept, len(outcomes))))
    columns = (
        ("day", Unit.DAY), ("promised", Unit.COUNT), (KEPT, Unit.COUNT), (LATE, Unit.COUNT), (HELD, Unit.COUNT),
        ("share kept", Unit.SHARE),
    )  # fmt: skip
    return Table(
        key="promises", title="Kept promises", columns=columns, rows=tuple(rows),
        note="Kept: planned to start inside the promised window on the promised day. Held back: a gate was not passed.",
    )  # fmt: skip


def miles_table(report: Report) -> Table:
    """Return miles and fuel by kind of run, with the empty ones and those of support cars."""
    rows = []
    for kind in RunKind:
        own = [row for row in report.runs if row.kind is kind]
        if own:
            driven, support = sum(row.metres for row in own), sum(row.support_metres for row in own)
            empty = sum(row.empty_metres for row in own)
            worth = approved_pence(Decimal(support) / Decimal(str(METRES_A_MILE)))
            rows.append((
                str(kind), len(own), driven, empty, support, _share(empty + support, driven + support),
                sum(row.ride_min for row in own), sum(row.litres for row in own), sum(row.kwh for row in own),
                sum(row.grams for row in own), float(worth),
            ))  # fmt: skip
    columns = (
        ("method", Unit.TEXT), ("runs", Unit.COUNT), ("miles", Unit.MILES), ("empty miles", Unit.MILES),
        ("support car miles", Unit.MILES), ("share empty", Unit.SHARE), ("rides home", Unit.HOURS), ("fuel", Unit.LITRES),
        ("charge", Unit.KWH), ("CO2e", Unit.KG), ("support miles at approved rate", Unit.POUNDS),
    )  # fmt: skip
    return Table(
        key="miles", title="Miles, fuel and gases", columns=columns, rows=tuple(rows),
        note="Empty: a leg that moves no car. The last column is what support miles would be worth in drivers' own cars at the "
             "approved mileage rates (45p, 25p above 10,000 miles), as if one driver had driven them all.",
    )  # fmt: skip


def crews(report: Report) -> Table:
    """Return what each crew worked."""
    found: dict[str, list[RunRow]] = defaultdict(list)
    for row in report.runs:
        if row.kind is not RunKind.HIRED:
            found[row.crew].append(row)
    days = len(report.days)
    rows = tuple(
        (crew, len(own), _share(len({row.day for row in own}), days), sum(row.cars for row in own),
         sum(row.duty_min for row in own), sum(row.drive_min for row in own), sum(row.overtime_min for row in own),
         sum(row.nights for row in own), sum(row.metres for row in own))
        for crew, own in sorted(found.items())
    )  # fmt: skip
    columns = (
        ("crew", Unit.TEXT), ("runs", Unit.COUNT), ("days out", Unit.SHARE), ("cars", Unit.COUNT), ("duty", Unit.HOURS),
        ("driving", Unit.HOURS), ("overtime", Unit.HOURS), ("nights out", Unit.COUNT), ("miles", Unit.MILES),
    )  # fmt: skip
    return Table(
        key="crews", title="Use of crews", columns=columns, rows=rows,
        note="Hours are a planning aid: the operator's transport manager, the tachograph and the law decide.",
    )  # fmt: skip


def decks(report: Report) -> Table:
    """Return how full each transporter was."""
    found: dict[str, list[RunRow]] = defaultdict(list)
    for row in report.runs:
        if row.transporter:
            found[row.transporter].append(row)
    days = len(report.days)
    rows = tuple(
        (name, own[0].slots, len(own), _share(len({row.day for row in own}), days), sum(row.cars for row in own),
         _share(sum(row.most_aboard for row in own), sum(row.slots for row in own)),
         _share(sum(row.used_slot_metres for row in own), sum(row.slot_metres for row in own)), sum(row.metres for row in own))
        for name, own in sorted(found.items())
    )  # fmt: skip
    columns = (
        ("transporter", Unit.TEXT), ("slots", Unit.COUNT), ("runs", Unit.COUNT), ("days out", Unit.SHARE), ("cars", Unit.COUNT),
        ("fullest, of slots", Unit.SHARE), ("slot-miles with a car", Unit.SHARE), ("miles", Unit.MILES),
    )  # fmt: skip
    return Table(key="decks", title="Use of decks", columns=columns, rows=rows)


def _saving(row: CarRow) -> int | None:
    return None if row.alone_pence is None or row.added_pence is None else row.alone_pence - row.added_pence


def part_exchanges(report: Report) -> Table:
    """Return what taking each part-exchange in the visit of its delivery saved."""
    rows = tuple(
        (row.day, row.move, row.run, row.metres, row.alone_pence, row.added_pence, _saving(row))
        for row in report.cars
        if row.kind is MoveKind.PART_EXCHANGE and row.by is not None
    )
    columns = (
        ("day", Unit.DAY), ("move", Unit.TEXT), ("run", Unit.TEXT), ("miles", Unit.MILES), ("fetched alone", Unit.POUNDS),
        ("added to its run", Unit.POUNDS), ("saved", Unit.POUNDS),
    )  # fmt: skip
    return Table(
        key="part_exchanges", title="Part-exchanges taken along", columns=columns, rows=rows,
        note="Fetched alone: the cheapest run for that car only. Added: the run with it less the run without it; below zero "
             "where it is the driver's way home.",
    )  # fmt: skip


def _left_over(row: CarRow) -> int | None:
    return None if row.charge_net_pence is None or row.by is None else row.charge_net_pence - row.cost_pence


def deliveries(report: Report) -> Table:
    """Return every car of the period."""
    rows = tuple(
        (row.day, row.move, str(row.kind), str(row.by or ""), row.run, row.area, row.nation, row.metres, row.cost_pence,
         row.charge_net_pence, _left_over(row), row.outcome, row.grams)
        for row in report.cars
    )  # fmt: skip
    columns = (
        ("day", Unit.DAY), ("move", Unit.TEXT), ("kind", Unit.TEXT), ("method", Unit.TEXT), ("run", Unit.TEXT),
        ("area", Unit.TEXT), ("nation", Unit.TEXT), ("miles", Unit.MILES), ("cost", Unit.POUNDS), ("charged", Unit.POUNDS),
        ("left over", Unit.POUNDS), ("promise", Unit.TEXT), ("CO2e", Unit.KG),
    )  # fmt: skip
    return Table(key="cars", title="Every car", columns=columns, rows=rows)


def runs(report: Report) -> Table:
    """Return every run of the period."""
    rows = tuple(
        (row.day, row.run, str(row.kind), row.crew, row.transporter, row.cars, row.cost_pence, row.duty_min, row.drive_min,
         row.metres, _share(row.empty_metres, row.metres), row.litres, row.kwh, row.grams)
        for row in report.runs
    )  # fmt: skip
    columns = (
        ("day", Unit.DAY), ("run", Unit.TEXT), ("kind", Unit.TEXT), ("crew", Unit.TEXT), ("transporter", Unit.TEXT),
        ("cars", Unit.COUNT), ("cost", Unit.POUNDS), ("duty", Unit.HOURS), ("driving", Unit.HOURS), ("miles", Unit.MILES),
        ("empty", Unit.SHARE), ("fuel", Unit.LITRES), ("charge", Unit.KWH), ("CO2e", Unit.KG),
    )  # fmt: skip
    return Table(key="runs", title="Every run", columns=columns, rows=rows)


def number(value: Cell, unit: Unit) -> Cell:
    """Return a cell in the unit of its heading: pounds, miles, hours, kilograms; text and dates as they are."""
    if value is None or not isinstance(value, int | float):
        return value
    divisor = {Unit.POUNDS: 100.0, Unit.MILES: METRES_A_MILE, Unit.HOURS: 60.0, Unit.KG: 1000.0}.get(unit)
    if divisor is None:
        return value if unit in (Unit.COUNT, Unit.TEXT) else round(float(value), 4)
    return round(value / divisor, 2)


def shown(value: Cell, unit: Unit) -> str:
    """Return a cell as people read it; a dash for what is not known."""
    if value is None:
        return "–"
    if isinstance(value, date):
        return f"{value:%a} {value.day} {value:%b %Y}"
    if isinstance(value, str):
        return value
    converted = number(value, unit)
    assert isinstance(converted, int | float)
    if unit is Unit.POUNDS:
        return f"{'-' if converted < 0 else ''}£{abs(converted):,.2f}"
    if unit is Unit.SHARE:
        return f"{value:.1%}"
    if unit is Unit.COUNT:
        return f"{value:,.0f}"
    suffix = {Unit.HOURS: " h", Unit.KG: " kg", Unit.LITRES: " l", Unit.KWH: " kWh"}.get(unit, "")
    return f"{converted:,.1f}{suffix}"


def headed(table: Table) -> Iterator[tuple[str, Unit]]:
    """Yield each heading with its unit in brackets, and the unit."""
    marks = {Unit.POUNDS: "pounds", Unit.MILES: "miles", Unit.HOURS: "hours", Unit.KG: "kg", Unit.LITRES: "litres",
             Unit.KWH: "kWh", Unit.SHARE: "share"}  # fmt: skip
    for heading, unit in table.columns:
        mark = marks.get(unit, "")
        yield (f"{heading} ({mark})" if mark and mark not in heading else heading), unit
