"""
Sharing: what each car of a run costs, so that the parts add up to the run to the penny and none is negative.

The rule.  Every car first bears what the run would save without it (its marginal cost: the run is timed and priced again
with its stops left out; a part-exchange goes when its delivery goes).  What is then left of the run's cost, because
nobody causes it alone, is split by the road distance of each car from where it stood to where it goes.  Should the
marginal costs add up to more than the run, they are scaled down.  Lines that name a car are that car's own.
"""

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, replace

from planner.model.crews import VehicleClass
from planner.model.day import Day
from planner.model.moves import MoveId
from planner.runs.costing import price
from planner.runs.run import CostLine, Itinerary, Run, Stop
from planner.runs.timing import lay_out

#: Returns what a run would cost without some of its moves, None when nobody can say.
CostWithout = Callable[[frozenset[MoveId]], int | None]


@dataclass(frozen=True, kw_only=True, slots=True)
class MoveShare:
    """One move's part of its run, with the reason for every pound."""

    move: MoveId
    lines: tuple[CostLine, ...]

    @property
    def pence(self) -> int:
        """What the move costs."""
        return sum(line.pence for line in self.lines)


def share_costs(day: Day, run: Run, cost_without: CostWithout | None = None) -> tuple[MoveShare, ...]:
    """
    Return the part of each move in what the run costs, in the order in which the cars are taken.

    Parameters
    ----------
    day, run
        A timed run; its costs are made when it has none.
    cost_without
        Prices the run without some moves; left out, the run is timed and priced again.

    """
    lines = run.costs or price(day, run)
    moves = run.itinerary.moves
    ask = cost_without or (lambda left_out: retimed_cost(day, run, left_out))
    whole = whole_shares(day, moves, sum(line.pence for line in lines), ask)
    own = {move: sum(line.pence for line in lines if line.move == move) for move in moves}
    weights = [max(0.0, whole[move] - own[move]) for move in moves]
    if not any(weights):
        weights = [1.0] * len(moves)
    parts: dict[MoveId, list[CostLine]] = {move: [] for move in moves}
    owed = [0.0] * len(moves)
    for line in lines:
        if line.move is not None:
            parts[line.move].append(line)
            continue
        pieces, owed = split_pence(line.pence, weights, owed)
        for move, piece in zip(moves, pieces, strict=True):
            if piece:
                parts[move].append(replace(line, pence=piece, move=move))
    return tuple(MoveShare(move=move, lines=tuple(parts[move])) for move in moves)


def whole_shares(day: Day, moves: Sequence[MoveId], total_pence: int, ask: CostWithout) -> dict[MoveId, float]:
    """Return what each move bears by the rule, unrounded; the sum is ``total_pence``."""
    if len(moves) == 1:
        return {moves[0]: float(total_pence)}
    marginal = marginal_costs(day, moves, total_pence, ask)
    caused = sum(marginal.values())
    if caused >= total_pence > 0:
        return {move: pence * total_pence / caused for move, pence in marginal.items()}
    metres = {move: direct_metres(day, move) for move in moves}
    distance = sum(metres.values())
    rest = total_pence - caused
    return {
        move: marginal[move] + rest * (metres[move] / distance if distance else 1 / len(moves)) for move in moves
    }


def marginal_costs(day: Day, moves: Sequence[MoveId], total_pence: int, ask: CostWithout) -> dict[MoveId, float]:
    """Return what the run would save without each move, at least 0; a delivery's, beyond that of its part-exchange."""
    marginal: dict[MoveId, float] = {}
    tied = {move: frozenset(other for other in moves if day.move_of[other].tied_to == move) for move in moves}
    for move in sorted(moves, key=lambda name: bool(tied[name])):  # part-exchanges before the deliveries they hang on
        without = ask(frozenset((move, *tied[move])))
        saved = 0.0 if without is None else float(max(0, total_pence - without))
        marginal[move] = max(0.0, saved - sum(marginal[other] for other in tied[move]))
    return marginal


def retimed_cost(day: Day, run: Run, left_out: frozenset[MoveId]) -> int | None:
    """
    Return what the run costs when some moves are left out, timed anew; None when it cannot be timed.

    A run under way is timed as if it were still to begin, since a car that is aboard already cannot be left out of its past.
    """
    itinerary = replace(without_moves(run.itinerary, left_out), past=None)
    if not itinerary.stops:
        return 0
    timed = lay_out(day, itinerary)
    return sum(line.pence for line in price(day, timed)) if isinstance(timed, Run) else None


def without_moves(itinerary: Itinerary, left_out: frozenset[MoveId]) -> Itinerary:
    """Return the itinerary without some moves, and without the stops at which nothing is then left to do."""
    stops = (
        Stop(
            place=stop.place,
            leaves=tuple(move for move in stop.leaves if move not in left_out),
            takes=tuple(move for move in stop.takes if move not in left_out),
        )
        for stop in itinerary.stops
    )
    return replace(itinerary, stops=tuple(stop for stop in stops if stop.leaves or stop.takes))


def direct_metres(day: Day, move_id: MoveId) -> int:
    """Return the road distance from where a car stands to where it goes, by the car table; 0 where no road leads."""
    move = day.move_of[move_id]
    metres = day.tables[VehicleClass.CAR].metres[day.place_index[move.origin], day.place_index[move.destination]]
    return max(0, int(metres))


def split_pence(
    pence: int, weights: Sequence[float], owed: Iterable[float] | None = None
) -> tuple[list[int], list[float]]:
    """
    Return whole pieces of ``pence`` by weight that add up to it, and what each piece is short of its exact part.

    ``owed`` is what earlier splits were short of; whoever is owed most gets the next odd penny.

    >>> split_pence(100, [1, 1, 1])[0]
    [34, 33, 33]
    """
    total = float(sum(weights))
    exact = [pence * weight / total + due for weight, due in zip(weights, owed or [0.0] * len(weights), strict=True)]
    pieces = [max(0, int(part // 1)) for part in exact]
    by_need = sorted(range(len(pieces)), key=lambda number: pieces[number] - exact[number])
    spare = pence - sum(pieces)
    step = 0
    while spare:
        number = by_need[step % len(pieces)] if spare > 0 else by_need[-1 - step % len(pieces)]
        step += 1
        if (spare > 0 and weights[number] > 0) or (spare < 0 and pieces[number] > 0):
            pieces[number] += 1 if spare > 0 else -1
            spare -= 1 if spare > 0 else -1
    return pieces, [part - piece for part, piece in zip(exact, pieces, strict=True)]
