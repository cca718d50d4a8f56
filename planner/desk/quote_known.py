"""What is known of a date from one question to the next: crews still free, and how tight each run is."""

from collections.abc import Iterable
from dataclasses import dataclass, field

from planner.desk.quote_candidates import crew_kind, fresh_crews, vehicle_kind
from planner.desk.quote_slack import Slack, SlackOf
from planner.model.crews import Driver, Transporter
from planner.model.day import Day
from planner.runs.run import Itinerary, Run, RunId


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

    def fresh(self, day: Day, runs: Iterable[Run]) -> tuple[Itinerary, ...]:
        """Return a crew of each kind of which somebody is free beside these runs, without stops."""
        busy = frozenset(
            name
            for run in runs
            for name in (run.itinerary.driver, run.itinerary.support_driver, run.itinerary.transporter)
            if name is not None
        )
        if busy not in self.crews:
            alike = {
                (crew_kind(driver), vehicle_kind(transporter) if transporter else None): (driver, transporter)
                for driver, transporter in reversed([*fresh_crews(day, busy)])  # so that the first of a kind stands for it
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
