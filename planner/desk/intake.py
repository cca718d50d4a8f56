"""
Intake: the files of a day folder, already text, made into one frozen day, or into every problem they have at once.

Nothing of a file is dropped or changed in silence: what is left out, assumed or carried over is said in ``Day.notes``.
Geography comes in as two functions, so that this room knows no map.
"""

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import date
from typing import Protocol

from planner.clock import DayClock
from planner.desk.intake_atlas import Atlas, Locate, read_compounds
from planner.desk.intake_calendar import pays_weekend
from planner.desk.intake_columns import TABLES
from planner.desk.intake_crews import identifiers, read_carriers, read_drivers, read_transporters
from planner.desk.intake_orders import Office, OrderBook, cut_offs, read_orders
from planner.desk.intake_policy import FILE as POLICY_FILE
from planner.desk.intake_policy import HouseRules, read_policy
from planner.desk.intake_rates import FILE as RATES_FILE
from planner.desk.intake_rates import read_rates
from planner.desk.intake_table import RawTable, Row, read_rows
from planner.desk.intake_warnings import warnings
from planner.faults import BadFiles, Problem
from planner.model.cars import Fuel
from planner.model.crews import Carrier, Driver, Transporter, VehicleClass
from planner.model.day import Day
from planner.model.deck_text import read_decks
from planner.model.decks import Deck, library
from planner.model.places import Place
from planner.model.policy import Policy
from planner.model.rates import Rates
from planner.model.rides import RideOverride, ride_table
from planner.model.travel import Charge, TravelTable

DECKS_FILE = "decks.toml"


class Tables(Protocol):
    """Makes the travel tables of some places for some classes of vehicle, with the charges in force on a day."""

    def __call__(
        self, places: Sequence[Place], classes: Iterable[VehicleClass], /, *, day: date,
    ) -> tuple[dict[VehicleClass, TravelTable], tuple[Charge, ...]]:  # fmt: skip
        """Return the tables by class, and the charges that their masks speak of."""


@dataclass(frozen=True, kw_only=True, slots=True)
class DayFiles:
    """What a day folder holds, as text; ``problems`` and ``notes`` are what was found while reading it."""

    tables: Mapping[str, RawTable]  # by the names of intake_columns.TABLES
    policy: str = ""
    rates: str = ""
    decks: str = ""  # the firm's own loading surfaces, beside those of the library
    problems: tuple[Problem, ...] = ()
    notes: tuple[str, ...] = ()


@dataclass(kw_only=True, slots=True)
class _Gathered:
    """Everything read from the tables, sound or not."""

    orders: OrderBook
    drivers: list[Driver]
    transporters: list[Transporter]
    carriers: list[Carrier]
    overrides: list[RideOverride] = field(default_factory=list)


def planning_day(files: DayFiles) -> date | None:
    """Return the planning day that ``policy.toml`` names, None when it names none."""
    return read_policy(files.policy, [])[1].day


def read_day(files: DayFiles, *, locate: Locate, tables: Tables, on: date | None = None) -> Day:
    """
    Return the day that the files describe.

    Parameters
    ----------
    files
        Texts and cells of the folder.
    locate
        Turns a postcode into a place.
    tables
        Makes travel tables; called once, and only when there are no problems.
    on
        The planning day; ``policy.toml`` names it when this is None.

    Raises
    ------
    BadFiles
        With every problem of every file.

    """
    problems = list(files.problems)
    policy, rules = read_policy(files.policy, problems)
    on = on or rules.day
    if on is None:
        says = "no planning day is given"
        problems.append(Problem(file=POLICY_FILE, column="day", says=says, advice="Add a line such as: day = 2026-11-26"))
    rows = _rows(files, rules, problems)
    on = on or _likely_day(rows["orders"])
    if on is None:
        raise BadFiles(_in_order(problems))
    clock = DayClock(on, rules.zone)
    atlas = Atlas(locate)
    decks = _decks(files, problems)
    gathered = _gather(rows, atlas, clock, policy, rules, decks, problems)
    rates = _rates(files, gathered, atlas, clock, rules, problems)
    if problems:
        raise BadFiles(_in_order(problems))
    day = _freeze(files, gathered, atlas, clock, policy, rates, tables)
    used = {transporter.deck for transporter in gathered.transporters}
    day = replace(day, decks={name: deck for name, deck in decks.items() if name in used})
    return replace(day, notes=tuple(dict.fromkeys((*day.notes, *warnings(day)))))


def _rows(files: DayFiles, rules: HouseRules, problems: list[Problem]) -> dict[str, list[Row]]:
    found = {}
    for name, (columns, _) in TABLES.items():
        ignored = frozenset(item.removeprefix(f"{name}.") for item in rules.ignored_columns if item.startswith(f"{name}."))
        found[name] = read_rows(files.tables[name], columns, problems, ignored=ignored) if name in files.tables else []
    return found


def _likely_day(orders: list[Row]) -> date | None:
    """Return the date most orders are promised for, by which the rest can be checked while no planning day is given."""
    promised = Counter(row["promised"] for row in orders if row["promised"] is not None)
    return promised.most_common(1)[0][0] if promised else None


def _decks(files: DayFiles, problems: list[Problem]) -> dict[str, Deck]:
    """Return the decks by name: the library's, and the firm's own, which take the place of those of the same name."""
    try:
        return {**library(), **read_decks(files.decks, DECKS_FILE)}
    except BadFiles as fault:
        problems += fault.problems
        return library()


def _gather(
    rows: Mapping[str, list[Row]], atlas: Atlas, clock: DayClock, policy: Policy, rules: HouseRules,
    decks: Mapping[str, Deck], problems: list[Problem],
) -> _Gathered:  # fmt: skip
    read_compounds(rows["compounds"], atlas, clock, rules)
    transporters = read_transporters(rows["transporters"], atlas, clock, decks)
    carriers = read_carriers(rows["carriers"], clock)
    office = Office(
        clock=clock, policy=policy, rules=rules, atlas=atlas, cut_offs=cut_offs(clock, rules, problems),
        drivers=identifiers(rows["drivers"], "driver"), transporters=identifiers(rows["transporters"], "transporter"),
        may_carry=lambda mass_kg: _may_carry(mass_kg, transporters, carriers if policy.hired_carriers else []),
    )  # fmt: skip
    return _Gathered(
        orders=read_orders(rows["orders"], office),
        drivers=read_drivers(rows["drivers"], atlas, clock, office.transporters),
        transporters=transporters,
        carriers=carriers,
        overrides=_overrides(rows["rides"]),
    )  # fmt: skip


def _overrides(rows: list[Row]) -> list[RideOverride]:
    """Return the rides the office knows better; a pair of districts that stands twice, either way round, is noted."""
    first: dict[frozenset[str], int] = {}
    for row in rows:
        pair = frozenset((row["district"] or "", row["other_district"] or ""))
        if "" not in pair and (earlier := first.setdefault(pair, row.number)) != row.number:
            row.refuse("other_district", f"these two districts stand in row {earlier} already", "Keep one; it holds both ways.")
    return [
        RideOverride(
            district=row["district"], other_district=row["other_district"], minutes=row["minutes"], fare_pence=row["fare"],
        )
        for row in rows if row.is_sound
    ]  # fmt: skip


def _may_carry(mass_kg: int, transporters: Iterable[Transporter], carriers: Iterable[Carrier]) -> bool:
    return any(mass_kg <= transporter.payload_kg for transporter in transporters) or any(
        mass_kg <= carrier.max_mass_kg and carrier.cars for carrier in carriers
    )


def _rates(
    files: DayFiles, gathered: _Gathered, atlas: Atlas, clock: DayClock, rules: HouseRules, problems: list[Problem],
) -> Rates:  # fmt: skip
    bases = {driver.base for driver in gathered.drivers}
    nations = {compound.place.nation for compound in atlas.compounds.values() if compound.place_id in bases}
    fuels = {car.fuel for car in gathered.orders.cars} | {Fuel.PETROL}  # a support car is priced as petrol
    fuels |= {Fuel.ELECTRIC if transporter.is_electric else Fuel.DIESEL for transporter in gathered.transporters}
    found = [] if any(problem.file == RATES_FILE for problem in files.problems) else problems
    return read_rates(
        files.rates, clock.day, found, fuels=fuels, roles={driver.role for driver in gathered.drivers},
        classes={VehicleClass.CAR} | {transporter.vehicle_class for transporter in gathered.transporters},
        is_weekend=pays_weekend(clock.day, nations, rules),
    )  # fmt: skip


def _in_order(problems: list[Problem]) -> list[Problem]:
    """Return the problems file by file as the folder is read, each file from the top, none twice."""
    order = [*(f"{name}." for name in TABLES), DECKS_FILE, RATES_FILE, POLICY_FILE]

    def rank(problem: Problem) -> tuple[int, int]:
        file = next((at for at, name in enumerate(order) if problem.file.startswith(name)), -1)
        return file, problem.row or 0

    return sorted(dict.fromkeys(problems), key=rank)


def _freeze(
    files: DayFiles, gathered: _Gathered, atlas: Atlas, clock: DayClock, policy: Policy, rates: Rates, tables: Tables,
) -> Day:  # fmt: skip
    book, places = gathered.orders, atlas.places
    classes = {VehicleClass.CAR, VehicleClass.GOODS_3500} | {transporter.vehicle_class for transporter in gathered.transporters}
    made, charges = tables(places, sorted(classes), day=clock.day)
    notes = [*files.notes, *atlas.notes, *book.notes]
    if rates.is_weekend:
        notes.append(f"{clock.day:%A %d %B %Y} pays weekend wages.")
    return Day(
        clock=clock, places=places, compounds=tuple(atlas.compounds.values()), orders=tuple(book.orders),
        moves=tuple(book.moves), drivers=tuple(gathered.drivers), transporters=tuple(gathered.transporters),
        carriers=tuple(gathered.carriers), rates=rates, policy=policy, charges=charges, tables=made,
        rides=ride_table(made[VehicleClass.CAR], policy, places, gathered.overrides), held=tuple(book.held),
        later=tuple(book.later_deliveries), notes=tuple(notes),
    )  # fmt: skip
