"""Ferries: no road bridges what a ferry crosses, and the way over names it."""

from datetime import date

import pytest

from maps.gazetteer import locate
from maps.packaged import packaged_rows
from maps.roads import built_in
from maps.travel import path, travel_tables
from planner.model.crews import VehicleClass
from planner.model.places import Place, PlaceId

FERRIES = packaged_rows("ferries.csv")
#: By the map there is a road of some ten miles round the lake, and through the tunnel, quicker than waiting for the boat.
ROUND_BY_ROAD = {"ferry-windermere", "ferry-woolwich"}


@pytest.mark.parametrize("row", [pytest.param(row, id=row["key"]) for row in FERRIES if row["key"] not in ROUND_BY_ROAD])
def test_from_quay_to_quay_there_is_only_the_ferry(row):
    quays = [
        Place(place_id=PlaceId(end), name=end, lng=float(row[f"{end}_lng"]), lat=float(row[f"{end}_lat"])) for end in ("from", "to")
    ]
    found = path(*quays, network=built_in())
    assert row["key"] in {charge.key for charge in found.charges}
    assert found.ferry_seconds > 0


#: Postal districts that lie on islands without a bridge (by the map).
ISLANDS = (
    "KA27", "KA28", "PA20", *(f"PA{number}" for number in (*range(41, 50), 60, 61, *range(62, 73), 74, 75, 77, 78)),
    *(f"HS{number}" for number in range(1, 10)), "ZE1", "ZE2", "ZE3", "KW15", "KW16", "KW17",
    *(f"PO{number}" for number in (*range(30, 37), *range(38, 42))),
)  # fmt: skip


def test_no_road_leads_to_an_island():
    ends = (locate("M1 1AE"), *map(locate, ISLANDS))
    table = travel_tables(ends, [VehicleClass.CAR], day=date(2026, 1, 5))[0][VehicleClass.CAR]
    reached = table.seconds[0, 1:] > 0
    assert reached.all()
    assert [name for name, ferry_s in zip(ISLANDS, table.ferry_seconds[0, 1:], strict=True) if not ferry_s] == []
