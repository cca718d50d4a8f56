"""The bound of plate rigs against every run that the label search lists."""

from dataclasses import replace

import numpy as np
import pytest

from planner.search.crew_classes import driver_classes, transporter_types
from planner.search.labels import Mode
from planner.search.plate_bound import least_on_plates
from planner.search.pricing import Duals, price_rig
from planner.search.rig_making import rigs_of
from tests.bench.invented_days import Shape, invented_day


@pytest.mark.parametrize("seed", range(6))
def test_no_run_on_plates_undercuts_it(seed):
    """At prices that pay for much and for little; a bound that is near for some of them."""
    day = invented_day(Shape(moves=12), seed)
    day = replace(day, policy=replace(day.policy, support_car_allowed=True, nights_out=False))
    classes, types, rng, above = driver_classes(day), transporter_types(day), np.random.default_rng(seed), 0
    rigs = [rig for rig in rigs_of(day, classes, types) if rig.keeps_load]
    assert rigs
    for paid in (4_000.0, 9_000.0, 20_000.0):
        duals = Duals(
            move={move.move_id: float(rng.uniform(0.3, 1.0) * paid) for move in day.moves},
            driver=[float(rng.uniform(0, 2_000))] * len(classes), transporter=[0.0] * len(types),
            plates={str(place): 0.0 for place in day.compound_of},
        )  # fmt: skip
        for number, rig in enumerate(rigs):
            least = least_on_plates(rig, duals)
            found = price_rig(
                rig, number, duals, threshold=least + 20_000.0, mode=Mode.EVERY, most_labels=500_000, most_looks=1, most_found=50_000
            ).found
            assert min((run.reduced for run in found), default=np.inf) >= least - 1e-6
            above += least >= 0
    assert above, "some rigs need no search"


def test_runs_of_transporters_have_none():
    day = invented_day(Shape(moves=6), 1)
    classes, types = driver_classes(day), transporter_types(day)
    duals = Duals(
        move={move.move_id: 0.0 for move in day.moves}, driver=[0.0] * len(classes), transporter=[0.0] * len(types), plates={}
    )
    carried = [rig for rig in rigs_of(day, classes, types) if not rig.keeps_load]
    assert carried
    assert {least_on_plates(rig, duals) for rig in carried} == {-np.inf}
