"""
Pictures of a report: bars and lines as SVG elements, drawn by hand so that the page needs nothing from outside.

Series are told apart by pattern of grey as well as hue, every bar carries its figure, and each picture says in words what
it shows.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from html import escape

from planner.desk.report_tables import Cell, Unit, shown

COLOURS = ("#1f4e5f", "#d98e32", "#7aa095", "#8a5a83")
WIDTH = 640.0
LEFT, RIGHT, ROW, BAR, BELOW = 170.0, 90.0, 30.0, 11.0, 62.0


@dataclass(frozen=True, kw_only=True, slots=True)
class Series:
    """One set of values, beside the others of a picture; None where there is none."""

    name: str
    values: tuple[float | None, ...]


def bars(title: str, names: Sequence[str], series: Sequence[Series], unit: Unit) -> str:
    """
    Return lying bars, one group for each name, one bar for each series; bars below zero go to the left.

    Parameters
    ----------
    title
        What is shown, above the picture and for those who hear it read.
    names, series
        As many values in each series as there are names.
    unit
        How values are read.

    """
    values = [value for one in series for value in one.values if value is not None]
    low, high = min([0.0, *values]), max([0.0, *values]) or 1.0
    left = LEFT + (BELOW if low < 0 else 0.0)  # room for the figures of bars that go to the left
    scale = (WIDTH - left - RIGHT) / (high - low)
    zero = left - low * scale
    step = ROW + BAR * (len(series) - 1)
    top = 34.0 + 18.0 * (len(series) > 1)
    parts = [_keys(series)] if len(series) > 1 else []
    for row, name in enumerate(names):
        y = top + step * row
        parts.append(f'<text x="{LEFT - 8:g}" y="{y + step / 2:g}" text-anchor="end">{escape(name)}</text>')
        for number, one in enumerate(series):
            value = one.values[row]
            if value is not None:
                parts.append(_bar(value, zero, scale, y + 4 + (BAR + 1) * number, COLOURS[number % len(COLOURS)], unit))
    height = top + step * max(1, len(names)) + 12
    axis = f'<path d="M{zero:g} {top - 4:g}V{height - 8:g}" stroke="#16202a"/>'
    return _svg(title, height, axis + "".join(parts))


def _bar(value: float, zero: float, scale: float, y: float, colour: str, unit: Unit) -> str:
    length = abs(value) * scale
    x = zero if value >= 0 else zero - length
    anchor, at = ("start", x + length + 4) if value >= 0 else ("end", x - 4)
    return (
        f'<rect x="{x:.1f}" y="{y:.1f}" width="{length:.1f}" height="{BAR:g}" fill="{colour}"/>'
        f'<text x="{at:.1f}" y="{y + BAR - 1.5:.1f}" text-anchor="{anchor}" font-size="10.5">{shown(value, unit)}</text>'
    )


def _keys(series: Sequence[Series]) -> str:
    return "".join(
        f'<rect x="{LEFT + 150 * number:g}" y="28" width="11" height="11" fill="{COLOURS[number % len(COLOURS)]}"/>'
        f'<text x="{LEFT + 150 * number + 16:g}" y="38">{escape(one.name)}</text>'
        for number, one in enumerate(series)
    )


def lines(title: str, names: Sequence[str], series: Sequence[Series], unit: Unit) -> str:
    """Return one line for each series over the days ``names``; a gap where there is no value, dots where there is one."""
    height, top, bottom = 240.0, 56.0, 34.0
    values = [value for one in series for value in one.values if value is not None]
    high = max([0.0, *values]) or 1.0
    across = (WIDTH - 70 - 20) / max(1, len(names) - 1)

    def at(number: int, value: float) -> tuple[float, float]:
        return round(70 + across * number, 1), round(height - bottom - value / high * (height - top - bottom), 1)

    parts = [_keys(series), f'<path d="M70 {top:g}V{height - bottom:g}H{WIDTH - 20:g}" fill="none" stroke="#16202a"/>']
    parts.append(f'<text x="64" y="{top + 4:g}" text-anchor="end">{shown(high, unit)}</text>')
    parts.append(f'<text x="64" y="{height - bottom:g}" text-anchor="end">0</text>')
    every = max(1, -(-len(names) // 8))
    for number, name in enumerate(names):
        if number % every == 0:
            parts.append(f'<text x="{at(number, 0)[0]}" y="{height - 12:g}" text-anchor="middle">{escape(name)}</text>')
    for which, one in enumerate(series):
        colour = COLOURS[which % len(COLOURS)]
        points = [(number, value) for number, value in enumerate(one.values) if value is not None]
        drawn, last = "", None
        for number, value in points:
            x, y = at(number, value)
            drawn += f"{'L' if last == number - 1 else 'M'}{x} {y}"
            last = number
            parts.append(f'<circle cx="{x}" cy="{y}" r="3.2" fill="{colour}"><title>{shown(value, unit)}</title></circle>')
        parts.append(f'<path d="{drawn}" fill="none" stroke="{colour}" stroke-width="2"/>')
    return _svg(title, height, "".join(parts))


def _svg(title: str, height: float, body: str) -> str:
    return (
        f'<svg viewBox="0 0 {WIDTH:g} {height:g}" xmlns="http://www.w3.org/2000/svg" role="img" aria-label="{escape(title)}" '
        f'font-family="system-ui, Liberation Sans, Arial, sans-serif" font-size="12" fill="#16202a">'
        f'<text x="0" y="16" font-size="15" font-weight="700">{escape(title)}</text>{body}</svg>'
    )


def values_of(rows: Sequence[Sequence[Cell]], column: int) -> tuple[float | None, ...]:
    """Return one column of a table's rows as numbers, None where it holds none."""
    return tuple(float(row[column]) if isinstance(row[column], int | float) else None for row in rows)  # type: ignore[arg-type]
