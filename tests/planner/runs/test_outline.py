"""A run in outline is the run that timing and costing make: the same times, the same bays, the same pence, or none either."""

from dataclasses import replace
from itertools import product

import pytest

from planner.runs.costing import price
from planner.runs.outline import in_full, outlined
from planner.runs.refusal import Refusal
from planner.runs.run import Run, RunKind
from planner.runs.timing import lay_out
from tests.planner.runs.random_days import random_day, random_itinerary
from tests.planner.search.far_days import stretched


def loadings(day, run):
    return [(visit.place, visit.start_min, visit.end_min) for visit in run.visits if visit.takes and visit.place in day.compound_of]


@pytest.mark.parametrize("seed", range(8))
def test_an_outline_has_the_times_the_loadings_and_the_cost_of_the_run(seed):
    day = random_day(seed)
    compounds = tuple(replace(compound, bays=2) for compound in day.compounds)
    day = replace(day, compounds=compounds, policy=replace(day.policy, nights_out=seed % 4 == 0))
    kinds = set()
    for number in range(80):
        itinerary = random_itinerary(day, 1000 * seed + number)
        outline, whole = outlined(day, itinerary), lay_out(day, itinerary, run_id="R7")
        assert isinstance(outline, Refusal) is isinstance(whole, Refusal), (number, outline, whole)
        if not isinstance(whole, Run):
            continue
        kinds.add(whole.kind)
        whole = replace(whole, costs=price(day, whole))
        assert outline.costs == whole.costs
        assert (outline.start_min, outline.end_min, outline.nights) == (whole.start_min, whole.end_min, whole.nights)
        if whole.kind is RunKind.TRANSPORTER:
            assert loadings(day, outline) == loadings(day, whole)
        assert in_full(day, replace(outline, run_id="R7")) == whole if whole.kind is not RunKind.HIRED else True
    assert kinds


def test_an_outline_with_a_night_out_has_the_times_and_the_cost_of_the_run():
    nights = 0
    for seed, share in product(range(20), (2, 3, 4)):
        day = stretched(random_day(seed), share)
        drivers = tuple(replace(driver, may_stay_out=True) for driver in day.drivers)
        day = replace(day, drivers=drivers, policy=replace(day.policy, nights_out=True, driven_max_m=900_000))
        for number in range(80):
            itinerary = random_itinerary(day, 1000 * seed + number)
            itinerary = replace(itinerary, may_stay_out=itinerary.driver is not None)
            outline, whole = outlined(day, itinerary), lay_out(day, itinerary)
            assert isinstance(outline, Refusal) is isinstance(whole, Refusal), (number, outline, whole)
            if isinstance(whole, Run) and whole.nights:
                nights += 1
                assert outline.costs == price(day, whole)
                assert (outline.start_min, outline.end_min, outline.nights) == (whole.start_min, whole.end_min, whole.nights)
    assert nights > 40
