"""
Loading: the stops of a transporter run as a load plan, or the limit of the deck that binds.

Without a deck of that name on the day only slots and payload are checked (:mod:`planner.runs.crew_fit`).
"""

from dataclasses import replace
from functools import partial

from planner.model.cars import Car
from planner.model.crews import Transporter
from planner.model.day import Day
from planner.model.decks import Deck
from planner.model.moves import MoveId
from planner.rules.load_plan import LoadPlan, Stage, crowded, moved_below, plan_load, plan_load_from, standing_first, under_route
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
    done = itinerary.past.visits if itinerary.past else ()
    tallest_mm, minutes, ahead = day.policy.route_height_mm, day.policy.reshuffle_min, _stages_ahead(day, itinerary)
    if done:
        standing, to_come = _standing(day, itinerary), ahead[1:]
        plan = under_route(deck, tallest_mm, ahead, lambda low: plan_load_from(low, standing, to_come, reshuffle_min=minutes))
        if isinstance(plan, LoadPlan):  # one stage a stop: those that are done are as the last of them left the deck
            plan = replace(plan, stages=(plan.stages[0],) * len(done) + plan.stages[1:])
    else:
        plan = under_route(deck, tallest_mm, ahead, partial(plan_load, stages=ahead, reshuffle_min=minutes))
    if isinstance(plan, NoLoad):
        return Refusal(rule="deck", says=f"{transporter.name}: {plan.says}")
    if plan.height_mm > day.policy.route_height_mm:
        return Refusal(
            rule="height",
            says=f"{transporter.name} would stand {plan.height_mm} mm high, above {day.policy.route_height_mm} mm for the route",
        )
    return plan


def reshuffle_minutes(day: Day, itinerary: Itinerary) -> tuple[int, ...] | None:
    """
    Return the minutes for which cars are moved out of the way and back at each stop of a run that has not begun.

    None where :func:`load` has to say whether there is a load at all.  Without a deck there is nothing to move.
    """
    transporter = day.transporter_of[itinerary.transporter] if itinerary.transporter else None
    deck = deck_of(day, transporter) if transporter else None
    if deck is None:
        return (0,) * len(itinerary.stops)
    moved = moved_below(deck, day.policy.route_height_mm, _stages_ahead(day, itinerary))
    return None if moved is None else tuple(day.policy.reshuffle_min * cars for cars in moved)


def deck_of(day: Day, transporter: Transporter) -> Deck | None:
    """Return the deck of a transporter with what its plate lets it carry; None where the day knows none of that name."""
    deck = day.decks.get(transporter.deck)
    return deck and deck.with_payload(transporter.payload_kg)


def crowded_by(day: Day, itinerary: Itinerary) -> tuple[Size, ...]:
    """Return sizes of cars that a transporter run would yet have aboard and that cannot stand on its deck; none when all can."""
    if itinerary.transporter is None or (itinerary.past is not None and itinerary.past.is_over):
        return ()
    deck = deck_of(day, day.transporter_of[itinerary.transporter])
    return crowded(deck, _stages_ahead(day, itinerary)) if deck else ()


def _stages_ahead(day: Day, itinerary: Itinerary) -> tuple[Stage, ...]:
    """Return the stops that are not done, one stage each; under way with one before them, what stands on the deck now."""
    done = itinerary.past.visits if itinerary.past else ()
    stages = tuple(
        Stage(off=stop.leaves, on=tuple((move, day.move_of[move].car) for move in stop.takes), says=day.place_of[stop.place].name)
        for stop in itinerary.stops[len(done) :]
    )
    return standing_first(_standing(day, itinerary), stages) if done else stages


def _standing(day: Day, itinerary: Itinerary) -> list[tuple[MoveId, str, Car]]:
    """Return move, slot and car of what the last visit that is done left on the deck."""
    done = itinerary.past.visits if itinerary.past else ()
    return [(move, slot, day.move_of[move].car) for move, slot in done[-1].slots] if done else []


def moved_at(plan: LoadPlan, stop: int) -> tuple[MoveId, ...]:
    """Return the cars that stay aboard but are moved out of the way and back at a stop."""
    return tuple(MoveId(key) for key in plan.stages[stop].moved)


def slots_after(plan: LoadPlan, stop: int) -> tuple[tuple[MoveId, str], ...]:
    """Return each car aboard after a stop with its slot, in the order in which they went on."""
    return tuple((MoveId(key), slot) for key, slot in plan.stages[stop].placed)
