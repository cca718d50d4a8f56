"""
Offers: the candidates that stand up to exact timing and pricing, the cheapest of each kind of run.

Every offer is a run made by the same timing and costing as the plan, beside the other runs of the plan: drivers,
transporters, plates, carriers and bays are shared as the plan shares them.
"""

from collections import Counter
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from functools import cached_property
from itertools import islice

from planner.desk.quote_candidates import Candidate, Candidates
from planner.desk.quote_exchange import bringing_in
from planner.desk.quote_known import Known
from planner.desk.quote_slack import fits
from planner.model.day import Day
from planner.model.moves import Move
from planner.model.places import Window
from planner.runs.alike import kind_of_transporter
from planner.runs.bays import bays_overrun
from planner.runs.outline import in_full, outlined
from planner.runs.refusal import Refusal
from planner.runs.run import Itinerary, Run, RunId, RunKind
from planner.runs.timing import lay_out

#: How many candidates of one kind are timed at most; the likeliest come first.
MOST_TRIED = 8


@dataclass(frozen=True, kw_only=True)
class Offer:
    """A run that does the delivery, priced, in outline until asked for; ``extra_pence`` is what the plan costs more by it."""

    day: Day = field(repr=False, compare=False)
    outline: Run
    replaces: RunId | None
    extra_pence: int

    @property
    def kind(self) -> RunKind:
        """Which kind of run does it."""
        return self.outline.kind

    @cached_property
    def run(self) -> Run:
        """The run with its visits, its hours and its words."""
        return in_full(self.day, self.outline)


@dataclass(frozen=True, kw_only=True, slots=True)
class Offers:
    """The cheapest offer of each kind of run, cheapest first, and why the likeliest that failed did, told when asked for."""

    best: tuple[Offer, ...]
    told: Callable[[], tuple[Refusal, ...]] = field(repr=False, compare=False)

    @property
    def refusals(self) -> tuple[Refusal, ...]:
        """Why those failed that were looked at before there was an offer of their kind."""
        return self.told()

    def of(self, kind: RunKind) -> Offer | None:
        """Return the cheapest offer of a kind, None where there is none."""
        return next((offer for offer in self.best if offer.kind is kind), None)


class Asking:
    """
    One delivery beside some runs: its candidates are found once, then tried for one window after another.

    ``day`` holds the move without a window.  ``known`` is what earlier questions about that date found out, ``found`` the
    candidates of this very delivery, where they were asked for before.
    """

    def __init__(
        self, day: Day, move: Move, runs: Sequence[Run] = (), *, known: Known | None = None, found: Candidates | None = None
    ) -> None:
        self.day, self.move, self.runs = day, move, runs
        self._known = known or Known.of(day)
        self._found = found or Candidates(day, move, self._known.routes)
        self._by_kind: dict[RunKind, list[Candidate]] = {kind: [] for kind in RunKind}
        for candidate in self._candidates():
            self._by_kind[candidate.kind].append(candidate)
        for own in self._by_kind.values():
            own.sort(key=lambda item: item.likely_pence)

    def alone(self) -> "Asking":
        """Return the same delivery beside no runs."""
        return Asking(self.day, self.move, known=self._known, found=self._found)

    def _candidates(self) -> Iterator[Candidate]:
        found = self._found
        yield from found.in_runs(self.runs)
        plates = free_plates(self.day, self.runs)
        for candidate in found.by_crews(self._known.fresh(self.day, self.runs)):
            if candidate.kind is not RunKind.PLATE or has_plates(self.day, candidate, plates):
                yield candidate
        yield from found.by_carriers(self.runs)

    def offers(self, window: Window | None, *, most: int = MOST_TRIED) -> Offers:
        """Return the cheapest offer of each kind for a visit that starts inside ``window``, at any hour when None."""
        trial = Trial(self.day, replace(self.move, destination_window=window), self.runs, most)
        for own in self._by_kind.values():
            trial.of_one_kind(candidate for candidate in own if self._fits(candidate, window))
        trial.nights()
        best = trial.offers.values()
        return Offers(best=tuple(sorted(best, key=lambda offer: offer.extra_pence)), told=trial.refusals)

    def likely(self, kind: RunKind, window: Window | None, count: int) -> tuple[Candidate, ...]:
        """Return the likeliest candidates of a kind that may fit, not timed."""
        return tuple(islice((candidate for candidate in self._by_kind[kind] if self._fits(candidate, window)), count))

    def _fits(self, candidate: Candidate, window: Window | None) -> bool:
        if candidate.kind is RunKind.HIRED:
            return True
        if candidate.kind is RunKind.PLATE and self.move.move_id in self.day.part_exchange_of:
            return True  # the ride home that is counted is none
        unload_min = 0
        if candidate.crew.transporter is not None:
            unload_min = self.day.transporter_of[candidate.crew.transporter].unload_min
        slack = self._known.slack(self._found.slack, candidate.crew, candidate.replaces)
        return fits(slack, candidate, work_min=self.move.destination_min + unload_min, window=window)


def offers_alone(day: Day, move: Move) -> Offers:
    """Return what a move of the day costs if nothing else were to be done, by each kind of run."""
    return Asking(day, move).offers(move.destination_window)


def has_plates(day: Day, candidate: Candidate, plates: Mapping[str, int]) -> bool:
    """Return whether a set of plates is left for a crew on plates; ``plates`` are those still at each compound."""
    assert candidate.crew.driver is not None
    return plates[day.driver_of[candidate.crew.driver].base] > 0


def free_plates(day: Day, runs: Iterable[Run]) -> Counter[str]:
    """Return how many sets of trade plates each compound still has."""
    sets: Counter[str] = Counter({place: compound.plate_sets for place, compound in day.compound_of.items()})
    for run in runs:
        if run.kind is RunKind.PLATE and run.itinerary.driver is not None:
            sets[day.driver_of[run.itinerary.driver].base] -= 1
    return sets


class Trial:
    """Times and prices candidates for a move beside some runs; ``offers`` are the cheapest of each kind so far."""

    def __init__(self, day: Day, move: Move, runs: Sequence[Run], most: int) -> None:
        self._day, self._move, self.runs, self.most = day, move, runs, most
        self.offers: dict[RunKind, Offer] = {}
        self._refused: list[Refused] = []
        self._by_night: list[Candidate] = []
        self.exchange = day.part_exchange_of.get(move.move_id)

    @cached_property
    def day(self) -> Day:
        """The day with the move as it is wanted; not made when nothing is tried."""
        others = tuple(other for other in self._day.moves if other.move_id != self._move.move_id)
        return replace(self._day, moves=(*others, self._move))

    def of_one_kind(self, candidates: Iterable[Candidate]) -> None:
        """Try candidates of one kind of run; nothing is timed that could not be cheaper than what was found."""
        tried, done = 0, set[tuple[object, ...]]()
        for candidate in candidates:
            if candidate.replaces is None and self._alike(candidate) in done:
                continue  # the same legs at the same wage: it can only cost the same
            best = self.offers.get(candidate.kind)
            if tried >= self.most * (1 if best is not None else 3):
                break
            if best is not None and self.exchange is None and candidate.least_pence >= best.extra_pence:
                continue  # what takes a part-exchange may cost less: it saves a ride home
            tried += 1
            made = self.made(candidate)
            self._keep(candidate, made)
            if candidate.replaces is None and isinstance(made, Offer):
                done.add(self._alike(candidate))

    def _alike(self, candidate: Candidate) -> tuple[object, ...]:
        """Return what the cost of one delivery alone depends on: where and when the crew is on duty, its wage and its vehicle."""
        crew = candidate.crew
        driver = self._day.driver_of[crew.driver] if crew.driver else None
        vehicle = kind_of_transporter(self._day.transporter_of[crew.transporter]) if crew.transporter else None
        return (driver and (driver.starts_at, driver.role, driver.starts_from_min, driver.home_by_min), vehicle, crew.carrier)

    def nights(self) -> None:
        """Try fresh crews for a night out where a day is too short for them, unless a day of any kind of run costs less."""
        night_pence = float(self._day.rates.night_out_pence)
        for candidate in sorted(self._by_night, key=lambda item: item.likely_pence)[: self.most]:
            cheapest = min((offer.extra_pence for offer in self.offers.values()), default=None)
            if cheapest is None or candidate.least_pence + night_pence < cheapest:
                self._keep(candidate, self._timed(candidate, candidate.itinerary))

    def refusals(self) -> tuple[Refusal, ...]:
        """Return why those failed that were tried in vain, or that there was nothing to try."""
        if self.offers or self._refused:
            return tuple(refused.why(self.day) for refused in self._refused)
        return (Refusal(rule="time", says="no crew gets there in time and home again"),)

    def _keep(self, candidate: Candidate, offer: "Offer | Refused") -> None:
        best = self.offers.get(candidate.kind)
        if isinstance(offer, Refused):
            self._refused.append(offer)
        elif best is None or offer.extra_pence < best.extra_pence:
            self.offers[candidate.kind] = offer

    def made(self, candidate: Candidate) -> "Offer | Refused":
        """Return the candidate timed and priced, or that it cannot be; a crew not yet out without a night, which is put off."""
        itinerary = candidate.itinerary
        if candidate.replaces is not None or not itinerary.may_stay_out:
            return self._timed(candidate, itinerary)
        by_day = self._timed(candidate, replace(itinerary, may_stay_out=False))
        if isinstance(by_day, Refused):
            self._by_night.append(candidate)
            return by_day
        outline = replace(by_day.outline, itinerary=replace(by_day.outline.itinerary, may_stay_out=True))
        return replace(by_day, outline=outline)

    def _timed(self, candidate: Candidate, itinerary: Itinerary) -> "Offer | Refused":
        """Return an itinerary timed and priced, a part-exchange brought in at least cost, or that it cannot be."""
        if self.exchange is None:
            return offer_of(self.day, itinerary, self.runs, replaces=candidate.replaces)
        ways = bringing_in(itinerary, self._move.move_id, self.exchange)
        found = [offer_of(self.day, way, self.runs, replaces=candidate.replaces) for way in ways]
        offers = [offer for offer in found if isinstance(offer, Offer)]
        if offers:
            return min(offers, key=lambda offer: offer.extra_pence)
        refused = [refused for refused in found if isinstance(refused, Refused)]
        return refused[0] if refused else Refused(NO_EXCHANGE)


@dataclass(frozen=True, slots=True)
class Refused:
    """Why there is no offer, or what to ask for the reason: the itinerary that cannot be run."""

    by: Refusal | Itinerary

    def why(self, day: Day) -> Refusal:
        """Return the reason."""
        if isinstance(self.by, Refusal):
            return self.by
        answer = lay_out(day, self.by)
        assert isinstance(answer, Refusal)
        return answer


NO_EXCHANGE = Refusal(rule="part-exchange", says="the part-exchange cannot come along")
NO_BAY = Refusal(rule="bays", says="the bays of the compound are taken at that time")


def offer_of(day: Day, itinerary: Itinerary, runs: Sequence[Run], *, replaces: Run | None) -> Offer | Refused:
    """Return an itinerary timed and priced beside the runs, one of which it may replace, or that it cannot be."""
    found = outlined(day, itinerary)
    if isinstance(found, Refusal):
        return Refused(itinerary)
    if found.kind is RunKind.TRANSPORTER and bays_overrun(day, (*(run for run in runs if run is not replaces), found)):
        return Refused(NO_BAY)
    run = found if replaces is None else replace(found, run_id=replaces.run_id)
    extra = run.cost_pence - (replaces.cost_pence if replaces is not None else 0)
    return Offer(day=day, outline=run, replaces=replaces.run_id if replaces is not None else None, extra_pence=extra)


def with_offer(runs: Sequence[Run], offer: Offer) -> tuple[Run, ...]:
    """Return the runs with the offer taken up."""
    if offer.replaces is None:
        number = len(runs) + 1
        taken = {run.run_id for run in runs}
        while f"R{number:02d}" in taken:
            number += 1
        return (*runs, replace(offer.run, run_id=RunId(f"R{number:02d}")))
    return tuple(offer.run if run.run_id == offer.replaces else run for run in runs)
