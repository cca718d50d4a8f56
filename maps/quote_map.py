"""The small map of a quote: coast, a few towns, the compound and the door, as one SVG element without scripts."""

from collections.abc import Mapping
from html import escape
from math import cos, dist, radians
from typing import Any

from maps.base_map import coast, towns

WIDTH, HEIGHT, EDGE = 420.0, 420.0, 26.0
LEAST_SPAN_KM = 40.0
CLEAR = 24.0  # around a mark, free of town names
LETTER = 6.5  # of a town's name, as wide as any
KM_A_DEGREE = 111.2


class Frame:
    """A stretch of country on a rectangle of paper: equal scale along both ways at its middle."""

    def __init__(self, points: list[tuple[float, float]], *, width: float = WIDTH, height: float = HEIGHT) -> None:
        lngs, lats = zip(*points, strict=True)
        self.lat, self.lng = (min(lats) + max(lats)) / 2, (min(lngs) + max(lngs)) / 2
        self.squeeze = cos(radians(self.lat))
        wide = (max(lngs) - min(lngs)) * self.squeeze * KM_A_DEGREE
        high = (max(lats) - min(lats)) * KM_A_DEGREE
        self.scale = min(
            (width - 2 * EDGE) / max(wide, LEAST_SPAN_KM), (height - 2 * EDGE) / max(high, LEAST_SPAN_KM)
        )
        self.width, self.height = width, height

    def at(self, lng: float, lat: float) -> tuple[float, float]:
        """Return where a point lies on the paper."""
        x = self.width / 2 + (lng - self.lng) * self.squeeze * KM_A_DEGREE * self.scale
        return round(x, 1), round(self.height / 2 - (lat - self.lat) * KM_A_DEGREE * self.scale, 1)

    def shows(self, lng: float, lat: float, *, margin: float = 0.0) -> bool:
        """Return whether a point lies on the paper, ``margin`` inside its edge."""
        x, y = self.at(lng, lat)
        return margin <= x <= self.width - margin and margin <= y <= self.height - margin

    def land(self) -> str:
        """Return the path of all land that may be seen."""
        parts = []
        for (ring,) in coast()["coordinates"]:
            placed = [self.at(lng, lat) for lng, lat in ring]
            xs, ys = zip(*placed, strict=True)
            if max(xs) >= 0 and min(xs) <= self.width and max(ys) >= 0 and min(ys) <= self.height:
                parts.append("M" + "L".join(f"{x} {y}" for x, y in placed) + "Z")
        return "".join(parts)


def quote_map(document: Mapping[str, Any]) -> str:
    """Return the map of a quote's document: a straight line from compound to door with the road miles beside it."""
    door, start = document["door"], document["stands_at"]
    ends = [(float(start["lng"]), float(start["lat"])), (float(door["lng"]), float(door["lat"]))]
    frame = Frame(ends)
    (x1, y1), (x2, y2) = (frame.at(*end) for end in ends)
    shown = [
        town for town in towns()
        if town.rank <= 2 and frame.shows(town.lng, town.lat, margin=12)
        and all(_away(town.name, *frame.at(town.lng, town.lat), end) > CLEAR for end in ((x1, y1), (x2, y2)))
    ][:14]  # fmt: skip
    marks = "".join(
        f'<circle cx="{x}" cy="{y}" r="1.6" fill="#5b6870"/>{_town(town.name, x, y)}'
        for town in shown
        for x, y in [frame.at(town.lng, town.lat)]
    )
    return (
        f'<svg viewBox="0 0 {WIDTH:g} {HEIGHT:g}" xmlns="http://www.w3.org/2000/svg" role="img" '
        f'aria-label="From {escape(start["name"])} to {escape(door["name"])}, {document["miles"]} miles by road">'
        f'<rect width="100%" height="100%" fill="#e4edf2"/><path d="{frame.land()}" fill="#fbfaf5" stroke="#8a979e"/>'
        f'<g font-size="10" fill="#5b6870" font-family="sans-serif">{marks}</g>'
        f'<path d="M{x1} {y1}L{x2} {y2}" stroke="#16202a" stroke-width="2" stroke-dasharray="6 4"/>'
        f'<rect x="{x1 - 5}" y="{y1 - 5}" width="10" height="10" fill="#16202a"/>'
        f'<circle cx="{x2}" cy="{y2}" r="6" fill="#fff" stroke="#16202a" stroke-width="3"/>'
        f'<g font-size="13" font-weight="700" font-family="sans-serif" fill="#16202a">{_label(start["name"], x1, y1)}'
        f'{_label(door["name"], x2, y2)}</g></svg>'
    )


def _is_left(name: str, x: float) -> bool:
    """Return whether a town's name stands left of its point, because the paper ends right of it."""
    return x + LETTER * len(name) > WIDTH


def _away(name: str, x: float, y: float, mark: tuple[float, float]) -> float:
    """Return how far a mark is from a town's point and name."""
    long = LETTER * len(name)
    nearest = min(max(mark[0], x - long * _is_left(name, x)), x + long * (not _is_left(name, x)))
    return dist((nearest, y), mark)


def _town(name: str, x: float, y: float) -> str:
    """Return a town's name beside its point."""
    anchor, shift = ("end", -4) if _is_left(name, x) else ("start", 4)
    return f'<text x="{x + shift}" y="{y + 3}" text-anchor="{anchor}">{escape(name)}</text>'


def _label(name: str, x: float, y: float) -> str:
    """Return a name beside its mark, on the side where there is room, on a light edge of its own."""
    anchor, shift = ("end", -10) if x > WIDTH / 2 else ("start", 10)
    text = f'x="{x + shift}" y="{y - 9}" text-anchor="{anchor}"'
    return f'<text {text} stroke="#fbfaf5" stroke-width="3">{escape(name)}</text><text {text}>{escape(name)}</text>'
