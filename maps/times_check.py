"""
How far to trust the hours: the network's own drive times against remembered ones.

Pairs come from ``data/drive_times.csv``: minutes by car between town centres as route planners tell them off-peak, from
memory, so a tenth either way is no fault of anybody's; what they show is a lean, by distance or by region.
"""

import csv
from collections.abc import Sequence
from dataclasses import dataclass
from importlib.resources import files

from maps.roads import RoadNetwork, in_use
from maps.roads_check import ANY_DAY, Spread
from maps.travel import travel_tables
from planner.model.crews import VehicleClass
from planner.model.places import Place, PlaceId
from planner.units import METRES_A_MILE

BANDS_MILES = ((0, 40), (40, 70), (70, 110), (110, 180), (180, 1000))


@dataclass(frozen=True, kw_only=True, slots=True)
class Timed:
    """One remembered drive time beside ours, minutes; ``miles`` are ours."""

    origin: str
    destination: str
    region: str
    told_minutes: float
    minutes: float
    miles: float
    source: str

    @property
    def error(self) -> float:
        """Ours over the remembered, less one."""
        return self.minutes / self.told_minutes - 1


def check_times(network: RoadNetwork | None = None) -> tuple[Timed, ...]:
    """Return every remembered drive time beside the network's."""
    rows = list(csv.DictReader((files(__package__) / "data" / "drive_times.csv").read_text(encoding="utf-8").splitlines()))
    towns: dict[str, Place] = {}
    for row in rows:
        for end in ("from", "to"):
            name, lng, lat = row[end], float(row[f"{end}_lng"]), float(row[f"{end}_lat"])
            towns.setdefault(name, Place(place_id=PlaceId(name), name=name, lng=lng, lat=lat))
    index = {name: number for number, name in enumerate(towns)}
    tables, _ = travel_tables(list(towns.values()), [VehicleClass.CAR], day=ANY_DAY, network=network or in_use())
    table = tables[VehicleClass.CAR]
    return tuple(
        Timed(
            origin=row["from"],
            destination=row["to"],
            region=row["region"],
            told_minutes=float(row["minutes"]),
            minutes=int(table.seconds[index[row["from"]], index[row["to"]]]) / 60,
            miles=int(table.metres[index[row["from"]], index[row["to"]]]) / METRES_A_MILE,
            source=row["source"],
        )
        for row in rows
    )


def time_spreads(timed: Sequence[Timed]) -> tuple[Spread, ...]:
    """Return the spread of all errors of time, then by band of miles, then by region."""
    groups: list[tuple[str, list[Timed]]] = [("all", list(timed))]
    for low, high in BANDS_MILES:
        name = f"{low} to {high} miles" if high < 1000 else f"over {low} miles"
        groups.append((name, [each for each in timed if low <= each.miles < high]))
    groups += [(region, [each for each in timed if each.region == region]) for region in sorted({each.region for each in timed})]
    return tuple(Spread.of(name, [each.error for each in held]) for name, held in groups if held)
