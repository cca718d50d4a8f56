"""
The load sheet: the deck of a transporter after every stop at which a car comes on or is moved, with what is done in order.

It is there when the deck of the day is known; cars are called by their registration.
"""

from dataclasses import dataclass, replace

from planner.model.cars import Car
from planner.model.day import Day
from planner.rules.load_plan import LoadPlan
from planner.rules.load_plan_steps import LoadedStage
from planner.runs.loading import load
from planner.runs.run import Run
from planner.sheets.cautions import Caution, cautions, run_facts
from planner.sheets.deck_drawing import draw_deck
from planner.sheets.load_figures import licence_text
from planner.sheets.load_ticks import low_bridge_warning, tick_list
from planner.sheets.plain_text import plate, vehicle_name
from planner.sheets.stamp import Stamp
from planner.sheets.words import words


@dataclass(frozen=True, kw_only=True, slots=True)
class DeckStage:
    """The deck when one stop is done: what was done in order, the drawing (SVG), what is ticked before leaving."""

    title: str
    steps: tuple[str, ...]
    drawing: str
    ticks: tuple[str, ...]


@dataclass(frozen=True, kw_only=True, slots=True)
class LoadSheet:
    """Everything on the load sheet of one run; ``height_mm`` is the tallest that it stands all day."""

    run_id: str
    date: str
    vehicle: str
    deck: str
    height_mm: int
    licence: str
    warning: str
    stages: tuple[DeckStage, ...]
    cautions: tuple[Caution, ...]  # those that are read while loading
    stamp: Stamp
    language: str = "en"


def load_sheet(day: Day, run: Run, *, stamp: Stamp | None = None) -> LoadSheet | None:
    """Return the load sheet of a transporter's run, None where no deck was laid out."""
    found = load(day, run.itinerary)
    if not isinstance(found, LoadPlan):
        return None
    marks = {str(move): plate(day.move_of[move].car.registration) for move in run.itinerary.moves}
    cars = {mark: day.move_of[move].car for move, mark in zip(run.itinerary.moves, marks.values(), strict=True)}
    stages = tuple(
        _stage(found, _by_registration(stage, marks), cars, number, day.policy.route_height_mm)
        for number, stage in enumerate(found.stages, start=1)
        if stage.placed and (run.itinerary.stops[number - 1].takes or stage.moved)
    )
    return LoadSheet(
        run_id=run.run_id,
        date=f"{day.clock.day:%A %d %B %Y}",
        vehicle=vehicle_name(day, run, words()),
        deck=found.deck.name,
        height_mm=found.height_mm,
        licence=licence_text(day, run),
        warning=low_bridge_warning(found.height_mm, day.policy.route_height_mm) or "",
        stages=stages,
        cautions=tuple(one for one in cautions(run_facts(day, run, loaded_height_mm=found.height_mm)) if one.at_deck),
        stamp=stamp or Stamp(),
    )


def _by_registration(stage: LoadedStage, marks: dict[str, str]) -> LoadedStage:
    return replace(
        stage,
        steps=tuple(replace(step, key=marks[step.key]) for step in stage.steps),
        placed=tuple((marks[key], slot) for key, slot in stage.placed),
        moved=tuple(marks[key] for key in stage.moved),
    )


def _stage(plan: LoadPlan, stage: LoadedStage, cars: dict[str, Car], number: int, route_height_mm: int) -> DeckStage:
    w = words()
    title = f"{number}. {stage.says}"
    aboard = {key: cars[key] for key, _ in stage.placed}
    return DeckStage(
        title=title,
        steps=tuple(w(f"load.{step.kind.name.lower()}", car=step.key, slot=step.slot) for step in stage.steps),
        drawing=draw_deck(plan.deck, stage, aboard, title=title, route_height_mm=route_height_mm),
        ticks=tick_list(plan.deck, stage, {key: car.mass_kg for key, car in aboard.items()}),
    )
