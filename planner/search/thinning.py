"""
Thinning: of runs that serve the same moves with the same kind of crew, the cheapest legal one is all a plan can want.

Runs of a group are timed from the cheapest floor upwards, until the next floor is no less than the best truth, so most
groups cost one or two timings however many orders of the same doors they hold.
"""

from collections.abc import Callable, Iterable

from planner.search.columns import Column
from planner.search.truth import NO_RUN_PENCE, Truth


def cheapest_of_each(columns: Iterable[Column], truth: Truth, *, is_over: Callable[[], bool]) -> list[Column] | None:
    """
    Return the cheapest legal column of each group, all of them timed; groups without a legal run are left out.

    None when time was over before all groups were looked at.
    """
    groups: dict[tuple[object, ...], list[Column]] = {}
    for column in columns:
        groups.setdefault(_kind(column), []).append(column)
    kept = []
    for group in groups.values():
        if is_over():
            return None
        best = _cheapest(group, truth)
        if best is not None:
            kept.append(best)
    return kept


def _kind(column: Column) -> tuple[object, ...]:
    return (frozenset(column.moves), column.classes, column.transporter_type, column.plate_base, column.carrier)


def _cheapest(group: list[Column], truth: Truth) -> Column | None:
    group.sort(key=lambda column: column.pence)
    best, least = None, NO_RUN_PENCE
    for column in group:
        if column.pence >= least:
            break
        truth.of(column)
        pence = truth.pence(column)
        if pence < least:
            best, least = column, pence
    return best
