"""
Loading: the stops of a transporter run as a load plan, or the limit of the deck that binds.

Without a deck of that name on the day only slots and payload are checked (:mod:`planner.runs.crew_fit`).
"""

from dataclasses import replace
from functools import partial

from planner.model.crews import Transporter
from planner.model.day import Day
from planner.model.decks import Deck
from planner.model.moves import MoveId
from planner.rules.load_plan import LoadPlan, Stage, crowded, plan_load, plan_load_from, standing_first, under_route
from planner.rules.load_plan_arrays import Size
from planner.rules.load_plan_reasons import NoLoad
from planner.runs.refusal import Refusal
from planner.runs.run import Itinerary


def load(day: Day, itinerary: Itinerary) -> LoadPlan | Refusal | None:
    """Return the load plan with fewest reshuffles below the route's height, why there is none, or None where no deck is known."""
    transporter = day.transporter_of[itinerary.transporter] if itinerary.transporter else None
    deck = deck_of(day, transporter) if transporter else None
    if transporter is None or deck is None:
        return None
    stages = _stages(day, itinerary)
    done = itinerary.past.visits if itinerary.past else ()
    tallest_mm, minutes = day.policy.route_height_mm, day.policy.reshuffle_min
    if done:
        standing, to_come = [(move, slot, day.move_of[move].car) for move, slot in done[-1].slots], stages[len(done) :]
        whole = standing_first(standing, to_come)
        plan = under_route(deck, tallest_mm, whole, lambda low: plan_load_from(low, standing, to_come, reshuffle_min=minutes))
        if isinstance(plan, LoadPlan):  # one stage a stop: those that are done are as the last of them left the deck
            plan = replace(plan, stages=(plan.stages[0],) * len(done) + plan.stages[1:])
    else:
        plan = under_route(deck, tallest_mm, stages, partial(plan_load, stages=stages, reshuffle_min=minutes))
    if isinstance(plan, NoLoad):
        return Refusal(rule="deck", says=f"{transporter.name}: {plan.says}")
    if plan.height_mm > day.policy.route_height_mm:
        return Refusal(
            rule="height",
            says=f"{transporter.name} would stand {plan.height_mm} mm high, above {day.policy.route_height_mm} mm for the route",
        )
    return plan


def deck_of(day: Day, transporter: Transporter) -> Deck | None:
    """Return the deck of a transporter with what its plate lets it carry; None where the day knows none of that name."""
    deck = day.decks.get(transporter.deck)
    return deck and deck.with_payload(transporter.payload_kg)


def crowded_by(day: Day, itinerary: Itinerary) -> tuple[Size, ...]:
    """Return sizes of cars that a transporter run would have aboard and that cannot stand on its deck; none when all can."""
    deck = deck_of(day, day.transporter_of[itinerary.transporter]) if itinerary.transporter else None
    return crowded(deck, _stages(day, itinerary)) if deck else ()


def _stages(day: Day, itinerary: Itinerary) -> tuple[Stage, ...]:
    return tuple(
        Stage(off=stop.leaves, on=tuple((move, day.move_of[move].car) for move in stop.takes), says=day.place_of[stop.place].name)
        for stop in itinerary.stops
    )


def moved_at(plan: LoadPlan, stop: int) -> tuple[MoveId, ...]:
    """Return the cars that stay aboard but are moved out of the way and back at a stop."""
    return tuple(MoveId(key) for key in plan.stages[stop].moved)


def slots_after(plan: LoadPlan, stop: int) -> tuple[tuple[MoveId, str], ...]:
    """Return each car aboard after a stop with its slot, in the order in which they went on."""
    return tuple((MoveId(key), slot) for key, slot in plan.stages[stop].placed)
