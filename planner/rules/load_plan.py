"""
Load plans: which car stands in which slot after every stop, with the fewest cars moved out of the way and back.

A *stage* is one stop: some cars go off, then some come on.  A *reshuffle* is one car that stays on the run but is driven off
and on again at a stop.  :func:`plan_load` is exact: no plan of the same stages has fewer reshuffles.  When no plan exists it
returns :class:`NoLoad` with the limit that binds.  Where the proof takes too long, ``at_least`` says how many reshuffles are
proven necessary: 1 of 408 random runs of eleven cars with none to eleven part-exchanges (``tests/bench/load_plans.py``).

Answers are remembered by deck and size classes.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import lru_cache

from planner.model.cars import Car
from planner.model.decks import Deck
from planner.rules.load_plan_arrays import Size, deck_arrays, size_array, size_of
from planner.rules.load_plan_fewest import fewest_moves
from planner.rules.load_plan_quick import sizes_fit_quickly
from planner.rules.load_plan_reasons import NoLoad, first_reason
from planner.rules.load_plan_solver import Solved, Stays, fewest_by_solver
from planner.rules.load_plan_standing import stand_together
from planner.rules.load_plan_steps import LoadedStage, loaded_stages


@dataclass(frozen=True, kw_only=True, slots=True)
class Stage:
    """One stop: keys of the cars that go off, then keys and cars that come on; ``says`` is what the sheet prints."""

    off: tuple[str, ...] = ()
    on: tuple[tuple[str, Car], ...] = ()
    says: str = ""


@dataclass(frozen=True, kw_only=True, slots=True)
class LoadPlan:
    """
    A load that works: ``reshuffles`` cars are moved out and back, which takes ``minutes``.

    ``at_least`` is how many are proven necessary: the same number, unless the proof would have taken too long.
    """

    deck: Deck
    stages: tuple[LoadedStage, ...]
    reshuffles: int
    at_least: int
    minutes: int

    @property
    def height_mm(self) -> int:
        """The tallest the vehicle stands after any stage."""
        return max(stage.height_mm for stage in self.stages)

    @property
    def gross_kg(self) -> int:
        """The heaviest the vehicle weighs after any stage, by the masses given."""
        return max(stage.gross_kg for stage in self.stages)


def plan_load(deck: Deck, stages: Sequence[Stage], *, reshuffle_min: int) -> LoadPlan | NoLoad:
    """
    Return the load plan with fewest reshuffles, or which limit binds.

    Parameters
    ----------
    deck
        Its ``payload_kg`` is what the plate of this very vehicle leaves (``Deck.with_payload``).
    stages
        The run in order; a car may still be aboard at the end.
    reshuffle_min
        Minutes for one car moved out of the way and back.

    Raises
    ------
    ValueError
        If a key comes on twice, or goes off without being aboard.

    """
    keys, cars, stays = _stays(stages)
    solved = _solve(deck, tuple(size_of(car) for car in cars), stays, len(stages))
    if solved is None:
        return first_reason(deck, keys, cars, _aboard(stays, len(stages)), [stage.says for stage in stages])
    return _load_plan(deck, stages, keys, cars, solved, reshuffle_min)


def _load_plan(
    deck: Deck, stages: Sequence[Stage], keys: Sequence[str], cars: Sequence[Car], solved: Solved, reshuffle_min: int
) -> LoadPlan:  # fmt: skip
    moves, at_least, slots, moved = solved
    return LoadPlan(
        deck=deck,
        stages=loaded_stages(deck, [(stage.says, stage.off) for stage in stages], dict(zip(keys, cars, strict=True)),
                             [{keys[car]: slot for car, slot in enumerate(row) if slot >= 0} for row in slots],
                             [[keys[car] for car in row] for row in moved], reshuffle_min),
        reshuffles=moves,
        at_least=at_least,
        minutes=moves * reshuffle_min,
    )  # fmt: skip


def crowded(deck: Deck, stages: Sequence[Stage]) -> tuple[Size, ...]:
    """Return the sizes of the cars aboard after the first stage at which they cannot stand together; none when all can."""
    aboard: dict[str, Size] = {}
    for stage in stages:
        for key in stage.off:
            aboard.pop(key, None)  # stops in a wrong order are for others to refuse
        aboard |= {key: size_of(car) for key, car in stage.on}
        sizes = tuple(sorted(aboard.values()))
        if sizes and not static_load_exists(deck, sizes):
            return sizes
    return ()


def under_route(
    deck: Deck, route_height_mm: int, stages: Sequence[Stage], planned: Callable[[Deck], LoadPlan | NoLoad]
) -> LoadPlan | NoLoad:
    """Return what is planned to stay below the route's height where that can be, else what the deck alone allows."""
    low = _below(deck, route_height_mm)
    answer = planned(low) if low is not deck and not crowded(low, stages) else None
    return answer if isinstance(answer, LoadPlan) else planned(deck)


def moved_below(deck: Deck, route_height_mm: int, stages: Sequence[Stage]) -> tuple[int, ...] | None:
    """
    Return how many cars :func:`under_route` moves out of the way at each stage, without the plan.

    None where no load that low is known, so that the plan has to be looked at.
    """
    _, cars, stays = _stays(stages)
    if deck.empty_height_mm > route_height_mm:
        return None
    solved = _solve(_below(deck, route_height_mm), tuple(size_of(car) for car in cars), stays, len(stages))
    return None if solved is None else tuple(len(moved) for moved in solved[3])


@lru_cache(maxsize=1024)
def _below(deck: Deck, height_mm: int) -> Deck:
    return deck.below(height_mm)


def standing_first(standing: Sequence[tuple[str, str, Car]], stages: Sequence[Stage]) -> tuple[Stage, ...]:
    """Return the stages with one before them, at which what stands on the deck (key, slot, car) comes on."""
    return (Stage(on=tuple((key, car) for key, _, car in standing), says="as it stands"), *stages)


def plan_load_from(
    deck: Deck, standing: Sequence[tuple[str, str, Car]], stages: Sequence[Stage], *, reshuffle_min: int
) -> LoadPlan | NoLoad:  # fmt: skip
    """
    Return the load plan of what is left of a run, its first stage being the deck as it stands.

    ``standing`` gives key, slot and car of everything aboard; ``stages`` are the stops still to come.
    """
    whole = standing_first(standing, stages)
    plan = plan_load(deck, whole, reshuffle_min=reshuffle_min)
    if isinstance(plan, NoLoad) or dict(plan.stages[0].placed) == {key: slot for key, slot, _ in standing}:
        return plan
    keys, cars, stays = _stays(whole)
    numbers = {slot.name: number for number, slot in enumerate(deck.slots)}
    slots_now = tuple(numbers[slot] for _, slot, _ in standing)
    solved = _solve_standing(deck, tuple(size_of(car) for car in cars), stays, len(whole), slots_now)
    if solved is None:
        return NoLoad(limit="deck", says="no load works from where the cars aboard stand now")
    return _load_plan(deck, whole, keys, cars, solved, reshuffle_min)


@lru_cache(maxsize=20_000)
def _solve_standing(
    deck: Deck, sizes: tuple[Size, ...], stays: Stays, num_stages: int, standing: tuple[int, ...]
) -> Solved | None:  # fmt: skip
    return fewest_by_solver(deck_arrays(deck), size_array(list(sizes)), stays, num_stages, standing=standing)


def _stays(stages: Sequence[Stage]) -> tuple[list[str], list[Car], Stays]:
    """Return keys, cars and for each the stages at which it comes on and goes off."""
    keys: list[str] = []
    cars: list[Car] = []
    ends: dict[str, list[int]] = {}
    aboard: set[str] = set()
    for at, stage in enumerate(stages):
        for key in stage.off:
            if key not in aboard:
                raise ValueError(f"Expected {key} aboard before stage {at + 1}, where it goes off.")
            aboard.remove(key)
            ends[key][1] = at
        for key, car in stage.on:
            if key in ends:
                raise ValueError(f"Expected {key} to come on once, got it again at stage {at + 1}.")
            aboard.add(key)
            ends[key] = [at, len(stages)]
            keys.append(key)
            cars.append(car)
    return keys, cars, tuple((ends[key][0], ends[key][1]) for key in keys)


@lru_cache(maxsize=200_000)
def _solve(deck: Deck, sizes: tuple[Size, ...], stays: Stays, num_stages: int) -> Solved | None:
    """Return moves, moves proven necessary, slots by stage and car, cars moved by stage; None when no load exists."""
    if not sizes:
        return (0, 0, ((),) * num_stages, ((),) * num_stages)
    return fewest_moves(deck, sizes, stays, num_stages) if _loads_exist(deck, sizes, stays, num_stages) else None


def _loads_exist(deck: Deck, sizes: tuple[Size, ...], stays: Stays, num_stages: int) -> bool:
    """Return whether the cars aboard after each stage can stand together, which is all that a plan needs."""
    fullest = _fullest(stays, num_stages)
    return all(static_load_exists(deck, tuple(sorted(sizes[car] for car in row))) for row in fullest)


def _fullest(stays: Stays, num_stages: int) -> list[tuple[int, ...]]:
    """Return the cars aboard after each stage, stages left out whose cars are all aboard in a neighbour."""
    aboard = [frozenset(row) for row in _aboard(stays, num_stages)]
    peaks = [row for at, row in enumerate(aboard) if row and not (at + 1 < num_stages and row < aboard[at + 1])
             and not (at > 0 and row <= aboard[at - 1])]  # fmt: skip
    return [tuple(sorted(row)) for row in peaks]


def _aboard(stays: Stays, num_stages: int) -> list[list[int]]:
    """Return the cars aboard after each stage."""
    return [[car for car, (on, off) in enumerate(stays) if on <= at < off] for at in range(num_stages)]


@lru_cache(maxsize=200_000)
def static_load_exists(deck: Deck, sizes: tuple[Size, ...]) -> bool:
    """Return whether cars of these sizes, sorted, can stand on the deck together, however they got there."""
    return sizes_fit_quickly(deck, sizes) and stand_together(deck_arrays(deck), size_array(list(sizes)))
