# ruff: noqa: C901, PLR0912, PLR0915, PLR0917 - compiled loops over bits cannot be cut into small functions without losing speed
"""
The exact search for the load plan with fewest reshuffles, compiled.

How it works
------------
The plan is built stage by stage.  At a stage the cars due leave; whoever stands in their way has to be moved; any other car
may be moved as well; those moved and those coming on then take slots that nothing left standing blocks.  Taking everything
off before putting anything on loses nothing: fewer cars aboard never block more, and never break a limit.

The number of cars moved is a budget that grows from nothing until a plan is found, so the first plan found has the fewest.
A branch is left when

- the pairs of cars that stand in each other's way at a later stop, each car counted in one pair, exceed the budget left
  (each pair needs a move of its own);
- nothing may be moved any more and a car still to come would find no slot;
- the same load at the same stage, or the same cars left standing there, failed before with as much budget.  Cars of one size
  that leave together count as the same.

Within a stage the car with the fewest slots left is placed first.
"""

import numpy as np
from numba import njit

from planner.rules.load_plan_arrays import DeckArrays, Whole

LIMIT_REACHED = -2


@njit(cache=True)
def ones(bits: int) -> int:
    """Return how many bits are set."""
    count = 0
    while bits:
        bits &= bits - 1
        count += 1
    return count


@njit(cache=True)
def tables(deck: DeckArrays, cars: Whole) -> tuple[Whole, Whole]:
    """
    Return where each car fits alone, and where the second fits while the first stands.

    The first array holds bits of slots by car; the second by first car, its slot, second car.
    """
    num_slots, num_cars = len(deck.length), len(cars)
    fit = np.zeros(num_cars, np.int64)
    for car in range(num_cars):
        for slot in range(num_slots):
            if (
                cars[car, 0] <= deck.length[slot]
                and cars[car, 1] <= deck.width[slot]
                and cars[car, 2] <= deck.height[slot]
                and cars[car, 3] <= deck.mass[slot]
                and cars[car, 4] >= deck.clearance
                and cars[car, 3] <= deck.payload
                and deck.base[slot] + cars[car, 2] <= deck.loaded_height
            ):
                fit[car] |= 1 << slot
    beside = np.zeros((num_cars, num_slots, num_cars), np.int64)
    for first in range(num_cars):
        for slot in range(num_slots):
            for second in range(num_cars):
                beside[first, slot, second] = fit[second] & ~(1 << slot)
    for row in range(len(deck.stack)):
        above, below, platform = deck.stack[row, 0], deck.stack[row, 1], deck.stack[row, 2]
        for low in range(num_cars):
            needed = deck.base[below] + cars[low, 2] + platform
            for high in range(num_cars):
                wheels = max(needed, deck.base[above])
                if needed > deck.highest[above] or wheels + cars[high, 2] > deck.loaded_height:
                    beside[low, below, high] &= ~(1 << above)
                    beside[high, above, low] &= ~(1 << below)
    for row in range(len(deck.shut)):
        slot, other = deck.shut[row, 0], deck.shut[row, 1]
        for first in range(num_cars):
            if cars[first, 0] > deck.shut[row, 2] or cars[first, 2] > deck.shut[row, 3]:
                for second in range(num_cars):
                    beside[first, slot, second] &= ~(1 << other)
                    beside[second, other, first] &= ~(1 << slot)
    return fit, beside


@njit(cache=True)
def _sums_allow(deck: DeckArrays, cars: Whole, used_mm: Whole, used_g: Whole, car: int, slot: int) -> bool:
    for level in range(len(deck.level_mm)):
        if deck.level_bits[level] >> slot & 1 and used_mm[level] + cars[car, 0] + deck.gap > deck.level_mm[level]:
            return False
    allowed = True
    for group in range(len(deck.sum_g)):
        allowed &= used_g[group] + cars[car, 3] * deck.share[group, slot] <= deck.sum_g[group]
    return allowed


@njit(cache=True)
def _add(deck: DeckArrays, cars: Whole, used_mm: Whole, used_g: Whole, car: int, slot: int, sign: int) -> None:
    for level in range(len(deck.level_mm)):
        if deck.level_bits[level] >> slot & 1:
            used_mm[level] += sign * (cars[car, 0] + deck.gap)
    for group in range(len(deck.sum_g)):
        used_g[group] += sign * cars[car, 3] * deck.share[group, slot]


@njit(cache=True)
def _recount(deck: DeckArrays, cars: Whole, used_mm: Whole, used_g: Whole, pos: Whole) -> None:
    used_mm[:] = 0
    used_g[:] = 0
    for car in range(len(pos)):
        if pos[car] >= 0:
            _add(deck, cars, used_mm, used_g, car, pos[car], 1)


@njit(cache=True)
def _open_slots(
    deck: DeckArrays, cars: Whole, beside: Whole, blocks: Whole, off_at: Whole, group: Whole, pos: Whole,
    used_mm: Whole, used_g: Whole, todo: int, reach: int, left: int, car: int,
) -> int:  # fmt: skip
    """Return the slots that a car still to be placed may take now."""
    open_bits = reach
    for other in range(len(pos)):
        at = pos[other]
        if at < 0:
            continue
        open_bits &= beside[other, at, car]
        if left == 0:
            if off_at[car] > off_at[other]:
                open_bits &= ~deck.blocked[at]
            elif off_at[car] < off_at[other]:
                open_bits &= ~blocks[at]
        if todo >> other & 1 and group[other] == group[car]:  # twins stand in the order of their rows
            below = (1 << at) - 1
            open_bits &= below if car < other else ~below
    rest = open_bits
    while rest:
        bit = rest & -rest
        rest ^= bit
        if not _sums_allow(deck, cars, used_mm, used_g, car, ones(bit - 1)):
            open_bits ^= bit
    return open_bits


@njit(cache=True)
def _least_moves(
    deck: DeckArrays, fit: Whole, beside: Whole, blocks: Whole, on_at: Whole, off_at: Whole, pos: Whole, stage: int, left: int,
) -> int:  # fmt: skip
    """Return moves that cannot be avoided, from pairs in each other's way; cars that come on after ``stage`` count too."""
    paired, count = 0, 0
    for car in range(len(pos)):
        if pos[car] < 0 or paired >> car & 1:
            continue
        for other in range(car + 1, len(pos)):
            if pos[other] < 0 or paired >> other & 1 or off_at[car] == off_at[other]:
                continue
            first, last = (car, other) if off_at[car] < off_at[other] else (other, car)
            if deck.blocked[pos[first]] >> pos[last] & 1:
                paired |= (1 << car) | (1 << other)
                count += 1
                break
    if count > left:
        return count
    for late in range(len(pos)):
        if on_at[late] <= stage:
            continue
        open_bits = fit[late]
        for car in range(len(pos)):
            if pos[car] < 0 or paired >> car & 1 or off_at[car] <= on_at[late]:
                continue
            open_bits &= beside[car, pos[car], late] & ~blocks[pos[car]]
            if off_at[late] > off_at[car]:
                open_bits &= ~deck.blocked[pos[car]]
        if open_bits == 0:
            return count + 1
    return count


@njit(cache=True)
def _memory_key(group: Whole, pos: Whole) -> int:
    key = 0
    for car in range(len(pos)):
        if pos[car] >= 0:
            key |= (group[car] + 1) << (5 * pos[car])
    return key


@njit(cache=True)
def _standing_key(group: Whole, pos: Whole, off_at: Whole, stage: int, going: int) -> int:
    """Return the key of the cars that nobody touches at this stage."""
    key = 0
    for car in range(len(pos)):
        if pos[car] >= 0 and off_at[car] != stage and not going >> pos[car] & 1:
            key |= (group[car] + 1) << (5 * pos[car])
    return key


@njit(cache=True)
def _memory_row(key: int, stage: int, size: int) -> int:
    mixed = (key ^ (key >> 29)) * 2654435761 + stage * 40503
    mixed ^= mixed >> 23
    return mixed & (size - 1)


@njit(cache=True)
def _next_choice(choice: int, full: int, size: int) -> int:
    """Return the next smaller set of bits inside ``full`` with ``size`` members, -1 after the last."""
    while choice > 0:
        choice = (choice - 1) & full
        if ones(choice) == size:
            return choice
    return -1


@njit(cache=True)
def fewest(
    deck: DeckArrays, cars: Whole, on_at: Whole, off_at: Whole, group: Whole, num_stages: int, most: int, node_limit: int,
    found: Whole, moved: Whole,
) -> int:  # fmt: skip
    """
    Return the fewest cars moved out and back over all stages, and write the plan that needs no more.

    Parameters
    ----------
    deck
        The limits.
    cars
        One row a car: length, width, height, mass, clearance.
    on_at, off_at
        Stage at which each car comes on and goes off; ``num_stages`` for one that stays.
    group
        Same number for cars of one size that go off together.
    num_stages
        How many stops.
    most
        Moves at which to give up: then -1 comes back.
    node_limit
        Placements after which to give up; then ``LIMIT_REACHED`` minus the moves proven necessary comes back.
    found
        Written: slot by stage and car, -1 when not aboard.
    moved
        Written: by stage, bits of the cars moved out and back.

    """
    num_cars, num_slots = len(cars), len(deck.length)
    fit, beside = tables(deck, cars)
    blocks = np.zeros(num_slots, np.int64)
    depth_of = np.zeros(num_slots, np.int64)
    for slot in range(num_slots):
        depth_of[slot] = ones(deck.blocked[slot])
        for other in range(num_slots):
            if deck.blocked[slot] >> other & 1:
                blocks[other] |= 1 << slot
    remembers = num_slots <= 12 and group.max() < 31
    memory_size = (1 << 12 if num_slots <= 5 else 1 << 17) if remembers and num_stages > 1 else 1
    memory_key = np.full(memory_size, -1, np.int64)
    memory_stage = np.zeros(memory_size, np.int16)
    memory_left = np.zeros(memory_size, np.int16)
    shares_lengths = len(deck.level_mm) > 0
    covered = 0
    for level in range(len(deck.level_mm)):
        if covered & deck.level_bits[level]:
            shares_lengths = False
        covered |= deck.level_bits[level]
    shares_lengths = shares_lengths and covered == (1 << num_slots) - 1

    most_frames = num_stages * (num_cars + 1) + 2
    is_stage = np.zeros(most_frames, np.bool_)
    frame_stage = np.zeros(most_frames, np.int64)
    frame_left = np.zeros(most_frames, np.int64)  # stage: budget on entry; car: budget after this stage's moves
    frame_size = np.zeros(most_frames, np.int64)  # stage: how many more than the forced are moved now
    frame_choice = np.zeros(most_frames, np.int64)  # stage: which; car: slots still to try
    frame_car = np.zeros(most_frames, np.int64)
    before = np.full((num_stages + 1, num_cars), -1, np.int64)
    pos = np.full(num_cars, -1, np.int64)
    todo_at = np.zeros(num_stages, np.int64)
    reach_at = np.zeros(num_stages, np.int64)
    aboard_at = np.zeros(num_stages, np.int64)
    forced_at = np.zeros(num_stages, np.int64)
    used_mm = np.zeros(len(deck.level_mm), np.int64)
    used_g = np.zeros(len(deck.sum_g), np.int64)
    nodes = 0

    for budget in range(most + 1):
        depth = 0
        is_stage[0], frame_stage[0], frame_left[0], frame_size[0], frame_choice[0] = True, 0, budget, -1, 0
        while depth >= 0:
            stage = frame_stage[depth]
            advance = False
            if is_stage[depth]:
                left = frame_left[depth]
                if frame_size[depth] < 0:  # first time here
                    for car in range(num_cars):
                        before[stage, car] = pos[car]
                    if remembers and stage > 0:
                        key = _memory_key(group, pos)
                        row = _memory_row(key, 2 * stage, memory_size)
                        if memory_key[row] == key and memory_stage[row] == 2 * stage and memory_left[row] >= left:
                            depth -= 1
                            continue
                    vacated, standing = 0, 0
                    for car in range(num_cars):
                        if pos[car] >= 0:
                            if off_at[car] == stage:
                                vacated |= 1 << pos[car]
                            else:
                                standing |= 1 << pos[car]
                    forced, grows = 0, True
                    while grows:
                        grows = False
                        for slot in range(num_slots):
                            if (vacated | forced) >> slot & 1 and deck.blocked[slot] & standing & ~forced:
                                forced |= deck.blocked[slot] & standing
                                grows = True
                    forced_at[stage], aboard_at[stage] = forced, standing
                    frame_size[depth], frame_choice[depth] = 0, 0
                    free = standing & ~forced
                    size = 0
                    choice = 0
                else:
                    for car in range(num_cars):
                        pos[car] = before[stage, car]
                    free = aboard_at[stage] & ~forced_at[stage]
                    size = frame_size[depth]
                    if remembers:
                        key = _standing_key(group, pos, off_at, stage, forced_at[stage] | frame_choice[depth])
                        row = _memory_row(key, 2 * stage + 1, memory_size)
                        memory_key[row], memory_stage[row] = key, 2 * stage + 1
                        memory_left[row] = left - ones(forced_at[stage]) - size
                    choice = _next_choice(frame_choice[depth], free, size) if size > 0 else -1
                forced = forced_at[stage]
                num_forced = ones(forced)
                # The next set of further cars to move whose own blockers move as well.
                while True:
                    if choice < 0:
                        size += 1
                        if num_forced + size > left or size > ones(free):
                            break
                        choice = free if ones(free) == size else _next_choice(free, free, size)
                        continue
                    going = forced | choice
                    standing = aboard_at[stage] & ~going
                    clear = True
                    for slot in range(num_slots):
                        if choice >> slot & 1 and deck.blocked[slot] & standing:
                            clear = False
                            break
                    if clear and remembers:
                        key = _standing_key(group, pos, off_at, stage, going)
                        row = _memory_row(key, 2 * stage + 1, memory_size)
                        clear = not (memory_key[row] == key and memory_stage[row] == 2 * stage + 1
                                     and memory_left[row] >= left - num_forced - size)
                    if clear:
                        break
                    choice = _next_choice(choice, free, size) if size > 0 else -1
                if choice < 0 or num_forced + size > left:
                    if remembers and stage > 0:
                        for car in range(num_cars):
                            pos[car] = before[stage, car]
                        key = _memory_key(group, pos)
                        row = _memory_row(key, 2 * stage, memory_size)
                        memory_key[row], memory_stage[row], memory_left[row] = key, 2 * stage, left
                    _recount(deck, cars, used_mm, used_g, pos)
                    depth -= 1
                    continue
                frame_size[depth], frame_choice[depth] = size, choice
                going = forced | choice
                standing = aboard_at[stage] & ~going
                todo, going_cars = 0, 0
                for car in range(num_cars):
                    if pos[car] >= 0 and off_at[car] == stage:
                        pos[car] = -1
                    elif pos[car] >= 0 and going >> pos[car] & 1:
                        pos[car] = -1
                        todo |= 1 << car
                        going_cars |= 1 << car
                    if on_at[car] == stage:
                        todo |= 1 << car
                _recount(deck, cars, used_mm, used_g, pos)
                moved[stage] = going_cars
                todo_at[stage] = todo
                reach = 0
                for slot in range(num_slots):
                    if not standing >> slot & 1 and deck.blocked[slot] & standing == 0:
                        reach |= 1 << slot
                reach_at[stage] = reach
                left -= num_forced + size
                advance = True
            else:
                car = frame_car[depth]
                left = frame_left[depth]
                if pos[car] >= 0:
                    _add(deck, cars, used_mm, used_g, car, pos[car], -1)
                    pos[car] = -1
                if frame_choice[depth] == 0:
                    depth -= 1
                    continue
                nodes += 1
                if nodes > node_limit:
                    return LIMIT_REACHED - budget
                # Cars that stay long go deep, cars that leave soon stand near the way out.
                deep = 2 * off_at[car] >= stage + num_stages
                best, rest = -1, frame_choice[depth]
                while rest:
                    bit = rest & -rest
                    rest ^= bit
                    slot = ones(bit - 1)
                    if best < 0 or (depth_of[slot] > depth_of[best] if deep else depth_of[slot] < depth_of[best]):
                        best = slot
                frame_choice[depth] ^= 1 << best
                pos[car] = best
                _add(deck, cars, used_mm, used_g, car, best, 1)
                if left > 0 and _least_moves(deck, fit, beside, blocks, on_at, off_at, pos, num_stages, left) > left:
                    continue
                advance = True
            if not advance:
                continue
            # Choose the next car to place, or go on to the next stage.
            todo, reach = todo_at[stage], reach_at[stage]
            fewest_open, chosen, chosen_bits, needed_mm = 99, -1, 0, 0
            for car in range(num_cars):
                if not todo >> car & 1 or pos[car] >= 0:
                    continue
                needed_mm += cars[car, 0] + deck.gap
                open_bits = _open_slots(
                    deck, cars, beside, blocks, off_at, group, pos, used_mm, used_g, todo, reach & fit[car], left, car,
                )  # fmt: skip
                count = ones(open_bits)
                if count < fewest_open or (count == fewest_open and off_at[car] > off_at[chosen]):
                    fewest_open, chosen, chosen_bits = count, car, open_bits
            if chosen >= 0:
                if fewest_open == 0:
                    continue
                if shares_lengths:
                    slack = 0
                    for level in range(len(deck.level_mm)):
                        slack += deck.level_mm[level] - used_mm[level]
                    if needed_mm > slack:
                        continue
                depth += 1
                is_stage[depth], frame_stage[depth], frame_left[depth] = False, stage, left
                frame_car[depth], frame_choice[depth] = chosen, chosen_bits
                continue
            if _least_moves(deck, fit, beside, blocks, on_at, off_at, pos, stage, left) > left:
                continue
            for car in range(num_cars):
                found[stage, car] = pos[car]
            if stage + 1 == num_stages:
                return budget
            depth += 1
            is_stage[depth], frame_stage[depth], frame_left[depth] = True, stage + 1, left
            frame_size[depth], frame_choice[depth] = -1, 0
        pos[:] = -1
    return -1
