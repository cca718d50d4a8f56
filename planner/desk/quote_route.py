"""Route: the legs of a transporter's run and what is aboard on each, so that a detour is priced without going round again."""

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import pairwise

from planner.desk.quote_legs import LegCost, LegCosts
from planner.model.day import Day
from planner.model.places import PlaceId
from planner.runs.crew_fit import aboard_after
from planner.runs.driven_legs import vehicle_of_transporter
from planner.runs.run import Itinerary, Run, RunId


@dataclass(frozen=True, kw_only=True, slots=True)
class Route:
    """Leg ``k`` leads from ``places[k]`` to ``places[k + 1]``, the base first and last, with ``cars[k]`` of ``kg[k]`` aboard."""

    places: tuple[PlaceId, ...]
    legs: tuple[LegCost, ...]
    kg: tuple[int, ...]
    cars: tuple[int, ...]

    @classmethod
    def of(cls, day: Day, itinerary: Itinerary, legs: LegCosts) -> "Route":
        """Return the route of a transporter's itinerary."""
        assert itinerary.transporter is not None
        transporter = day.transporter_of[itinerary.transporter]
        vehicle = vehicle_of_transporter(transporter)
        places = (transporter.base, *(stop.place for stop in itinerary.stops), transporter.base)
        aboard = [(), *(held for _, held in aboard_after(itinerary))]
        return cls(
            places=places, legs=tuple(legs.of(day, vehicle, *ends) for ends in pairwise(places)),
            kg=tuple(sum(day.move_of[name].car.mass_kg for name in held) for held in aboard), cars=tuple(map(len, aboard)),
        )  # fmt: skip

    def pickups(self, origin: PlaceId) -> Iterator[tuple[int, bool]]:
        """Yield from which leg on a car may be aboard, and whether it is taken at a call made anyway or on that very leg."""
        yield from ((leg, True) for leg in range(1, len(self.legs)) if self.places[leg] == origin)
        yield from ((leg, False) for leg in range(len(self.legs)) if not leg or self.places[leg] != origin)

    def has_room(self, leg: int, kg: int, *, payload_kg: int, slots: int) -> bool:
        """Return whether one more car may be aboard on a leg."""
        return self.kg[leg] + kg <= payload_kg and self.cars[leg] < slots

    def by_way_of(self, leg: int, there: LegCost, on: LegCost, *, kg_there: int, kg_on: int) -> tuple[float, float]:
        """Return pence and minutes more of a leg by way of a place, with so much more aboard until there and from there."""
        old, kg = self.legs[leg], self.kg[leg]
        return (
            there.pence(kg + kg_there) + on.pence(kg + kg_on) - old.pence(kg), there.minutes + on.minutes - old.minutes
        )  # fmt: skip


class Routes:
    """Keeps routes and the legs they are made of, for every day with the same tables between their places."""

    def __init__(self) -> None:
        self.legs = LegCosts()
        self._known: dict[RunId, tuple[Run, Route]] = {}

    def of(self, day: Day, run: Run) -> Route:
        """Return the route of a run, worked out anew when the run has changed."""
        known = self._known.get(run.run_id)
        if known is None or known[0] is not run:
            known = self._known[run.run_id] = (run, Route.of(day, run.itinerary, self.legs))
        return known[1]
