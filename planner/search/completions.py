# ruff: noqa: C901, PLR0912, PLR0917, ANN001, ANN201
# mypy: allow-untyped-defs
# A kernel: numba infers the types of its arguments, which are arrays and numbers.
"""Completions: what the head of a run, from the start of duty to some task, adds to its cost at least; compiled."""

from functools import cache

import numpy as np
import numpy.typing as npt
from numba import njit

from planner.search.labels import Node

MOST_HUBS_TOLD_APART = 5

Ints = npt.NDArray[np.int32]
MAY_START, ENDS_FROM, CLOSES, WORK, LOAD, FROM_HUB = (
    int(name) for name in (Node.MAY_START, Node.ENDS_FROM, Node.CLOSES, Node.WORK, Node.LOAD, Node.FROM_HUB)
)


@cache
def states_of(slots: int, hubs: int) -> tuple[Ints, Ints, Ints]:
    """
    Return the states of the head of a run, their ranks by cars to load and set of hubs they stand at, and what follows them.

    A state is the cars and the set, as bits; with one hub, or more than a few, no sets are told apart.  The rank of none
    such is the count of states.  What follows is the rank when more are to be loaded: a row for one more at each hub, then
    one for none, one, two and so on where there is no hub.
    """
    sets = 1 << hubs if 1 < hubs <= MOST_HUBS_TOLD_APART else 1
    able = [
        (load, some) for load in range(slots + 1) for some in range(sets)
        if sets == 1 or (some.bit_count() <= load and (some > 0) == (load > 0))
    ]  # fmt: skip
    state_of = np.full((slots + 2, sets), len(able), np.int32)
    for rank, (load, some) in enumerate(able):
        state_of[load, some] = rank
    at_hub = [[state_of[load + 1, some | (1 << hub if sets > 1 else 0)] for load, some in able] for hub in range(hubs)]
    at_none = [[state_of[min(load + more, slots + 1), some] for load, some in able] for more in range(slots + 2)]
    return np.array(able, np.int32), state_of, np.array([*at_hub, *at_none], np.int32)


@njit(cache=True, nogil=True)
def completions(
    best, states, state_of, after, tasks, hubs, arc_from, arcs, arc_pence, arc_kg_pence, nodes, reward, least_kg, load_min,
    keeps_load, start_cost, slope, earliest, step,
):  # fmt: skip
    """
    Fill ``best[time step, place, state]``, which comes filled with NEVER, with the least that the head of a run can still add.

    Entry ``t`` holds for tails whose task starts at the latest within step ``t``; entries of steps in which no label of a
    place can be are left, as is the one after the last state.  Kilograms, windows of compounds and double visits are
    loosened, so that no figure is above the truth.  ``arcs`` are (earlier place, minutes) from each later place, in the
    order of the earlier one, and ``arc_from`` says where each place's begin; ``arc_pence`` has the least wage of the
    minutes in it, the work of a task too.  No task may take less than a step.
    """
    start = tasks + hubs
    sets = state_of.shape[1]
    count = states.shape[0]
    carried = np.zeros(count)
    if not keeps_load:
        for state in range(count):
            carried[state] = least_kg * states[state, 0]
    least = np.empty(count)
    for t in range(best.shape[0]):
        at_most = earliest + (t + 1) * step - 1
        for rank in range(hubs * max(1, hubs) + tasks):
            place = tasks + rank % hubs if rank < hubs * hubs else rank - hubs * hubs
            is_again = hubs <= rank < hubs * hubs  # by way of hubs that have been found since
            if at_most < nodes[place, MAY_START] or earliest + t * step > nodes[place, CLOSES]:
                continue
            for state in range(count):
                least[state] = best[t, place, state]
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
                    head = best[(at - earliest) // step, other]
                    hub = nodes[other, FROM_HUB]
                    then = after[hub if hub >= 0 else hubs + min(nodes[other, LOAD], after.shape[0] - hubs - 1)]
                    leg, a_kg = arc_pence[arc] - reward[other], arc_kg_pence[arc]
                    for state in range(count):
                        value = head[then[state]] + (leg + a_kg * carried[state])
                        least[state] = min(least[state], value)
                elif other == start:
                    if ends >= earliest:
                        for state in range(count if keeps_load else 1):
                            least[state] = min(least[state], arc_pence[arc] + start_cost)
                else:
                    for state in range(count):
                        leg = arc_pence[arc] + arc_kg_pence[arc] * carried[state]
                        load, here = states[state, 0], 1 << (other - tasks)
                        at = min(nodes[other, CLOSES], ends)
                        if at >= nodes[other, MAY_START]:
                            least[state] = min(least[state], best[(at - earliest) // step, other, state] + leg)
                        if load == 0 or (sets > 1 and not states[state, 1] & here):
                            continue
                        elsewhere = states[state, 1] & ~here if sets > 1 else 0
                        for left in range(load if elsewhere else 1):
                            loading = load_min * (load - left if hubs == 1 or sets > 1 else 1)
                            at = min(nodes[other, CLOSES], ends - loading)
                            if at >= nodes[other, MAY_START]:
                                value = best[(at - earliest) // step, other, state_of[left, elsewhere]] + leg + slope * loading
                                least[state] = min(least[state], value)
            for state in range(count):
                best[t, place, state] = least[state]
