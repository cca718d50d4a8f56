"""
Tariff maps: what delivery is charged, and how soon it can be promised, over the whole country on a honeycomb of cells.

A cell is asked at its middle; cells without an address within a few kilometres are left out.  Classes are told apart by
lightness as well as hue, and each is printed with its number of cells, so that a grey print reads the same.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from html import escape
from math import cos, pi, sin, sqrt

import numpy as np

from maps.national_grid import from_lng_lat, to_lng_lat
from maps.quote_map import Frame
from maps.roads_settings import surroundings
from planner.model.places import Place, PlaceId
from planner.units import pounds_text

NEAR_PEOPLE_M = 6_000
WEST, SOUTH, EAST, NORTH = 60_000, 5_000, 660_000, 1_220_000  # of Great Britain on the national grid
LIGHT_TO_DARK = ("#f7f4d9", "#cfe3b4", "#8fcaa9", "#4ba7a3", "#2b7c94", "#27507f", "#2a2a5e")
NOWHERE = "#ffffff"
KEY_WIDTH = 190.0


@dataclass(frozen=True, kw_only=True, slots=True)
class Cell:
    """One cell with its answer; ``charge_pence`` None by arrangement, ``day`` None when nothing can be promised."""

    lng: float
    lat: float
    charge_pence: int | None
    day: date | None


def cell_places(cell_km: float = 25.0) -> tuple[Place, ...]:
    """Return the middle of every cell of Great Britain near which people live, ``cell_km`` from one to the next."""
    step, row_step = cell_km * 1000, cell_km * 1000 * sqrt(3) / 2
    middles = [
        (WEST + step * (column + 0.5 * (row % 2)), SOUTH + row_step * row)
        for row in range(int((NORTH - SOUTH) / row_step) + 1)
        for column in range(int((EAST - WEST) / step) + 1)
    ]
    east, north = (np.array(ends, dtype=np.float64) for ends in zip(*middles, strict=True))
    lng, lat = to_lng_lat(east, north)
    _, _, away_m = surroundings().at(lng, lat)
    return tuple(
        Place(place_id=PlaceId(f"cell {number}"), name=f"{lat[number]:.3f},{lng[number]:.3f}", lng=float(lng[number]),
              lat=float(lat[number]))
        for number in np.flatnonzero(away_m <= NEAR_PEOPLE_M)
    )  # fmt: skip


def charge_map(cells: Sequence[Cell], *, cell_km: float = 25.0) -> str:
    """Return the map of charges as an SVG element with its key."""
    charges = sorted(cell.charge_pence for cell in cells if cell.charge_pence is not None)
    edges = _edges(charges)
    names = [f"{_pounds(low)} to {_pounds(high)}" if low < high else _pounds(low) for low, high in edges]
    classes = [next((k for k, (_, high) in enumerate(edges) if cell.charge_pence <= high), len(edges) - 1)
               if cell.charge_pence is not None else None for cell in cells]  # fmt: skip
    return _drawn("Charge for delivery, VAT included", cells, classes, names, "by arrangement", cell_km)


def day_map(cells: Sequence[Cell], *, cell_km: float = 25.0) -> str:
    """Return the map of the earliest day as an SVG element with its key."""
    days = sorted({cell.day for cell in cells if cell.day is not None})
    shown = days[: len(LIGHT_TO_DARK) - 1] if len(days) > len(LIGHT_TO_DARK) else days
    names = [f"{day:%A} {day.day} {day:%B}" for day in shown] + (["later"] if len(days) > len(shown) else [])
    classes = [None if cell.day is None else shown.index(cell.day) if cell.day in shown else len(shown) for cell in cells]
    return _drawn("Earliest day that can be promised", cells, classes, names, "no day is promised", cell_km)


def _edges(charges: Sequence[int]) -> list[tuple[int, int]]:
    """
    Return (lowest, highest) of up to seven classes of charges that are as near each other as can be, equal ones together.

    Classes with the least squares of what their members are from their mean (Fisher 1958, JASA 53), so that the bands of a
    tariff, which many cells share, stand apart from each other.
    """
    values, counts = np.unique(np.array(charges, np.int64), return_counts=True)
    size = len(values)
    sums = [np.concatenate(([0.0], np.cumsum(counts * values.astype(float) ** power))) for power in range(3)]
    first, last = np.arange(size)[:, None], np.arange(1, size + 1)[None, :]
    number, total, squares = (run[last] - run[first] for run in sums)
    spread = np.where(last > first, squares - total**2 / np.where(last > first, number, 1.0), np.inf)
    least, starts = np.where(np.arange(size + 1) == 0, 0.0, np.inf), []
    for _ in range(min(len(LIGHT_TO_DARK), size)):
        ways = least[:-1, None] + spread
        starts.append(ways.argmin(axis=0))
        least = np.concatenate(([np.inf], ways.min(axis=0)))
    edges, end = list[tuple[int, int]](), size
    for row in reversed(starts):
        start = int(row[end - 1])
        edges.append((int(values[start]), int(values[end - 1])))
        end = start
    return edges[::-1]


def _pounds(pence: int) -> str:
    return "free" if pence == 0 else pounds_text(pence).removesuffix(".00")


def _drawn(
    title: str, cells: Sequence[Cell], classes: Sequence[int | None], names: Sequence[str], nowhere: str, cell_km: float
) -> str:
    width, height = 420.0, 640.0
    frame = Frame([(cell.lng, cell.lat) for cell in cells] or [(-2.0, 54.0)], width=width, height=height)
    colours = _colours(len(names))
    bodies = []
    for cell, number in zip(cells, classes, strict=True):
        fill, said = (NOWHERE, nowhere) if number is None else (colours[number], names[number])
        bodies.append(
            f'<path d="{_hexagon(frame, cell, cell_km)}" fill="{fill}"><title>{cell.lat:.2f}, {cell.lng:.2f}: '
            f"{escape(said)}</title></path>"
        )
    key = _key(colours, names, nowhere, classes)
    return (
        f'<svg viewBox="0 0 {width + KEY_WIDTH:g} {height:g}" xmlns="http://www.w3.org/2000/svg" role="img" '
        f'aria-label="{escape(title)}"><rect width="100%" height="100%" fill="#e4edf2"/>'
        f'<g transform="translate({KEY_WIDTH:g} 0)"><path d="{frame.land()}" fill="#fbfaf5" stroke="#8a979e"/>'
        f'<g stroke="#52606a" stroke-width=".6">{"".join(bodies)}</g></g>'
        f'<g font-family="sans-serif" font-size="12" fill="#16202a">'
        f'<text x="12" y="22" font-size="15" font-weight="700">{escape(title)}</text>{key}</g></svg>'
    )


def _colours(count: int) -> list[str]:
    last = min(len(LIGHT_TO_DARK) - 1, count + 1)  # few classes need no darkness
    return [LIGHT_TO_DARK[round(k * last / max(1, count - 1))] for k in range(count)]


def _key(colours: Sequence[str], names: Sequence[str], nowhere: str, classes: Sequence[int | None]) -> str:
    rows = [*zip(colours, names, range(len(names)), strict=True)]
    entries: list[tuple[str, str, int | None]] = [*rows]
    if None in classes:
        entries.append((NOWHERE, nowhere, None))
    return "".join(
        f'<rect x="12" y="{34 + 18 * k}" width="14" height="13" fill="{colour}" stroke="#52606a"/>'
        f'<text x="32" y="{45 + 18 * k}">{escape(name)} ({classes.count(number)})</text>'
        for k, (colour, name, number) in enumerate(entries)
    )


def _hexagon(frame: Frame, cell: Cell, cell_km: float) -> str:
    """Return the outline of a cell, true on the national grid."""
    east, north = from_lng_lat(np.array([cell.lng]), np.array([cell.lat]))
    radius = cell_km * 1000 / sqrt(3)
    corners = [(float(east[0]) + radius * sin(pi / 3 * k), float(north[0]) + radius * cos(pi / 3 * k)) for k in range(6)]
    lng, lat = to_lng_lat(*(np.array(ends) for ends in zip(*corners, strict=True)))
    return "M" + "L".join(f"{x} {y}" for x, y in map(frame.at, lng.tolist(), lat.tolist())) + "Z"
