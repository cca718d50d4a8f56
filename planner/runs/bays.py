"""Bays: how many transporters load at a compound at once, over all runs of a day."""

from collections.abc import Iterator, Sequence

from planner.model.day import Day
from planner.model.places import PlaceId
from planner.runs.run import Run, RunKind


def bays_overrun(day: Day, runs: Sequence[Run]) -> bool:
    """Return whether more transporters load at a compound at once than it has bays."""
    return bool(crowds(day, runs))


def crowds(day: Day, runs: Sequence[Run]) -> list[tuple[int, ...]]:
    """Return, for each moment at which too many transporters begin to load at a compound, which of the runs they are."""
    if all(compound.bays is None for compound in day.compounds):
        return []
    loadings: dict[PlaceId, list[tuple[int, int, int]]] = {}
    for rank, place, start_min, end_min in _loadings(day, runs):
        loadings.setdefault(place, []).append((start_min, end_min, rank))
    found: list[tuple[int, ...]] = []
    for place, spans in loadings.items():
        bays = day.compound_of[place].bays
        for at_min, _, _ in spans:  # who leaves at a minute frees the bay for who comes then
            there = tuple(sorted({rank for start_min, end_min, rank in spans if start_min <= at_min < end_min}))
            if bays is not None and len(there) > bays and there not in found:
                found.append(there)
    return found


def _loadings(day: Day, runs: Sequence[Run]) -> Iterator[tuple[int, PlaceId, int, int]]:
    for rank, run in enumerate(runs):
        if run.kind is RunKind.TRANSPORTER:
            for visit in run.visits:
                if visit.takes and visit.place in day.compound_of:
                    yield rank, visit.place, visit.start_min, visit.end_min
