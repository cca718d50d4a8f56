"""Ferries: no road bridges what a ferry crosses, and the way over names it."""

import pytest

from maps.packaged import packaged_rows
from maps.roads import built_in
from maps.travel import path
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
