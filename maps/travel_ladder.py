"""
The ladder: shortcuts over an order of the junctions, by which a table of any size takes a fraction of a second.

A contraction hierarchy whose shortcuts carry, beside milliseconds and metres, the ferry seconds and charges of the very
path they stand for, so that nothing has to be unpacked for a table.  Rungs that some other way undercuts are on no best
path and are left out once the others are known (perfect customization: Dibbelt, Strasser and Wagner 2016, Journal of
Experimental Algorithmics 21).  What ways are compared by (milliseconds, and a little
for every metre) and metres are packed in one number: the least of them is the best path and, of two equally good, the
shorter.  Exact, and tested against the plain search.  Everything inside is by rank, not by node.
"""

# Flat loops over bare arrays are what the compiler turns into fast code.
# ruff: noqa: ANN001, ANN202, C901, PLR0912, PLR0917

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
from numba import njit

from maps.travel_arcs import MS_A_METRE, Arcs, Ends, weighed
from maps.travel_store import fingerprint, kept

Ints = npt.NDArray[np.int64]

PACK = np.int64(1) << np.int64(23)
FAR = np.int64(1) << np.int64(61)
ENTRY = 5  # numbers: who, packed cost, ferry seconds, and the halves of the charges
VERSION = 2  # of what is kept: raise it when the reckoning changes


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class Ladder:
    """
    Rungs from rank ``r`` to higher ones are ``at[r]`` to ``at[r + 1]`` of ``to`` (ascending).

    Every rank that can be climbed to from ``r`` is met by going from ``parent`` to ``parent``; that of the last is -1.
    """

    rank: Ints
    at: Ints
    to: Ints
    parent: Ints


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class Climb:
    """The rungs of best paths one way, from rank ``r`` ``at[r]`` to ``at[r + 1]``: packed cost, ferry seconds and charges."""

    at: Ints
    to: Ints
    packed: Ints
    ferry_s: Ints
    low: Ints
    high: Ints

    @property
    def arrays(self) -> tuple[Ints, Ints, Ints, Ints, Ints, Ints]:
        """All of it, as the kernels take it."""
        return self.at, self.to, self.packed, self.ferry_s, self.low, self.high


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class Rungs:
    """What it takes a class of vehicle to climb (``up``), and to come down to the rank from which a rung is told (``down``)."""

    up: Climb
    down: Climb


def build(rank: Ints, tail: Ints, head: Ints) -> Ladder:
    """Return the ladder of a network's links in a given order; kept between runs by its content."""
    held = kept(f"ladder-{VERSION}-{fingerprint(rank, tail, head)}", lambda: np.concatenate(_built(rank, tail, head)))
    at, parent, to = np.split(held, (len(rank) + 1, 2 * len(rank) + 1))
    return Ladder(rank=rank, at=at, to=to, parent=parent)


def _built(rank: Ints, tail: Ints, head: Ints) -> tuple[Ints, Ints, Ints]:
    a, b = rank[tail], rank[head]
    keep = a != b
    pairs = np.unique(np.stack([np.minimum(a, b)[keep], np.maximum(a, b)[keep]], axis=1), axis=0)
    at = np.zeros(len(rank) + 1, dtype=np.int64)
    at[1:] = np.cumsum(np.bincount(pairs[:, 0], minlength=len(rank)))
    full_at, full_to = _fill(at, pairs[:, 1].copy())
    parent = np.append(full_to, -1)[full_at[:-1]]
    return full_at, np.where(np.diff(full_at) > 0, parent, -1), full_to


@njit(cache=True, nogil=True)
def _put_in_order(some):  # type: ignore[no-untyped-def]
    """Sort in place, by shells: a few hundred numbers, and quick to compile."""
    gap = len(some) // 2
    while gap > 0:
        for i in range(gap, len(some)):
            held = some[i]
            j = i
            while j >= gap and some[j - gap] > held:
                some[j] = some[j - gap]
                j -= gap
            some[j] = held
        gap = gap // 2 if gap != 2 else 1


@njit(cache=True, nogil=True)
def _fill(at, to):  # type: ignore[no-untyped-def]
    """Return the rungs with all shortcuts that contraction in order needs."""
    count = len(at) - 1
    full_at = np.zeros(count + 1, np.int64)
    full = np.empty(max(16, 4 * len(to)), np.int64)
    mark = np.full(count, -1, np.int64)
    first_child = np.full(count, -1, np.int64)
    next_child = np.full(count, -1, np.int64)
    buffer = np.empty(count + 1, np.int64)
    size = 0
    for v in range(count):
        found = 0
        mark[v] = v
        for k in range(at[v], at[v + 1]):
            if mark[to[k]] != v:
                mark[to[k]] = v
                buffer[found] = to[k]
                found += 1
        child = first_child[v]
        while child >= 0:
            for k in range(full_at[child], full_at[child + 1]):
                if mark[full[k]] != v:
                    mark[full[k]] = v
                    buffer[found] = full[k]
                    found += 1
            child = next_child[child]
        above = buffer[:found].copy()
        _put_in_order(above)
        if size + found > len(full):
            grown = np.empty(2 * len(full) + found, np.int64)
            for k in range(size):  # copying by slices would take seconds to compile
                grown[k] = full[k]
            full = grown
        for k in range(found):
            full[size + k] = above[k]
        size += found
        full_at[v + 1] = size
        if found:
            parent = above[0]
            next_child[v] = first_child[parent]
            first_child[parent] = v
    return full_at, full[:size].copy()


def weigh(ladder: Ladder, arcs: Arcs) -> Rungs:
    """Return what the rungs cost a class of vehicle; kept between runs by its content."""
    given = _given(ladder, arcs)
    return _rungs(kept(f"rungs-{VERSION}-{fingerprint(*given)}", lambda: _both_ways(given)), len(ladder.parent))


def weigh_as(name: str, ladder: Ladder, arcs: Callable[[], Arcs]) -> Rungs:
    """Return what :func:`weigh` does, kept between runs under a name, so that mostly nobody needs the arcs."""
    held = kept(f"rungs-{VERSION}-{name}", lambda: _both_ways(_given(ladder, arcs())))
    return _rungs(held, len(ladder.parent))


def _given(ladder: Ladder, arcs: Arcs) -> tuple[Ints, ...]:
    ends = ladder.rank[arcs.came_from], ladder.rank[arcs.to]
    return (ladder.at, ladder.to, *ends, _packed(arcs.ms, arcs.metres), arcs.ferry_s, arcs.low, arcs.high)


def _both_ways(given: tuple[Ints, ...]) -> Ints:
    """Return both climbs as one row of numbers: up, then down, the ends of what is from each rank before the rungs."""
    at, to = given[:2]
    up, down, *carried = _weigh(*given)
    shortest = _shortest(at, to, up, down)
    row = []
    for way, (packed, least) in enumerate(zip((up, down), shortest, strict=True)):
        best = (packed == least) & (packed < FAR)
        row += [np.append(0, np.cumsum(best))[at], to[best], packed[best], *(told[best] for told in carried[way::2])]
    return np.concatenate(row)


def _rungs(held: Ints, ranks: int) -> Rungs:
    up, rest = _climb_of(held, ranks)
    down, _ = _climb_of(rest, ranks)
    return Rungs(up=up, down=down)


def _climb_of(held: Ints, ranks: int) -> tuple[Climb, Ints]:
    """Return the climb that a row of numbers begins with, and what comes after it."""
    at, count = held[: ranks + 1], int(held[ranks])
    to, packed, ferry_s, low, high, rest = np.split(held[ranks + 1 :], count * np.arange(1, 6))
    return Climb(at=at, to=to, packed=packed, ferry_s=ferry_s, low=low, high=high), rest


@njit(cache=True, nogil=True)
def _weigh(at, to, a, b, packed, ferry_s, low, high):  # type: ignore[no-untyped-def]
    num = len(to)
    up, down = np.full(num, FAR, np.int64), np.full(num, FAR, np.int64)
    up_ferry, down_ferry = np.zeros(num, np.int64), np.zeros(num, np.int64)
    up_low, down_low = np.zeros(num, np.int64), np.zeros(num, np.int64)
    up_high, down_high = np.zeros(num, np.int64), np.zeros(num, np.int64)
    for arc in range(len(a)):
        lower, upper = min(a[arc], b[arc]), max(a[arc], b[arc])
        if lower == upper:
            continue
        k = at[lower]
        while to[k] != upper:
            k += 1
        if a[arc] == lower:
            if packed[arc] < up[k]:
                up[k], up_ferry[k], up_low[k], up_high[k] = packed[arc], ferry_s[arc], low[arc], high[arc]
        elif packed[arc] < down[k]:
            down[k], down_ferry[k], down_low[k], down_high[k] = packed[arc], ferry_s[arc], low[arc], high[arc]
    # First the cost alone, with the two rungs each shortcut stands for; then, lowest first, what they carry.
    up_by, down_by = np.full((num, 2), -1, np.int32), np.full((num, 2), -1, np.int32)
    place = np.full(len(at) - 1, -1, np.int64)
    for v in range(len(at) - 1):
        stop = at[v + 1]
        for i in range(at[v], stop):
            x = to[i]
            to_x, from_x = up[i], down[i]
            if to_x >= FAR and from_x >= FAR:
                continue
            for k in range(at[x], at[x + 1]):
                place[to[k]] = k
            for j in range(i + 1, stop):
                k = place[to[j]]
                there = from_x + up[j]  # from x down to v and up to the other
                if there < up[k]:
                    up[k], up_by[k, 0], up_by[k, 1] = there, i, j
                back = down[j] + to_x
                if back < down[k]:
                    down[k], down_by[k, 0], down_by[k, 1] = back, j, i
    for k in range(num):
        i, j = up_by[k]
        if i >= 0:
            up_ferry[k] = down_ferry[i] + up_ferry[j]
            up_low[k], up_high[k] = down_low[i] | up_low[j], down_high[i] | up_high[j]
        i, j = down_by[k]
        if i >= 0:
            down_ferry[k] = down_ferry[i] + up_ferry[j]
            down_low[k], down_high[k] = down_low[i] | up_low[j], down_high[i] | up_high[j]
    return up, down, up_ferry, down_ferry, up_low, down_low, up_high, down_high


@njit(cache=True, nogil=True)
def _shortest(at, to, up, down):  # type: ignore[no-untyped-def]
    """Return what the best paths between the ends of each rung cost, by whatever way, up and down."""
    up, down = up.copy(), down.copy()
    place = np.full(len(at) - 1, -1, np.int64)
    for v in range(len(at) - 2, -1, -1):
        for i in range(at[v], at[v + 1]):
            x = to[i]
            for k in range(at[x], at[x + 1]):
                place[to[k]] = k
            for j in range(i + 1, at[v + 1]):
                k = place[to[j]]  # between the two above, whose own best are known by now
                up[i], up[j] = min(up[i], up[j] + down[k]), min(up[j], up[i] + up[k])
                down[i], down[j] = min(down[i], up[k] + down[j]), min(down[j], down[k] + down[i])
    return up, down


@njit(cache=True, nogil=True)
def _climb(parent, at, to, cost, ferry_of, low_of, high_of, start, packed, best, ferry, low, high, spot, seen):  # type: ignore[no-untyped-def]
    """
    Find what it takes from some starts to every rank above them; return how many ranks there are, ascending in ``seen``.

    Costs stand in the order of ``seen``.  ``spot`` comes filled with -1, and is so again.
    """
    num = 0
    for k in range(len(start)):
        v = start[k]
        while v >= 0 and spot[v] < 0:
            spot[v] = num
            seen[num] = v
            num += 1
            v = parent[v]
    _put_in_order(seen[:num])
    for n in range(num):
        spot[seen[n]] = n
        best[n] = FAR
    for k in range(len(start)):
        n = spot[start[k]]
        if packed[k] < best[n]:
            best[n], ferry[n], low[n], high[n] = packed[k], 0, 0, 0
    for n in range(num):
        v = seen[n]
        if best[n] >= FAR:
            continue
        for k in range(at[v], at[v + 1]):
            there = best[n] + cost[k]
            x = spot[to[k]]
            if there < best[x]:
                best[x], ferry[x] = there, ferry[n] + ferry_of[k]
                low[x], high[x] = low[n] | low_of[k], high[n] | high_of[k]
    for n in range(num):
        spot[seen[n]] = -1
    return num


@njit(cache=True, nogil=True)
def _descents(parent, at, to, down, ferry_of, low_of, high_of, in_at, in_rank, in_packed):  # type: ignore[no-untyped-def]
    """Return, for each rank, the targets that can be come down to from it, with what that takes."""
    count, targets = len(at) - 1, len(in_at) - 1
    best, ferry, low, high = (
        np.empty(count, np.int64),
        np.empty(count, np.int64),
        np.empty(count, np.int64),
        np.empty(count, np.int64),
    )
    spot, seen = np.full(count, -1, np.int32), np.empty(count, np.int64)
    room = 1024
    entries = np.empty((room, 6), np.int64)
    size = 0
    for target in range(targets):
        span = slice(in_at[target], in_at[target + 1])
        num = _climb(
            parent, at, to, down, ferry_of, low_of, high_of, in_rank[span], in_packed[span], best, ferry, low, high, spot, seen
        )
        if size + num > room:
            room = 2 * (size + num)
            grown = np.empty((room, 6), np.int64)
            for k in range(size):
                for column in range(6):
                    grown[k, column] = entries[k, column]
            entries = grown
        for n in range(num):
            if best[n] < FAR:
                entries[size, 0], entries[size, 1], entries[size, 2] = seen[n], target, best[n]
                entries[size, 3], entries[size, 4], entries[size, 5] = ferry[n], low[n], high[n]
                size += 1
    bucket_at = np.zeros(count + 1, np.int64)
    for k in range(size):
        bucket_at[entries[k, 0] + 1] += 1
    for v in range(count):
        bucket_at[v + 1] += bucket_at[v]
    filled = bucket_at[:-1].copy()
    sorted_entries = np.empty((size, ENTRY), np.int64)
    for k in range(size):
        place = filled[entries[k, 0]]
        filled[entries[k, 0]] += 1
        for column in range(ENTRY):
            sorted_entries[place, column] = entries[k, column + 1]
    return bucket_at, sorted_entries


@njit(cache=True, nogil=True)
def _rows(  # type: ignore[no-untyped-def]
    first,
    last,
    parent,
    at,
    to,
    up,
    ferry_of,
    low_of,
    high_of,
    out_at,
    out_rank,
    out_packed,
    bucket_at,
    entries,
    packed_table,
    ferry_table,
    low_table,
    high_table,
):
    """Fill the rows of sources ``first`` to ``last``; pairs that no path joins keep ``FAR``."""
    count = len(at) - 1
    best, ferry, low, high = (
        np.empty(count, np.int64),
        np.empty(count, np.int64),
        np.empty(count, np.int64),
        np.empty(count, np.int64),
    )
    spot, seen = np.full(count, -1, np.int32), np.empty(count, np.int64)
    for source in range(first, last):
        span = slice(out_at[source], out_at[source + 1])
        num = _climb(
            parent, at, to, up, ferry_of, low_of, high_of, out_rank[span], out_packed[span], best, ferry, low, high, spot, seen
        )
        for n in range(num):
            v = seen[n]
            if best[n] >= FAR:
                continue
            for k in range(bucket_at[v], bucket_at[v + 1]):
                target = entries[k, 0]
                there = best[n] + entries[k, 1]
                if there < packed_table[source, target]:
                    packed_table[source, target] = there
                    ferry_table[source, target] = ferry[n] + entries[k, 2]
                    low_table[source, target] = low[n] | entries[k, 3]
                    high_table[source, target] = high[n] | entries[k, 4]


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class Gathered:
    """
    For each rank, who can be met there: ``entries[at[r] : at[r + 1]]`` hold number, packed cost, ferry and charges.

    Ends are gathered by what it takes to come down to them, starts by what it takes to climb from them.
    """

    at: Ints
    entries: Ints
    count: int
    is_ends: bool


def gathered_as(name: str, ladder: Ladder, ends: Callable[[], tuple[Rungs, Ends]], count: int, *, is_ends: bool) -> Gathered:
    """Return what :func:`gathered` does for ``count`` ends, or starts, kept between runs under a name."""

    def made() -> Ints:
        found = gathered(ladder, *ends(), is_ends=is_ends)
        return np.concatenate((found.at, found.entries.ravel()))

    held, ranks = kept(f"met-{VERSION}-{name}-{is_ends}", made), len(ladder.at)
    return Gathered(at=held[:ranks], entries=held[ranks:].reshape(-1, ENTRY), count=count, is_ends=is_ends)


def gathered(ladder: Ladder, rungs: Rungs, ends: Ends, *, is_ends: bool) -> Gathered:
    """Return where ends, or starts, can be met; worth keeping when they are asked about again."""
    way = rungs.down if is_ends else rungs.up
    at, entries = _descents(ladder.parent, *way.arrays, ends.at, ladder.rank[ends.node], _packed(ends.ms, ends.metres))
    return Gathered(at=at, entries=entries, count=len(ends.at) - 1, is_ends=is_ends)


def _packed(ms: Ints, metres: Ints) -> Ints:
    return weighed(ms, metres) * PACK + metres


def met(ladder: Ladder, rungs: Rungs, others: Ends, known: Gathered, *, threads: int) -> tuple[Ints, Ints, Ints, Ints, Ints]:
    """
    Return milliseconds, metres, ferry seconds and the two halves of the charges, a row for each of ``others``.

    They are starts when ``known`` are ends, and ends when ``known`` are starts; -1 where no path leads.
    """
    from concurrent.futures import ThreadPoolExecutor

    count = len(others.at) - 1
    packed = np.full((count, known.count), FAR, dtype=np.int64)
    ferry, low, high = (np.zeros_like(packed) for _ in range(3))
    parts = max(1, min(count, 4 * threads)) if threads > 1 else 1
    bounds = [count * part // parts for part in range(parts + 1)]
    start, price, way = ladder.rank[others.node], _packed(others.ms, others.metres), rungs.up if known.is_ends else rungs.down

    def fill(part: int) -> None:
        _rows(
            bounds[part], bounds[part + 1], ladder.parent, *way.arrays, others.at, start, price, known.at, known.entries, packed,
            ferry, low, high,
        )  # fmt: skip

    if parts == 1:
        fill(0)
    else:
        with ThreadPoolExecutor(max_workers=threads) as pool:
            list(pool.map(fill, range(parts)))
    reached = packed < FAR
    metres = packed % PACK
    ms = packed // PACK - MS_A_METRE * metres
    return np.where(reached, ms, -1), np.where(reached, metres, -1), ferry, low, high


def tables(ladder: Ladder, rungs: Rungs, leave: Ends, arrive: Ends, *, threads: int) -> tuple[Ints, Ints, Ints, Ints, Ints]:
    """
    Return milliseconds, metres, ferry seconds and the two halves of the charges, a row a start and a column an end.

    ``leave`` and ``arrive`` say where starts enter and ends leave the network; -1 where no path leads.
    """
    return met(ladder, rungs, leave, gathered(ladder, rungs, arrive, is_ends=True), threads=threads)
