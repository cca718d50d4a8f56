"""
Road lines: the way of each leg as drawn, and its roads by number as printed, each path sought once.

Where the network knows no way the line is straight and no road is named.
"""

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from planner.faults import PlannerError
from planner.model.crews import VehicleClass
from planner.model.places import Place
from planner.sheets.tracks import Line, straight

if TYPE_CHECKING:
    from maps.roads import RoadNetwork
    from maps.travel import Path

SHORTEST_NAMED_M = 3_000  # a road driven for less is a junction, not a direction
MOST_NAMED = 9


@dataclass(slots=True)
class RoadLines:
    """Paths by their ends and vehicle class; ``network`` None means the built-in one."""

    network: "RoadNetwork | None" = None
    _known: dict[tuple[float, float, float, float, VehicleClass], "Path | None"] = field(default_factory=dict)

    def path(self, origin: Place, destination: Place, vehicle_class: VehicleClass) -> "Path | None":
        """Return the fastest path, None where there is none."""
        from maps.travel import path

        key = (origin.lng, origin.lat, destination.lng, destination.lat, vehicle_class)
        if key not in self._known:
            try:
                self._known[key] = path(origin, destination, vehicle_class, network=self.network)
            except PlannerError:
                self._known[key] = None
        return self._known[key]

    def geometry(self, origin: Place, destination: Place, vehicle_class: VehicleClass) -> Line:
        """Return the points (lng, lat) of the way, both ends included."""
        found = self.path(origin, destination, vehicle_class)
        if found is None or len(found.line) < 2:
            return straight(origin, destination, vehicle_class)
        return [(float(lng), float(lat)) for lng, lat in found.line]

    def names(self, origin: Place, destination: Place, vehicle_class: VehicleClass) -> tuple[str, ...]:
        """Return the roads of the way in order, short bits left out; empty where no way is known."""
        found = self.path(origin, destination, vehicle_class)
        if found is None:
            return ()
        long = [name for name, metres in found.roads if metres >= SHORTEST_NAMED_M]
        told = [name for at, name in enumerate(long) if at == 0 or long[at - 1] != name]
        return tuple(told[:MOST_NAMED])
