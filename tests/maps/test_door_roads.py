"""Roads of new doors: the same as if the whole tables had been made with the doors among the places."""

from dataclasses import dataclass
from datetime import date
from types import SimpleNamespace

import numpy as np
import pytest

from maps.door_roads import roads_to
from maps.gazetteer import locate
from maps.travel import travel_tables
from planner.clock import DayClock
from planner.faults import UnknownPlace
from planner.model.crews import VehicleClass
from planner.model.places import Place, PlaceId

KINDS = (VehicleClass.CAR, VehicleClass.GOODS_HEAVY)
NAMES = ("LS11 5TZ", "CV6 6AA", "RG2 0NJ", "YO1 7HH", "M1 1AE", "EX1 1AA", "CT16 1JA", "IP1 1AA")
DOORS = ("YO1 7HB", "PO30 1UD", "IV51 9EH")  # round the corner from another place; behind a ferry; on Skye


CLOCK = DayClock(date(2026, 11, 26))


@dataclass
class Known:
    places: tuple[Place, ...]
    tables: dict
    charges: tuple
    clock: DayClock = CLOCK
    moves: tuple = ()
    drivers: tuple = ()
    orders: tuple = ()
    held: tuple = ()

    @property
    def compound_of(self):
        """Every other place is the day's own."""
        return {place.place_id: place for place in self.places[::2]}


@pytest.fixture(scope="module")
def everyone():
    return tuple(locate(name) for name in (*NAMES, *DOORS))


@pytest.fixture(scope="module")
def whole(everyone):
    return travel_tables(everyone, KINDS, day=date(2026, 11, 26))


@pytest.mark.parametrize("count", [1, 3])
def test_strips_are_the_edges_of_the_whole_table(everyone, whole, count):
    size = len(everyone) - count
    known = Known(everyone[:size], *travel_tables(everyone[:size], KINDS, day=date(2026, 11, 26)))
    found = roads_to(known, everyone[size:])
    for kind in KINDS:
        table, strip = whole[0][kind], found.strips[kind]
        for name in ("metres", "seconds", "ferry_seconds"):
            assert np.array_equal(getattr(table, name)[size:, :], strip.out[name])
            assert np.array_equal(getattr(table, name)[:size, size:], strip.back[name])
        met = [{charge.key for bit, charge in enumerate(whole[1]) if int(mask) >> bit & 1} for mask in table.charge_mask[:size, -1]]
        told = [{charge.key for bit, charge in enumerate(found.charges) if int(mask) >> bit & 1} for mask in strip.back["charge_mask"][:, -1]]
        assert met == told


def test_without_the_roads_between_doors_all_others_are_the_same(everyone):
    known = Known(everyone[:8], *travel_tables(everyone[:8], KINDS, day=date(2026, 11, 26)))
    whole, apart = roads_to(known, everyone[8:]), roads_to(known, everyone[8:], between=False)
    assert apart.charges == whole.charges
    for kind in KINDS:
        for name in ("metres", "seconds", "ferry_seconds", "charge_mask"):
            assert np.array_equal(apart.strips[kind].out[name][:, :8], whole.strips[kind].out[name][:, :8])
            assert np.array_equal(apart.strips[kind].back[name], whole.strips[kind].back[name])
        assert (apart.strips[kind].out["metres"][:, 8:] == np.where(np.eye(3), 0, -1)).all()


def test_a_door_in_the_sea_is_refused(everyone, whole):
    known = Known(everyone, *whole)
    with pytest.raises(UnknownPlace, match="km from the nearest address"):
        roads_to(known, [Place(place_id=PlaceId("sea"), name="sea", lng=2.6, lat=54.5)])


def test_only_the_days_own_places_are_kept(everyone, tmp_path, monkeypatch):
    """Doors of orders that are held are the day's own; those of quotes come and go."""
    monkeypatch.setenv("HOMELEG_CACHE", str(tmp_path))
    for size in (8, 9, 10):
        known = Known(everyone[:8], *travel_tables(everyone[:8], (VehicleClass.CAR,), day=date(2026, 11, 26)))
        known.places = (*known.places, *everyone[8:size])
        monkeypatch.setattr(Known, "compound_of", {place.place_id: place for place in everyone[:7]})
        known.held = (SimpleNamespace(door=everyone[7]),)
        roads_to(known, everyone[10:])
    assert len([*tmp_path.glob("met-*")]) <= 2, "where they are reached from, and where from them"
