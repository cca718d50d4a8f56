"""
Load files: a deck, cars and stops in one small TOML, for trying a load by hand.

.. code-block:: toml

    deck = "two-car-7500"       # from the library, or a table [deck] of your own
    payload_kg = 2900           # optional: what the plate of this vehicle leaves
    reshuffle_min = 15          # optional
    route_height_mm = 4950      # optional: warn above it

    [cars.AB12CDE]              # one table a car, by registration
    make_model = "Corvid 4"     # optional
    mass_kg = 1380
    length_mm = 4210
    height_mm = 1470
    width_mm = 1800             # optional
    ground_clearance_mm = 140   # optional

    [[stages]]                  # optional: without stages every car is loaded, then left in the order written
    says = "Swindon compound"
    on = ["AB12CDE"]
    [[stages]]
    says = "1 High Street"
    off = ["AB12CDE"]
"""

from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from planner.faults import BadFiles, Problem
from planner.model.cars import BELIEVED, Car, plain_registration
from planner.model.deck import Deck
from planner.model.deck_text import read_deck, read_tables
from planner.model.decks import library
from planner.rules.load_plan import Stage

CAR_NEEDS = ("mass_kg", "length_mm", "height_mm")
CAR_MAY = ("width_mm", "ground_clearance_mm")
TOP = ("deck", "payload_kg", "reshuffle_min", "route_height_mm", "cars", "stages")


@dataclass(frozen=True, kw_only=True, slots=True)
class LoadFile:
    """What a load file holds; cars by key."""

    deck: Deck
    cars: dict[str, Car]
    stages: tuple[Stage, ...]
    reshuffle_min: int = 15
    route_height_mm: int | None = None

    @property
    def never_aboard(self) -> tuple[str, ...]:
        """Cars of the file that come on at no stop."""
        aboard = {key for stage in self.stages for key, _ in stage.on}
        return tuple(key for key in self.cars if key not in aboard)


def read_load(text: str, file: str) -> LoadFile:
    """
    Return the deck, cars and stages of a load file.

    Raises
    ------
    BadFiles
        With every problem found; ``file`` names the text in them.

    """
    reader = _Reader(read_tables(text, file), file)
    load = reader.read()
    if load is None:
        raise BadFiles(reader.problems)
    return load


class _Reader:
    """Reads one table, gathering what is wrong with it."""

    def __init__(self, table: dict[str, Any], file: str) -> None:
        self.table, self.file = table, file
        self.problems: list[Problem] = []

    def wrong(self, column: str, says: str, advice: str, value: Any = "") -> None:
        """Note one problem."""
        self.problems.append(Problem(file=self.file, column=column, says=says, value=str(value), advice=advice))

    def read(self) -> LoadFile | None:
        """Return the load, None when anything is wrong."""
        for key in sorted(self.table.keys() - set(TOP)):
            self.wrong(key, "is no field we know", f"Known are {', '.join(TOP)}.")
        deck, cars = self.deck(), self.cars()
        stages = self.stages(cars) if "stages" in self.table else self.straight(cars)
        reshuffle = self.whole(self.table, "reshuffle_min", "", (0, None))
        height, payload = (self.whole(self.table, name, "", (1, None)) for name in ("route_height_mm", "payload_kg"))
        if deck is not None and payload is not None and payload >= deck.gross_kg + deck.trailer_kg:
            self.wrong("payload_kg", "is not below the gross mass", "Give what the plate leaves for cars.", payload)
        if self.problems or deck is None:
            return None
        return LoadFile(deck=deck.with_payload(payload) if payload else deck, cars=cars, stages=stages, route_height_mm=height,
                        reshuffle_min=15 if reshuffle is None else reshuffle)  # fmt: skip

    def deck(self) -> Deck | None:
        """Return the deck by name, or the one written out."""
        named = self.table.get("deck")
        if isinstance(named, Mapping):
            plain = {key: value for key, value in named.items() if key != "name"}
            return read_deck(plain, file=self.file, name=str(named.get("name", "this deck")), problems=self.problems)
        if named in library():
            return library()[named]
        known = f"Take one of {', '.join(library())}, or write a table [deck] of your own."
        self.wrong("deck", "is missing" if named is None else "is no deck we know", known, named or "")
        return None

    def cars(self) -> dict[str, Car]:
        """Return every car that is written well."""
        rows = self.table.get("cars")
        if not isinstance(rows, Mapping) or not rows:
            self.wrong("cars", "are missing", "Write [cars.REGISTRATION] and its mass_kg, length_mm and height_mm.")
            return {}
        cars = {}
        for key, row in rows.items():
            where = f"cars.{key}"
            if not isinstance(row, Mapping):
                self.wrong(where, "is no table", f"Write [{where}] and its figures below.")
                continue
            before = len(self.problems)
            for name in sorted(row.keys() - {*CAR_NEEDS, *CAR_MAY, "make_model"}):
                known = ", ".join((*CAR_NEEDS, *CAR_MAY, "make_model"))
                self.wrong(f"{where}.{name}", "is no field we know", f"Known are {known}.")
            given: dict[str, Any] = {}
            for name in (*CAR_NEEDS, *CAR_MAY):
                figure = self.whole(row, name, f"{where}.", BELIEVED[name], needed=name in CAR_NEEDS)
                given |= {} if figure is None else {name: figure}
            if len(self.problems) == before:
                cars[key] = Car(registration=plain_registration(key), make_model=str(row.get("make_model", "")), **given)
        return cars

    def whole(
        self, row: Mapping[str, Any], name: str, where: str, ends: tuple[int, int | None], *, needed: bool = False
    ) -> int | None:
        """Return a whole number between two ends, None when it is not there or wrong."""
        least, most = ends
        value = row.get(name)
        if value is None:
            if needed:
                self.wrong(f"{where}{name}", "is missing", "Add it.")
            return None
        if not isinstance(value, int) or isinstance(value, bool) or value < least or (most is not None and value > most):
            span = f"from {least} on" if most is None else f"from {least:,} to {most:,}"
            self.wrong(f"{where}{name}", "is no whole number we can use", f"Give a whole number {span}.", value)
            return None
        return value

    def straight(self, cars: dict[str, Car]) -> tuple[Stage, ...]:
        """Return the stages when none are written: all on, then off one by one as written."""
        return (Stage(on=tuple(cars.items()), says="loading"), *(Stage(off=(key,), says=f"stop for {key}") for key in cars))

    def stages(self, cars: dict[str, Car]) -> tuple[Stage, ...]:
        """Return the stages as written, each key known and in turn."""
        rows = self.table["stages"]
        if not isinstance(rows, list) or not rows or not all(isinstance(row, Mapping) for row in rows):
            self.wrong("stages", "are no list of tables", "Write [[stages]] before each stop.")
            return ()
        named = self.table.get("cars")
        known = set(named) if isinstance(named, Mapping) else set(cars)
        stages, aboard, seen = [], set[str](), Counter[str]()
        for number, row in enumerate(rows, start=1):
            where = f"stages[{number}]"
            for name in sorted(row.keys() - {"says", "on", "off"}):
                self.wrong(f"{where}.{name}", "is no field we know", "Known are says, on, off.")
            off, on = (self.keys(row.get(name, []), f"{where}.{name}", known) for name in ("off", "on"))
            for key in off:
                if key not in aboard:
                    self.wrong(f"{where}.off", "goes off without being aboard", "Let it come on at an earlier stop, once.", key)
                aboard.discard(key)
            for key in on:
                seen[key] += 1
                if seen[key] > 1:
                    self.wrong(f"{where}.on", "comes on twice", "Let it come on once.", key)
                aboard.add(key)
            stages.append(Stage(off=off, on=tuple((key, cars[key]) for key in on if key in cars), says=str(row.get("says", ""))))
        return tuple(stages)

    def keys(self, names: Any, where: str, known: set[str]) -> tuple[str, ...]:
        """Return the registrations of a list, each of them a car of the file."""
        if not isinstance(names, list) or not all(isinstance(name, str) for name in names):
            self.wrong(where, "is no list of registrations", 'Write it as ["AB12CDE"].', names)
            return ()
        for name in names:
            if name not in known:
                self.wrong(where, "is no car of this file", "Add it under [cars], or correct it.", name)
        return tuple(name for name in names if name in known)
