"""What is known of a date from one question to the next: crews still free, and how tight each run is."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from planner.desk.quote_candidates import Candidate, fresh_crews
from planner.desk.quote_route import Routes
from planner.desk.quote_slack import Slack, SlackOf
from planner.model.crews import Driver, Transporter
from planner.model.day import Day
from planner.model.moves import MoveId
from planner.runs.alike import kind_of_driver, kind_of_transporter
from planner.runs.priced import priced
from planner.runs.run import Itinerary, Run, RunId
from planner.runs.sharing import without_moves

if TYPE_CHECKING:
    from planner.desk.quote_choice import Beside
    from planner.search.prices import Near


@dataclass(frozen=True, kw_only=True, slots=True)
class Left:
    """What is left of a run without some of its cars, None when nothing, and what that saves."""

    rest: Run | None
    saved_pence: int


@dataclass(kw_only=True, slots=True)
class Known:
    """
    Grows with each question about one date.

    ``drivers`` and ``transporters`` are those of the planned day for which it holds; a slack is told apart by the run it
    belongs to, so that a run that changed is worked out anew.  Doors may come and go: nothing here depends on them.
    """

    drivers: tuple[Driver, ...]
    transporters: tuple[Transporter, ...]
    of_run: dict[RunId, tuple[Run, Slack]] = field(default_factory=dict)
    of_crew: dict[tuple[str | None, str | None], Slack] = field(default_factory=dict)
    crews: dict[frozenset[str], tuple[Itinerary, ...]] = field(default_factory=dict)
    left: dict[tuple[RunId, frozenset[MoveId]], tuple[Run, Left | None]] = field(default_factory=dict)
    routes: Routes = field(default_factory=Routes)
    alternatives: dict[MoveId, tuple[Candidate, ...]] = field(default_factory=dict)
    alternatives_of: Sequence[Run] = ()
    chosen_beside: "Beside | None" = None

    @classmethod
    def of(cls, day: Day) -> "Known":
        """Return what is known before the first question."""
        return cls(drivers=day.drivers, transporters=day.transporters)

    def holds_for(self, day: Day) -> bool:
        """Return whether the planned day still has these crews."""
        return self.drivers is day.drivers and self.transporters is day.transporters

    def slack(self, slack_of: SlackOf, crew: Itinerary, run: Run | None) -> Slack:
        """Return the slack of a run, or of a crew that is not out yet."""
        if run is None:
            key = (crew.driver, crew.transporter)
            if key not in self.of_crew:
                self.of_crew[key] = slack_of.of(crew)
            return self.of_crew[key]
        found = self.of_run.get(run.run_id)
        if found is None or found[0] is not run:
            found = self.of_run[run.run_id] = (run, slack_of.of(run.itinerary))
        return found[1]

    def without(self, day: Day, run: Run, gone: frozenset[MoveId]) -> Left | None:
        """Return what is left of a run without some cars, None when that cannot be timed."""
        found = self.left.get((run.run_id, gone))
        if found is None or found[0] is not run:
            found = self.left[run.run_id, gone] = (run, _left(day, run, gone))
        return found[1]

    def alternatives_beside(self, runs: Sequence[Run]) -> dict[MoveId, tuple[Candidate, ...]]:
        """Return where cars could go that give way, as far as it was asked of these very runs."""
        if self.alternatives_of is not runs:
            self.alternatives, self.alternatives_of = {}, runs
        return self.alternatives

    def beside(self, day: Day, runs: Sequence[Run], near: "Near") -> "Beside":
        """Return what a choice anew is made beside: these very runs and those near them."""
        if self.chosen_beside is None or self.chosen_beside.runs is not runs:
            from planner.desk.quote_choice import Beside  # the search takes a while to load

            self.chosen_beside = Beside.of(day, runs, near)
        return self.chosen_beside

    def fresh(self, day: Day, runs: Iterable[Run]) -> tuple[Itinerary, ...]:
        """Return a crew of each kind of which somebody is free beside these runs, without stops."""
        busy = frozenset(name for run in runs for name in run.itinerary.crew)
        if busy not in self.crews:
            alike = {  # reversed, so that the first of a kind stands for it
                (kind_of_driver(one), one.pinned_transporter, vehicle and kind_of_transporter(vehicle)): (one, vehicle)
                for one, vehicle in reversed([*fresh_crews(day, busy)])
            }
            self.crews[busy] = tuple(
                Itinerary(
                    driver=driver.driver_id,
                    transporter=transporter.transporter_id if transporter else None,
                    stops=(),
                    may_stay_out=driver.may_stay_out,
                )
                for driver, transporter in reversed(alike.values())
            )
        return self.crews[busy]


def _left(day: Day, run: Run, gone: frozenset[MoveId]) -> Left | None:
    itinerary = without_moves(run.itinerary, gone)
    if not itinerary.stops:
        return Left(rest=None, saved_pence=run.cost_pence)
    rest = priced(day, itinerary, run_id=run.run_id)
    if not isinstance(rest, Run):
        return None
    return Left(rest=rest, saved_pence=run.cost_pence - rest.cost_pence)
