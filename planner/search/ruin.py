"""
Ruin: a fleet and its stops as arrays, and a search for cheap routes in them (:mod:`planner.search.ruin_kernel`).

Units are those of the caller; where stops are moves, minutes and pence.
"""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from planner.search.ruin_kernel import FAR, anneal

Ints = npt.NDArray[np.int64]
Floats = npt.NDArray[np.float64]

ROUNDS_A_LOOK = 20_000  # between two looks at the clock


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class Fleet:
    """
    What the kernel reads; ``m`` matrices, ``n`` stops, ``k`` kinds.

    ``minutes`` and ``pence`` are ``(m, n + 1, n + 1)``, from and to, the depot last; ``work``, ``opens``, ``closes`` (latest
    start) and ``stop_pence`` are ``(m, n)``, work -1 where the kind may not; ``kinds`` is ``(k, 7)``; ``uses`` is ``(k, u)`` with
    ranks of ``free``; ``stay`` is what leaving a stop out costs.
    """

    minutes: Ints
    pence: Floats
    work: Ints
    opens: Ints
    closes: Ints
    stop_pence: Floats
    kinds: Ints
    fixed: Floats
    wage: Floats
    uses: Ints
    free: Ints
    cars: Ints
    mass: Ints
    stay: Floats


@dataclass(frozen=True, kw_only=True, slots=True)
class Route:
    """One route: its kind, and its stops in order."""

    kind: int
    stops: tuple[int, ...]


def routes_of(
    fleet: Fleet, *, left: Callable[[], float], seed: int, hot: float, cold: float, most_routes: int, rounds: int | None = None
) -> tuple[tuple[Route, ...], float]:
    """
    Return the best routes found and what they cost with what they leave out.

    Parameters
    ----------
    fleet
        Nothing of it is changed.
    left
        Returns the share of the time that remains, 1 to 0: it sets the temperature, and 0 ends the search.
    seed
        The same seed and rounds give the same routes.
    hot, cold
        What a route may become dearer, about, at the beginning and at the end.
    most_routes
        How many routes there can be.
    rounds
        Most rounds; None for no limit.

    """
    n = len(fleet.stay)
    apart = fleet.minutes.min(axis=0)[:n, :n]
    near = np.ascontiguousarray(np.argsort(apart + apart.T, axis=1, kind="stable"), np.int64)
    free = fleet.free.copy()
    kind, first, last = (np.full(most_routes, -1, np.int64) for _ in range(3))
    count, load, cost = np.zeros(most_routes, np.int64), np.zeros((most_routes, 2), np.int64), np.zeros(most_routes)
    nxt, prv, route = (np.full(n, -1, np.int64) for _ in range(3))
    kept = [kind.copy(), first.copy(), nxt.copy()]
    found, best = kept, float(fleet.stay.sum())
    done = 0
    while (share := left()) > 0 and (rounds is None or done < rounds):
        now = min(ROUNDS_A_LOOK, rounds - done) if rounds is not None else ROUNDS_A_LOOK
        gone = [max(1 - share, many / rounds if rounds is not None else 0.0) for many in (done, done + now)]
        first_heat, last_heat = (hot * (cold / hot) ** part for part in gone)
        value = anneal(
            now, first_heat, last_heat, seed + done, fleet.kinds, fleet.minutes, fleet.work, fleet.opens, fleet.closes,
            fleet.pence, fleet.stop_pence, fleet.fixed, fleet.wage, fleet.uses, fleet.cars, fleet.mass, fleet.stay, near,
            free, kind, first, last, count, load, cost, nxt, prv, route, *kept,
        )  # fmt: skip
        done += now
        if value < best - 1e-6:
            best, found = float(value), [array.copy() for array in kept]
    return tuple(_told(*found)), best


def _told(kind: Ints, first: Ints, nxt: Ints) -> list[Route]:
    told = []
    for rank in np.flatnonzero(kind >= 0):
        stops, stop = [], int(first[rank])
        while stop >= 0:
            stops.append(stop)
            stop = int(nxt[stop])
        told.append(Route(kind=int(kind[rank]), stops=tuple(stops)))
    return told


def no_way(minutes: Ints) -> Ints:
    """Return minutes with no way where there is none told, in 64 bits."""
    return np.where(minutes < 0, FAR, minutes).astype(np.int64)
