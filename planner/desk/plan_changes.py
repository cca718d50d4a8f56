"""Changes from one plan of a day to the next, in words: which orders change crew, time or promise, and what it costs."""

from collections.abc import Iterator
from dataclasses import dataclass

from planner.model.day import Day
from planner.model.moves import MoveId
from planner.runs.plan import Plan
from planner.runs.run import Run, Visit
from planner.runs.standing import FIRST_PART
from planner.units import pounds_text

#: A door that is reached earlier or later by less than this is not told of.
SLIGHT_MIN = 5


@dataclass(frozen=True, kw_only=True, slots=True)
class Placing:
    """How a move is done: by whom, when the work at its door starts, and the end of the window if there is one."""

    crew: str
    at_min: int
    closes_min: int | None
    is_done: bool = False  # the crew has been there already

    @property
    def is_kept(self) -> bool:
        """Whether the window is kept."""
        return self.closes_min is None or self.at_min < self.closes_min


@dataclass(frozen=True, kw_only=True, slots=True)
class MoveChange:
    """One move that is done otherwise; None where it is not done at all, ``back_to`` the compound its car comes back to."""

    move: MoveId
    before: Placing | None
    after: Placing | None
    back_to: str = ""

    @property
    def changes_crew(self) -> bool:
        """Whether somebody else does it, or somebody or nobody where it was otherwise."""
        return (self.before and self.before.crew) != (self.after and self.after.crew)

    @property
    def changes_promise(self) -> bool:
        """Whether a promise that was to be kept no longer is, or the other way round."""
        return (self.before is not None and self.before.is_kept) != self.is_kept_after

    @property
    def is_kept_after(self) -> bool:
        """Whether its promise is kept in the later plan."""
        return self.after is not None and self.after.is_kept and not self.back_to


@dataclass(frozen=True, kw_only=True, slots=True)
class PlanChanges:
    """What differs between two plans of a day; money in pence."""

    moves: tuple[MoveChange, ...]
    before_pence: int
    after_pence: int

    @property
    def crews(self) -> tuple[str, ...]:
        """Every crew that one of the moves leaves or joins, or whose times change."""
        named = {part.crew for change in self.moves for part in (change.before, change.after) if part is not None}
        return tuple(sorted(named))


def plan_changes(old_day: Day, old: Plan, day: Day, new: Plan) -> PlanChanges:
    """Return what differs, by move."""
    before, after = _placings(old_day, old), _placings(day, new)
    names = [move.move_id for move in day.moves if move.move_id in before or move.move_id in after]
    names += [name for name in before if name not in day.move_of]
    back = _brought_back(old_day, day)
    changes = (
        MoveChange(move=name, before=before.get(name), after=after.get(name), back_to=back.get(name, "")) for name in names
    )  # fmt: skip
    moves = tuple(one for one in changes if one.changes_crew or one.changes_promise or one.back_to or _shift(one))
    return PlanChanges(moves=moves, before_pence=old.cost_pence, after_pence=new.cost_pence)


def _brought_back(old_day: Day, day: Day) -> dict[MoveId, str]:
    """Return where each car goes back to whose delivery was given up between two days."""
    return {
        move.move_id: day.place_of[move.destination].name for move in day.moves
        if move.move_id in old_day.move_of and move.destination in day.compound_of
        and old_day.move_of[move.move_id].destination not in day.compound_of
    }  # fmt: skip


def _shift(change: MoveChange) -> int:
    """Return by how many minutes a visit moves, 0 when it hardly does or is over."""
    if change.before is None or change.after is None:
        return 0
    moved = change.after.at_min - change.before.at_min
    return moved if abs(moved) >= SLIGHT_MIN and not change.after.is_done else 0


def _placings(day: Day, plan: Plan) -> dict[MoveId, Placing]:
    found = {}
    for run in plan.runs:
        done = len(run.itinerary.past.visits) if run.itinerary.past else 0
        for number, visit in enumerate(run.visits):
            for name in (*visit.leaves, *visit.takes):
                if name.endswith(FIRST_PART):  # what a stopped crew had done already
                    continue
                if name not in found or visit.place not in day.compound_of:
                    found[name] = _placing(day, name, run, visit, is_done=number < done)
    return found


def promised_until(day: Day, move: MoveId, visit: Visit) -> int | None:
    """Return the minute before which the work at a visit was promised to begin; the window of the plan where nobody promised."""
    ref = day.move_of[move].order
    order = day.order_of.get(ref) if ref is not None else None
    if order is not None and order.promise.day == day.clock.day and visit.place == order.door.place_id:
        return order.promise.window.closes_min
    return visit.window.closes_min if visit.window else None


def _placing(day: Day, move: MoveId, run: Run, visit: Visit, *, is_done: bool) -> Placing:
    crew = run.itinerary
    names = (crew.carrier,) if crew.carrier else (crew.driver, crew.transporter)
    name = " with ".join(str(part) for part in names if part)
    return Placing(crew=name, at_min=visit.start_min, closes_min=promised_until(day, move, visit), is_done=is_done)


def in_words(day: Day, changes: PlanChanges) -> Iterator[str]:
    """Yield a sentence for each change, those of promises first, and one for the money."""
    for change in sorted(changes.moves, key=lambda one: (not one.changes_promise, not one.changes_crew)):
        yield _sentence(day, change)
    by = changes.after_pence - changes.before_pence
    turn = f"{pounds_text(abs(by))} {'more' if by > 0 else 'less'}" if by else "the same"
    yield f"Cost {pounds_text(changes.before_pence)} before, {pounds_text(changes.after_pence)} after: {turn}."


def was_before(day: Day, changes: PlanChanges) -> dict[str, str]:
    """Return how each move that is done otherwise was to be done, in a few words, by its name; blank for one that is new."""
    wall = day.clock.wall
    return {
        str(change.move): "" if change.before is None else f"{change.before.crew}, {wall(change.before.at_min)}"
        for change in changes.moves
    }  # fmt: skip


def _sentence(day: Day, change: MoveChange) -> str:
    before, after, wall = change.before, change.after, day.clock.wall
    if before is None and after is not None:
        return f"{change.move}: new, {after.crew} at {wall(after.at_min)}{_promise(change)}."
    if after is None and before is not None:
        return f"{change.move}: no longer done today (it was {before.crew} at {wall(before.at_min)}){_promise(change)}."
    assert before is not None
    assert after is not None
    if change.back_to:
        was = f"it was {before.crew} at {wall(before.at_min)}"
        return f"{change.move}: not delivered ({was}); {after.crew} brings the car back to {change.back_to}{_promise(change)}."
    whom = f"{after.crew} in place of {before.crew}, " if change.changes_crew else f"{after.crew}, "
    moved = after.at_min - before.at_min
    when = f"{wall(after.at_min)} in place of {wall(before.at_min)}" if moved else f"still at {wall(after.at_min)}"
    return f"{change.move}: {whom}{when}{_promise(change)}."


def _promise(change: MoveChange) -> str:
    if not change.changes_promise or (change.before is None and change.is_kept_after):
        return ""
    is_kept = change.is_kept_after
    return ", so that the promise is kept again" if is_kept else ", so that the promise is broken"
