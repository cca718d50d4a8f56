"""Road lines: each path is sought once, ends where the places are, and falls back to a straight line."""

import pytest

from maps.road_lines import RoadLines
from planner.model.crews import VehicleClass
from planner.model.places import Place, PlaceId


def place(name, lng, lat):
    return Place(place_id=PlaceId(name), name=name, lng=lng, lat=lat)


DAVENTRY, KETTERING, AT_SEA = place("Daventry", -1.16, 52.26), place("Kettering", -0.72, 52.40), place("North Sea", 2.5, 55.5)


def test_the_way_begins_and_ends_at_the_places():
    line = RoadLines().geometry(DAVENTRY, KETTERING, VehicleClass.CAR)
    assert len(line) > 2
    assert line[0] == pytest.approx((-1.16, 52.26))
    assert line[-1] == pytest.approx((-0.72, 52.40))


def test_a_path_is_sought_once(monkeypatch):
    import maps.travel

    asked = []
    real = maps.travel.path
    monkeypatch.setattr(maps.travel, "path", lambda *ends, **more: asked.append(ends) or real(*ends, **more))
    lines = RoadLines()
    lines.geometry(DAVENTRY, KETTERING, VehicleClass.CAR)
    lines.names(DAVENTRY, KETTERING, VehicleClass.CAR)
    assert len(asked) == 1
    lines.geometry(DAVENTRY, KETTERING, VehicleClass.GOODS_HEAVY)
    assert len(asked) == 2


def test_where_no_road_leads_the_line_is_straight_and_nameless():
    lines = RoadLines()
    assert lines.geometry(DAVENTRY, AT_SEA, VehicleClass.CAR) == ((-1.16, 52.26), (2.5, 55.5))
    assert lines.names(DAVENTRY, AT_SEA, VehicleClass.CAR) == ()
