"""
Routes for other tools: each run as GeoJSON (RFC 7946) and as GPX 1.1 (topografix.com, schema of 2004).

Geometry comes in as a function.  Coordinates are WGS84 degrees; GeoJSON puts lng first, GPX names them.
"""

from collections.abc import Callable, Sequence
from typing import Any
from xml.sax.saxutils import escape, quoteattr

from planner.model.crews import VehicleClass
from planner.model.day import Day
from planner.model.places import Place
from planner.runs.run import Run
from planner.sheets.legs import legs
from planner.sheets.plain_text import crew_name, place_name, window_text

Line = Sequence[tuple[float, float]]
#: Points (lng, lat) of the way between two places for a vehicle class, both ends included.
Geometry = Callable[[Place, Place, VehicleClass], Line]


def straight(origin: Place, destination: Place, _vehicle_class: VehicleClass) -> Line:
    """Return the straight line, for when no road is known."""
    return ((origin.lng, origin.lat), (destination.lng, destination.lat))


def run_lines(day: Day, run: Run, geometry: Geometry) -> tuple[Line, ...]:
    """Return the line of each leg in order; a ride is straight, because nobody knows its track."""
    found = []
    for leg in legs(day, run):
        origin, destination = day.place_of[leg.origin], day.place_of[leg.destination]
        draw = straight if leg.is_ride else geometry
        found.append(tuple(draw(origin, destination, leg.vehicle_class)))
    return tuple(found)


def run_geojson(day: Day, run: Run, geometry: Geometry = straight) -> dict[str, Any]:
    """Return a run as a FeatureCollection: a LineString for each leg, a Point for each visit; no times of a hired carrier."""
    features: list[dict[str, Any]] = []
    for number, (leg, line) in enumerate(zip(legs(day, run), run_lines(day, run, geometry), strict=True), start=1):
        features.append({
            "type": "Feature",
            "geometry": {"type": "LineString", "coordinates": [[round(lng, 5), round(lat, 5)] for lng, lat in line]},
            "properties": {"run": run.run_id, "leg": number, "by": "ride" if leg.is_ride else str(leg.vehicle_class),
                           "metres": leg.metres, "minutes": leg.minutes},
        })  # fmt: skip
    for number, visit in enumerate(run.visits[: len(run.itinerary.stops)], start=1):
        place = day.place_of[visit.place]
        features.append({
            "type": "Feature",
            "geometry": {"type": "Point", "coordinates": [round(place.lng, 6), round(place.lat, 6)]},
            "properties": {"run": run.run_id, "visit": number, "place": place_name(day, visit.place),
                           "start": day.clock.iso(visit.start_min) if run.activities else None,
                           "end": day.clock.iso(visit.end_min) if run.activities else None},
        })  # fmt: skip
    return {"type": "FeatureCollection", "features": features}


def run_gpx(day: Day, run: Run, geometry: Geometry = straight) -> str:
    """Return a run as GPX: a way point for each visit and one track with a segment for each leg."""
    parts = [
        '<?xml version="1.0" encoding="UTF-8"?>',
        '<gpx version="1.1" creator="homeleg" xmlns="http://www.topografix.com/GPX/1/1">',
        f"<metadata><name>{escape(f'{run.run_id} {crew_name(day, run)}')}</name></metadata>",
    ]
    for number, visit in enumerate(run.visits[: len(run.itinerary.stops)], start=1):
        place = day.place_of[visit.place]
        window = window_text(day, visit.window)
        ours = day.clock.wall(visit.start_min) if run.activities else ""  # a hired carrier plans its own hours
        says = f"{ours} ({window})" if ours and window else ours or window
        parts.append(
            f"<wpt lat={quoteattr(f'{place.lat:.6f}')} lon={quoteattr(f'{place.lng:.6f}')}>"
            f"<name>{escape(f'{number} {place_name(day, visit.place)}')}</name><desc>{escape(says)}</desc></wpt>"
        )
    parts.append(f"<trk><name>{escape(str(run.run_id))}</name>")
    for line in run_lines(day, run, geometry):
        points = "".join(f'<trkpt lat="{lat:.5f}" lon="{lng:.5f}"/>' for lng, lat in line)
        parts.append(f"<trkseg>{points}</trkseg>")
    parts.append("</trk></gpx>\n")
    return "\n".join(parts)
