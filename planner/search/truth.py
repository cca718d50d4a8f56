"""
Truth: what a column really is once timed, loaded and priced by the rules, remembered.

A column is a guess from below; only what :func:`planner.runs.timing.lay_out` accepts may enter a plan, at the price that
:func:`planner.runs.costing.price` says.
"""

from collections.abc import Sequence
from dataclasses import replace
from typing import TYPE_CHECKING

from planner.model.day import Day
from planner.model.moves import MoveId
from planner.runs.loading import crowded_by
from planner.runs.priced import priced
from planner.runs.refusal import Refusal
from planner.runs.run import Itinerary, Run, Stop
from planner.search.columns import Column
from planner.search.crew_classes import DriverClass, TransporterType
from planner.search.rig import Rig
from planner.search.stops import itinerary_of

if TYPE_CHECKING:
    from planner.rules.load_plan_arrays import Size


def timed(day: Day, itinerary: Itinerary) -> Run | Refusal:
    """Return the itinerary timed and priced, or by which rule it cannot be."""
    return NO_LOAD if crowded_by(day, itinerary) else priced(day, itinerary)


NO_RUN_PENCE = 1e8
NO_LOAD = Refusal(rule="deck", says="The cars do not fit the deck.")  # which limit binds takes long to say, and nobody asks here


class Truth:
    """Remembers the true run of every column asked for."""

    def __init__(
        self, day: Day, rigs: Sequence[Rig], classes: Sequence[DriverClass], types: Sequence[TransporterType]
    ) -> None:
        self.day, self.rigs, self.classes, self.types = day, rigs, classes, types
        self.known: dict[tuple[object, ...], Run | Refusal] = {}
        self.made: dict[tuple[object, ...], Run] = {}
        self.crowds: dict[int, dict[tuple[Size, ...], None]] = {}  # by type of transporter, what its deck cannot take

    def keep(self, column: Column, run: Run) -> None:
        """Remember a column that was made from a run, not by pricing."""
        self.made[column.key] = run

    def of(self, column: Column) -> Run | Refusal:
        """Return the column's true run, or the rule that stands in its way."""
        answer = self.made.get(column.key) or self.known.get(column.key)
        if answer is None:
            itinerary = self.itinerary(column)
            crowd = crowded_by(self.day, itinerary)
            answer = NO_LOAD if crowd else priced(self.day, itinerary)
            if crowd:
                self.crowds.setdefault(column.transporter_type, {})[crowd] = None
            if isinstance(answer, Run) and not answer.nights:  # who need not stay out is not told that they may
                answer = replace(answer, itinerary=replace(answer.itinerary, may_stay_out=False))
            self.known[column.key] = answer
        return answer

    def is_known(self, column: Column) -> bool:
        """Whether it was asked before."""
        return column.key in self.known or column.key in self.made

    def pence(self, column: Column) -> float:
        """Return the best figure known for the column's cost without timing it: the truth where it was asked for."""
        answer = self.made.get(column.key) or self.known.get(column.key)
        if answer is None:
            return column.pence
        return NO_RUN_PENCE if isinstance(answer, Refusal) else float(answer.cost_pence)

    def itinerary(self, column: Column) -> Itinerary:
        """Return the column as one crew would be told."""
        if column.carrier is not None:
            return Itinerary(driver=None, carrier=column.carrier, stops=hired_stops(self.day, column.moves[0]))
        return itinerary_of(self.day, self.rigs[column.rig], column, self.classes, self.types)


def hired_stops(day: Day, move_id: MoveId) -> tuple[Stop, Stop]:
    """Return the two ends of a move."""
    move = day.move_of[move_id]
    return Stop(place=move.origin, takes=(move_id,)), Stop(place=move.destination, leaves=(move_id,))
