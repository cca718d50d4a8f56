"""
Ruin runs: a first plan of a day within seconds, by ruin and recreate on the arrays of its rigs.

The model is coarser than the truth: a transporter loads at its base alone, once, or for each car anew; breaks are a share
of the driving; a collected car takes the place of the delivered one.  What comes of it is timed and priced by the rules
like any candidate run that pricing finds.
"""

from collections.abc import Callable, Sequence

import numpy as np
import numpy.typing as npt

from planner.model.day import Day
from planner.model.moves import MoveId
from planner.runs.run import RunKind
from planner.search.columns import Column
from planner.search.crew_classes import DriverClass, TransporterType
from planner.search.labels import FAR
from planner.search.rig import Ints, Option, Rig
from planner.search.ruin import Fleet, Route, routes_of

BREAK_SHARE = {RunKind.TRANSPORTER: 45 / 270, RunKind.PLATE: 15 / 120}  # of driving time, as the rule books ask at least
HOT, COLD = 3000.0, 100.0  # pence
FEW_SLOTS = 2  # so few that fetching one car at a time is a way too
MOST_STOPS = 700  # beyond, the matrices grow too large
PLENTY = 1_000_000


def ruin_columns(
    day: Day, rigs: Sequence[Rig], classes: Sequence[DriverClass], types: Sequence[TransporterType], *,
    left: Callable[[], float], seed: int = 0, rounds: int | None = None,
) -> list[Column]:  # fmt: skip
    """
    Return the runs of one plan as columns, not timed yet; together they use no crew, vehicle or plates twice.

    Parameters
    ----------
    day, rigs, classes, types
        As a search has them.
    left
        Returns the share of the time that remains, 1 to 0.
    seed, rounds
        The same of both give the same runs, as long as the time does not end them.

    """
    stops = list(dict.fromkeys(task.moves[0] for rig in rigs for task in rig.tasks))
    if not stops or len(stops) > MOST_STOPS:
        return []
    model = RigFleet(day, rigs, classes, types, stops)
    most = min(len(stops), sum(len(item.drivers) for item in classes))
    routes, _ = routes_of(model.fleet, left=left, seed=seed, hot=HOT, cold=COLD, most_routes=most, rounds=rounds)
    return [model.column(route) for route in routes]


class RigFleet:
    """The rigs as one fleet; a kind is a rig with one of its crews."""

    def __init__(
        self, day: Day, rigs: Sequence[Rig], classes: Sequence[DriverClass], types: Sequence[TransporterType],
        stops: Sequence[MoveId],
    ) -> None:  # fmt: skip
        self.rigs = rigs
        self.ways = [(number, via) for number, rig in enumerate(rigs) for via in _ways(rig)]
        self.kinds = [(way, rank) for way, (number, _) in enumerate(self.ways) for rank in range(len(rigs[number].options))]
        count, n = len(self.ways), len(stops)
        self.task_of = np.full((count, n), -1, np.int64)
        minutes, pence = np.full((count, n + 1, n + 1), FAR, np.int64), np.zeros((count, n + 1, n + 1))
        work, opens, closes = (np.full((count, n), value, np.int64) for value in (-1, 0, 0))
        stop_pence, mass = np.zeros((count, n)), np.zeros(n, np.int64)
        rank_of = {move: rank for rank, move in enumerate(stops)}
        for way, (number, via) in enumerate(self.ways):
            rig = rigs[number]
            tasks = np.array([place for place in range(len(rig.tasks)) if _is_simple(rig, place)], np.int64)
            rows = np.array([rank_of[rig.tasks[place].moves[0]] for place in tasks], np.int64)
            self.task_of[way, rows] = tasks
            share = BREAK_SHARE[rig.kind]
            cell, own = np.ix_([*rows, n], [*rows, n]), np.ix_([*tasks, -1], [*tasks, -1])
            took, drove = rig.took[own], rig.drove[own]
            taken, paid = np.where(took < FAR, np.ceil(took + share * drove), FAR).T.astype(np.int64), rig.cost[own].T
            if via:
                taken[:-1, :-1] = np.minimum(taken[:-1, -1:] + taken[-1:, :-1], FAR)
                paid = np.where(np.arange(len(paid))[:, None] < len(tasks), paid[:, -1:] + paid[-1:, :], paid)
                paid[:, -1] = rig.cost[own].T[:, -1]
            minutes[way][cell], pence[way][cell] = taken, paid
            at_base = rig.unload[tasks] + rig.load_min * (rig.from_hub[tasks] >= 0)
            work[way, rows] = rig.work[tasks] + at_base + np.ceil(share * rig.drive_in[tasks]).astype(np.int64)
            opens[way, rows], closes[way, rows] = rig.opens[tasks], [rig.tasks[task].closes_min for task in tasks]
            stop_pence[way, rows] = rig.node_cost[tasks]
            if rig.kind is RunKind.TRANSPORTER:
                mass[rows] = np.maximum(rig.mass_in[tasks], rig.mass_back[tasks])
        options = [(rig, rig.options[rank]) for way, rank in self.kinds for rig in [rigs[self.ways[way][0]]]]
        shared = _shared(day, classes, types)
        self.fleet = Fleet(
            minutes=minutes, pence=pence, work=work, opens=opens, closes=closes, stop_pence=stop_pence,
            kinds=np.array(
                [_limits(way, *both, via=self.ways[way][1]) for (way, _), both in zip(self.kinds, options, strict=True)], np.int64
            ),
            fixed=np.array([option.fixed_pence + option.slope * _beside(rig, option) for rig, option in options]),
            wage=np.array([option.slope for _, option in options]),
            uses=np.array([_uses(rig, option, shared) for rig, option in options], np.int64),
            free=np.array([amount for _, amount in shared.values()], np.int64),
            cars=np.ones(n, np.int64), mass=mass, stay=_stay(day, stops),
        )  # fmt: skip

    def column(self, route: Route) -> Column:
        """Return a route as a column, loading before each trip and unloading after it where there is something to."""
        way, rank = self.kinds[route.kind]
        number, via = self.ways[way]
        rig = self.rigs[number]
        tasks = [int(self.task_of[way, stop]) for stop in route.stops]
        places: list[int] = []
        for trip in [[task] for task in tasks] if via else [tasks]:
            for place in (*_hubs(rig, rig.from_hub[trip]), *trip, *_hubs(rig, rig.to_hub[trip])):
                if not places or places[-1] != place:
                    places.append(place)
        return Column(
            pence=0.0, moves=tuple(move for task in tasks for move in rig.tasks[task].moves), classes=rig.options[rank].classes,
            transporter_type=rig.transporter_type, plate_base=rig.plate_base, rig=number, option=rank,
            places=tuple(places),
        )  # fmt: skip


def _ways(rig: Rig) -> tuple[bool, ...]:
    """Return how the stops of a rig can follow each other: one after the other, or each with a call at the base between."""
    if rig.kind is RunKind.PLATE:
        return (False,)
    return (True,) if rig.slots == 1 else (False, True) if rig.slots <= FEW_SLOTS else (False,)


def _hubs(rig: Rig, hubs: Ints) -> list[int]:
    """Return the places of these hubs, those that are none left out."""
    return sorted({len(rig.tasks) + int(hub) for hub in hubs if hub >= 0})


def _is_simple(rig: Rig, place: int) -> bool:
    """Return whether a task needs no compound but the base of the rig, and belongs to its book."""
    if rig.one_of and place not in rig.one_of:
        return False
    return all(hub < 0 or rig.hub_places[hub] == rig.start for hub in (int(rig.from_hub[place]), int(rig.to_hub[place])))


def _beside(rig: Rig, option: Option) -> int:
    """Return the minutes of duty that are spent before the first leg and after the last."""
    return rig.walk_min + rig.end_min + option.before_min + option.after_min


def _limits(way: int, rig: Rig, option: Option, *, via: bool) -> tuple[int, ...]:
    """Return a row of the table of kinds."""
    beside = _beside(rig, option)
    paid = int(np.argmax(option.wage > option.wage[0] + 1e-9)) - 1
    return (
        way, option.from_min + option.before_min + rig.walk_min, option.home_min - option.after_min - rig.end_min,
        min(option.span_limit, option.work_limit) - beside, max(0, paid - beside), PLENTY if via else rig.slots,
        rig.payload_kg if rig.kind is RunKind.TRANSPORTER and not via else PLENTY,
    )  # fmt: skip


def _shared(
    day: Day, classes: Sequence[DriverClass], types: Sequence[TransporterType]
) -> dict[tuple[str, object], tuple[int, int]]:
    """Return what kinds share: its rank and how many there are."""
    amounts: list[tuple[tuple[str, object], int]] = [(("driver", rank), len(item.drivers)) for rank, item in enumerate(classes)]
    amounts += [(("transporter", rank), len(kind.transporters)) for rank, kind in enumerate(types)]
    amounts += [(("plates", compound.place_id), compound.plate_sets) for compound in day.compounds]
    return {key: (rank, amount) for rank, (key, amount) in enumerate(amounts)}


def _uses(rig: Rig, option: Option, shared: dict[tuple[str, object], tuple[int, int]]) -> tuple[int, ...]:
    """Return the ranks of what one run of a kind uses, -1 for nothing."""
    keys: list[tuple[str, object]] = [("driver", rank) for rank in option.classes]
    if rig.transporter_type >= 0:
        keys.append(("transporter", rig.transporter_type))
    if rig.plate_base is not None:
        keys.append(("plates", rig.plate_base))
    ranks = [shared[key][0] for key in keys]
    return (*ranks, *[-1] * (4 - len(ranks)))


def _stay(day: Day, stops: Sequence[MoveId]) -> npt.NDArray[np.float64]:
    """Return what leaving each stop out costs, a part-exchange with its delivery."""
    tied = day.part_exchange_of
    return np.array(
        [day.move_of[move].stays_behind_pence + (tied[move].stays_behind_pence if move in tied else 0) for move in stops], float
    )
