# ruff: noqa: C901, PLR0912, PLR0915, PLR0917, ANN001, ANN201, ANN202
# mypy: allow-untyped-defs
# A kernel: numba infers the types of its arguments, which are arrays and numbers.
"""Completions: what the head of a run, from the start of duty to some task, adds to its cost at least; compiled."""

from functools import cache

import numpy as np
import numpy.typing as npt
from numba import njit

from planner.search.labels import Node
from planner.search.rig import MOST_HUBS_TOLD_APART

NOBODY, NO_TASK = -2, -1  # whose task comes last in a head: there is no head, or none that need be told apart

Ints = npt.NDArray[np.int32]
MAY_START, ENDS_FROM, CLOSES, WORK, LOAD, FROM_HUB, CUSTOMER = (
    int(name) for name in (Node.MAY_START, Node.ENDS_FROM, Node.CLOSES, Node.WORK, Node.LOAD, Node.FROM_HUB, Node.CUSTOMER)
)


@cache
def states_of(slots: int, hubs: int, able_sets: tuple[int, ...]) -> tuple[Ints, Ints, Ints]:
    """
    Return the states of the head of a run, their ranks by cars to load and set of hubs they stand at, and what follows them.

    A state is the cars and the set, as bits, one of those that a run is able to call at; with one hub, or more than a few,
    no sets are told apart.  The rank of none such is the count of states.  What follows is the rank when more are to be
    loaded: a row for one more at each hub, then one for none, one, two and so on where there is no hub.
    """
    sets = 1 << hubs if 1 < hubs <= MOST_HUBS_TOLD_APART else 1
    able = [
        (load, some) for load in range(slots + 1) for some in range(sets)
        if sets == 1 or (some.bit_count() <= load and (some > 0) == (load > 0) and some in able_sets)
    ]  # fmt: skip
    state_of = np.full((slots + 2, sets), len(able), np.int32)
    for rank, (load, some) in enumerate(able):
        state_of[load, some] = rank
    at_hub = [[state_of[load + 1, some | (1 << hub if sets > 1 else 0)] for load, some in able] for hub in range(hubs)]
    at_none = [[state_of[min(load + more, slots + 1), some] for load, some in able] for more in range(slots + 2)]
    return np.array(able, np.int32), state_of, np.array([*at_hub, *at_none], np.int32)


@njit(cache=True, nogil=True)
def completions(
    best, via, states, state_of, after, tasks, hubs, arc_from, arcs, arc_pence, arc_kg_pence, nodes, reward, least_kg, load_min,
    keeps_load, start_cost, slope, earliest, step,
):  # fmt: skip
    """
    Fill ``best[0, time step, place, state]``, which comes filled with NEVER: the least that the head of a run still adds.

    Entry ``t`` holds for tails whose task starts at the latest within step ``t``; entries of steps in which no label of a
    place can be are left, as is the one after the last state.  Where ``best`` has room for two, ``via[time step, place,
    state]`` says whose task comes last in the least head, and ``best[1]`` is the least of those that come by another
    (two-cycle elimination: Houck, Picard, Queyranne and Vemuganti 1980, Opsearch 17).  Kilograms, windows of compounds and
    further double visits are loosened, so that no figure is above the truth.  ``arcs`` are (earlier place, minutes) from
    each later place, in the order of the earlier one, and ``arc_from`` says where each place's begin; ``arc_pence`` has the
    least wage of the minutes in it, the work of a task too.  No task may take less than a step.
    """
    start = tasks + hubs
    sets = state_of.shape[1]
    count = states.shape[0]
    tells_apart = best.shape[0] == 2
    carried = np.zeros(count, np.float32)
    if not keeps_load:
        for state in range(count):
            carried[state] = least_kg * states[state, 0]
    first = np.empty(count, np.float32)
    for t in range(best.shape[1]):
        at_most = earliest + (t + 1) * step - 1
        for rank in range(hubs * max(1, hubs) + tasks):
            place = tasks + rank % hubs if rank < hubs * hubs else rank - hubs * hubs
            is_again = hubs <= rank < hubs * hubs  # by way of hubs that have been found since
            if at_most < nodes[place, MAY_START] or earliest + t * step > nodes[place, CLOSES]:
                continue
            own = nodes[place, CUSTOMER] if place < tasks else NOBODY - 1
            for state in range(count):
                first[state] = best[0, t, place, state]
            second, by = best[-1, t, place], via[t if tells_apart else 0, place]
            for arc in range(arc_from[place + 1] - 1, arc_from[place] - 1, -1):
                other, ends = arcs[arc, 0], at_most - arcs[arc, 1]
                if other < tasks:
                    if is_again:
                        break
                    if ends < nodes[other, ENDS_FROM]:
                        continue
                    at = min(nodes[other, CLOSES], ends - nodes[other, WORK])
                    if at < nodes[other, MAY_START]:
                        continue
                    slot, hub = (at - earliest) // step, nodes[other, FROM_HUB]
                    head = best[0, slot, other]
                    then = after[hub if hub >= 0 else hubs + min(nodes[other, LOAD], after.shape[0] - hubs - 1)]
                    leg, a_kg = np.float32(arc_pence[arc] - reward[other]), np.float32(arc_kg_pence[arc])
                    if not tells_apart:
                        for state in range(count):
                            first[state] = min(first[state], head[then[state]] + (leg + a_kg * carried[state]))
                        continue
                    next_head, by_head, customer = best[1, slot, other], via[slot, other], np.int32(nodes[other, CUSTOMER])
                    if customer == own:
                        continue
                    for state in range(count):
                        before = then[state]
                        value = head[before] if by_head[before] != own else next_head[before]
                        value += leg + a_kg * carried[state]
                        least = first[state]
                        second[state] = second[state] if by[state] == customer else min(second[state], max(least, value))
                        by[state] = customer if value < least else by[state]
                        first[state] = min(least, value)
                elif other == start:
                    if ends >= earliest:
                        for state in range(count if keeps_load else 1):
                            if tells_apart:
                                _keep(first, second, by, state, arc_pence[arc] + start_cost, NO_TASK)
                            else:
                                first[state] = min(first[state], arc_pence[arc] + start_cost)
                else:
                    for state in range(count):
                        leg = arc_pence[arc] + arc_kg_pence[arc] * carried[state]
                        load, here = states[state, 0], 1 << (other - tasks)
                        at = min(nodes[other, CLOSES], ends)
                        if at >= nodes[other, MAY_START]:
                            slot = (at - earliest) // step
                            if tells_apart:
                                _keep_hub(first, second, by, state, best, via, slot, other, state, leg, own)
                            else:
                                first[state] = min(first[state], best[0, slot, other, state] + leg)
                        if load == 0 or (sets > 1 and not states[state, 1] & here):
                            continue
                        elsewhere = states[state, 1] & ~here if sets > 1 else 0
                        for left in range(load if elsewhere else 1):
                            loading = load_min * (load - left if hubs == 1 or sets > 1 else 1)
                            at = min(nodes[other, CLOSES], ends - loading)
                            if at >= nodes[other, MAY_START]:
                                slot, earlier, pence = (at - earliest) // step, state_of[left, elsewhere], leg + slope * loading
                                if tells_apart:
                                    _keep_hub(first, second, by, state, best, via, slot, other, earlier, pence, own)
                                else:
                                    first[state] = min(first[state], best[0, slot, other, earlier] + pence)
            for state in range(count):
                best[0, t, place, state] = first[state]


@njit(cache=True, nogil=True)
def _keep_hub(first, second, by, state, best, via, slot, hub, earlier, pence, own):
    """Keep the heads of a hub, the least only if it does not come by the task itself; by whom the others come is not known."""
    if via[slot, hub, earlier] != own:
        _keep(first, second, by, state, best[0, slot, hub, earlier] + pence, via[slot, hub, earlier])
    _keep(first, second, by, state, best[1, slot, hub, earlier] + pence, NO_TASK)


@njit(cache=True, nogil=True)
def _keep(first, second, by, state, value, customer):
    """Keep a value among the least of all and the least of those that come by another."""
    if customer == by[state]:
        first[state] = min(first[state], value)
    elif value < first[state]:
        second[state], first[state], by[state] = first[state], value, customer
    else:
        second[state] = min(second[state], value)
