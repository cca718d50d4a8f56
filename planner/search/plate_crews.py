"""Plate crews: whom a plate run may have aboard, one driver or two with a support car, by class; worked out once and kept."""

from collections.abc import Iterator, Sequence

from planner.model.crews import VehicleClass
from planner.model.day import Day
from planner.model.places import PlaceId
from planner.runs.costing import running_cost
from planner.search.crew_classes import DriverClass
from planner.search.hours_floor import Limits, light_limits, plate_limits
from planner.search.rig import ROUNDING_PENCE, Option
from planner.search.rig_parts import all_may_stay_out, holds, night_pence, wage_by_minute

Key = tuple[tuple[int, ...], PlaceId | None, bool, int]


class PlateCrews:
    """Options of crews on plates; they hold for every day with the same classes, rates and policy, whatever its moves."""

    def __init__(self, day: Day, classes: Sequence[DriverClass]) -> None:
        self.day, self.classes = day, tuple(classes)
        self._limits: dict[tuple[bool, int], list[Limits | None]] = {}
        self._known: dict[Key, tuple[Option, ...]] = {}

    def singles(self, group: Sequence[int], *, drives_van: bool, nights: int) -> tuple[Option, ...]:
        """Return the options of drivers of some classes alone."""
        key = (tuple(group), None, drives_van, nights)
        if key not in self._known:
            self._known[key] = self._options([(rank,) for rank in group], drives_van=drives_van, nights=nights)
        return self._known[key]

    def pairs(self, group: Sequence[int], start: PlaceId, *, drives_van: bool, nights: int) -> tuple[Option, ...]:
        """Return the options of drivers of some classes, each with another who starts there too and follows."""
        key = (tuple(group), start, drives_van, nights)
        if key not in self._known:
            self._known[key] = self._options(list(self._followed(group, start)), drives_van=drives_van, nights=nights)
        return self._known[key]

    def _followed(self, group: Sequence[int], start: PlaceId) -> Iterator[tuple[int, ...]]:
        beside = [rank for rank, item in enumerate(self.classes) if item.one.starts_at == start and holds(item.one, "B")]
        for first in group:
            for second in beside:
                if second != first or len(self.classes[first].drivers) > 1:
                    yield first, second

    def _options(self, crews: Sequence[tuple[int, ...]], *, drives_van: bool, nights: int) -> tuple[Option, ...]:
        found = (self._option(ranks, drives_van=drives_van, nights=nights) for ranks in crews)
        return tuple(option for option in found if option is not None)

    def _option(self, ranks: tuple[int, ...], *, drives_van: bool, nights: int) -> Option | None:
        day, drivers = self.day, [self.classes[rank].one for rank in ranks]
        found = [self._limits_of(rank, drives_van=drives_van, nights=nights) for rank in ranks]
        limits = [item for item in found if item is not None]
        if len(limits) < len(drivers) or (nights and not all_may_stay_out(day, drivers)):
            return None
        wage, slope = wage_by_minute(day, drivers)
        extra = float(running_cost(day, VehicleClass.CAR).day_pence) if len(drivers) > 1 else 0.0
        extra += nights * night_pence(day, len(drivers))
        return Option(
            classes=ranks, from_min=max(item.from_min for item in limits), home_min=min(item.home_min for item in limits),
            before_min=0, after_min=0, fixed_pence=float(day.rates.plate_day_pence) + extra - ROUNDING_PENCE, wage=wage,
            slope=slope, drive_limit=min(item.drive_min for item in limits), work_limit=min(item.work_min for item in limits),
            span_limit=min(item.span_min for item in limits), rest_min=nights * max(item.rest_min for item in limits),
        )  # fmt: skip

    def _limits_of(self, rank: int, *, drives_van: bool, nights: int) -> Limits | None:
        """Return what a driver of a class may still do."""
        if (drives_van, nights) not in self._limits:
            drivers = [item.one for item in self.classes]
            self._limits[drives_van, nights] = [
                light_limits(driver, nights=nights) if drives_van else plate_limits(self.day.policy, driver, nights=nights)
                for driver in drivers
            ]
        return self._limits[drives_van, nights][rank]
