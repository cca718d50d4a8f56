# ruff: noqa: C901, PLR0912, PLR0915, PLR0917 - compiled loops over bits cannot be cut into small functions without losing speed
"""
Outlines: which slots hold cars that leave on the way and which cars that stay, after every stage, and plans made from them.

The moves ahead (``load_plan_ahead``) leave out names and sizes; an *outline* is a plan of that kind, drawn at random among those
that need no more than so many moves.  Names can always be put in when every car is there from the start or stays to the end:
those that leave are put in from the last stage backwards, as each only has to stand within reach when it leaves, those that
stay from the first stage on.  Only sizes can be in the way, and then another outline is drawn.  A plan made in this way with
as many moves as are known to be needed is the best there is, found without a search.
"""

import numpy as np
from numba import njit

from planner.rules.load_plan_ahead import Ahead
from planner.rules.load_plan_arrays import DeckArrays, Whole
from planner.rules.load_plan_tables import ones, recount, tables, weights

#: Names put into each outline before another is drawn, and cars placed at one stage before it is given up.
NAMINGS, PLACINGS = 4, 200
#: Times that the naming of an outline goes back, and by how many stages at most.
MOST_BACKS, BACK = 30, 3
#: Draws at one stage until the cars aboard fit the slots drawn, whoever stood where before.
REDRAWS = 8


@njit(cache=True)
def next_chance(chance: int) -> int:
    """Return the next of a row of numbers that look random (31 bits)."""
    return (chance * 1103515245 + 12345) & 0x7FFFFFFF


@njit(cache=True)
def _in_the_way(blocked: Whole, free: int, standing: int) -> bool:
    found = False
    for slot in range(len(blocked)):
        found = found or (free >> slot & 1 != 0 and blocked[slot] & standing != 0)
    return found


@njit(cache=True)
def _draw(
    ahead: Ahead, blocked: Whole, ways: Whole, stage: int, first: int, second: int, leaving: int, num_first: int,
    num_second: int, left: int, chance: int, drawn: Whole,
) -> int:  # fmt: skip
    """
    Write one of the ways on from the sets before a stage: slots touched, the sets after it, moves made; return the chance.

    Without one that needs at most ``left`` moves, those still ahead counted, the slots touched are -1.
    """
    last, seen = len(ahead.start) - 1, 0
    drawn[0] = -1
    for free in ways:
        need = ones((first | second) & free) - leaving
        if need > left or ones(first & free) < leaving or _in_the_way(blocked, free, (first | second) & ~free):
            continue
        kept_first, kept_second = first & ~free, second & ~free
        more_first, more_second = num_first - ones(kept_first), num_second - ones(kept_second)
        if more_first < 0 or more_second < 0 or more_first + more_second > ones(free):
            continue
        some = free
        while True:
            if ones(some) == more_first:
                rest = free & ~some
                other = rest
                while True:
                    if ones(other) == more_second:
                        key = ahead.code[some | kept_first] + 2 * ahead.code[other | kept_second]
                        if need + ahead.moves[ahead.start[last, stage] + ahead.rank[key]] <= left:
                            seen += 1
                            chance = next_chance(chance)
                            if (chance >> 7) % seen == 0:
                                drawn[0], drawn[1], drawn[2], drawn[3] = free, some | kept_first, other | kept_second, need
                    if other == 0:
                        break
                    other = (other - 1) & rest
            if some == 0:
                break
            some = (some - 1) & free
    return chance


@njit(cache=True)
def _place(
    todo: Whole, open_to: Whole, pos: Whole, beside: Whole, weight: Whole, limit: Whole, used: Whole, chance: int,
) -> int:  # fmt: skip
    """Give the cars ``todo`` slots of their own within every limit, drawn at random; return the chance, below 0 for none."""
    num, depth, nodes = len(todo), 0, 0
    tried = np.zeros(num, np.int64)  # slots still to try
    fresh = True
    while depth < num:
        car = todo[depth]
        if fresh:
            bits = open_to[depth]
            for other in range(len(pos)):
                if pos[other] >= 0:
                    bits &= beside[other, pos[other], car]
            tried[depth] = bits
        else:
            for part in range(len(used)):
                used[part] -= weight[pos[car], car, part]
            pos[car] = -1
        found = False
        while tried[depth] and not found:
            chance = next_chance(chance)
            skip = (chance >> 9) % ones(tried[depth])
            bits = tried[depth]
            while skip:
                bits, skip = bits & (bits - 1), skip - 1
            slot = ones((bits & -bits) - 1)
            tried[depth] ^= 1 << slot
            found = True
            for part in range(len(used)):
                found = found and used[part] + weight[slot, car, part] <= limit[part]
            if found:
                pos[car] = slot
                for part in range(len(used)):
                    used[part] += weight[slot, car, part]
        nodes += 1
        fresh = found
        depth += 1 if found else -1
        if depth < 0 or nodes > PLACINGS:
            return -1
    return chance


@njit(cache=True)
def _name(
    outline: Whole, by_length: Whole, on_at: Whole, off_at: Whole, fit: Whole, beside: Whole, weight: Whole, limit: Whole,
    found: Whole, chance: int,
) -> int:  # fmt: skip
    """Write slots by stage and car that follow the outline; return the chance, negative when sizes are in the way."""
    num_stages, num_cars = found.shape
    touched = np.zeros((num_stages, len(beside[0])), np.int64)  # stage at which each slot was last within reach
    for stage in range(1, num_stages):
        for slot in range(touched.shape[1]):
            touched[stage, slot] = stage if outline[stage, 0] >> slot & 1 else touched[stage - 1, slot]
    used = np.zeros(len(limit), np.int64)
    pos = np.full(num_cars, -1, np.int64)
    todo, open_to = np.zeros(num_cars, np.int64), np.zeros(num_cars, np.int64)
    found[:] = -1
    stage, backs = num_stages - 1, 0
    while stage > 0:  # those that leave on the way: from how they stand after a stage to before it
        num, free = 0, outline[stage, 0]
        for car in by_length:
            if off_at[car] == num_stages:
                continue
            pos[car] = found[stage, car]
            if on_at[car] == stage:
                pos[car] = -1
            elif off_at[car] == stage or (pos[car] >= 0 and free >> pos[car] & 1):
                pos[car] = -1
                todo[num], open_to[num] = car, 0
                for slot in range(touched.shape[1]):
                    if outline[stage - 1, 1] & free & fit[car] & 1 << slot and touched[stage - 1, slot] >= on_at[car]:
                        open_to[num] |= 1 << slot
                num += 1
        recount(weight, used, pos)
        turn = _place(todo[:num], open_to[:num], pos, beside, weight, limit, used, chance)
        if turn >= 0:
            chance, stage = turn, stage - 1
            for car in range(num_cars):
                found[stage, car] = pos[car]
        else:
            chance, backs = next_chance(chance), backs + 1
            stage = min(num_stages - 1, stage + 1 + (chance >> 11) % BACK)
        if backs > MOST_BACKS:
            return -1 - chance
    stage, backs = 0, 0
    while stage < num_stages:  # those that stay
        num, free = 0, outline[stage, 0]
        for car in by_length:
            if off_at[car] < num_stages:
                pos[car] = found[stage, car]
                continue
            pos[car] = found[stage - 1, car] if stage else -1
            if on_at[car] == stage or (pos[car] >= 0 and free >> pos[car] & 1):
                pos[car] = -1
                todo[num], open_to[num] = car, outline[stage, 2] & free & fit[car]
                num += 1
        recount(weight, used, pos)
        turn = -1
        if _keeps(pos, beside, used, limit):
            turn = _place(todo[:num], open_to[:num], pos, beside, weight, limit, used, chance)
        if turn >= 0:
            for car in range(num_cars):
                found[stage, car] = pos[car]
            chance, stage = turn, stage + 1
        else:
            chance, backs = next_chance(chance), backs + 1
            stage = max(0, stage - 1 - (chance >> 11) % BACK)
        if backs > MOST_BACKS:
            return -1 - chance
    return chance


@njit(cache=True)
def _keeps(pos: Whole, beside: Whole, used: Whole, limit: Whole) -> bool:
    """Return whether the cars that have slots may stand together."""
    for part in range(len(used)):
        if used[part] > limit[part]:
            return False
    for car in range(len(pos)):
        if pos[car] >= 0:
            for other in range(car):
                if pos[other] >= 0 and not beside[car, pos[car], other] >> pos[other] & 1:
                    return False
    return True


@njit(cache=True)
def _may_stand(
    drawn: Whole, stage: int, by_length: Whole, on_at: Whole, off_at: Whole, num_stages: int, fit: Whole, beside: Whole,
    weight: Whole, limit: Whole, chance: int,
) -> bool:  # fmt: skip
    """Return whether a look of a few placements finds the cars aboard room in the slots drawn for their kind."""
    num, pos = 0, np.full(len(on_at), -1, np.int64)
    todo, open_to = np.zeros(len(on_at), np.int64), np.zeros(len(on_at), np.int64)
    for car in by_length:
        if on_at[car] <= stage < off_at[car]:
            todo[num], open_to[num] = car, fit[car] & drawn[1 if off_at[car] < num_stages else 2]
            num += 1
    return _place(todo[:num], open_to[:num], pos, beside, weight, limit, np.zeros(len(limit), np.int64), chance) >= 0


@njit(cache=True)
def by_outline(
    deck: DeckArrays, cars: Whole, on_at: Whole, off_at: Whole, num_stages: int, ahead: Ahead, budget: int, tries: int,
    found: Whole, moved: Whole,
) -> bool:  # fmt: skip
    """
    Return whether a plan with at most ``budget`` moves came out of so many outlines, and write it; no is no proof.

    Parameters
    ----------
    deck, cars, on_at, off_at, num_stages, found, moved
        As in ``load_plan_kernel.fewest``.
    ahead
        Bounds for these cars and stages.
    budget
        Moves allowed.
    tries
        Outlines drawn.

    """
    fit, beside = tables(deck, cars)
    weight, limit = weights(deck, cars)
    leaving, num_first = np.zeros(num_stages, np.int64), np.zeros(num_stages, np.int64)
    num_second = np.zeros(num_stages, np.int64)
    for car in range(len(cars)):
        for stage in range(on_at[car], min(off_at[car], num_stages)):
            if off_at[car] < num_stages:
                num_first[stage] += 1
            else:
                num_second[stage] += 1
        if off_at[car] < num_stages:
            leaving[off_at[car]] += 1
    outline = np.zeros((num_stages, 4), np.int64)
    everything = np.array([len(ahead.code) - 1])
    by_length, chance = np.argsort(-cars[:, 0]), 1
    for _ in range(tries):
        left, stands = budget, False
        for stage in range(num_stages):
            first, second = (outline[stage - 1, 1], outline[stage - 1, 2]) if stage else (0, 0)
            stands = False
            for _ in range(REDRAWS):
                chance = _draw(
                    ahead, deck.blocked, ahead.ways if stage else everything, stage, first, second, leaving[stage],
                    num_first[stage], num_second[stage], left, chance, outline[stage],
                )  # fmt: skip
                if outline[stage, 0] < 0:
                    break
                stands = _may_stand(
                    outline[stage], stage, by_length, on_at, off_at, num_stages, fit, beside, weight, limit, chance
                )
                if stands:
                    break
            if not stands:
                break
            left -= outline[stage, 3]
        for _ in range(NAMINGS if stands else 0):
            named = _name(outline, by_length, on_at, off_at, fit, beside, weight, limit, found, chance)
            if named >= 0:
                moved[:] = 0
                for stage in range(1, num_stages):
                    for car in range(len(cars)):
                        if found[stage - 1, car] >= 0 and off_at[car] != stage and outline[stage, 0] >> found[stage - 1, car] & 1:
                            moved[stage] |= 1 << car
                return True
            chance = next_chance(-1 - named)
    return False
