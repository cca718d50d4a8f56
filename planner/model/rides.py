"""
Rides: how a driver without a car gets from place to place by train, coach and taxi, in minutes and pence.

Arithmetic over the car table and the policy's ``ride_*`` figures, with overrides by postcode district where the office
knows better.  The figures are common practice, fitted to nothing but sense: see :mod:`planner.model.policy`.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import numpy as np

from planner.model.places import Place
from planner.model.policy import Policy
from planner.model.travel import RideTable, TravelTable


@dataclass(frozen=True, kw_only=True, slots=True)
class RideOverride:
    """What the ride between two postcode districts truly takes; it holds both ways."""

    district: str
    other_district: str
    minutes: int
    fare_pence: int


def ride_table(
    car: TravelTable, policy: Policy, places: Sequence[Place] = (), overrides: Iterable[RideOverride] = (),
) -> RideTable:  # fmt: skip
    """
    Return minutes and pence of every ride, in the order of the car table; -1 where no road or ferry leads.

    A ride takes ``ride_fixed_min`` and the road's length at ``ride_kmh``, plus the time aboard a ferry, any part of a
    minute counted as a whole one; up to ``ride_shortest_m`` only the fixed part.  A place itself, or its neighbour at no
    distance, takes nothing.

    Parameters
    ----------
    car
        Travel table of the class ``car``.
    policy
        Gives the ``ride_*`` figures.
    places
        In the order of the table; needed only with ``overrides``.
    overrides
        What replaces the arithmetic, where a road leads at all.  A later one wins.

    """
    metres = car.metres.astype(np.int64)
    beyond = np.where(metres > policy.ride_shortest_m, metres, 0)
    ferry_min = -(-car.ferry_seconds.astype(np.int64) // 60)
    minutes = policy.ride_fixed_min + np.ceil(np.round(beyond * 0.06 / max(policy.ride_kmh, 1e-9), 9)) + ferry_min
    fares = policy.ride_fixed_pence + np.floor(np.round(beyond * policy.ride_pence_per_km / 1000, 9) + 0.5)
    _override(minutes, fares, places, overrides)
    for table in (minutes, fares):
        table[metres == 0] = 0
        table[metres < 0] = -1
    return RideTable(minutes=minutes.astype(np.int32), fare_pence=fares.astype(np.int32))


def _override(
    minutes: np.ndarray, fares: np.ndarray, places: Sequence[Place], overrides: Iterable[RideOverride],
) -> None:  # fmt: skip
    rows: dict[str, list[int]] = {}
    for row, place in enumerate(places):
        rows.setdefault(district(place.postcode), []).append(row)
    for override in overrides:
        there, here = rows.get(district(override.district), []), rows.get(district(override.other_district), [])
        for one, other in ((there, here), (here, there)):
            minutes[np.ix_(one, other)] = override.minutes
            fares[np.ix_(one, other)] = override.fare_pence


def district(postcode: str) -> str:
    """
    Return the outward part of a postcode, in capitals; a bare district is its own.

    >>> district("dh1 3el"), district("DH1"), district("")
    ('DH1', 'DH1', '')
    """
    plain = "".join(postcode.upper().split())
    return plain[:-3] if len(plain) >= 5 and plain[-3].isdigit() else plain
