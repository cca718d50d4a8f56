"""
Planned anew: what becomes of the runs of a date when it is chosen anew with one more delivery, and what each change costs.

Both tellings add up to what the delivery adds: by kind of cost, and by run.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from planner.model.day import Day
from planner.model.moves import MoveId
from planner.runs.run import CostKind, Run, RunKind

MOST_TOLD = 6
STAYS_BEHIND = "cars that stay behind"


@dataclass(frozen=True, kw_only=True, slots=True)
class Anew:
    """
    A date chosen anew beside the date as it was.

    ``fresh`` runs, in outline, are in the choice and not in the date, ``gone`` runs the other way round; ``left`` are moves that
    stay behind now, with what that costs, and moves that no longer do, with what that saves, below zero.
    """

    pence: int
    fresh: tuple[Run, ...]
    gone: tuple[Run, ...]
    left: tuple[tuple[MoveId, int], ...] = ()


@dataclass(frozen=True, kw_only=True, slots=True)
class Change:
    """One change in words, and what it costs; below zero where it saves."""

    says: str
    pence: int


def by_kind(fresh: Sequence[Run], gone: Sequence[Run], left: Sequence[tuple[MoveId, int]] = ()) -> tuple[tuple[str, int], ...]:
    """Return what runs in place of others add to each kind of cost; kinds that stay as they are are left out."""
    change = dict.fromkeys(CostKind, 0)
    for sign, some in ((1, fresh), (-1, gone)):
        for run in some:
            for line in run.costs:
                change[line.kind] += sign * line.pence
    lines = [(str(kind), pence) for kind, pence in change.items()]
    return tuple((kind, pence) for kind, pence in (*lines, (STAYS_BEHIND, sum(pence for _, pence in left))) if pence)


def changes(day: Day, anew: Anew, asked: frozenset[MoveId]) -> tuple[Change, ...]:
    """Return what changes, the run with the ``asked`` delivery first, then the largest; the least are told as one."""
    told = [*_of_runs(day, anew, asked), *(_of_stay(move, pence) for move, pence in anew.left)]
    first, others = told[:1], sorted(told[1:], key=lambda change: -abs(change.pence))
    few = [*first, *(change for change in others[: MOST_TOLD - 1] if change.pence)]
    rest = sum(change.pence for change in told) - sum(change.pence for change in few)
    if rest:
        count = len(told) - len(few)
        few.append(Change(says="One other change" if count == 1 else f"{count} other changes", pence=rest))
    return tuple(few)


def _of_runs(day: Day, anew: Anew, asked: frozenset[MoveId]) -> Iterator[Change]:
    """Yield a change for each run that becomes another, comes or goes; the one with the asked delivery first."""
    gone = list(anew.gone)
    for fresh in sorted(anew.fresh, key=lambda run: not asked & set(run.itinerary.moves)):
        old = max(gone, key=lambda run: _likeness(run, fresh, asked), default=None)
        if old is None or not _likeness(old, fresh, asked)[0]:
            yield Change(says=f"{_crew_of(fresh)} with {_cars(day, fresh.itinerary.moves, asked)}", pence=fresh.cost_pence)
            continue
        gone.remove(old)
        yield Change(says=_told(day, old, fresh, asked), pence=fresh.cost_pence - old.cost_pence)
    for run in gone:
        yield Change(says=f"{_name(day, run)} is not needed", pence=-run.cost_pence)


def _likeness(old: Run, fresh: Run, asked: frozenset[MoveId]) -> tuple[int, bool, int]:
    """Return how many cars two runs share, whether the crew is the same, and how few others they have."""
    mine, its = set(old.itinerary.moves), set(fresh.itinerary.moves) - asked
    shared = len(mine & its) if (old.kind is RunKind.HIRED) == (fresh.kind is RunKind.HIRED) else 0
    return shared, old.itinerary.crew == fresh.itinerary.crew, -len(mine ^ its)


def _told(day: Day, old: Run, fresh: Run, asked: frozenset[MoveId]) -> str:
    mine, its = old.itinerary.moves, fresh.itinerary.moves
    takes = [name for name in its if name not in mine]
    gives = [name for name in mine if name not in its]
    said = [f"takes {_cars(day, takes, asked)}"] if takes else []
    said += [f"gives up {_cars(day, gives, asked)}"] if gives else []
    return f"{_name(day, old)} {' and '.join(said) or 'goes with another crew'}"


def _of_stay(move: MoveId, pence: int) -> Change:
    return Change(says=f"{move} {'stays behind' if pence > 0 else 'no longer stays behind'}", pence=pence)


def _name(day: Day, run: Run) -> str:
    """Return how the office knows a run: its number, and who does it."""
    itinerary = run.itinerary
    if itinerary.carrier is not None:
        return f"{day.carrier_of[itinerary.carrier].name} for {', '.join(itinerary.moves)}"
    assert itinerary.driver is not None
    return f"{run.run_id} ({day.driver_of[itinerary.driver].name})"


def _crew_of(run: Run) -> str:
    return {
        RunKind.PLATE: "One more driver goes out", RunKind.TRANSPORTER: "One more transporter goes out",
        RunKind.HIRED: "A hired carrier goes",
    }[run.kind]  # fmt: skip


def _cars(day: Day, moves: Sequence[MoveId], asked: frozenset[MoveId]) -> str:
    """Return some cars in words, the asked one as ``it``; a part-exchange goes without saying with its delivery."""
    tied = {exchange.move_id for delivery, exchange in day.part_exchange_of.items() if delivery in moves}
    names = ["it"] * bool(asked & set(moves)) + [str(name) for name in moves if name not in asked | tied]
    return " and ".join((", ".join(names[:-1]), names[-1])) if len(names) > 1 else "".join(names)
