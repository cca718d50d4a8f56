"""Deck shares: no load that stands has more than the whole, and most of those that do not stand have."""

import itertools
import random

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from planner.model.decks import library
from planner.rules.load_plan_arrays import NO_LIMIT, deck_arrays, size_array
from planner.rules.load_plan_standing import stand_together
from planner.search.deck_shares import WHOLE, deck_shares

SIZES = st.builds(
    lambda length, width, height, mass: (length, width, height, mass, NO_LIMIT),
    st.integers(3600, 5100), st.integers(1650, 2010), st.integers(1300, 1900), st.integers(900, 2600),
)  # fmt: skip


def can_stand(deck, cars):
    return stand_together(deck_arrays(deck), size_array(sorted(cars)))


def some_refused(deck, sizes, rng, most=120):
    found = [tuple(sorted(rng.choice(sizes) for _ in range(rng.randint(2, len(deck.slots))))) for _ in range(most)]
    return tuple(dict.fromkeys(cars for cars in found if not can_stand(deck, cars)))


@settings(max_examples=25, deadline=None, derandomize=True)
@given(
    name=st.sampled_from(["two-car-7500", "four-car-rigid", "six-car-rigid"]), sizes=st.lists(SIZES, min_size=2, max_size=5, unique=True),
    seed=st.integers(0, 1000),
)  # fmt: skip
def test_no_load_that_stands_is_above_the_whole_of_every_load_of_a_few_sizes(name, sizes, seed):
    deck = library()[name]
    shares = deck_shares(deck, tuple(sorted(sizes)), some_refused(deck, sizes, random.Random(seed)))
    for count in range(1, min(len(deck.slots), 5) + 1):
        for cars in itertools.combinations_with_replacement(sorted(sizes), count):
            if sum(shares[size] for size in cars) > WHOLE:
                assert not can_stand(deck, cars)


@pytest.mark.parametrize("name", ["six-car-rigid", "nine-car-drawbar"])
def test_many_sizes_count_as_a_few_and_the_shares_still_hold(name):
    deck, rng = library()[name], random.Random(5)
    sizes = tuple(sorted((rng.randint(3650, 5000), 1800, rng.randint(1400, 1850), rng.randint(1000, 2400), NO_LIMIT) for _ in range(60)))
    refused = some_refused(deck, sizes, rng)
    shares = deck_shares(deck, sizes, refused)
    above = sum(sum(shares[size] for size in cars) > WHOLE for cars in refused)
    assert above > 0.3 * len(refused)
    for _ in range(400):
        cars = []
        for size in rng.sample(sizes, len(sizes)):  # as full as it gets
            if len(cars) < len(deck.slots) and can_stand(deck, [*cars, size]):
                cars.append(size)
        assert sum(shares[size] for size in cars) <= WHOLE


def test_two_long_cars_that_only_one_slot_takes_are_above_the_whole():
    """The lower trailer of the nine-car example takes one car of 4,850 mm, and nothing else does."""
    deck, long, short = library()["nine-car-drawbar"], (4850, 1860, 1500, 1700, NO_LIMIT), (4000, 1750, 1500, 1200, NO_LIMIT)
    assert not can_stand(deck, [long, long])
    shares = deck_shares(deck, (short, long), ((long, long),))
    assert 2 * shares[long] > WHOLE
    assert 8 * shares[short] + shares[long] <= WHOLE


def test_many_sizes_that_differ_in_width_or_clearance_alone_are_of_one_kind():
    deck = library()["two-car-7500"]
    sizes = tuple(sorted((4900, width, 1900, 1600, clearance) for width in range(1800, 1807) for clearance in (120, NO_LIMIT)))
    assert not can_stand(deck, sizes[:2])
    shares = deck_shares(deck, sizes, (sizes[:2],))
    assert len(set(shares.values())) == 1
    assert WHOLE < 2 * shares[sizes[0]] <= 2 * WHOLE
