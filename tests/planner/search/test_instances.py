"""The open instance set: the same days from the same seeds, and all of a day in the form that others read."""

import json

import numpy as np
import pytest

from tests.bench.instances import COUNT, day_of, from_instance, shapes, to_instance


def test_thirty_days_of_20_to_100_moves():
    assert len(shapes()) == COUNT == 30
    assert {shape.moves for shape, _ in shapes().values()} >= {20, 100}
    assert len({seed for _, seed in shapes().values()}) == COUNT


@pytest.mark.parametrize("name", ["D01-m20-c1-w120", "D08-m28-c2-w360"])
def test_the_open_form_holds_the_whole_day(name):
    day = day_of(name)
    read = from_instance(json.loads(json.dumps(to_instance(name, day))))
    assert read.moves == day.moves
    assert (read.drivers, read.transporters, read.carriers, read.compounds) == (day.drivers, day.transporters, day.carriers, day.compounds)
    assert (read.rates, read.policy, read.charges, read.places) == (day.rates, day.policy, day.charges, day.places)
    for kind, table in day.tables.items():
        for key in ("metres", "seconds", "charge_mask", "ferry_seconds"):
            assert np.array_equal(getattr(read.tables[kind], key), getattr(table, key))
    assert np.array_equal(read.rides.minutes, day.rides.minutes)
    assert np.array_equal(read.rides.fare_pence, day.rides.fare_pence)


def test_a_seed_gives_the_same_day_again():
    name = "D04-m24-c1-w480"
    assert json.dumps(to_instance(name, day_of(name))) == json.dumps(to_instance(name, day_of(name)))
