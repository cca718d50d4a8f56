"""
What a plan file states twice: sums beside their parts, names beside identifiers, times beside activities.

The plan read back from the file holds the parts; here every figure derived from them is derived again and compared.
"""

from collections.abc import Mapping, Sequence
from typing import Any

from planner.model.day import Day
from planner.runs.plan import Plan
from planner.runs.referee.breach import Breach, Notebook, Rule
from planner.runs.run import ActivityKind, Run

NEARLY = 1e-9  # shares are floating figures


def check_stated(day: Day, plan: Plan, document: Mapping[str, Any]) -> tuple[Breach, ...]:
    """Return a breach for each figure of the document that its own parts do not make."""
    notes = Notebook()
    runs_pence = sum(line.pence for run in plan.runs for line in run.costs)
    cost_pence = runs_pence + sum(left.pence for left in plan.not_placed)
    bound_pence = plan.bound.pence if plan.bound is not None else None
    behind_pence = cost_pence - runs_pence
    _figures(notes, "", document, {
        "date": day.clock.day.isoformat(), "retailer": day.policy.retailer, "runs_pence": runs_pence, "cost_pence": cost_pence,
        "bound_pence": bound_pence, "gap": share(cost_pence, bound_pence),
        "money_gap": share(runs_pence, None if bound_pence is None else bound_pence - behind_pence),
        "notes": list(day.notes),
    })  # fmt: skip
    held = {str(order.ref): order.hold for order in day.held if order.hold is not None}
    stated_held = _items(document, "held")
    names = [str(_get(item, "order")) for item in stated_held]
    notes.compare(Rule.SUMS, "held", "the orders held differ from the day's", [*held], names)
    for item, hold in zip(stated_held, held.values(), strict=False):
        _figures(notes, f"held {_get(item, 'order')}, ", item, {
            "gate": str(hold.gate), "owner": hold.owner, "to_do": hold.to_do, "cut_off": day.clock.iso(hold.cut_off_min),
        })  # fmt: skip
    found = list(notes.found)
    for item, run in zip(_items(document, "runs"), plan.runs, strict=False):
        found += _run(day, run, item)
    return tuple(found)


def share(cost: int, bound: int | None) -> float | None:
    """Return how far a cost may be above the least possible, as a share of the bound; None without one."""
    return None if bound is None or bound <= 0 else max(0.0, (cost - bound) / bound)


def _run(day: Day, run: Run, item: Mapping[str, Any]) -> list[Breach]:
    notes = Notebook(run.run_id)
    itinerary, clock = run.itinerary, day.clock
    steps, visits = run.activities, run.visits
    start_min = steps[0].start_min if steps else min((visit.arrive_min for visit in visits), default=0)
    end_min = steps[-1].end_min if steps else max((visit.end_min for visit in visits), default=0)
    _figures(notes, "", item, {
        "kind": str(run.kind), "method": "driven" if itinerary.carrier is None and itinerary.transporter is None else "carried",
        "metres": sum(step.metres for step in steps if step.kind is ActivityKind.DRIVE),
        "start": clock.iso(start_min), "end": clock.iso(end_min), "cost_pence": sum(line.pence for line in run.costs),
    })  # fmt: skip
    for what, name, named in (
        ("driver_name", itinerary.driver, day.driver_of), ("carrier_name", itinerary.carrier, day.carrier_of),
        ("transporter_name", itinerary.transporter, day.transporter_of),
    ):  # fmt: skip
        known: Any = named
        true = known[name].name if name in known else None
        notes.compare(Rule.SUMS, f"crew, {what}", "the name differs from the day's", true, _get(_get(item, "crew"), what))
    for number, (place, stated) in enumerate(zip((visit.place for visit in visits), _items(item, "visits"), strict=False)):
        if place in day.place_of:
            true_place = {"name": day.place_of[place].name, "postcode": day.place_of[place].postcode}
            _figures(notes, f"visit {number + 1}, ", stated, true_place)
    for counter, stated in zip(run.counters, _items(item, "counters"), strict=False):
        _figures(notes, f"counter {counter.rule}, ", stated, {"left": counter.limit - counter.used})
    return notes.found


def _figures(notes: Notebook, where: str, stated: Mapping[str, Any], true: Mapping[str, Any]) -> None:
    for key, value in true.items():
        found = _get(stated, key)
        if isinstance(value, float) and isinstance(found, int | float):
            if abs(value - found) <= NEARLY:
                continue
        elif type(value) is type(found) and value == found:
            continue
        notes.note(Rule.SUMS, f"{where}{key}", "it differs from what its parts make", expected=value, found=found)


def _get(document: Any, key: str) -> Any:
    return document.get(key) if isinstance(document, Mapping) else None


def _items(document: Any, key: str) -> Sequence[Any]:
    items = _get(document, key)
    return items if isinstance(items, list) else ()
