"""Bays: how many transporters load at a compound at once, over all runs of a day."""

from collections.abc import Iterable, Iterator

from planner.model.day import Day
from planner.model.places import PlaceId
from planner.runs.run import Run, RunKind


def bays_overrun(day: Day, runs: Iterable[Run]) -> bool:
    """Return whether more transporters load at a compound at once than it has bays."""
    changes: dict[PlaceId, list[tuple[int, int]]] = {}
    for place, start_min, end_min in _loadings(day, runs):
        changes.setdefault(place, []).extend(((start_min, 1), (end_min, -1)))
    for place, steps in changes.items():
        bays, loading = day.compound_of[place].bays, 0
        for _, step in sorted(steps):  # who leaves at a minute frees the bay for who comes then
            loading += step
            if bays is not None and loading > bays:
                return True
    return False


def _loadings(day: Day, runs: Iterable[Run]) -> Iterator[tuple[PlaceId, int, int]]:
    for run in runs:
        if run.kind is RunKind.TRANSPORTER:
            for visit in run.visits:
                if visit.takes and visit.place in day.compound_of:
                    yield visit.place, visit.start_min, visit.end_min
