"""
Quotes: what one more delivery would cost, what to charge for it, and the earliest date and window that can be promised.

The cost in the plan is exact: the delivery is put into the runs of the day, which are timed and priced again.  A quote
that is held is a part of that day until it expires, so that the next quote sees the place taken.
"""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import date, datetime
from typing import TYPE_CHECKING

from planner.desk.quote_anew import Anew, Change, by_kind, changes
from planner.desk.quote_candidates import kinds_for
from planner.desk.quote_dates import Calendar, later_day
from planner.desk.quote_day import Asked, Roads, with_asked, with_doors, without_roads
from planner.desk.quote_known import Known
from planner.desk.quote_offers import MOST_TRIED, Asking, Offer, Offers, with_offer
from planner.desk.quote_swaps import Swap, best_swap
from planner.desk.tariff import Charge, Tariff, charge
from planner.faults import PlannerError
from planner.model.crews import VehicleClass
from planner.model.day import Day
from planner.model.moves import Move
from planner.model.places import Place as Door
from planner.model.places import Window
from planner.runs.run import Run, RunKind
from planner.units import miles

if TYPE_CHECKING:
    from planner.runs.refusal import Refusal
    from planner.search.prices import Near

#: How many candidates of one kind a price list times at most.
FEW_TRIED = 3


class NoWayThere(PlannerError):
    """A door to which no road of the network leads from where the car stands."""

    def __init__(self, door: str, origin: str) -> None:
        super().__init__(f"No road or ferry leads from {origin} to {door}. Check the postcode, or ring the transport office.")


@dataclass(frozen=True, kw_only=True, slots=True)
class Booked:
    """What one date already has: moves and the runs that do them."""

    moves: tuple[Move, ...] = ()
    runs: tuple[Run, ...] = ()


@dataclass(frozen=True, kw_only=True, slots=True)
class Place:
    """
    One window of one date: the cheapest way by each kind of run, or why there is none.

    ``anew`` is what planning anew makes of it, where the plan came with its prices and that costs less; ``swap`` is set where it
    did not and letting another car change its crew would be cheaper.
    """

    day: date
    window: Window
    offers: Offers
    swap: Swap | None = None
    anew: Anew | None = None

    @property
    def best(self) -> Offer | None:
        """The cheapest way, None when the window is full."""
        return self.offers.best[0] if self.offers.best else None

    @property
    def extra_pence(self) -> int | None:
        """What the delivery adds, the cheapest way that is known; None when the window is full."""
        if self.best is None:
            return None
        ways = [self.best.extra_pence]
        ways += [self.anew.pence] if self.anew else []
        ways += [self.swap.extra_pence] if self.swap else []
        return min(ways)


@dataclass(frozen=True, kw_only=True, slots=True)
class Quote:
    """
    The answer to one question of the sales desk.

    ``promised`` is None when nothing can be promised up to the horizon, and on an island by arrangement; ``closed`` gives for
    each date that was passed over the reason.  ``tried`` are all windows that were looked at, on ``promised.day`` every one.
    """

    reference: str
    asked: Asked
    made_at: datetime
    expires_at: datetime
    distance_m: int
    by_ferry: bool
    alone: Offers
    promised: Place | None
    tried: tuple[Place, ...]
    closed: tuple[tuple[date, str], ...]
    charge: Charge
    tariff: Tariff
    planned: date  # the planned day; any later one is only known in part
    num_promised: int  # cars booked before on ``promised.day``

    @property
    def cost_alone_pence(self) -> int | None:
        """What the delivery would cost if nothing else were done that day; None when no crew could."""
        return self.alone.best[0].extra_pence if self.alone.best else None

    @property
    def cost_in_plan_pence(self) -> int | None:
        """What it is likely to add to the plan of the promised day once that is planned anew; None without a promise."""
        return self.promised.extra_pence if self.promised else None

    @property
    def cost_by_insertion_pence(self) -> int | None:
        """What it adds when every other car stays where it is; None without a promise."""
        best = self.promised.best if self.promised else None
        return best.extra_pence if best else None

    @property
    def is_island_by_arrangement(self) -> bool:
        """Whether price and day are settled by somebody else."""
        return self.tariff.is_arranged(by_ferry=self.by_ferry)

    @property
    def kind(self) -> RunKind | None:
        """By which kind of run it would be done."""
        best = self.promised.best if self.promised else None
        return best.kind if best else None


@dataclass(frozen=True, kw_only=True)
class QuoteDesk:
    """
    The plan as the sales desk sees it: the planned day, what is booked on each date, and the tariff.

    ``near`` is what came with the plan for quotes, None when nothing did.  ``day``
    has the doors of all open quotes among its places.  Asking changes nothing; :meth:`holding` returns the desk
    after a quote was given.
    """

    day: Day
    tariff: Tariff
    calendar: Calendar
    booked: Mapping[date, Booked] = field(default_factory=dict)
    near: "Near | None" = None
    known: dict[date, Known] = field(default_factory=dict, repr=False)
    _days: dict[date, tuple[Day, tuple[Run, ...]]] = field(default_factory=dict, init=False, repr=False)

    def with_door(self, asked: Asked, roads: Roads) -> "QuoteDesk":
        """
        Return the desk with the asked door among its places.

        Raises
        ------
        NoWayThere
            If no road leads there.

        """
        if without_roads(roads.strips[VehicleClass.CAR]):
            raise NoWayThere(asked.door.name, self.day.place_of[asked.origin].name)
        return replace(self, day=with_doors(self.day, [asked.door], roads))

    def with_doors(self, doors: Sequence[Door], roads: Roads) -> "QuoteDesk":
        """Return the desk with many doors among its places, for price lists; some may have no road."""
        return replace(self, day=with_doors(self.day, doors, roads))

    def on(self, date_: date) -> tuple[Day, tuple[Run, ...]]:
        """Return a date as a day, and the runs it already has."""
        if date_ not in self._days:
            booked = self.booked.get(date_, Booked())
            calendar = self.calendar
            day = later_day(
                self.day, date_, booked.moves, pays_weekend=calendar.pays_weekend, charge_on=calendar.charge_on
            )
            self._days[date_] = day, booked.runs
        return self._days[date_]

    def _known(self, date_: date) -> Known:
        """Return what earlier questions about a date found out, forgotten when the planned day has other crews now."""
        if date_ not in self.known or not self.known[date_].holds_for(self.day):
            self.known[date_] = Known.of(self.day)
        return self.known[date_]

    def ask(
        self, asked: Asked, *, day: date | None = None, window: Window | None = None, in_short: bool = False
    ) -> Quote:
        """
        Return the quote for a delivery whose door is among the desk's places.

        Parameters
        ----------
        asked
            The delivery; its own window is not looked at.
        day
            The only date wanted; the earliest possible one when left out.
        window
            The only window wanted, in minutes of whatever date; every window of the tariff when left out.
        in_short
            For price lists: stop at the first window that is free, and try fewer places for the car.

        Raises
        ------
        BadDate
            If the date is past, before the planned day or beyond the horizon.

        """
        metres, by_ferry = self._way(asked)
        if day is not None:
            self.calendar.check(day)
        dates = () if self.tariff.is_arranged(by_ferry=by_ferry) else self.calendar.dates(day)
        tried, closed, asking = self._search(asked, dates, window, in_short=in_short)
        free = (place for place in tried if place.best is not None)  # all of one day, the last that was tried
        promised = min(free, key=lambda place: place.window.opens_min, default=None)
        if promised is not None and not in_short:
            promised = self._anew(asked, promised)
            tried = tuple(promised if place.day == promised.day and place.window == promised.window else place for place in tried)
        alone = self._alone(asked, promised, window, asking, in_short=in_short)
        cost = promised.extra_pence if promised else None
        if cost is None:
            cost = alone.best[0].extra_pence if alone.best else 0
        found = charge(self.tariff, cost_pence=max(0, cost), miles=miles(metres), by_ferry=by_ferry)
        now = self.calendar.now
        return Quote(
            reference=asked.reference,
            asked=replace(asked, window=promised.window if promised else window),
            made_at=now,
            expires_at=now + self.calendar.hold,
            distance_m=metres,
            by_ferry=by_ferry,
            alone=alone,
            promised=promised,
            tried=tried,
            closed=closed,
            charge=found,
            tariff=self.tariff,
            planned=self.day.clock.day,
            num_promised=len(self.booked.get(promised.day, Booked()).moves) if promised else 0,
        )

    def _search(
        self, asked: Asked, dates: Iterable[tuple[date, str]], window: Window | None, *, in_short: bool
    ) -> tuple[tuple[Place, ...], tuple[tuple[date, str], ...], Asking | None]:
        """Look at each date in turn until one has a window free; the delivery as it was asked for on that date comes last."""
        tried: list[Place] = []
        closed: list[tuple[date, str]] = []
        for on, refusal in dates:
            if refusal:
                closed.append((on, refusal))
                continue
            asking = self._asking(asked, on, self.on(on)[1])
            found = list(self._windows(asking, asked, on, (window,) if window else self.tariff.windows, in_short=in_short))
            tried += found
            if any(place.best for place in found):
                return tuple(tried), tuple(closed), asking
            closed.append((on, why_full(found)))
        return tuple(tried), tuple(closed), None

    def _asking(self, asked: Asked, on: date, runs: Sequence[Run] = ()) -> Asking:
        """Return the delivery at any hour of a date beside some runs."""
        wanted = with_asked(self.on(on)[0], replace(asked, window=None))
        return Asking(wanted, wanted.move_of[asked.move_id], runs, known=self._known(on))

    def _windows(
        self, asking: Asking, asked: Asked, on: date, windows: Sequence[Window], *, in_short: bool
    ) -> Iterator[Place]:
        for window in windows:
            offers = allowed(asking.offers(window, most=FEW_TRIED if in_short else MOST_TRIED), asked)
            yield Place(day=on, window=window, offers=offers)
            if in_short and offers.best:
                return

    def _anew(self, asked: Asked, place: Place) -> Place:
        """Return the promised place with what planning anew makes of it."""
        known, runs = self.on(place.day)
        if place.best is None or not runs:
            return place
        wanted = with_asked(known, replace(asked, window=place.window))
        move, put_in = wanted.move_of[asked.move_id], place.best.extra_pence
        if self.near is not None and place.day == self.day.clock.day:
            from planner.desk.quote_choice import planned_anew  # the search takes a while to load, and few questions need it

            beside, ways = self._known(place.day).beside(known, runs, self.near), [offer.outline for offer in place.offers.best]
            return replace(place, anew=planned_anew(wanted, move, beside, ways, below_pence=put_in))
        return replace(place, swap=best_swap(wanted, move, runs, self._known(place.day), below_pence=put_in))

    def _alone(
        self, asked: Asked, promised: Place | None, window: Window | None, asking: Asking | None, *, in_short: bool
    ) -> Offers:
        if promised is not None and not self.on(promised.day)[1]:
            return promised.offers  # nothing else is to be done that day as it is
        alone = asking.alone() if asking else self._asking(asked, self.day.clock.day)
        most = FEW_TRIED if in_short else MOST_TRIED
        return allowed(alone.offers(promised.window if promised else window, most=most), asked)

    def _way(self, asked: Asked) -> tuple[int, bool]:
        """Return metres from where the car stands to the door, and whether a ferry is on the way."""
        table = self.day.tables[VehicleClass.CAR]
        cell = self.day.place_index[asked.origin], self.day.place_index[asked.door.place_id]
        if int(table.metres[cell]) < 0:
            raise NoWayThere(asked.door.name, self.day.place_of[asked.origin].name)
        return int(table.metres[cell]), int(table.ferry_seconds[cell]) > 0

    def holding(self, quote: Quote) -> "QuoteDesk":
        """Return the desk with the quote's place taken; the same desk when it promises nothing."""
        place = quote.promised
        if place is None or place.best is None:
            return self
        booked = self.booked.get(place.day, Booked())
        day = with_asked(self.on(place.day)[0], replace(quote.asked, window=place.window))
        taken = Booked(moves=day.moves, runs=with_offer(booked.runs, place.best))
        return replace(self, booked={**self.booked, place.day: taken})


def allowed(offers: Offers, asked: Asked) -> Offers:
    """Return the offers by the kinds of run that the wished method allows."""
    kinds = kinds_for(asked.method)
    return Offers(best=tuple(offer for offer in offers.best if offer.kind in kinds), told=offers.told)


def why_full(places: Sequence[Place]) -> str:
    """Return in a few words why a date has no room: what stood most often in the way."""
    refusals: list[Refusal] = [refusal for place in places for refusal in place.offers.refusals]
    if not refusals:
        return "full: every crew that could is out"
    rules = [refusal.rule for refusal in refusals]
    commonest = max(set(rules), key=lambda rule: (rules.count(rule), rule))
    return f"full ({commonest})"


def extra_lines(place: Place, runs: Sequence[Run]) -> tuple[tuple[str, int], ...]:
    """Return what the delivery adds to each kind of cost, in pence; below zero where it saves some; adds up to the extra."""
    told = _anew(place, runs)
    return by_kind(told.fresh, told.gone, told.left) if told else ()


def extra_changes(place: Place, day: Day, runs: Sequence[Run], asked: Asked) -> tuple[Change, ...]:
    """Return which runs change and what each change costs; adds up to the extra."""
    told = _anew(place, runs)
    return changes(day, told, asked.moves_it_adds) if told else ()


def _anew(place: Place, runs: Sequence[Run]) -> Anew | None:
    """Return the cheapest way that is known as runs that come and go; None where there is none."""
    if place.best is None or place.anew is not None:
        return place.anew
    swap = place.swap if place.swap is not None and place.swap.extra_pence < place.best.extra_pence else None
    made = (swap.run, swap.other) if swap else (place.best.outline,)
    gone = tuple(run for run in runs if run.run_id in {run.run_id for run in made})
    return Anew(pence=place.extra_pence or 0, fresh=made, gone=gone)
