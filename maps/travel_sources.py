"""
Where travel tables come from: the roads in use, or a routing server; one shape of call for all of them.

``HOMELEG_ROADS`` names a network file made by ``homeleg roads import``, or the address of a routing server
(``http://...``); without it the built-in network answers.
"""

import os
from collections.abc import Iterable, Sequence
from datetime import date
from typing import Protocol

from planner.model.crews import VehicleClass
from planner.model.places import Place
from planner.model.travel import Charge, TravelTable

Tables = tuple[dict[VehicleClass, TravelTable], tuple[Charge, ...]]


class TravelSource(Protocol):
    """Makes the tables of some places; a network, an imported extract or a server behind the same call."""

    def __call__(self, places: Sequence[Place], classes: Iterable[VehicleClass], *, day: date) -> Tables:
        """Return a table for each class and the charges that their masks speak of."""
        ...


def source(named: str | None = None) -> TravelSource:
    """Return the source that ``named`` means, the environment's when None."""
    told = os.environ.get("HOMELEG_ROADS", "") if named is None else named
    if told.startswith(("http://", "https://")):
        from maps.server import RoutingServer

        return RoutingServer(address=told).tables
    from maps.travel import travel_tables

    if named:
        from pathlib import Path

        from maps.roads import network_file

        network = network_file(Path(named))
        return lambda places, classes, *, day: travel_tables(places, classes, day=day, network=network)
    return travel_tables
