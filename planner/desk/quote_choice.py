"""
Choice: what planning anew makes of one more delivery, by pricing its runs and choosing among runs that the plan nearly used.

The plan comes with the prices of its proof and its near runs (:mod:`planner.search.near_runs`).  Runs with the delivery and cars
that may go with it are listed exactly as the plan's own search lists them, with a night out where crews may stay out; those that
could make a choice cheaper are timed and priced; then the cheapest set of runs is chosen that does every car of the date and the
delivery, with hired carriers for others.  Every run of that set is legal, so that a real plan reaches the figure; it lies above
what planning anew finds where a run is needed with other cars, or one that was not near.  Bays are not looked at.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field, replace
from functools import cached_property, partial
from itertools import accumulate, groupby
from operator import attrgetter

import numpy as np

from planner.desk.quote_anew import Anew
from planner.model.crews import CarrierId, VehicleClass
from planner.model.day import Day
from planner.model.moves import Move, MoveId
from planner.runs.crew_fit import has_crew
from planner.runs.loading import crowded_by
from planner.runs.outline import outlined
from planner.runs.priced import priced
from planner.runs.refusal import Refusal
from planner.runs.run import Itinerary, Run, RunKind, Stop
from planner.search.branching import CLOSE_PENCE, CLOSE_SHARE, cheapest_whole
from planner.search.columns import Column, column_of
from planner.search.crew_classes import TransporterType, class_of_driver, driver_classes, transporter_types, type_of_transporter
from planner.search.excerpt import excerpt
from planner.search.master import rows_of
from planner.search.plate_crews import PlateCrews
from planner.search.price_bound import duals_by_prices
from planner.search.prices import Near, Prices
from planner.search.pricing import Found
from planner.search.proving import every_run
from planner.search.rig import Floats, Option, Rig
from planner.search.rig_making import rigs_of
from planner.search.standing import Question, StandingChoice, Whole, uses_of
from planner.search.starting import starting_columns, staying
from planner.search.triples import Does
from planner.search.truth import Truth
from planner.search.twins import with_twins_last

CLOSE_MOVES = 18  # cars near the door that may share a run with the delivery
ALONG_MOVES = 8  # of those, whose fellows on a transporter of the plan may too: one of them may give way
DEAR_MOVES = 6  # others that may, those first for which the plan pays most: a run that goes far for one may fetch another
LISTED, TIMED, AT_ONCE = 4000, 100, 5  # runs of one rig; of all that are timed; of those before a choice
NIGHTS_TIMED = 20  # of those with a night out: some milliseconds each
REWARDS = (0.0, 0.25, 0.5, 0.75)  # of what is known to be enough
MOST_LABELS = 200_000
HALF_A_PENNY = 0.5
HIRED_PENCE = 10_000.0  # above its price in the plan at which a car is no longer looked at for a hired carrier


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class Beside:
    """The runs of a date, the runs near them, the choice among both, and plate crews, kept from one question to the next."""

    runs: Sequence[Run]
    prices: Prices
    choice: StandingChoice
    crews: PlateCrews
    known: tuple[Run | Move, ...]  # of each column of the choice: its run, or the move that stays behind
    class_of: dict[str, int]  # of each driver
    type_of: dict[str, int]  # of each transporter
    priced: dict[Itinerary, Run] = field(default_factory=dict)  # near runs that were told of, timed again

    @classmethod
    def of(cls, day: Day, runs: Sequence[Run], near: Near) -> "Beside":
        """Return the choice as it stands before anybody asks; ``day`` holds the moves of the date."""
        classes, types = driver_classes(day), transporter_types(day)
        done = {name for run in runs for name in run.itinerary.moves}
        class_of, type_of = class_of_driver(classes), type_of_transporter(types)
        stays = [staying(move) for move in day.moves]
        hired = {run.itinerary for run in runs if run.kind is RunKind.HIRED}
        others = (run for run in by_carriers(day, near.prices) if run.itinerary not in hired)
        legal = [run for run in (*runs, *near.runs, *others) if _is_of(day, run.itinerary)]
        own = [_column(day, run, class_of, type_of) for run in legal]
        plan = [rank for rank, move in enumerate(day.moves) if move.move_id not in done]
        plan += range(len(stays), len(stays) + len(runs))
        choice = StandingChoice([*stays, *own], rows_of(day, classes, types), plan)
        crews = PlateCrews(day, classes)
        return cls(
            runs=runs, prices=near.prices, choice=choice, crews=crews, known=(*day.moves, *legal), class_of=class_of,
            type_of=type_of,
        )  # fmt: skip

    def column(self, day: Day, run: Run, asked: MoveId) -> Column:
        """Return a run with the asked move as a column of the choice, in which a part-exchange goes without saying."""
        return _without_exchange(_column(day, run, self.class_of, self.type_of), day, asked)

    def told(self, day: Day, whole: Whole, asked: Sequence[Run]) -> Anew:
        """Return a whole choice beside the plan; ``asked`` are the runs with the delivery, known after those of the date."""
        chosen, plan = set(whole.chosen), {int(rank) for rank in self.choice.plan}
        known = (*self.known, *asked)
        come, go = ([known[rank] for rank in sorted(some)] for some in (chosen - plan, plan - chosen))
        left = [(one.move_id, one.stays_behind_pence) for one in come if isinstance(one, Move)]
        left += [(one.move_id, -one.stays_behind_pence) for one in go if isinstance(one, Move)]
        fresh, gone = (tuple(self._priced(day, one) for one in some if isinstance(one, Run)) for some in (come, go))
        return Anew(pence=round(whole.pence), fresh=fresh, gone=gone, left=tuple(left))

    def _priced(self, day: Day, run: Run) -> Run:
        """Return a run with every line of its cost; of near runs no more than the sum is kept with the plan."""
        if run.book or run.kind is RunKind.HIRED:
            return run
        if run.itinerary not in self.priced:
            found = outlined(day, run.itinerary)
            self.priced[run.itinerary] = found if isinstance(found, Run) else run
        return self.priced[run.itinerary]


def planned_anew(day: Day, move: Move, beside: Beside, put_in: Sequence[Run], *, below_pence: int) -> Anew | None:
    """
    Return the date chosen anew with the delivery, None when that adds no less than ``below_pence``.

    Runs with the delivery are timed a few at a time, those first that the choice so far would gain most by, until none is left
    that could make it cheaper.

    Parameters
    ----------
    day
        Holds the asked ``move`` with its window.
    move, beside
        The delivery, and what it is chosen beside.
    put_in
        Runs of the date with the delivery put into them: the ways that are known.
    below_pence
        What the cheapest of those adds.

    """
    with beside.choice.ask(move.move_id) as question:
        listed = _Listed(day, move, beside, below_pence, question)
        listed.add(put_in)
        best: Whole | None = None
        least = float(below_pence)
        while listed.time_all(within_pence=-HALF_A_PENNY):
            whole = question.whole
            if whole is not None and whole.pence < least:
                best, least = whole, whole.pence
            if least - question.pence < max(CLOSE_PENCE, CLOSE_SHARE * least):
                break
            if not question.cut():
                listed.time_all(within_pence=least - question.pence)
                best = cheapest_whole(question, least) or best
                break
        return None if best is None else beside.told(day, best, listed.runs)


class _Listed:
    """Runs with the delivery that are listed and not timed yet, each with the least that it can cost."""

    def __init__(self, day: Day, move: Move, beside: Beside, below_pence: int, question: Question) -> None:
        self.day, self.beside, self.asked, self.question = day, beside, move.move_id, question
        self.runs: list[Run] = []  # with the delivery, in the order in which the question knows them
        self.found, self.truth = _listed(day, move, beside, below_pence)
        self.left = np.ones(len(self.found), np.bool_)
        self.num_timed = self.num_nights = 0
        self.by_night = np.array([self.truth.rigs[run.rig].stays_out for run in self.found], np.bool_)
        self.pence = np.array([run.floor_pence for run in self.found])
        of_rig = groupby(self.found, key=attrgetter("rig"))
        self.uses = np.vstack([np.zeros((0, len(question.rows.lower))), *(self._uses(rig, [*runs]) for rig, runs in of_rig)])

    @cached_property
    def does(self) -> Does:
        """Which moves each does, a row for each."""
        rows = [row for (kind, _), row in self.question.rows.index.items() if kind == "move"]
        return np.asarray(self.uses[:, rows] > 0, np.bool_)

    def _uses(self, number: int, runs: Sequence[Found]) -> Floats:
        """Return the coefficients of some runs of one rig, a row for each, under the question's rows."""
        rig, rows = self.truth.rigs[number], self.question.rows
        exchange = self.day.part_exchange_of.get(self.asked)
        without = set() if exchange is None else {exchange.move_id}
        of_place = np.zeros((len(rig.took), len(rows.lower)))
        for place, task in enumerate(rig.tasks):
            of_place[place, [rows.index["move", name] for name in task.moves if name not in without]] = 1.0
        crews = uses_of([self._crew(rig, option) for option in rig.options], rows)
        calls, starts = [place for run in runs for place in run.places], [0, *accumulate(len(run.places) for run in runs[:-1])]
        return np.add.reduceat(of_place[calls], starts, axis=0) + crews[[run.option for run in runs]]

    def _crew(self, rig: Rig, option: Option) -> Column:
        """Return a crew of a rig without its moves, by the classes and types of the whole date."""
        classes = tuple(self.beside.class_of[self.truth.classes[rank].one.driver_id] for rank in option.classes)
        kind = rig.transporter_type
        if kind >= 0:
            kind = self.beside.type_of[self.truth.types[kind].one.transporter_id]
        return Column(pence=0.0, moves=(), classes=classes, transporter_type=kind, plate_base=rig.plate_base)

    def add(self, runs: Sequence[Run]) -> None:
        """Let more runs do the delivery."""
        self.question.add([self.beside.column(self.day, run, self.asked) for run in runs])
        self.runs += runs

    def time_all(self, *, within_pence: float) -> bool:
        """Time and solve until nothing is left that is likely to gain; return whether there is a choice with the delivery."""
        while is_solved := self.question.solve():
            if not self._time(within_pence=within_pence):
                break
            within_pence = -HALF_A_PENNY
        return is_solved

    def _time(self, *, within_pence: float) -> bool:
        """Time the few from which the last choice would gain most, if any is ``within_pence``; return whether one was legal."""
        while self.left.any() and self.num_timed < TIMED:
            reduced = np.where(self.left, self.question.reduced(self.pence, self.uses), np.inf)
            likely = [rank for rank in np.argsort(reduced, kind="stable")[:AT_ONCE] if reduced[rank] <= within_pence]
            if not likely:
                return False
            legal = [run for rank in likely if self.left[rank] and isinstance(run := self._timed(rank), Run)]
            if self.num_nights >= NIGHTS_TIMED:
                self.left &= ~self.by_night
            if legal:
                self.add(legal)
                return True
        return False

    def _timed(self, rank: int) -> Run | Refusal:
        """Return a run that was found priced, in outline; who need not stay out is not told that they may."""
        run = self.found[rank]
        rig = self.truth.rigs[run.rig]
        itinerary = replace(self.truth.itinerary(column_of(rig, run)), may_stay_out=rig.stays_out)
        found = outlined(self.truth.day, itinerary)
        self.left[rank], self.num_timed = False, self.num_timed + 1
        if isinstance(found, Run):
            self.num_nights += rig.stays_out
            return found if found.nights else replace(found, itinerary=replace(itinerary, may_stay_out=False))
        is_crowded = crowded_by(self.truth.day, itinerary) != ()
        self.num_nights += rig.stays_out and not is_crowded
        self._leave_alike(rank, in_any_order=is_crowded)
        return found

    def _leave_alike(self, rank: int, *, in_any_order: bool) -> None:
        """Time no run of the same cars that goes the same way with a transporter just like it, or whichever way they go."""
        one, tasks = self.found[rank], self.truth.rigs[self.found[rank].rig].tasks
        for other in np.flatnonzero(self.left & (self.does == self.does[rank]).all(axis=1)):
            run = self.found[other]
            goes_alike = run.places == one.places and run.option == one.option and self.by_night[other] == self.by_night[rank]
            if self.truth.rigs[run.rig].tasks is tasks and (in_any_order or goes_alike):
                self.left[other] = False


def by_carriers(day: Day, prices: Prices) -> Iterator[Run]:
    """Yield the moves that may give way to the delivery to a hired carrier, each with its carrier: near runs hold none."""
    for column in starting_columns(day):
        if column.carrier is None or column.pence > prices.move.get(column.moves[0], 0.0) + HIRED_PENCE:
            continue
        move = day.move_of[column.moves[0]]
        stops = (Stop(place=move.origin, takes=column.moves), Stop(place=move.destination, leaves=column.moves))
        run = priced(day, Itinerary(driver=None, carrier=CarrierId(column.carrier), stops=stops))
        if isinstance(run, Run):
            yield run


def _column(day: Day, run: Run, class_of: dict[str, int], type_of: dict[str, int]) -> Column:
    itinerary, base = run.itinerary, None
    if run.kind is RunKind.PLATE and itinerary.driver is not None:
        base = str(day.driver_of[itinerary.driver].base)
    return Column(
        pence=float(run.cost_pence), moves=itinerary.moves, carrier=itinerary.carrier, plate_base=base,
        classes=tuple(class_of[name] for name in itinerary.drivers),
        transporter_type=type_of[itinerary.transporter] if itinerary.transporter is not None else -1,
    )  # fmt: skip


def _without_exchange(column: Column, day: Day, asked: MoveId) -> Column:
    exchange = day.part_exchange_of.get(asked)
    return column if exchange is None else replace(column, moves=tuple(move for move in column.moves if move != exchange.move_id))


def _is_of(day: Day, itinerary: Itinerary) -> bool:
    """Return whether the date has the run's cars and crew."""
    return has_crew(day, itinerary) and all(move in day.move_of for move in itinerary.moves)


def _listed(day: Day, move: Move, beside: Beside, below_pence: int) -> tuple[list[Found], Truth]:
    """Return runs with the delivery, rig after rig, not timed yet, at the least that they cost."""
    prices = beside.prices
    asked = {other.move_id for other in (move, day.part_exchange_of.get(move.move_id)) if other is not None}
    small = excerpt(day, asked | _fellows(day, move, beside))
    classes, paying = driver_classes(small), replace(prices, move={**prices.move, move.move_id: float(below_pence)})
    types, twins = with_twins_last(small, classes, transporter_types(small), asks=partial(_asks, prices))
    crews = beside.crews if beside.crews.classes == classes else None  # pins of far cars part drivers who are alike here
    rigs = rigs_of(small, classes, types[: len(types) - len(twins)], doing=move.move_id, crews=crews)
    duals = duals_by_prices(small, paying, classes, types)

    def of_rig(number: int) -> Iterator[Found]:
        found: tuple[Found, ...] | None = None
        for share in REWARDS:  # where there are too many runs, those that would make the delivery much cheaper
            found = every_run(rigs[number], number, duals, reach=-share * below_pence, most=LISTED, most_labels=MOST_LABELS)
            if found is not None:
                break
        own = {place for place, task in enumerate(rigs[number].tasks) if move.move_id in task.moves}
        return (run for run in found or () if not own.isdisjoint(run.places))

    listed = [[*of_rig(number)] for number in range(len(rigs))]
    both = [*zip(rigs, listed, strict=True)]
    for twin in twins:
        for rig, runs in both[: len(rigs)]:
            if rig.transporter_type == twin.like:
                both.append((twin.rig(rig), [replace(run, rig=len(both)) for run in runs]))
    return [run for _, runs in both for run in runs], Truth(small, [rig for rig, _ in both], classes, types)


def _asks(prices: Prices, kind: TransporterType) -> float:
    """Return what one more transporter of a type would save at most."""
    return max(prices.transporter.get(str(one.transporter_id), 0.0) for one in kind.transporters)


def _fellows(day: Day, move: Move, beside: Beside) -> set[MoveId]:
    """Return the cars that may share a run with a move: near its door, on board with those, or dear; with their part-exchange."""
    metres, index, prices = day.tables[VehicleClass.CAR].metres[day.place_index[move.destination]], day.place_index, beside.prices
    away = {
        other.move_id: min(int(metres[index[end]]) for end in (other.origin, other.destination) if end not in day.compound_of)
        if not {other.origin, other.destination} <= set(day.compound_of) else 10**9
        for other in day.moves if other.move_id in prices.move
    }  # fmt: skip
    by_distance = sorted(away, key=lambda name: away[name])
    chosen, nearest = set(by_distance[:CLOSE_MOVES]), set(by_distance[:ALONG_MOVES])
    for run in beside.runs:
        if run.kind is RunKind.TRANSPORTER and not nearest.isdisjoint(run.itinerary.moves):
            chosen.update(name for name in run.itinerary.moves if name in away)
    dear = sorted((name for name in by_distance if name not in chosen), key=lambda name: -prices.move[name])
    chosen.update(dear[:DEAR_MOVES])
    pairs = ({delivery, other.move_id} for delivery, other in day.part_exchange_of.items())
    return chosen.union(*(pair for pair in pairs if pair & chosen))
