"""What runs can gain together, against trying every set of runs of which no two begin with the same task."""

import itertools
from dataclasses import replace

import numpy as np
import pytest

from planner.search.crew_classes import driver_classes, transporter_types
from planner.search.gains import most_gained
from planner.search.master import rows_of
from planner.search.rig_making import rigs_of
from tests.bench.invented_days import Shape, invented_day


def day_with(people, seed):
    day = invented_day(Shape(moves=4, decks=(1, 2)), seed)
    return replace(day, drivers=day.drivers[:people])


def least_of_any(rigs, rows, by_first):
    """The least sum over every choice of at most one rig and crew for each first task, with enough of everything."""
    leads = sorted({task.moves[0] for rig in rigs for task in rig.tasks})
    ways = {lead: [None] for lead in leads}
    for rig, least in zip(rigs, by_first, strict=True):
        for task, value in zip(rig.tasks, least, strict=True):
            ways[task.moves[0]] += [(value, rig, option.classes) for option in {option.classes: option for option in rig.options}.values() if value < 0]
    found = 0.0
    for chosen in itertools.product(*ways.values()):
        used = {}
        for _, rig, classes in filter(None, chosen):
            keys = [("driver", rank) for rank in classes] + [("transporter", rig.transporter_type)] * (rig.transporter_type >= 0)
            for key in keys + [("plates", rig.plate_base)] * (rig.plate_base is not None):
                used[key] = used.get(key, 0) + 1
        if all(count <= rows.upper[rows.index[key]] for key, count in used.items()):
            found = min(found, sum(value for value, _, _ in filter(None, chosen)))
    return found


@pytest.mark.parametrize(("people", "seed"), [(2, 1), (3, 2), (4, 3), (5, 4)])
def test_no_choice_of_runs_gains_more(people, seed):
    day = day_with(people, seed)
    classes, types = driver_classes(day), transporter_types(day)
    rigs = [rig for rig in rigs_of(day, classes, types) if not rig.is_followed and not rig.stays_out]
    rows, rng = rows_of(day, classes, types), np.random.default_rng(seed)
    by_first = [np.minimum(0.0, rng.uniform(-900.0, 300.0, len(rig.tasks)).round()) for rig in rigs]
    least, gained = least_of_any(rigs, rows, by_first), most_gained(rigs, rows, by_first)
    assert least < 0
    assert gained <= least + 1e-6
    assert gained == pytest.approx(least, rel=0.25)  # the linear program may share people out


def test_nothing_to_gain_is_nothing():
    day = day_with(3, 1)
    classes, types = driver_classes(day), transporter_types(day)
    rigs = rigs_of(day, classes, types)
    assert most_gained(rigs, rows_of(day, classes, types), [np.zeros(len(rig.tasks)) for rig in rigs]) == 0.0


def test_one_task_that_everybody_wants_is_gained_once():
    day = day_with(5, 1)
    classes, types = driver_classes(day), transporter_types(day)
    rigs = [rig for rig in rigs_of(day, classes, types) if not rig.stays_out]
    lead = rigs[0].tasks[0].moves[0]
    by_first = [np.array([-500.0 if task.moves[0] == lead else 0.0 for task in rig.tasks]) for rig in rigs]
    assert most_gained(rigs, rows_of(day, classes, types), by_first) == pytest.approx(-500.0, abs=0.01)
