"""Postcodes: found, found in part, mended when mistyped, and refused when they lie elsewhere."""

import numpy as np
import pytest

from maps.gazetteer import locate
from maps.place_names import find_name
from maps.postcodes import clean, code_of, find, key_of, suggest, table
from planner.faults import ByArrangement, UnknownPlace
from planner.model.places import Nation


def apart_m(place, lng, lat):
    return float(np.hypot((place.lng - lng) * 111_320 * np.cos(np.radians(lat)), (place.lat - lat) * 111_320))


@pytest.mark.parametrize(("text", "lng", "lat", "nation"), [
    # Well-known buildings, coordinates from memory of public maps, to about 100 m.
    ("SW1A 1AA", -0.1419, 51.5014, Nation.ENGLAND),  # Buckingham Palace
    ("EH99 1SP", -3.1750, 55.9520, Nation.SCOTLAND),  # Scottish Parliament
    ("CF99 1SN", -3.1620, 51.4640, Nation.WALES),  # Senedd
])
def test_known_buildings_stand_where_they_stand(text, lng, lat, nation):
    place = find(text)
    assert apart_m(place, lng, lat) < 250
    assert place.nation is nation
    assert place.postcode == text


@pytest.mark.parametrize("text", ["so14 0yg", "SO140YG", " so14  0yg ", "SO14-0YG"])
def test_typing_habits_do_not_matter(text):
    assert find(text).name == "SO14 0YG"


@pytest.mark.parametrize(("text", "form"), [
    # BS 7666: the six forms of a postcode (from memory).
    ("M1 1AE", "M1  1AE"), ("B33 8TH", "B33 8TH"), ("CR2 6XH", "CR2 6XH"), ("DN55 1PT", "DN551PT"), ("W1A 0AX", "W1A 0AX"), ("EC1A 1BB", "EC1A1BB"),
])
def test_every_published_form_is_read(text, form):
    assert clean(text) == form
    assert code_of(key_of(form)) == form


def test_parts_answer_with_their_middle_and_how_far_off_it_may_be():
    whole, sector, district, area = find("SO14 0YG"), find("SO14 0"), find("SO14"), find("SO")
    assert whole.off_by_m < sector.off_by_m < district.off_by_m < area.off_by_m
    assert [place.postcode for place in (sector, district, area)] == ["", "", ""]
    assert apart_m(sector, whole.lng, whole.lat) < 2 * sector.off_by_m


@pytest.mark.parametrize(("slip", "meant"), [("S014 0YG", "SO14 0YG"), ("SW1A IAA", "SW1A 1AA"), ("SO14 OYG", "SO14 0YG"), ("OS14 0YG", "SO14 0YG")])
def test_slips_are_told_what_they_might_have_meant(slip, meant):
    with pytest.raises(UnknownPlace) as fault:
        find(slip)
    assert fault.value.suggestions[0] == meant
    assert meant in str(fault.value)


@pytest.mark.parametrize(("text", "where"), [("BT1 5AA", "Northern Ireland"), ("im1 1aa", "Isle of Man"), ("JE2 3AB", "Jersey"), ("GY1", "Guernsey")])
def test_the_other_islands_are_by_arrangement_never_a_wrong_point(text, where):
    with pytest.raises(ByArrangement) as fault:
        locate(text)
    assert where in str(fault.value)


def test_no_postcode_of_the_table_lies_outside_great_britain():
    held = table()
    assert len(held.key) > 2_600_000
    assert (np.diff(held.key) > 0).all()
    prefixes = {code_of(int(key))[:2] for key in held.key[:: 997]}
    assert not prefixes & {"BT", "IM", "JE", "GY"}
    assert (held.easting > 0).all()
    assert (held.northing < 1_230_000).all()


@pytest.mark.parametrize("text", ["", "   ", "nowhere at all", "ZZ99 9ZZ", "£$%", "1", "A" * 500, "SO14 0YGX", "\x00"])
def test_nonsense_is_refused_in_a_sentence(text):
    with pytest.raises(UnknownPlace):
        locate(text)
    assert isinstance(suggest(text), tuple)


def test_points_are_taken_as_they_are():
    place = locate("50.91, -1.40")
    assert (place.lat, place.lng, place.off_by_m) == (50.91, -1.40, 0)
    assert locate("56.0,-4.6").nation is Nation.SCOTLAND


@pytest.mark.parametrize("text", ["51.0,2.5", "54.0,0.9", "0,0", "91,0", "-1.4,50.9"])
def test_points_in_the_sea_abroad_or_nowhere_are_refused(text):
    with pytest.raises(UnknownPlace):
        locate(text)


def test_names_are_found_and_doubtful_ones_are_asked_about():
    assert find_name("birmingham").nation is Nation.ENGLAND
    assert find_name("Newport, PO30").lat == pytest.approx(50.70, abs=0.02)
    with pytest.raises(UnknownPlace, match="several"):
        find_name("Newport")
    with pytest.raises(UnknownPlace, match="Birmingham"):
        find_name("Birmingam")
    with pytest.raises(ByArrangement):
        find_name("Belfast")
