"""
Near points: the nearest of many points to a few, from a grid of squares searched in rings, compiled.

A general tree of points does the same; this one needs nothing loaded beyond what the road search needs anyway, which is
what a question on the telephone waits for.  Equally near points come in the order of their rows.
"""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
from numba import njit

Floats = npt.NDArray[np.float64]
Ints = npt.NDArray[np.int64]


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class NearPoints:
    """Points ``(n, 2)`` by the square they lie in: those of square ``s`` are ``order[at[s] : at[s + 1]]``."""

    points: Floats
    square: float
    origin: Floats
    across: int
    up: int
    at: Ints
    order: Ints

    @classmethod
    def of(cls, points: npt.ArrayLike, square: float) -> "NearPoints":
        """Return the grid of some points, at least one, with squares of that size."""
        placed, square = np.ascontiguousarray(points, dtype=np.float64), float(square)  # one kind of number compiles once
        origin = placed.min(axis=0)
        cell = ((placed - origin) // square).astype(np.int64)
        across, up = (int(size) + 1 for size in cell.max(axis=0))
        number = cell[:, 0] * up + cell[:, 1]
        at = np.zeros(across * up + 1, dtype=np.int64)
        at[1:] = np.cumsum(np.bincount(number, minlength=across * up))
        return cls(
            points=placed, square=square, origin=origin, across=across, up=up, at=at, order=np.argsort(number, kind="stable")
        )

    @classmethod
    def from_row(cls, points: Floats, row: Floats) -> "NearPoints":
        """Return the grid of the points that :meth:`as_row` told."""
        across, up = int(row[3]), int(row[4])
        told = row[5:].view(np.int64)
        at, order = told[: across * up + 1], told[across * up + 1 :]
        return cls(points=points, square=float(row[0]), origin=row[1:3], across=across, up=up, at=at, order=order)

    def as_row(self) -> Floats:
        """Return everything but the points as one row of numbers, for keeping."""
        return np.concatenate((
            [self.square, *self.origin, self.across, self.up], self.at.view(np.float64), self.order.view(np.float64),
        ))  # fmt: skip

    def nearest(self, wanted: npt.ArrayLike, count: int = 1) -> tuple[Floats, Ints]:
        """Return distances and rows, each ``(m, count)``, of the ``count`` points nearest to each of ``m``, nearest first."""
        asked = np.ascontiguousarray(wanted, dtype=np.float64).reshape(-1, 2)
        count = min(count, len(self.points))
        away, rows = np.empty((len(asked), count)), np.empty((len(asked), count), dtype=np.int64)
        _search(self.points, self.square, self.origin, self.across, self.up, self.at, self.order, asked, away, rows)
        return np.sqrt(away), rows


@njit(cache=True, nogil=True)
def _search(points, square, origin, across, up, at, order, asked, away, rows):  # type: ignore[no-untyped-def]  # noqa: ANN001, ANN202, PLR0917 - one flat loop over arrays is what compiles to fast code
    """Fill squares of distances and rows; rings of squares grow until nothing nearer can lie outside."""
    most = away.shape[1]
    for query in range(len(asked)):
        x, y = asked[query, 0], asked[query, 1]
        column = int(min(max((x - origin[0]) // square, 0), across - 1))
        row = int(min(max((y - origin[1]) // square, 0), up - 1))
        found = 0
        for ring in range(max(across, up) + 1):
            for c in range(max(column - ring, 0), min(column + ring, across - 1) + 1):
                edge = c in (column - ring, column + ring)
                step = 1 if edge else max(2 * ring, 1)
                for r in range(row - ring, row + ring + 1, step):
                    if r < 0 or r >= up:
                        continue
                    cell = c * up + r
                    for k in range(at[cell], at[cell + 1]):
                        point = order[k]
                        apart = (points[point, 0] - x) ** 2 + (points[point, 1] - y) ** 2
                        if found == most and (
                            apart > away[query, most - 1] or (apart == away[query, most - 1] and point > rows[query, most - 1])
                        ):
                            continue
                        slot = min(found, most - 1)
                        while slot > 0 and (
                            away[query, slot - 1] > apart or (away[query, slot - 1] == apart and rows[query, slot - 1] > point)
                        ):
                            away[query, slot] = away[query, slot - 1]
                            rows[query, slot] = rows[query, slot - 1]
                            slot -= 1
                        away[query, slot] = apart
                        rows[query, slot] = point
                        found = min(found + 1, most)
            if found == most:
                # Whatever lies beyond the rings searched is at least this far off.
                clear = min(
                    x - (origin[0] + (column - ring) * square), origin[0] + (column + ring + 1) * square - x,
                    y - (origin[1] + (row - ring) * square), origin[1] + (row + ring + 1) * square - y,
                )  # fmt: skip
                if clear > 0 and clear * clear > away[query, most - 1]:
                    break
