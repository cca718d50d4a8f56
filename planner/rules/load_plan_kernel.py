# ruff: noqa: C901, PLR0912, PLR0915, PLR0917 - compiled loops over bits cannot be cut into small functions without losing speed
"""
The exact search for the load plan with fewest reshuffles, compiled.

How it works
------------
The plan is built stage by stage.  At a stage the cars due leave; whoever stands in their way has to be moved; any other car
may be moved as well; those moved and those coming on then take slots that nothing left standing blocks.  Taking everything
off before putting anything on loses nothing: fewer cars aboard never block more, and never break a limit.

The number of cars moved is a budget that grows from nothing until a plan is found, so the first plan found has the fewest.
A branch is left when the same load at the same stage, or the same cars left standing there, failed before with as much
budget; cars of one size that leave together count as the same.  For the rest there are two ways to search.

- *Plain*: rings of cars that all stand in each other's way at later stops, each car in one ring, ask for moves, as all of a
  ring but one have to be moved, whatever else happens.  A branch is left when they ask for more than are left; where they ask
  for as many, cars outside the rings may not come into each other's way.  Quick where few moves are needed.
- *Guided* by the moves ahead (``load_plan_ahead``): at a stage the slots of cars that leave on the way and of those that stay
  are chosen first, the cheapest first; then the cars are placed, the first to leave first, and after each the moves ahead of
  those placed are looked up.  This proves long runs with many cars taken aboard.

Within a stage a car with one slot left, in a plain search the car with the fewest, is placed before the others.
"""

import numpy as np
from numba import njit

from planner.rules.load_plan_ahead import NEVER, Ahead
from planner.rules.load_plan_arrays import DeckArrays, Whole
from planner.rules.load_plan_bounds import all_filled, lengths_fit, rings
from planner.rules.load_plan_tables import never_both, ones, recount, tables, weights

LIMIT_REACHED = -2
#: Kinds of cars (size and stage at which they go off) that the search tells apart.
MOST_KINDS = 29
#: Choices kept, as they come up again with other cars in the same slots; with more the search gives up.
MOST_CHOICES = 2_000_000


@njit(cache=True)
def _open_slots(
    blocked: Whole, blocks: Whole, beside: Whole, weight: Whole, limit: Whole, off_at: Whole, group: Whole, pos: Whole,
    used: Whole, todo: int, reach: int, settled: int, car: int,
) -> int:  # fmt: skip
    """Return the slots a car still to be placed may take now; only ``settled`` cars may come into each other's way later."""
    open_bits = reach
    for other in range(len(pos)):
        at = pos[other]
        if at < 0:
            continue
        open_bits &= beside[other, at, car]
        if not settled >> other & 1:
            if off_at[car] > off_at[other]:
                open_bits &= ~blocked[at]
            elif off_at[car] < off_at[other]:
                open_bits &= ~blocks[at]
        if todo >> other & 1 and group[other] == group[car]:  # twins stand in the order of their rows
            below = (1 << at) - 1
            open_bits &= below if car < other else ~below
    slot, rest = 0, open_bits
    while rest:
        if rest & 1:
            for part in range(len(limit)):
                if used[part] + weight[slot, car, part] > limit[part]:
                    open_bits ^= 1 << slot
                    break
        rest >>= 1
        slot += 1
    return open_bits


@njit(cache=True)
def _in_the_way(blocked: Whole, vacated: int, standing: int) -> int:
    """Return the standing slots that have to be cleared before the vacated ones, those in the way of the former included."""
    forced, before = 0, -1
    while forced != before:
        before = forced
        for slot in range(len(blocked)):
            if (vacated | forced) >> slot & 1:
                forced |= blocked[slot] & standing
    return forced


@njit(cache=True)
def _in_order(values: Whole) -> Whole:
    """Return the rows from the least value to the largest; a few rows, so that a plain loop does."""
    rows = np.arange(len(values))
    for place in range(1, len(rows)):
        row, back = rows[place], place
        while back and values[rows[back - 1]] > values[row]:
            rows[back] = rows[back - 1]
            back -= 1
        rows[back] = row
    return rows


@njit(cache=True)
def _memory_key(group: Whole, pos: Whole) -> int:
    key = 0
    for car in range(len(pos)):
        if pos[car] >= 0:
            key |= (group[car] + 1) << (5 * pos[car])
    return key


@njit(cache=True)
def _standing_key(group: Whole, pos: Whole, off_at: Whole, stage: int, choice: Whole) -> int:
    """Return the key of the cars that nobody touches at this stage, and of the slots that the others are to take."""
    key = 0
    for car in range(len(pos)):
        if pos[car] >= 0 and off_at[car] != stage and not choice[0] >> pos[car] & 1:
            key |= (group[car] + 1) << (5 * pos[car])
    slot = 0
    while (choice[1] | choice[2]) >> slot and choice[1] != choice[2]:
        if choice[1] >> slot & 1:
            key |= (MOST_KINDS + 1) << (5 * slot)
        elif choice[2] >> slot & 1:
            key |= (MOST_KINDS + 2) << (5 * slot)
        slot += 1
    return key


@njit(cache=True)
def _memory_row(key: int, stage: int, size: int) -> int:
    mixed = (key ^ (key >> 29)) * 2654435761 + stage * 40503
    mixed ^= mixed >> 23
    return mixed & (size - 1)


@njit(cache=True)
def _list_choices(
    blocked: Whole, sets: Whole, forced: int, soon: int, late: int, soon_to_place: int, late_to_place: int,
    left: int, ahead: Ahead, start: int, floor: int, ends: Whole, listed: Whole,
) -> None:  # fmt: skip
    """
    Write what can be done at a stage, the cheapest first: cars moved, slots for cars that leave on the way and that stay.

    ``soon`` and ``late`` are the slots of the cars of either kind that do not leave now.  Without rows in ``listed`` only
    ``ends`` is written: how many choices cost so many moves or fewer, those still ahead counted.
    """
    counting, guided = len(listed) == 0, start >= 0
    code, rank, moves = ahead.code, ahead.rank, ahead.moves
    if counting:
        ends[:] = 0
    for going in sets:
        size = ones(going)
        if size + floor > left:
            break
        if forced & ~going:
            continue
        standing = (soon | late) & ~going
        reach = 0
        for slot in range(len(blocked)):
            if not standing >> slot & 1 and blocked[slot] & standing == 0:
                reach |= 1 << slot
        num_soon, num_late = ones(soon & going) + soon_to_place, ones(late & going) + late_to_place
        some = reach
        while True:
            if not guided or ones(some) == num_soon:
                rest = reach & ~some if guided else reach
                other = rest if num_late else 0
                while True:
                    cost = NEVER
                    if not guided:
                        cost = size
                    elif ones(other) == num_late:
                        key = code[some | soon & ~going] + 2 * code[other | late & ~going]
                        cost = size + moves[start + rank[key]]
                    if cost <= left:
                        ends[cost] += 1 if counting else -1
                        if not counting:
                            row = ends[cost]
                            listed[row, 0], listed[row, 1], listed[row, 2] = going, some, other
                    if other == 0 or not guided or ones(rest) == num_late:
                        break
                    other = (other - 1) & rest
            if some == 0 or not guided:
                break
            some = (some - 1) & reach
    if counting:
        for cost in range(1, len(ends)):
            ends[cost] += ends[cost - 1]


@njit(cache=True)
def _longer(listed: Whole, rows: int) -> Whole:
    longer = np.zeros((rows, listed.shape[1]), np.int64)
    for row in range(len(listed)):
        for part in range(listed.shape[1]):
            longer[row, part] = listed[row, part]
    return longer


@njit(cache=True)
def _too_many_ahead(
    ahead: Ahead, by_end: Whole, on_at: Whole, off_at: Whole, pos: Whole, stage: int, occupied: int, left: int,
) -> bool:  # fmt: skip
    """Return whether the cars that leave first, as far as they have slots, need more moves than are left."""
    soon, until = 0, -1
    for car in by_end:
        if off_at[car] <= stage or on_at[car] > stage:
            continue
        if off_at[car] != until:
            if soon and ahead.start[until, stage] >= 0:
                key = ahead.code[soon] + 2 * ahead.code[occupied & ~soon]
                if ahead.moves[ahead.start[until, stage] + ahead.rank[key]] > left:
                    return True
            until = off_at[car]
        if pos[car] < 0 or until == len(ahead.start):
            return False
        soon |= 1 << pos[car]
    return False  # all have slots: looked at when these were chosen


@njit(cache=True)
def fewest(
    deck: DeckArrays, cars: Whole, on_at: Whole, off_at: Whole, group: Whole, num_stages: int, least: int, most: int,
    node_limit: int, ahead: Ahead, found: Whole, moved: Whole,
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
    least, most
        Moves with which to begin and to end; -1 comes back when ``most`` are not enough.  What comes back is the fewest only
        when fewer than ``least`` are known to be not enough.
    node_limit
        Placements after which to give up; then ``LIMIT_REACHED`` minus the moves tried last comes back.
    ahead
        Bounds for these cars and stages, or ``NOTHING``.
    found
        Written: slot by stage and car, -1 when not aboard.
    moved
        Written: by stage, bits of the cars moved out and back.

    """
    num_cars, num_slots = len(cars), len(deck.length)
    fit, beside = tables(deck, cars)
    never = never_both(fit, beside)
    weight, limit = weights(deck, cars)
    blocked, blocks, aside, aside_from = deck.blocked, deck.blocks, deck.aside, deck.aside_from
    depth_of = np.zeros(num_slots, np.int64)
    for slot in range(num_slots):
        depth_of[slot] = ones(blocked[slot])
    memory_size = 1 if num_stages == 1 else 1 << 12 if num_slots <= 5 else 1 << 14 if num_slots <= 6 else 1 << 18
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
    frame_choice = np.zeros(most_frames, np.int64)  # stage: row in ``listed``, -1 at first; car: slots still to try
    frame_car = np.zeros(most_frames, np.int64)
    before = np.full((num_stages + 1, num_cars), -1, np.int64)
    pos = np.full(num_cars, -1, np.int64)
    todo_at = np.zeros(num_stages, np.int64)
    soon_at = np.zeros(num_stages, np.int64)
    late_at = np.zeros(num_stages, np.int64)
    occupied_at = np.zeros(num_stages, np.int64)
    listed, num_listed = np.zeros((256, 3), np.int64), 0  # choices, those of each lot of slots taken one after the other
    last_at = np.zeros(num_stages, np.int64)  # row after the last choice of the stage's lot
    known_key = np.full(max(1, memory_size >> 4), -1, np.int64)  # lots listed before, with the moves left
    known_stage, known_from, known_to = np.zeros_like(known_key), np.zeros_like(known_key), np.zeros_like(known_key)
    ends = np.zeros(NEVER + 1, np.int64)
    by_end, by_length = _in_order(off_at), _in_order(cars[:, 0])
    guided = len(ahead.start) > 0
    no_rows = np.zeros((0, 3), np.int64)
    used = np.zeros(len(limit), np.int64)
    faced = np.zeros(num_cars, np.int64)
    nodes = 0

    for budget in range(least, most + 1):
        depth = 0
        is_stage[0], frame_stage[0], frame_left[0], frame_choice[0] = True, 0, budget, -1
        while depth >= 0:
            stage = frame_stage[depth]
            advance = False
            if is_stage[depth]:
                left = frame_left[depth]
                if frame_choice[depth] < 0:  # first time here
                    for car in range(num_cars):
                        before[stage, car] = pos[car]
                    key = _memory_key(group, pos)
                    row = _memory_row(key, 2 * stage, memory_size)
                    if stage > 0 and memory_key[row] == key and memory_stage[row] == 2 * stage and memory_left[row] >= left:
                        depth -= 1
                        continue
                    vacated, soon, late, soon_to_place, late_to_place = 0, 0, 0, 0, 0
                    for car in range(num_cars):
                        if pos[car] >= 0:
                            if off_at[car] == stage:
                                vacated |= 1 << pos[car]
                            elif off_at[car] < num_stages:
                                soon |= 1 << pos[car]
                            else:
                                late |= 1 << pos[car]
                        elif on_at[car] == stage:
                            if off_at[car] < num_stages:
                                soon_to_place += 1
                            else:
                                late_to_place += 1
                    key = ((vacated << num_slots | soon) << num_slots | late) << 16 | left
                    row = _memory_row(key, stage, len(known_key))
                    if known_key[row] != key or known_stage[row] != stage:
                        forced = _in_the_way(blocked, vacated, soon | late)
                        sets = aside[aside_from[soon | late]:aside_from[(soon | late) + 1]]
                        start, floor = (ahead.start[num_stages - 1, stage], ahead.floor[stage]) if guided else (-1, 0)
                        _list_choices(
                            blocked, sets, forced, soon, late, soon_to_place, late_to_place, left, ahead, start, floor, ends,
                            no_rows,
                        )  # fmt: skip
                        last = num_listed + ends[-1]
                        if last > MOST_CHOICES:
                            return LIMIT_REACHED - budget
                        if last > len(listed):
                            listed = _longer(listed, 2 * last)
                        if last > num_listed:
                            _list_choices(
                                blocked, sets, forced, soon, late, soon_to_place, late_to_place, left, ahead, start, floor, ends,
                                listed[num_listed:last],
                            )  # fmt: skip
                        known_key[row], known_stage[row], known_from[row], known_to[row] = key, stage, num_listed, last
                        num_listed = last
                    choice, last_at[stage] = known_from[row], known_to[row]
                else:
                    for car in range(num_cars):
                        pos[car] = before[stage, car]
                    choice = frame_choice[depth]
                    key = _standing_key(group, pos, off_at, stage, listed[choice])
                    row = _memory_row(key, 2 * stage + 1, memory_size)
                    memory_key[row], memory_stage[row] = key, 2 * stage + 1
                    memory_left[row] = left - ones(listed[choice, 0])
                    choice += 1
                # The next choice that has not failed before.
                last, size = last_at[stage], 0
                while choice < last:
                    size = ones(listed[choice, 0])
                    key = _standing_key(group, pos, off_at, stage, listed[choice])
                    row = _memory_row(key, 2 * stage + 1, memory_size)
                    if memory_key[row] != key or memory_stage[row] != 2 * stage + 1 or memory_left[row] < left - size:
                        break
                    choice += 1
                if choice == last:
                    key = _memory_key(group, pos)
                    row = _memory_row(key, 2 * stage, memory_size)
                    memory_key[row], memory_stage[row], memory_left[row] = key, 2 * stage, left
                    recount(weight, used, pos)
                    depth -= 1
                    continue
                nodes += 1
                frame_choice[depth] = choice
                going, occupied = listed[choice, 0], listed[choice, 1] | listed[choice, 2]
                todo, going_cars = 0, 0
                for car in range(num_cars):
                    if pos[car] >= 0 and off_at[car] == stage:
                        pos[car] = -1
                    elif pos[car] >= 0 and going >> pos[car] & 1:
                        pos[car] = -1
                        todo |= 1 << car
                        going_cars |= 1 << car
                    elif pos[car] >= 0:
                        occupied |= 1 << pos[car]
                    if on_at[car] == stage:
                        todo |= 1 << car
                recount(weight, used, pos)
                moved[stage] = going_cars
                todo_at[stage], occupied_at[stage] = todo, occupied
                soon_at[stage], late_at[stage] = listed[choice, 1], listed[choice, 2]
                left -= size
                advance = True
            else:
                car = frame_car[depth]
                left = frame_left[depth]
                if pos[car] >= 0:
                    for part in range(len(used)):
                        used[part] -= weight[pos[car], car, part]
                    pos[car] = -1
                if frame_choice[depth] == 0:
                    depth -= 1
                    continue
                nodes += 1
                if nodes > node_limit:
                    return LIMIT_REACHED - budget
                # Cars that stay long go deep, cars that leave soon stand near the way out.
                deep = 2 * off_at[car] >= stage + num_stages
                best, rest, slot = -1, frame_choice[depth], 0
                while rest:
                    if rest & 1:
                        more = depth_of[slot] - depth_of[best] if deep else depth_of[best] - depth_of[slot]
                        if best < 0 or more > 0:
                            best = slot
                    rest >>= 1
                    slot += 1
                frame_choice[depth] ^= 1 << best
                pos[car] = best
                for part in range(len(used)):
                    used[part] += weight[best, car, part]
                advance = True
            if not advance:
                continue
            tight, counted, occupied = False, -1, occupied_at[stage]
            if guided:
                if _too_many_ahead(ahead, by_end, on_at, off_at, pos, stage, occupied, left):
                    continue
            else:
                count, counted = rings(blocked, off_at, pos, faced)
                if count > left:
                    continue
                tight = count == left
            # Choose the next car to place, or go on to the next stage.
            todo = todo_at[stage]
            fewest_open, chosen, chosen_bits = 99, -1, 0
            wanting, offered = 0, 0
            for place in range(num_cars):
                car = by_end[place]
                if not todo >> car & 1 or pos[car] >= 0:
                    continue
                open_bits = _open_slots(
                    blocked, blocks, beside, weight, limit, off_at, group, pos, used, todo,
                    (soon_at[stage] if off_at[car] < num_stages else late_at[stage]) & fit[car],
                    counted if tight else -1, car,
                )  # fmt: skip
                count = ones(open_bits)
                wanting += 1
                offered |= open_bits
                if guided and count > 1 and off_at[car] < num_stages:
                    count = 2  # the first to leave is placed first, for the tables to judge
                if count < fewest_open or (not guided and count == fewest_open):
                    fewest_open, chosen, chosen_bits = count, car, open_bits
            if chosen >= 0:
                if fewest_open == 0 or wanting > ones(offered):
                    continue
                if wanting == ones(offered) and not all_filled(never, offered):
                    continue
                if shares_lengths and not lengths_fit(
                    deck.level_bits, deck.gap, cars, by_length, limit, used, todo, pos, offered, wanting,
                ):
                    continue
                depth += 1
                is_stage[depth], frame_stage[depth], frame_left[depth] = False, stage, left
                frame_car[depth], frame_choice[depth] = chosen, chosen_bits
                continue
            for car in range(num_cars):
                found[stage, car] = pos[car]
            if stage + 1 == num_stages:
                return budget
            depth += 1
            is_stage[depth], frame_stage[depth], frame_left[depth] = True, stage + 1, left
            frame_choice[depth] = -1
        pos[:] = -1
    return -1
