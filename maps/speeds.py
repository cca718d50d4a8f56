"""
Speeds: how fast each class of vehicle really goes on each kind of road over a working day.

Averages of a working day, not free flow and not live traffic: nobody here knows of today's jam.  ``data/speeds.toml``
holds them in km/h, never above the limit of the vehicle's class.
"""

from functools import lru_cache
from typing import Any

import numpy as np
import numpy.typing as npt

from maps.packaged import packaged_toml
from maps.postcodes import NATIONS
from maps.roads import RoadClass, RoadNetwork
from planner.model.crews import VehicleClass
from planner.model.places import Nation

ROWS = ("motorway", "dual", "single", "minor")
MS_AN_HOUR = 3_600_000


@lru_cache(maxsize=1)
def _file() -> dict[str, Any]:
    return packaged_toml("speeds.toml")


def speed_table(vehicle_class: VehicleClass, nation: Nation) -> npt.NDArray[np.float64]:
    """Return km/h, shape (road classes on land, settings), of a class of vehicle in a nation."""
    rows = dict(_file()[vehicle_class.value])
    rows.update(_file().get(nation.value.lower(), {}).get(vehicle_class.value, {}))
    return np.array([rows[name] for name in ROWS], dtype=np.float64)


def edge_ms(network: RoadNetwork, vehicle_class: VehicleClass) -> npt.NDArray[np.int64]:
    """Return the milliseconds that each edge takes a vehicle of the class; ferries take their crossing and check-in."""
    speeds = np.stack([speed_table(vehicle_class, nation) for nation in NATIONS])
    on_land = network.road_class != RoadClass.FERRY
    row = np.where(on_land, network.road_class, 0)
    kmh = speeds[network.nation, row, : network.setting_percent.shape[1]]
    limit = np.where(network.limit_kmh > 0, network.limit_kmh, 1000)[:, None]
    hours_a_km = (network.setting_percent / 100.0 / np.minimum(kmh, limit)).sum(axis=1)
    land = np.ceil(network.metres * hours_a_km * (MS_AN_HOUR / 1000))
    return np.where(on_land, np.maximum(land, 1), network.ferry_s * 1000.0).astype(np.int64)
