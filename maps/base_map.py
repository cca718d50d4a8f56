"""
The base map: the drawn country beneath the runs, so that a map needs no tiles and no network.

Coasts are Natural Earth (public domain), towns GeoNames (CC BY 4.0); ``maps/build/base_map_data.py`` makes the file.
Leaflet 1.9.4 (BSD 2-Clause) lies in ``maps/data/leaflet`` and goes into the page as data: addresses.
"""

import json
from base64 import b64encode
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    import folium

    from maps.roads import RoadNetwork

WEST, SOUTH, EAST, NORTH = -14.0, 48.7, 5.0, 61.2  # degrees; beyond it there is only sea that we did not draw
ROAD = "#c9bb95"
SEA, LAND, NEIGHBOUR, SHORE = "#dfe9ef", "#fbfaf5", "#eceae2", "#8a979e"


@dataclass(frozen=True, kw_only=True, slots=True)
class Town:
    """A name on the map; rank 1 is shown at every zoom, 2 and 3 only nearer."""

    name: str
    rank: int
    lng: float
    lat: float


@cache
def _file() -> dict[str, Any]:
    content: dict[str, Any] = json.loads(files("maps").joinpath("data/base_map.json").read_text(encoding="utf-8"))
    return content


def towns() -> tuple[Town, ...]:
    """Return the towns whose names are printed."""
    return tuple(Town(name=name, rank=rank, lng=lng, lat=lat) for name, rank, lng, lat in _file()["towns"])


def coast(key: str = "land") -> dict[str, Any]:
    """Return the land, or the ``neighbours``, as a GeoJSON geometry in degrees, lng before lat."""
    return {"type": "MultiPolygon", "coordinates": [[ring] for ring in _file()[key]]}


@cache
def leaflet_script() -> str:
    """Return Leaflet as a data: address, without the line that would ask for its source map."""
    text = files("maps").joinpath("data/leaflet/leaflet.js").read_text(encoding="utf-8")
    return _data_address(text.replace("//# sourceMappingURL=leaflet.js.map", ""), "text/javascript")


@cache
def leaflet_style() -> str:
    """Return Leaflet's style sheet as a data: address, without the pictures that we do not use."""
    lines = files("maps").joinpath("data/leaflet/leaflet.css").read_text(encoding="utf-8").splitlines()
    return _data_address("\n".join(line for line in lines if "url(" not in line), "text/css")


def _data_address(text: str, kind: str) -> str:
    return f"data:{kind};base64,{b64encode(text.encode()).decode()}"


def drawn_map(roads: "RoadNetwork | None" = None) -> "folium.Map":
    """Return a map of the country that asks the network for nothing, with the main roads when a road network is given."""
    import folium

    class DrawnMap(folium.Map):
        """A map with its own Leaflet inside."""

        default_js = [("leaflet", leaflet_script())]  # noqa: RUF012 - folium's own form
        default_css = [("leaflet_css", leaflet_style())]  # noqa: RUF012 - likewise

    drawn = DrawnMap(
        location=[54.0, -2.8],
        zoom_start=6,
        tiles=None,
        zoom_snap=0.25,
        min_zoom=5,
        max_zoom=13,
        attribution_control=False,
        zoom_animation=False,
        max_bounds=True,
        min_lat=SOUTH,
        max_lat=NORTH,
        min_lon=WEST,
        max_lon=EAST,
    )
    for key, fill in (("neighbours", NEIGHBOUR), ("land", LAND)):
        style = {"color": SHORE, "weight": 0.7, "fillColor": fill, "fillOpacity": 1}
        folium.GeoJson(coast(key), name=key, style_function=lambda _, style=style: style, control=False, interactive=False,
                       smooth_factor=0.8).add_to(drawn)  # fmt: skip
    if roads is not None:
        from maps.main_roads import main_roads

        lines = {"type": "MultiLineString", "coordinates": main_roads(roads)}
        style = {"color": ROAD, "weight": 1.4, "opacity": 1}
        folium.GeoJson(lines, name="roads", style_function=lambda _, style=style: style, control=False, interactive=False).add_to(
            drawn
        )
    marks = [
        point(
            town.lng,
            town.lat,
            f'<i class="town town-{town.rank}"></i><b class="town town-{town.rank}">{town.name}</b>',
            "town-mark",
        )
        for town in towns()
    ]
    layer(marks, name="towns").add_to(drawn)
    return drawn


#: How Leaflet makes a sign of a point: our own text, no pictures; towns lie beneath and are not for pressing.
SIGN = """
function (feature, at) {
    var told = feature.properties, town = told.kind === "town-mark";
    var icon = L.divIcon({html: told.html, className: told.kind, iconSize: [0, 0]});
    return L.marker(at, {
        icon: icon, title: told.title, alt: told.title, keyboard: false, interactive: !town, zIndexOffset: town ? -1000 : 0
    });
}"""


def point(lng: float, lat: float, html: str, kind: str, title: str = "") -> dict[str, Any]:
    """Return a sign as a GeoJSON feature; ``kind`` is the class by which the page's style knows it."""
    place = {"type": "Point", "coordinates": [round(lng, 5), round(lat, 5)]}
    return {"type": "Feature", "geometry": place, "properties": {"html": html, "kind": kind, "title": title}}


def layer(features: list[dict[str, Any]], *, name: str) -> "folium.GeoJson":
    """
    Return signs and lines as one element, because folium takes a millisecond or two for each.

    Lines are drawn as their properties say: ``color``, ``weight``, ``dashArray``.
    """
    import folium
    from folium.utilities import JsCode

    numbered = [{**feature, "id": str(number)} for number, feature in enumerate(features)]
    return folium.GeoJson(
        {"type": "FeatureCollection", "features": numbered}, name=name, point_to_layer=JsCode(SIGN),
        style_function=_line_style, smooth_factor=1, control=False,
    )  # fmt: skip


def _line_style(feature: dict[str, Any]) -> dict[str, Any]:
    told = feature["properties"]
    return {key: told[key] for key in ("color", "weight", "dashArray", "opacity") if told.get(key)}
