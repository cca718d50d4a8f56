"""Days whose doors lie far away, so that nights out matter."""

import random
from dataclasses import replace

import numpy as np

from tests.planner.runs.random_days import random_day


def stretched(day, share):
    """The day with every way so much longer."""
    return replace(
        day,
        tables={
            name: replace(table, metres=np.where(table.metres > 0, table.metres * share, table.metres).astype(np.int32),
                          seconds=np.where(table.seconds > 0, table.seconds * share, table.seconds).astype(np.int32))
            for name, table in day.tables.items()
        },
        rides=replace(day.rides, minutes=np.where(day.rides.minutes > 0, day.rides.minutes * share, day.rides.minutes).astype(np.int32)),
    )  # fmt: skip


def far_and_wide(seed, leads, share):
    """A corner-ridden day whose doors lie far away, cut down to a few moves and crews that may stay out."""
    rng, day = random.Random(seed), stretched(random_day(seed), share)
    kept = {move.move_id for move in rng.sample([move for move in day.moves if move.tied_to is None], leads)}
    return replace(
        day,
        moves=tuple(move for move in day.moves if move.move_id in kept or move.tied_to in kept),
        drivers=tuple(replace(driver, may_stay_out=True) for driver in rng.sample(day.drivers, 2)),
        transporters=tuple(rng.sample(day.transporters, 1)),
        policy=replace(day.policy, nights_out=True, driven_max_m=900_000),
        compounds=tuple(replace(compound, bays=None) for compound in day.compounds),
    )  # fmt: skip
