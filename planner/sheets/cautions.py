"""
Cautions: the reminders that match one run, their triggers in ``cautions.toml`` and their text in the catalogue of words.

Each caution has one trigger, a field of :class:`RunFacts`; an empty or false fact prints nothing.  They are reminders:
law, makers' handbooks and the operator's transport manager decide.
"""

import tomllib
from dataclasses import asdict, dataclass
from functools import cache
from importlib.resources import files

from planner.model.cars import Fuel
from planner.model.crews import Transporter
from planner.model.day import Day
from planner.model.moves import Move, MoveKind
from planner.runs.run import ActivityKind, Run
from planner.sheets.plain_text import height_text, plate
from planner.sheets.words import words

LONG_DRIVE_MIN = 120  # Highway Code rule 91: a break after every two hours
HEIGHT_NOTICE_MM = 3000  # Construction and Use Regulations 1986, reg. 10 (from memory): a notice in the cab above 3.0 m
UPPER_DECK_FROM_SLOTS = 4  # common practice, where the deck is not described: more than three cars need two levels
UPPER_DECK_ABOVE_MM = 1500  # wheels higher than this stand on no lower deck


@dataclass(frozen=True, kw_only=True, slots=True)
class RunFacts:
    """What is true of a run, as the triggers ask for it; text where the caution names something."""

    has_crew: bool = False
    drives_a_car: bool = False
    transporter_over_3500: bool = False
    starts_a_car: bool = False
    not_to_be_driven: str = ""
    above_3_m: bool = False
    height: str = ""
    unloads_at_a_door: bool = False
    uses_ramps: bool = False
    upper_deck: bool = False
    high_voltage: str = ""
    electric_carried: str = ""
    uses_plates: bool = False
    pays_on_the_way: bool = False
    long_drive: bool = False
    fetches_a_return: bool = False
    alone_at_a_home: bool = False
    takes_a_part_exchange: bool = False
    straps_cars: bool = False


@dataclass(frozen=True, kw_only=True, slots=True)
class Caution:
    """One reminder as printed; ``stands_out`` ones are boxed and come first, ``at_deck`` ones are read while loading."""

    code: str
    says: str
    stands_out: bool
    basis: str
    at_deck: bool = False


@cache
def _library() -> dict[str, dict[str, str]]:
    return tomllib.loads(files(__package__).joinpath("cautions.toml").read_text(encoding="utf-8"))


def triggers() -> dict[str, str]:
    """Return the trigger of each caution by its code."""
    return {code: row["trigger"] for code, row in _library().items()}


def cautions(facts: RunFacts) -> tuple[Caution, ...]:
    """Return the cautions whose trigger holds, those that stand out first, then by code."""
    values, w = asdict(facts), words()
    found = [
        Caution(
            code=code,
            says=w(f"reminder.{code}", **values),
            stands_out=bool(row.get("stands_out")),
            basis=row["basis"],
            at_deck=row.get("place") == "deck",
        )
        for code, row in _library().items()
        if values[row["trigger"]]
    ]
    return tuple(sorted(found, key=lambda caution: (not caution.stands_out, caution.code)))


def run_facts(day: Day, run: Run, *, loaded_height_mm: int | None = None) -> RunFacts:
    """Return what the triggers ask about one run; ``loaded_height_mm`` from the load plan when there is one."""
    itinerary = run.itinerary
    if itinerary.carrier is not None:
        return RunFacts()
    moves = [day.move_of[move] for move in itinerary.moves]
    transporter = day.transporter_of[itinerary.transporter] if itinerary.transporter else None
    at_doors = [stop for stop in itinerary.stops if stop.place not in day.compound_of]
    kinds = {move.kind for move in moves}
    height_mm = max(loaded_height_mm or 0, transporter.unladen_height_mm if transporter else 0)
    return RunFacts(
        has_crew=True,
        drives_a_car=transporter is None,
        transporter_over_3500=transporter is not None and transporter.gross_kg > 3500,
        starts_a_car=bool(moves),
        not_to_be_driven=_names([move for move in moves if not move.car.may_be_driven]),
        above_3_m=height_mm > HEIGHT_NOTICE_MM,
        height=_height(height_mm, loaded_height_mm),
        unloads_at_a_door=transporter is not None and bool(at_doors),
        uses_ramps=transporter is not None and bool(moves),
        upper_deck=transporter is not None and _has_upper_deck(day, transporter),
        high_voltage=_names([move for move in moves if move.car.fuel.is_high_voltage]),
        electric_carried=_weights(moves, transporter),
        uses_plates=transporter is None,
        pays_on_the_way=any(visit.charges for visit in run.visits),
        long_drive=_driven_min(run) > LONG_DRIVE_MIN,
        fetches_a_return=MoveKind.RETURN in kinds,
        alone_at_a_home=bool(at_doors) and itinerary.support_driver is None,
        takes_a_part_exchange=MoveKind.PART_EXCHANGE in kinds,
        straps_cars=transporter is not None and bool(moves),
    )


def _has_upper_deck(day: Day, transporter: Transporter) -> bool:
    deck = day.decks.get(transporter.deck)
    if deck is None:
        return transporter.slots >= UPPER_DECK_FROM_SLOTS
    return any(slot.base_mm > UPPER_DECK_ABOVE_MM for slot in deck.slots)


def _names(moves: list[Move]) -> str:
    return ", ".join(plate(move.car.registration) for move in moves)


def _driven_min(run: Run) -> int:
    return sum(step.end_min - step.start_min for step in run.activities if step.kind is ActivityKind.DRIVE)


def _height(height_mm: int, loaded_height_mm: int | None) -> str:
    key = "caution.height_unladen" if loaded_height_mm is None else "caution.height_loaded"
    return words()(key, metres=height_text(loaded_height_mm or height_mm))


def _weights(moves: list[Move], transporter: Transporter | None) -> str:
    if transporter is None:
        return ""
    w = words()
    electric = [
        w("caution.kerb_mass", plate=plate(move.car.registration), kg=move.car.mass_kg)
        for move in moves
        if move.car.fuel is Fuel.ELECTRIC
    ]
    return w("caution.against_payload", cars=", ".join(electric), kg=transporter.payload_kg) if electric else ""
