# ruff: noqa: PLR0917 - compiled functions take the arrays they read
"""
Outlines: which slots hold cars that leave on the way and which cars that stay, after every stage, and plans made from them.

An outline is drawn at random among those that need no more than so many moves by the bounds (``load_plan_ahead``); it leaves
out which car of a kind stands where.  Names can always be put in when every car is there from the start or stays to the end:
those that leave are put in from the last stage backwards, as each only has to stand within reach when it leaves, those that
stay from the first stage on.  Only sizes can be in the way, and then another outline is drawn.  A plan made in this way with
as many moves as are known to be needed is the best there is, found without a search.
"""

from typing import NamedTuple

import numpy as np
from numba import njit

from planner.rules.load_plan_ahead import Ahead, ways_to_clear
from planner.rules.load_plan_arrays import DeckArrays, Whole
from planner.rules.load_plan_pairs import Pairs, pairs
from planner.rules.load_plan_room import Limits, limits_of
from planner.rules.load_plan_tables import ones, recount

#: Names put into each outline before another is drawn, and cars placed at one stage before it is given up.
NAMINGS, PLACINGS = 4, 200
#: Times that the naming of an outline goes back, and by how many stages at most.
MOST_BACKS, BACK = 30, 3


def by_outline(
    deck: DeckArrays, cars: Whole, on_at: Whole, off_at: Whole, num_stages: int, ahead: Ahead, budget: int, tries: int
) -> tuple[Whole, Whole] | None:
    """
    Return a plan with at most ``budget`` moves that came out of so many outlines, None if none did: that is no proof.

    Parameters are as in ``load_plan_kernel.fewest``, and so is the plan: slots by stage and car, bits of the cars moved by stage.
    """
    every, limits, is_first = pairs(len(deck.blocked)), limits_of(deck, cars), off_at < num_stages
    kinds = np.array([every.kind_of(is_first[(on_at <= stage) & (off_at > stage)]) for stage in range(num_stages)])
    longest_first = np.argsort(-cars[:, 0], kind="stable")
    run = _Run(
        kinds, np.bincount(off_at, minlength=num_stages), longest_first[is_first[longest_first]],
        longest_first[~is_first[longest_first]], on_at, off_at,
    )  # fmt: skip
    free, sets = np.full(num_stages + 1, len(every.code) - 1, dtype=np.int64), np.zeros((num_stages, 2), dtype=np.int64)
    found = np.full((num_stages, len(cars)), -1, dtype=np.int64)
    if not _outlined(every, ahead, deck.blocked, ways_to_clear(deck.blocked), limits, run, budget, tries, free, sets, found):
        return None
    moved = (found[1:] >= 0) & (found[:-1] >= 0) & (free[1:-1, None] >> np.maximum(found[:-1], 0) & 1 > 0)
    return found, np.concatenate(([0], moved @ (1 << np.arange(len(cars)))))


@njit(cache=True)
def next_chance(chance: int) -> int:
    """Return the next of a row of numbers that look random (31 bits)."""
    return (chance * 1103515245 + 12345) & 0x7FFFFFFF


class _Run(NamedTuple):
    """Which cars come and go when: kinds of pairs and cars that leave by stage; rows of cars that leave on the way, of others."""

    kinds: Whole
    leaving: Whole
    firsts: Whole
    seconds: Whole
    on_at: Whole
    off_at: Whole


@njit(cache=True)
def _outlined(
    every: Pairs, ahead: Ahead, blocked: Whole, ways: Whole, limits: Limits, run: _Run, budget: int, tries: int, free: Whole,
    sets: Whole, found: Whole,
) -> bool:  # fmt: skip
    """Write the slots driven on to and the sets of either kind by stage, and the slots of a plan by stage and car."""
    num_stages, chance = len(found), 1
    for _ in range(tries):
        left = budget
        for stage in range(num_stages):
            chance, left = _draw(every, ahead, blocked, ways, run, stage, left, chance, free, sets)
        free[0] = free[num_stages]  # all slots are clear before the first stage
        for _ in range(NAMINGS if left >= 0 else 0):
            found[:] = -1
            chance = next_chance(chance)
            if _name(free, sets, 0, run, limits, found, chance) and _name(free, sets, 1, run, limits, found, chance):
                return True
    return False


@njit(cache=True)
def _draw(
    every: Pairs, ahead: Ahead, blocked: Whole, ways: Whole, run: _Run, stage: int, left: int, chance: int, free: Whole,
    sets: Whole,
) -> tuple[int, int]:  # fmt: skip
    """Write one of the ways on from the sets before a stage; return the chance and the moves left, below 0 without a way."""
    first, second = (sets[stage - 1, 0], sets[stage - 1, 1]) if stage else (0, 0)
    begin, at, leaving = every.start[run.kinds[stage]], ahead.start[-1, stage], run.leaving[stage]
    seen, then = 0, -1
    for row in range(every.start[run.kinds[stage] + 1] - begin):
        most = left - ahead.moves[at + row]
        if most < 0:
            continue
        changed = (every.first[begin + row] ^ first) | (every.second[begin + row] ^ second)
        for way in ways:
            need = ones((first | second) & way) - leaving
            if changed & ~way or need > most or ones(first & way) < leaving:
                continue
            if _in_the_way(blocked, way, (first | second) & ~way):
                continue
            seen += 1
            chance = next_chance(chance)
            if (chance >> 7) % seen == 0:
                free[stage], sets[stage, 0], sets[stage, 1] = way, every.first[begin + row], every.second[begin + row]
                then = left - need
    return chance, then


@njit(cache=True)
def _in_the_way(blocked: Whole, free: int, standing: int) -> bool:
    found = False
    for slot in range(len(blocked)):
        found = found or (free >> slot & 1 != 0 and blocked[slot] & standing != 0)
    return found


@njit(cache=True)
def _name(free: Whole, sets: Whole, kind: int, run: _Run, limits: Limits, found: Whole, chance: int) -> bool:
    """
    Write slots of the cars of a kind by stage; return False when sizes are in the way.

    ``free`` are the slots driven on to at each stage, ``sets`` those that each kind fills after it.  The cars of the first kind
    are followed from the last stage backwards, those of the second from the first stage on, which is the same with the run
    driven backwards; stages are counted as for the first kind.
    """
    num_stages, num_cars = found.shape
    pos, todo, open_to = np.full(num_cars, -1, np.int64), np.zeros(num_cars, np.int64), np.zeros(num_cars, np.int64)
    used = np.zeros(len(limits.limit), np.int64)
    stage: int = num_stages
    backs = 0
    while stage > 0 and backs <= MOST_BACKS:  # from how the cars stand after a stage to how they stand before it
        before, num = num_stages - stage if kind else stage - 1, 0
        after, now_free = before - 1 if kind else stage, free[num_stages - stage] if kind else free[stage]
        for car in range(num_cars):
            pos[car] = found[before, car]
        for car in run.seconds if kind else run.firsts:
            on_at = num_stages - run.off_at[car] if kind else run.on_at[car]
            off_at = num_stages - run.on_at[car] if kind else run.off_at[car]
            pos[car] = found[after, car] if stage < num_stages and on_at < stage else -1
            if off_at == stage or (pos[car] >= 0 and now_free >> pos[car] & 1):
                pos[car] = -1
                todo[num], open_to[num] = car, 0
                for since in range(on_at, stage):
                    open_to[num] |= free[num_stages - since] if kind else free[since]
                open_to[num] &= sets[before, kind] & now_free & limits.fit[car]
                num += 1
        recount(limits.weight, used, pos)
        chance = next_chance(chance)
        if _keeps(limits, pos, used) and _place(limits, todo[:num], open_to[:num], pos, used, chance):
            stage -= 1
            for car in run.seconds if kind else run.firsts:
                found[before, car] = pos[car]
        else:
            backs += 1
            stage = min(num_stages, stage + 1 + (chance >> 11) % BACK)
    return stage == 0


@njit(cache=True)
def _keeps(limits: Limits, pos: Whole, used: Whole) -> bool:
    """Return whether the cars that have slots may stand together."""
    for part in range(len(used)):
        if used[part] > limits.limit[part]:
            return False
    for car in range(len(pos)):
        if pos[car] >= 0:
            for other in range(car):
                if pos[other] >= 0 and not limits.beside[car, pos[car], other] >> pos[other] & 1:
                    return False
    return True


@njit(cache=True)
def _place(limits: Limits, todo: Whole, open_to: Whole, pos: Whole, used: Whole, chance: int) -> bool:
    """Give the cars ``todo`` slots of their own within every limit, drawn at random; return whether that was possible."""
    depth, fresh, tried = 0, True, np.zeros(len(todo), np.int64)
    for _ in range(PLACINGS):
        if depth == len(todo):
            return True
        car = todo[depth]
        if fresh:
            tried[depth] = open_to[depth]
            for other in range(len(pos)):
                if pos[other] >= 0:
                    tried[depth] &= limits.beside[other, pos[other], car]
        else:
            for part in range(len(used)):
                used[part] -= limits.weight[pos[car], car, part]
            pos[car] = -1
        fresh = tried[depth] != 0
        if not fresh:
            depth -= 1
            if depth < 0:
                return False
            continue
        chance, bits = next_chance(chance), tried[depth]
        for _ in range((chance >> 9) % ones(bits)):
            bits &= bits - 1
        tried[depth] ^= bits & -bits
        pos[car] = ones((bits & -bits) - 1)
        for part in range(len(used)):
            used[part] += limits.weight[pos[car], car, part]
            fresh = fresh and used[part] <= limits.limit[part]
        depth += fresh
    return False
