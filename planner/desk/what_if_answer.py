"""What-if answers: what the prices say at once, what planning again found, and between which figures the truth lies."""

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from typing import Any

from planner.desk.what_if import Question
from planner.faults import PlannerError
from planner.model.day import Day
from planner.model.moves import MoveId
from planner.runs.plan import Plan
from planner.runs.run import Run
from planner.search.executors import Executor
from planner.search.frozen import without_runs
from planner.search.price_bound import least_by_prices
from planner.search.prices import Prices
from planner.search.replanning import replan, still_legal
from planner.search.solving import Progress
from planner.units import pounds_text


class CannotFreeze(PlannerError):
    """A run that the changed day does not allow."""

    def __init__(self, run: Run) -> None:
        super().__init__(f"{run.run_id} cannot stay as it is on this day. Leave out the change that its crew or its cars feel.")


@dataclass(frozen=True, kw_only=True, slots=True)
class Answer:
    """
    What a question came to, in pence; savings are negative where it costs more.

    ``price_saves`` is the change of the least possible cost by the prices of the plan, None without prices.  ``saves_least``
    and ``saves_most`` fence in the difference between the best plans of the two days, None without bounds.
    """

    says: tuple[str, ...]
    now: Plan
    then: Plan
    price_saves: float | None
    saves_least: int | None
    saves_most: int | None

    @property
    def saves(self) -> int:
        """What the plan made again costs less than the plan as it is."""
        return self.now.cost_pence - self.then.cost_pence

    @property
    def placed(self) -> tuple[MoveId, ...]:
        """Moves that stayed behind and are now placed."""
        return _beyond(self.now, self.then)

    @property
    def left(self) -> tuple[MoveId, ...]:
        """Moves that were placed and now stay behind."""
        return _beyond(self.then, self.now)


def _beyond(one: Plan, other: Plan) -> tuple[MoveId, ...]:
    behind = {item.move for item in other.not_placed}
    return tuple(item.move for item in one.not_placed if item.move not in behind)


def least_then(question: Question) -> float | None:
    """Return what no plan of the changed day undercuts by the prices, frozen runs counted, pence; None without prices."""
    if question.prices is None:
        return None
    rest = without_runs(question.day, question.frozen)
    return least_by_prices(rest, question.prices) + sum(run.cost_pence for run in question.frozen)


def answer(
    day: Day, question: Question, prices: Prices | None, *, seconds: float = 20.0, rounds: int | None = None,
    progress: Progress | None = None, executor: Executor | None = None,
) -> Answer:
    """
    Return the answer to a question about the plan of a day.

    Raises
    ------
    CannotFreeze
        If the changed day does not allow a run that is to stay as it is.

    """
    legal = {run.run_id for run in still_legal(question.day, question.frozen)}
    for run in question.frozen:
        if run.run_id not in legal:
            raise CannotFreeze(run)
    now, least = question.plan, least_then(question)
    quick = None if least is None or prices is None else least_by_prices(day, prices) - least
    then = replan(
        question.day, now, frozen=question.frozen, seconds=seconds, rounds=rounds, progress=progress, executor=executor
    )
    if then.bound is not None and least is not None:  # the prices may prove more than the seconds did
        then = replace(then, bound=replace(then.bound, pence=max(then.bound.pence, math.ceil(least - 1e-3))))
    return Answer(
        says=question.says, now=now, then=then, price_saves=quick,
        saves_least=now.bound.pence - then.cost_pence if now.bound else None,
        saves_most=now.cost_pence - then.bound.pence if then.bound else None,
    )  # fmt: skip


@dataclass(frozen=True, kw_only=True, slots=True)
class PriceTag:
    """One more of something, and what it would save at most by the prices, pence."""

    says: str
    names: tuple[str, ...]
    saves_most: float


def price_tags(question: Question, prices: Prices) -> tuple[PriceTag, ...]:
    """Return what one more driver, transporter, set of plates or hired car would save at most, most first, none without worth."""
    day = question.day
    groups: dict[tuple[str, float], list[str]] = {}
    for what, found in (("driver", prices.driver), ("transporter", prices.transporter)):
        for name, pence in found.items():
            groups.setdefault((what, round(pence, 2)), []).append(name)
    tags = [PriceTag(says=f"one more {what}", names=tuple(names), saves_most=pence) for (what, pence), names in groups.items()]
    places = {str(item.place_id): item.place.name for item in day.compounds}
    tags += [
        PriceTag(says="one more set of plates", names=(places.get(place, place),), saves_most=pence)
        for place, pence in prices.plates.items()
    ]
    least = least_by_prices(day, prices)
    for carrier in day.carriers:
        saves = least - (least_then(question.with_one_more(carrier.carrier_id)) or least)
        tags.append(PriceTag(says="one more hired car", names=(str(carrier.carrier_id),), saves_most=saves))
    return tuple(sorted((tag for tag in tags if tag.saves_most >= 1.0), key=lambda tag: -tag.saves_most))


def to_document(made: Answer) -> dict[str, Any]:
    """Return the answer as plain values; amounts in pence."""
    return {
        "what_if": list(made.says),
        "price_saves_pence": None if made.price_saves is None else round(made.price_saves),
        "replanned_saves_pence": made.saves,
        "saves_at_least_pence": made.saves_least,
        "saves_at_most_pence": made.saves_most,
        "now": _plan(made.now),
        "then": {**_plan(made.then), "seconds": round(made.then.seconds, 1)},
        "placed": list(made.placed),
        "left_behind": list(made.left),
    }


def _plan(plan: Plan) -> dict[str, Any]:
    return {"cost_pence": plan.cost_pence, "bound_pence": plan.bound.pence if plan.bound else None, "runs": len(plan.runs),
            "left_behind": len(plan.not_placed)}  # fmt: skip


def lines(made: Answer) -> Iterator[str]:
    """Yield the answer as a router reads it."""
    yield f"What if: {'; '.join(made.says)}."
    if made.price_saves is None:
        yield "  by the prices    nothing: no prices were kept with this plan"
    else:
        yield f"  by the prices    {_most(made.price_saves)}"
    was, becomes = pounds_text(made.now.cost_pence), pounds_text(made.then.cost_pence)
    gap = f", gap {made.then.gap:.2%}" if made.then.gap is not None else ""
    yield f"  planned again    {_exactly(made.saves)}: {was} becomes {becomes} ({made.then.seconds:.0f} s{gap})"
    if made.saves_least is not None and made.saves_most is not None:
        least, most = _signed(made.saves_least), _signed(made.saves_most)
        yield f"  proven           between {least} and {most}, for the best plans of both days"
    for word, moves in (("placed", made.placed), ("left behind", made.left)):
        if moves:
            yield f"  {word + ' now':<16} {', '.join(moves)}"


def _most(pence: float) -> str:
    amount = pounds_text(abs(round(pence)))
    return f"saves at most {amount}" if pence >= 0.5 else f"costs at least {amount} more" if pence <= -0.5 else "saves nothing"


def _exactly(pence: int) -> str:
    return f"saves {pounds_text(pence)}" if pence > 0 else f"costs {pounds_text(-pence)} more" if pence < 0 else "saves nothing"


def _signed(pence: int) -> str:
    return f"{pounds_text(pence)} saved" if pence >= 0 else f"{pounds_text(-pence)} more"


def tag_lines(tags: Sequence[PriceTag]) -> Iterator[str]:
    """Yield the price tags as a table."""
    if not tags:
        yield "By the prices nothing: crews, vehicles, plates and hired cars are not what binds on this day."
        return
    yield "By the prices, one more would save at most:"
    for tag in tags:
        more = f" and {len(tag.names) - 4} alike" if len(tag.names) > 4 else ""
        what, like = tag.says.removeprefix("one more "), ", ".join(tag.names[:4])
        yield f"  {pounds_text(round(tag.saves_most)):>10}  {what}: {like}{more}"


def tag_document(tags: Sequence[PriceTag]) -> list[dict[str, Any]]:
    """Return the price tags as plain values; amounts in pence."""
    return [{"what": tag.says, "like": list(tag.names), "saves_at_most_pence": round(tag.saves_most)} for tag in tags]
