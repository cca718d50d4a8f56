"""Driving licence categories by mass: gov.uk "Driving licence categories", and the change for electric vehicles of 10 June 2025."""

import pytest

from planner.model.crews import Transporter, TransporterId
from planner.model.places import PlaceId


@pytest.mark.parametrize(("gross", "trailer", "is_electric", "expected"), [
    (3500, 0, False, "B"), (3500, 3500, False, "B"), (3501, 0, False, "C1"), (4250, 0, True, "B"), (4250, 0, False, "C1"),
    (4250, 2750, True, "B"), (4250, 2751, True, "C1E"), (7500, 0, False, "C1"), (7500, 750, False, "C1"), (7501, 0, False, "C"),
    (7500, 4500, False, "C1E"), (7500, 4501, False, "CE"), (18000, 750, False, "C"), (18000, 751, False, "CE"),
])
def test_the_lowest_category(gross, trailer, is_electric, expected):
    one = Transporter(
        transporter_id=TransporterId("T1"), name="T1", registration="AB12 CDE", base=PlaceId("yard"), deck="one", payload_kg=1000, slots=1,
        gross_kg=gross, trailer_kg=trailer, is_electric=is_electric,
    )
    assert one.licence == expected
