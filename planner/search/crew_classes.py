"""
Crew classes: drivers who are interchangeable on the day, and transporters that are.

Members of a class start and end at one place, at one time, under the same licence, wage and hours left, so a plan for
one is a plan for each; names are put to runs at the very end.  A driver or transporter that something is pinned to is a
class of its own.
"""

from collections.abc import Sequence
from dataclasses import dataclass

from planner.model.crews import Driver, Transporter
from planner.model.day import Day
from planner.runs.alike import kind_of_driver, kind_of_transporter


@dataclass(frozen=True, slots=True)
class DriverClass:
    """Interchangeable drivers."""

    drivers: tuple[Driver, ...]

    @property
    def one(self) -> Driver:
        """Any of them."""
        return self.drivers[0]


@dataclass(frozen=True, slots=True)
class TransporterType:
    """Interchangeable transporters."""

    transporters: tuple[Transporter, ...]

    @property
    def one(self) -> Transporter:
        """Any of them."""
        return self.transporters[0]


def driver_classes(day: Day) -> tuple[DriverClass, ...]:
    """Return every driver of the day in classes, in the order of the day."""
    pinned = {move.pinned_driver for move in day.moves}
    found: dict[object, list[Driver]] = {}
    for driver in day.drivers:
        key: object = (kind_of_driver(driver), driver.pinned_transporter)
        found.setdefault(driver.driver_id if driver.driver_id in pinned else key, []).append(driver)
    return tuple(DriverClass(tuple(members)) for members in found.values())


def transporter_types(day: Day) -> tuple[TransporterType, ...]:
    """Return every transporter of the day in types, in the order of the day."""
    pinned = {move.pinned_transporter for move in day.moves} | {driver.pinned_transporter for driver in day.drivers}
    found: dict[object, list[Transporter]] = {}
    for item in day.transporters:
        key: object = kind_of_transporter(item)
        found.setdefault(item.transporter_id if item.transporter_id in pinned else key, []).append(item)
    return tuple(TransporterType(tuple(members)) for members in found.values())


def class_of_driver(classes: Sequence[DriverClass]) -> dict[str, int]:
    """Return the rank of each driver's class."""
    return {driver.driver_id: rank for rank, item in enumerate(classes) for driver in item.drivers}


def type_of_transporter(types: Sequence[TransporterType]) -> dict[str, int]:
    """Return the rank of each transporter's type."""
    return {one.transporter_id: rank for rank, kind in enumerate(types) for one in kind.transporters}
