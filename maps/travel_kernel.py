"""
The search for fastest paths, compiled: one source at a time over flat arrays, with metres and charges of the same path.

Keys are whole milliseconds; of two paths equally fast the shorter wins.  ``maps.travel_plain`` is the slow reference.
"""

# One flat loop over bare arrays is what the compiler turns into fast code.
# ruff: noqa: C901, PLR0912, PLR0915, PLR0917, ANN001, ANN201, ANN202

import numpy as np
from numba import njit

FAR = np.int64(1) << np.int64(40)
NODE_BITS = 24


@njit(cache=True, nogil=True)
def _push(heap, size, key):  # type: ignore[no-untyped-def]
    heap[size] = key
    child = size
    while child > 0:
        parent = (child - 1) >> 2
        if heap[parent] <= key:
            break
        heap[child] = heap[parent]
        child = parent
    heap[child] = key
    return size + 1


@njit(cache=True, nogil=True)
def _pop(heap, size):  # type: ignore[no-untyped-def]
    top = heap[0]
    size -= 1
    key = heap[size]
    hole = 0
    while True:
        child = 4 * hole + 1
        if child >= size:
            break
        least = child
        for other in range(child + 1, min(child + 4, size)):
            if heap[other] < heap[least]:
                least = other
        if heap[least] >= key:
            break
        heap[hole] = heap[least]
        hole = least
    heap[hole] = key
    return top, size


@njit(cache=True, nogil=True)
def search(arc_at, arc_to, arc_ms, arc_m, start_node, start_ms, start_m, wanted, num_wanted, ms, metres, came_by, heap):  # type: ignore[no-untyped-def]
    """
    Fill ``ms``, ``metres`` and ``came_by`` (the arc each node was reached by, ``-2 - k`` for start ``k``) from one source.

    Stops when all ``num_wanted`` nodes marked in ``wanted`` are settled; unreached nodes keep ``FAR``.
    """
    ms[:] = FAR
    metres[:] = 0
    came_by[:] = -1
    size = 0
    mask = (np.int64(1) << NODE_BITS) - 1
    for k in range(len(start_node)):
        node = start_node[k]
        if start_ms[k] < ms[node] or (start_ms[k] == ms[node] and start_m[k] < metres[node]):
            ms[node] = start_ms[k]
            metres[node] = start_m[k]
            came_by[node] = -2 - k
            size = _push(heap, size, (start_ms[k] << NODE_BITS) | node)
    left = num_wanted
    while size > 0 and left > 0:
        key, size = _pop(heap, size)
        node = key & mask
        here = key >> NODE_BITS
        if here > ms[node]:
            continue
        if wanted[node]:
            left -= 1
        for arc in range(arc_at[node], arc_at[node + 1]):
            to = arc_to[arc]
            there = here + arc_ms[arc]
            far = metres[node] + arc_m[arc]
            if there < ms[to]:
                ms[to] = there
                metres[to] = far
                came_by[to] = arc
                size = _push(heap, size, (there << NODE_BITS) | to)
            elif there == ms[to] and far < metres[to] and arc_ms[arc] > 0:
                metres[to] = far
                came_by[to] = arc
    return left


@njit(cache=True, nogil=True)
def rows(  # type: ignore[no-untyped-def]
    first,
    last,
    arc_at,
    arc_to,
    arc_from,
    arc_ms,
    arc_m,
    arc_charge,
    arc_ferry_s,
    out_at,
    out_node,
    out_ms,
    out_m,
    in_at,
    in_node,
    in_ms,
    in_m,
    wanted,
    num_wanted,
    ms_table,
    m_table,
    ferry_table,
    low_table,
    high_table,
):
    """Fill rows ``first`` to ``last`` of the tables; pairs that no path joins keep -1."""
    count = len(arc_at) - 1
    ms = np.empty(count, np.int64)
    metres = np.empty(count, np.int64)
    came_by = np.empty(count, np.int64)
    heap = np.empty(len(arc_to) + len(out_node) + 8, np.int64)
    ferry = np.zeros(count, np.int64)
    low = np.zeros(count, np.int64)
    high = np.zeros(count, np.int64)
    known = np.zeros(count, np.int64)  # the source + 1 for which ferry, low and high hold
    chain = np.empty(count, np.int64)
    for source in range(first, last):
        start, stop = out_at[source], out_at[source + 1]
        search(
            arc_at,
            arc_to,
            arc_ms,
            arc_m,
            out_node[start:stop],
            out_ms[start:stop],
            out_m[start:stop],
            wanted,
            num_wanted,
            ms,
            metres,
            came_by,
            heap,
        )
        for target in range(len(in_at) - 1):
            best, best_m, best_node = FAR, np.int64(0), np.int64(-1)
            for k in range(in_at[target], in_at[target + 1]):
                node = in_node[k]
                if ms[node] >= FAR:
                    continue
                there, far = ms[node] + in_ms[k], metres[node] + in_m[k]
                if there < best or (there == best and far < best_m):
                    best, best_m, best_node = there, far, node
            if best_node < 0:
                continue
            ms_table[source, target] = best
            m_table[source, target] = best_m
            # Walk back to the first node whose charges are known, then forward again: each node once a source.
            depth = 0
            node = best_node
            while known[node] != source + 1:
                chain[depth] = node
                depth += 1
                if came_by[node] < 0:
                    break
                node = arc_from[came_by[node]]
            while depth > 0:
                depth -= 1
                node = chain[depth]
                arc = came_by[node]
                if arc < 0:
                    ferry[node], low[node], high[node] = 0, 0, 0
                else:
                    before = arc_from[arc]
                    ferry[node] = ferry[before] + arc_ferry_s[arc]
                    low[node], high[node] = low[before], high[before]
                    charge = arc_charge[arc]
                    if 0 <= charge < 62:
                        low[node] |= np.int64(1) << charge
                    elif charge >= 62:
                        high[node] |= np.int64(1) << (charge - 62)
                known[node] = source + 1
            ferry_table[source, target] = ferry[best_node]
            low_table[source, target] = low[best_node]
            high_table[source, target] = high[best_node]
