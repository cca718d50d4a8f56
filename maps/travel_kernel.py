"""
The search for fastest paths, compiled: one source at a time over flat arrays, with metres and charges of the same path.

Keys are whole milliseconds; of two paths equally fast the shorter wins.
"""

# Flat loops over bare arrays are what the compiler turns into fast code.
# ruff: noqa: ANN001, ANN201, ANN202, PLR0917

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
