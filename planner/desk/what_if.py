"""
What-ifs: what one more crew, a pin, a later hour or another promise would save, from the plan's prices and by planning again.

A question is a changed day.  The prices of the plan's master problem answer at once with what it could save at most (or
must cost at least); planning the changed day again says what was truly found.  Together they fence in the true figure.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

from planner.faults import PlannerError
from planner.model.day import Day
from planner.model.moves import Move, MoveKind
from planner.model.places import Window
from planner.runs.plan import Plan
from planner.runs.run import Run
from planner.search.prices import Prices


class NoSuchName(PlannerError):
    """A name that the day does not know."""

    def __init__(self, name: str, what: str, known: Sequence[str]) -> None:
        from difflib import get_close_matches

        near = get_close_matches(name, known, n=2, cutoff=0.5)
        meant = f"Did you mean {' or '.join(near)}?" if near else f"It has {', '.join(known[:8]) or 'none'}."
        super().__init__(f"{name!r} is no {what} of this day. {meant}")


@dataclass(frozen=True, kw_only=True, slots=True)
class Question:
    """A changed day with prices for it; ``frozen`` runs stay as they are, ``says`` tells each change in words."""

    day: Day
    plan: Plan
    prices: Prices | None
    frozen: tuple[Run, ...] = ()
    says: tuple[str, ...] = ()

    def with_one_more(self, name: str) -> "Question":
        """Return the question with one more driver, transporter, set of plates or hired car like the one named."""
        day = self.day
        says = f"one more like {name}"
        for kind, key in (("drivers", "driver_id"), ("transporters", "transporter_id")):
            names = [str(getattr(item, key)) for item in getattr(day, kind)]
            if name in names:
                twin = next(made for number in range(2, 999) if (made := f"{name}-{number}") not in self._crew_names())
                like = next(item for item in getattr(day, kind) if getattr(item, key) == name)
                changed = replace(day, **{kind: (*getattr(day, kind), replace(like, **{key: twin}))})  # type: ignore[arg-type]
                return self._changed(changed, says, self.prices and _priced_like(self.prices, name, twin))
        compounds = tuple(
            replace(item, plate_sets=item.plate_sets + 1) if name in (item.place_id, item.place.name) else item
            for item in day.compounds
        )
        carriers = tuple(replace(item, cars=item.cars + 1) if item.carrier_id == name else item for item in day.carriers)
        if compounds != day.compounds:
            return self._changed(replace(day, compounds=compounds), f"one more set of plates at {name}", self.prices)
        if carriers != day.carriers:
            return self._changed(replace(day, carriers=carriers), f"one more car taken by {name}", self.prices)
        others = [*(item.place.name for item in day.compounds), *(str(item.carrier_id) for item in day.carriers)]
        known = [*self._crew_names(), *others]
        raise NoSuchName(name, "driver, transporter, compound or hired carrier", known)

    def without(self, name: str) -> "Question":
        """Return the question with a driver, transporter or hired carrier kept out."""
        day = self.day
        known = [*self._crew_names(), *(str(item.carrier_id) for item in day.carriers)]
        if name not in known:
            raise NoSuchName(name, "driver, transporter or hired carrier", known)
        changed = replace(
            day,
            drivers=tuple(item for item in day.drivers if item.driver_id != name),
            transporters=tuple(item for item in day.transporters if item.transporter_id != name),
            carriers=tuple(item for item in day.carriers if item.carrier_id != name),
        )
        return self._changed(changed, f"{name} kept out", self.prices)

    def with_pin(self, name: str, crew: str) -> "Question":
        """Return the question with an order or move pinned to a driver or a transporter."""
        if crew not in self._crew_names():
            raise NoSuchName(crew, "driver or transporter", self._crew_names())
        which = "pinned_driver" if crew in self.day.driver_of else "pinned_transporter"
        return self._with_moves(name, f"{name} pinned to {crew}", lambda _move: {which: crew})

    def with_window(self, name: str, window: Window) -> "Question":
        """Return the question with the promise of an order or move at another time."""
        hours = f"{self.day.clock.wall(window.opens_min)}-{self.day.clock.wall(window.closes_min)}"

        def moved(move: Move) -> dict[str, object]:
            at_origin = move.kind in (MoveKind.PART_EXCHANGE, MoveKind.RETURN)
            return {"origin_window" if at_origin else "destination_window": window}

        return self._with_moves(name, f"{name} promised {hours}", moved)

    def with_home_by(self, name: str | None, minute: int) -> "Question":
        """Return the question with one driver, or all of them, on duty until another minute of the day."""
        if name is not None and name not in self.day.driver_of:
            raise NoSuchName(name, "driver", [str(item.driver_id) for item in self.day.drivers])
        drivers = tuple(
            replace(item, home_by_min=minute) if name in (None, item.driver_id) else item for item in self.day.drivers
        )
        says = f"{name or 'every driver'} home by {self.day.clock.wall(minute)}"
        return self._changed(replace(self.day, drivers=drivers), says, self.prices)

    def with_frozen(self, name: str) -> "Question":
        """Return the question with a run of the plan kept as it is."""
        found = next((run for run in self.plan.runs if run.run_id == name), None)
        if found is None:
            raise NoSuchName(name, "run", [str(run.run_id) for run in self.plan.runs])
        return replace(self, frozen=(*self.frozen, found), says=(*self.says, f"{name} kept as it is"))

    def _crew_names(self) -> list[str]:
        day = self.day
        return [*(str(item.driver_id) for item in day.drivers), *(str(item.transporter_id) for item in day.transporters)]

    def _with_moves(self, name: str, says: str, changes: Callable[[Move], dict[str, object]]) -> "Question":
        day = self.day
        meant = {move.move_id for move in day.moves if name in (move.move_id, move.order)}
        meant |= {move.move_id for move in day.moves if move.tied_to in meant}
        meant |= {move.tied_to for move in day.moves if move.move_id in meant and move.tied_to is not None}
        if not meant:
            raise NoSuchName(name, "order or move", [str(move.order or move.move_id) for move in day.moves])
        moves = tuple(replace(move, **changes(move)) if move.move_id in meant else move for move in day.moves)  # type: ignore[arg-type]
        return self._changed(replace(day, moves=moves), says, self.prices)

    def _changed(self, day: Day, says: str, prices: Prices | None) -> "Question":
        return replace(self, day=day, prices=prices, says=(*self.says, says))


def _priced_like(prices: Prices, name: str, twin: str) -> Prices:
    """Return the prices with somebody new at the price of somebody known."""
    return replace(
        prices,
        driver={**prices.driver, **({twin: prices.driver[name]} if name in prices.driver else {})},
        transporter={**prices.transporter, **({twin: prices.transporter[name]} if name in prices.transporter else {})},
    )
