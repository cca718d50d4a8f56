"""Documents come back as they went in, through real JSON text, and damage is named with its place."""

import itertools
import json
from dataclasses import dataclass, field, replace
from datetime import date, datetime, time
from decimal import Decimal
from enum import StrEnum
from pathlib import Path
from typing import NewType

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from cli.day_folder import load_day
from planner.faults import BadDocument
from planner.model import day_document, documents
from planner.model.cars import Fuel
from planner.model.crews import VehicleClass
from planner.runs.plan import Bound, NotPlaced, Plan
from planner.runs.run import Activity, ActivityKind, CostKind, CostLine, Itinerary, Run, Stop, Visit
from tests.stand_in_geography import locate, travel_tables

DEMO = Path(__file__).parents[3] / "demo_data" / "demo_day"
Label = NewType("Label", str)


class Hue(StrEnum):
    RED = "red"


@dataclass(frozen=True, kw_only=True, slots=True)
class Inner:
    label: Label
    hue: Hue = Hue.RED


@dataclass(frozen=True, kw_only=True, slots=True)
class Outer:
    inner: Inner
    many: tuple[Inner, ...] = ()
    pair: tuple[int, str] = (0, "")
    names: frozenset[Hue] = frozenset()
    by_hue: dict[Hue, Decimal] = field(default_factory=dict)
    by_number: dict[int, str] = field(default_factory=dict)
    maybe: date | None = None
    at: datetime | None = None
    wall: time = time()
    share: float = 0.5
    is_so: bool = False


def there_and_back(kind, thing):
    return documents.from_document(kind, json.loads(json.dumps(documents.to_document(thing), allow_nan=False)))


OUTER = st.builds(
    Outer,
    inner=st.builds(Inner, label=st.text()), many=st.lists(st.builds(Inner, label=st.text()), max_size=3).map(tuple),
    pair=st.tuples(st.integers(), st.text()), names=st.frozensets(st.sampled_from(Hue)),
    by_hue=st.dictionaries(st.sampled_from(Hue), st.decimals(allow_nan=False, allow_infinity=False)),
    by_number=st.dictionaries(st.integers(), st.text()), maybe=st.none() | st.dates(), at=st.none() | st.datetimes(),
    wall=st.times(), share=st.floats(allow_nan=False, allow_infinity=False), is_so=st.booleans(),
)


@pytest.fixture(scope="module")
def day():
    return load_day(DEMO, locate=locate, tables=travel_tables)


class TestThereAndBack:
    @given(OUTER)
    def test_every_kind_of_field_comes_back_equal(self, thing):
        assert there_and_back(Outer, thing) == thing

    @given(st.lists(st.integers(-2**31, 2**31 - 1), min_size=1, max_size=40), st.sampled_from(["<i4", "<i8", "<f8"]))
    def test_arrays_keep_their_numbers_shape_and_kind(self, numbers, dtype):
        array = np.array([numbers, numbers], dtype=dtype)
        back = documents.from_document(np.ndarray, json.loads(json.dumps(documents.to_document(array))))
        assert back.dtype == array.dtype
        assert np.array_equal(back, array)

    def test_a_field_added_since_takes_its_default(self):
        document = documents.to_document(Outer(inner=Inner(label=Label("a")), share=0.25))
        del document["share"], document["inner"]["hue"]
        assert documents.from_document(Outer, document) == Outer(inner=Inner(label=Label("a")))

    def test_a_plan_comes_back_equal(self):
        run = Run(
            run_id="R1", itinerary=Itinerary(driver="D1", stops=(Stop(place="A", takes=("M",)), Stop(place="B", leaves=("M",)))),
            book="plates", costs=(CostLine(kind=CostKind.WAGES, says="8 h", pence=12_000),),
            activities=(Activity(kind=ActivityKind.DRIVE, start_min=0, end_min=60, origin="A", destination="B", metres=60_000),),
            visits=(Visit(place="B", arrive_min=60, start_min=60, end_min=90, window=None, leaves=("M",), takes=(),
                          aboard_after=(), leg_metres=60_000, leg_min=60, leg_by="car"),),
        )
        plan = Plan(runs=(run,), not_placed=(NotPlaced(move="N", pence=5, reason="no crew"),), bound=Bound(pence=3, covers="all"))
        assert there_and_back(Plan, plan) == plan


class TestTheDay:
    def test_the_demo_day_comes_back_the_same(self, day):
        back = day_document.from_document(json.loads(json.dumps(day_document.to_document(day), allow_nan=False)))
        for name in ("clock", "places", "compounds", "orders", "moves", "drivers", "transporters", "carriers", "rates", "policy",
                     "charges", "held", "notes", "decks"):
            assert getattr(back, name) == getattr(day, name), name
        for kind, table in day.tables.items():
            for name in ("metres", "seconds", "charge_mask", "ferry_seconds"):
                assert np.array_equal(getattr(back.tables[VehicleClass(kind)], name), getattr(table, name))
        assert np.array_equal(back.rides.minutes, day.rides.minutes)
        assert np.array_equal(back.rides.fare_pence, day.rides.fare_pence)

    def test_what_comes_back_is_frozen(self, day):
        back = day_document.from_document(day_document.to_document(day))
        with pytest.raises(ValueError, match="read-only"):
            back.tables[VehicleClass.CAR].metres[0, 0] = 1

    def test_no_damage_gets_through_as_anything_but_a_named_fault_or_a_day(self, day):
        """Every path of the document in turn (the first item of each list) holds two things that do not belong there."""
        places = day.places[:3]
        sound = day_document.to_document(replace(
            day, orders=day.orders[:1], moves=(), held=day.held[:1], drivers=day.drivers[:1], carriers=day.carriers[:1],
            transporters=day.transporters[:1], notes=("a",), places=places,
            tables=travel_tables(places, [VehicleClass.CAR], day=day.clock.day)[0],
            decks={name: day.decks[name] for name in sorted(day.decks)[:1]}))
        wrongs = itertools.cycle([None, -1, "x", [], {}, 1.5, True, {"shape": [2], "dtype": "O", "zlib_base64": ""}, float("nan")])
        faults = 0  # any other exception fails the test
        for path, wrong in zip((path for path in paths(sound) for _ in range(2)), wrongs, strict=False):
            document = damaged(sound, path, wrong)
            try:
                day_document.from_document(document)
            except BadDocument as fault:
                faults += fault.where.startswith("day")
        assert faults > 300


def paths(document, so_far=()):
    if so_far:
        yield so_far
    keys = document if isinstance(document, dict) else range(min(len(document), 1)) if isinstance(document, list) else ()
    for key in keys:
        yield from paths(document[key], (*so_far, key))


def damaged(document, path, wrong):
    if not path:
        return wrong
    copy = dict(document) if isinstance(document, dict) else list(document)
    copy[path[0]] = damaged(document[path[0]], path[1:], wrong)
    return copy


@pytest.mark.parametrize(("damage", "where", "says"), [
    ({"inner": None}, "inner", "a group of named values is expected"),
    ({"inner": {"label": 3}}, "inner.label", "text is expected"),
    ({"inner": {"label": "a", "hue": "blue"}}, "inner.hue", "no Hue"),
    ({"inner": {"label": "a", "taste": 1}}, "inner", "taste is not known here"),
    ({}, "", "inner is missing"),
    ({"inner": {"label": "a"}, "pair": [1]}, "pair", "2 items are expected"),
    ({"inner": {"label": "a"}, "pair": [True, "b"]}, "pair[0]", "a whole number is expected"),
    ({"inner": {"label": "a"}, "by_hue": {"red": "one"}}, "by_hue.red", "no Decimal"),
    ({"inner": {"label": "a"}, "share": "half"}, "share", "a number is expected"),
    ({"inner": {"label": "a"}, "by_number": {"x": "b"}}, "by_number", "not a whole number"),
])
def test_damage_is_named_with_its_place(damage, where, says):
    with pytest.raises(BadDocument, match=says) as caught:
        documents.from_document(Outer, damage)
    assert caught.value.where == where


@pytest.mark.parametrize("value", [float("inf"), float("nan")])
def test_numbers_json_has_no_word_for_are_refused(value):
    with pytest.raises(ValueError, match="finite"):
        documents.to_document(value)


def test_what_has_no_place_in_a_document_is_refused():
    with pytest.raises(TypeError, match="object"):
        documents.to_document({Fuel.PETROL: object()})


@pytest.mark.parametrize("table", [
    {"shape": [10**6, 10**6], "dtype": "<i4", "zlib_base64": ""},
    {"shape": [2], "dtype": "<i4", "zlib_base64": "not base64!"},
    {"shape": [2], "dtype": "<i4"},
    {"shape": [2], "dtype": "O", "zlib_base64": ""},
])
def test_a_table_that_cannot_be_unpacked_is_refused(table):
    with pytest.raises(BadDocument):
        documents.from_document(np.ndarray, table)
