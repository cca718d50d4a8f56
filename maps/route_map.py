"""
The route map: the runs of a plan on the drawn country, each told apart by dash, label and colour.

Colours and dashes come from :mod:`planner.sheets.run_style`, the same as in the time line.  Geometry comes in as a
function, so that roads or straight lines will do.
"""

import json
import re
from html import escape
from typing import TYPE_CHECKING, Any

from maps.base_map import drawn_map, layer, point
from maps.lines import thinned
from planner.model.day import Day
from planner.model.places import Place
from planner.runs.plan import Plan
from planner.runs.run import Run
from planner.sheets.legs import legs
from planner.sheets.map_parts import MapParts
from planner.sheets.plain_text import place_text
from planner.sheets.run_style import RunStyle, run_style
from planner.sheets.tracks import Geometry, run_lines, straight

if TYPE_CHECKING:
    import folium

    from maps.roads import RoadNetwork

#: Sorts the pieces of a run's layer into legs, stops and label, each in the order in which they were drawn.
PARTS = """
function parts(group) {
    var found = {lines: [], stops: [], label: null};
    group.eachLayer(function (piece) {
        var kind = piece.feature.properties.kind;  // a line has none
        if (kind === "run-label-mark") { found.label = piece; } else { (kind ? found.stops : found.lines).push(piece); }
    });
    return found;
}"""
#: A marker is born with Leaflet's own picture before it gets our sign; this keeps it from asking for that picture.
NO_PICTURES = 'L.Marker.mergeOptions({icon: L.divIcon({className: "", iconSize: [0, 0]})});'


def route_map(day: Day, plan: Plan, geometry: Geometry = straight, *, roads: "RoadNetwork | None" = None) -> MapParts:
    """
    Return the map of a plan for a page, with the main roads of ``roads`` beneath when it is given.

    ``window.routeMap`` has the map and, by run, its lines and numbered stops.
    """
    import folium

    drawn = drawn_map(roads)
    register = [_draw_run(day, run, run_style(number), geometry, drawn) for number, run in enumerate(plan.runs)]
    bases = {place for run in plan.runs for place in (run.visits[0].place, *(stop.place for stop in run.itinerary.stops))}
    compounds = [
        point(place.lng, place.lat, f'<span class="compound">{escape(place.name)}</span>', "compound-mark")
        for place in (compound.place for compound in day.compounds)
        if place.place_id in bases
    ]
    layer(compounds, name="compounds").add_to(drawn)
    inside = [day.place_of[place] for place in bases] or [compound.place for compound in day.compounds]
    if inside:
        south_west = (min(place.lat for place in inside), min(place.lng for place in inside))
        drawn.fit_bounds([south_west, (max(place.lat for place in inside), max(place.lng for place in inside))], padding=(24, 24))
    figure = drawn.get_root()
    assert isinstance(figure, folium.Figure)
    figure.render()
    names = f"{PARTS}\nwindow.routeMap = {{map: {drawn.get_name()}, runs: {{{', '.join(register)}}}}};"
    script = f"{NO_PICTURES}\n{figure.script.render()}\n{names}"
    return _numbered(MapParts(head=figure.header.render(), body=figure.html.render(), script=script))


def _draw_run(day: Day, run: Run, style: RunStyle, geometry: Geometry, drawn: "folium.Map") -> str:
    """Draw one run as one layer, its legs in order, then its stops, then its label; return its entry in the register."""
    features: list[dict[str, Any]] = []
    for leg, way in zip(legs(day, run), run_lines(day, run, geometry), strict=True):
        dash, weight = ("1 7", 1.5) if leg.is_ride else (style.dash, 3)
        line = {"type": "LineString", "coordinates": [[round(lng, 4), round(lat, 4)] for lng, lat in thinned(way)]}
        told = {"color": style.colour, "weight": weight, "dashArray": dash, "opacity": 0.85}
        features.append({"type": "Feature", "geometry": line, "properties": told})
    for number, visit in enumerate(run.visits[: len(run.itinerary.stops)], start=1):
        place = day.place_of[visit.place]
        html = f'<span class="stop" style="border-color:{style.colour}">{number}</span>'
        features.append(point(place.lng, place.lat, html, "stop-mark", f"{run.run_id}, {number}: {place_text(day, visit.place)}"))
    far = _farthest(day, run)
    label = f'<span class="run-label" style="border-color:{style.colour}">{escape(run.run_id)}</span>'
    features.append(point(far.lng, far.lat, label, "run-label-mark", str(run.run_id)))
    drawn_run = layer(features, name=str(run.run_id))
    drawn_run.add_to(drawn)
    return f"{json.dumps(run.run_id)}: parts({drawn_run.get_name()})"


def _farthest(day: Day, run: Run) -> Place:
    """Return the place of the run that is farthest from where it begins, which is where its label stands."""
    first, *others = [day.place_of[visit.place] for visit in run.visits]
    return max(others, key=lambda place: abs(place.lng - first.lng) * 0.6 + abs(place.lat - first.lat), default=first)


def _numbered(parts: MapParts) -> MapParts:
    """Return the parts with the drawn names of their elements replaced by counted ones, so that equal plans give equal pages."""
    seen: dict[str, str] = {}

    def counted(match: re.Match[str]) -> str:
        return seen.setdefault(match[0], f"{len(seen) + 1}")

    head = "\n".join(re.findall(r"<script src=.*?</script>|<link .*?>", parts.head))  # the rest of it is for a page of its own
    body = re.sub(r"(?<=_)[0-9a-f]{32}(?![0-9a-f])", counted, parts.body)
    script = re.sub(r"(?<=_)[0-9a-f]{32}(?![0-9a-f])", counted, parts.script)
    return MapParts(head=head, body=body, script=re.sub(r"\n\s+", "\n", script))
