"""
The plan as a document: what ``plan.json`` holds, written for people and other programs, and read back for checking.

Times are ISO 8601 local times with their offset, money whole pence, distances whole metres.  The document embeds its day,
so that the referee needs nothing else.  Sums are stated beside their parts; the referee says where they differ.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from planner.clock import DayClock
from planner.faults import PlannerError
from planner.model.crews import CarrierId, DriverId, TransporterId
from planner.model.day import Day
from planner.model.day_document import from_document, to_document
from planner.model.moves import MoveId
from planner.model.places import PlaceId, Window
from planner.runs.plan import Bound, NotPlaced, Plan
from planner.runs.run import (
    Activity,
    ActivityKind,
    CostKind,
    CostLine,
    Counter,
    Itinerary,
    Past,
    Run,
    RunId,
    Stop,
    Visit,
)

SCHEMA_VERSION = 1
MINUTES_FROM = 30  # a limit under it is a count where a plan does not say; the shortest limit in minutes is 2 h


class BadPlanFile(PlannerError):
    """A plan document that cannot be read."""

    def __init__(self, says: str) -> None:
        super().__init__(f"{says} Make it anew with 'homeleg plan'.")


@dataclass(frozen=True, kw_only=True, slots=True)
class PlanFile:
    """A plan read back, with its day and the sums that the document states."""

    day: Day
    plan: Plan
    document: Mapping[str, Any]


def plan_to_document(day: Day, plan: Plan) -> dict[str, Any]:
    """Return the plan with its day as plain JSON-safe values."""
    return {
        "schema_version": SCHEMA_VERSION,
        "date": day.clock.day.isoformat(),
        "retailer": day.policy.retailer,
        "cost_pence": plan.cost_pence,
        "runs_pence": plan.runs_pence,
        "bound_pence": plan.bound.pence if plan.bound else None,
        "gap": plan.gap,
        "money_gap": plan.money_gap,
        "bound_covers": plan.bound.covers if plan.bound else None,
        "bound_relaxed": list(plan.bound.relaxed) if plan.bound else [],
        "found_by": plan.found_by,
        "seconds": plan.seconds,
        "runs": [_run_out(day, run) for run in plan.runs],
        "not_placed": [{"move": left.move, "pence": left.pence, "reason": left.reason} for left in plan.not_placed],
        "held": [
            {"order": order.ref, "gate": order.hold.gate, "owner": order.hold.owner, "to_do": order.hold.to_do,
             "cut_off": day.clock.iso(order.hold.cut_off_min)}
            for order in day.held if order.hold
        ],
        "notes": list(day.notes),
        "caution": "A planning aid: the operator's transport manager, the tachograph and the law decide.",
        "day": to_document(day),
    }  # fmt: skip


def _run_out(day: Day, run: Run) -> dict[str, Any]:
    itinerary, clock = run.itinerary, day.clock
    driver = day.driver_of[itinerary.driver] if itinerary.driver else None
    carrier = day.carrier_of[itinerary.carrier] if itinerary.carrier else None
    transporter = day.transporter_of[itinerary.transporter] if itinerary.transporter else None
    return {
        "run_id": run.run_id,
        "kind": run.kind,
        "method": "driven" if run.kind == "plate run" else "carried",
        "crew": {
            "driver": itinerary.driver,
            "driver_name": driver.name if driver else None,
            "transporter": itinerary.transporter,
            "transporter_name": transporter.name if transporter else None,
            "support_driver": itinerary.support_driver,
            "carrier": itinerary.carrier,
            "carrier_name": carrier.name if carrier else None,
            "may_stay_out": itinerary.may_stay_out,
        },
        **({"past": _past_out(day, run, itinerary.past)} if itinerary.past else {}),
        "book": run.book,
        "start": clock.iso(run.start_min),
        "end": clock.iso(run.end_min),
        "metres": run.metres,
        "nights": run.nights,
        "reshuffles": run.reshuffles,
        "cost_pence": run.cost_pence,
        "activities": [_activity_out(clock, step) for step in run.activities],
        "visits": [_visit_out(day, visit) for visit in run.visits],
        "costs": [{"kind": line.kind, "says": line.says, "pence": line.pence, "move": line.move} for line in run.costs],
        "counters": [
            {
                "rule": item.rule,
                "used": item.used,
                "limit": item.limit,
                "left": item.slack,
                "unit": "count" if item.is_count else "minutes",
                "source": item.source,
            }
            for item in run.counters
        ],
    }


def _past_out(day: Day, run: Run, past: Past) -> dict[str, Any]:
    return {
        "now": day.clock.iso(past.now_min),
        "began": day.clock.iso(past.began_min),
        "stops": len(run.itinerary.stops),
        "visits": len(past.visits),
        "activities": len(past.activities),
        "is_heading": past.is_heading,
        "late_min": past.late_min,
        "is_over": past.is_over,
    }


def _activity_out(clock: DayClock, step: Activity) -> dict[str, Any]:
    return {
        "kind": step.kind,
        "start": clock.iso(step.start_min),
        "end": clock.iso(step.end_min),
        "metres": step.metres,
        "from": step.origin,
        "to": step.destination,
        "aboard": list(step.aboard),
        "visit": step.visit,
        "says": step.says,
    }


def _visit_out(day: Day, visit: Visit) -> dict[str, Any]:
    clock = day.clock
    window = visit.window
    return {
        "place": visit.place,
        "name": day.place_of[visit.place].name,
        "postcode": day.place_of[visit.place].postcode,
        "arrive": clock.iso(visit.arrive_min),
        "start": clock.iso(visit.start_min),
        "end": clock.iso(visit.end_min),
        "window": {"opens": clock.iso(window.opens_min), "closes": clock.iso(window.closes_min)} if window else None,
        "leaves": list(visit.leaves),
        "takes": list(visit.takes),
        "aboard_after": list(visit.aboard_after),
        "leg_metres": visit.leg_metres,
        "leg_min": visit.leg_min,
        "leg_by": visit.leg_by,
        "charges": list(visit.charges),
        "slots": [{"move": move, "slot": slot} for move, slot in visit.slots],
        "moved": list(visit.moved),
    }


def plan_from_document(document: Mapping[str, Any]) -> PlanFile:
    """
    Return the plan and day that a document holds.

    Raises
    ------
    BadPlanFile
        If it is of another version, or a part is missing or of the wrong kind.

    """
    if document.get("schema_version") != SCHEMA_VERSION:
        raise BadPlanFile(f"schema_version is {document.get('schema_version')!r}; this homeleg reads {SCHEMA_VERSION}.")
    try:
        day = from_document(document["day"])
        bound = None
        if document["bound_pence"] is not None:
            bound = Bound(
                pence=int(document["bound_pence"]),
                covers=document["bound_covers"] or "",
                relaxed=tuple(document["bound_relaxed"]),
            )
        plan = Plan(
            runs=tuple(_run_in(day, item) for item in document["runs"]),
            not_placed=tuple(
                NotPlaced(move=MoveId(item["move"]), pence=int(item["pence"]), reason=item["reason"])
                for item in document["not_placed"]
            ),
            bound=bound,
            found_by=document.get("found_by", ""),
            seconds=float(document.get("seconds", 0.0)),
        )
    except KeyError as fault:
        raise BadPlanFile(f"The plan has no {fault.args[0]!r} where one is needed.") from fault
    except (TypeError, ValueError, AttributeError) as fault:
        raise BadPlanFile(f"The plan holds a value that cannot be read: {fault}.") from fault
    return PlanFile(day=day, plan=plan, document=document)


def _run_in(day: Day, item: Mapping[str, Any]) -> Run:
    crew = item["crew"]
    visits = tuple(_visit_in(day.clock, visit) for visit in item["visits"])
    activities = tuple(_activity_in(day.clock, step) for step in item["activities"])
    told = item.get("past")
    are_stops = visits[: told["stops"]] if told else tuple(visit for visit in visits if visit.leaves or visit.takes)
    stops = tuple(Stop(place=visit.place, leaves=visit.leaves, takes=visit.takes) for visit in are_stops)
    return Run(
        run_id=RunId(item["run_id"]),
        itinerary=Itinerary(
            driver=DriverId(crew["driver"]) if crew["driver"] else None,
            stops=stops,
            transporter=TransporterId(crew["transporter"]) if crew["transporter"] else None,
            support_driver=DriverId(crew["support_driver"]) if crew["support_driver"] else None,
            carrier=CarrierId(crew["carrier"]) if crew["carrier"] else None,
            may_stay_out=bool(crew["may_stay_out"]),
            past=_past_in(day.clock, told, visits, activities) if told else None,
        ),
        book=item["book"],
        activities=activities,
        visits=visits,
        costs=tuple(
            CostLine(
                kind=CostKind(line["kind"]),
                says=line["says"],
                pence=int(line["pence"]),
                move=MoveId(line["move"]) if line["move"] else None,
            )
            for line in item["costs"]
        ),
        counters=tuple(
            Counter(
                rule=part["rule"],
                used=int(part["used"]),
                limit=int(part["limit"]),
                source=part["source"],
                is_count=_unit_of(part) == "count",
            )
            for part in item["counters"]
        ),
        reshuffles=int(item["reshuffles"]),
        nights=int(item["nights"]),
    )


def _past_in(
    clock: DayClock, told: Mapping[str, Any], visits: tuple[Visit, ...], activities: tuple[Activity, ...]
) -> Past:  # fmt: skip
    return Past(
        now_min=clock.from_iso(told["now"]),
        began_min=clock.from_iso(told["began"]),
        visits=visits[: told["visits"]],
        activities=activities[: told["activities"]],
        is_heading=bool(told["is_heading"]),
        late_min=int(told["late_min"]),
        is_over=bool(told["is_over"]),
    )


def _unit_of(counter: Mapping[str, Any]) -> str:
    """Return the unit of a limit; plans of before units were written have no limit under two hours but counts."""
    return str(counter.get("unit", "minutes" if counter["limit"] >= MINUTES_FROM else "count"))


def _activity_in(clock: DayClock, item: Mapping[str, Any]) -> Activity:
    return Activity(
        kind=ActivityKind(item["kind"]),
        start_min=clock.from_iso(item["start"]),
        end_min=clock.from_iso(item["end"]),
        origin=PlaceId(item["from"]),
        destination=PlaceId(item["to"]),
        metres=int(item["metres"]),
        aboard=tuple(MoveId(move) for move in item["aboard"]),
        visit=item["visit"],
        says=item["says"],
    )


def _visit_in(clock: DayClock, item: Mapping[str, Any]) -> Visit:
    window = item["window"]
    return Visit(
        place=PlaceId(item["place"]),
        arrive_min=clock.from_iso(item["arrive"]),
        start_min=clock.from_iso(item["start"]),
        end_min=clock.from_iso(item["end"]),
        window=(
            Window(opens_min=clock.from_iso(window["opens"]), closes_min=clock.from_iso(window["closes"])) if window else None
        ),
        leaves=tuple(MoveId(move) for move in item["leaves"]),
        takes=tuple(MoveId(move) for move in item["takes"]),
        aboard_after=tuple(MoveId(move) for move in item["aboard_after"]),
        leg_metres=int(item["leg_metres"]),
        leg_min=int(item["leg_min"]),
        leg_by=item["leg_by"],
        charges=tuple(item["charges"]),
        slots=tuple((MoveId(part["move"]), part["slot"]) for part in item["slots"]),
        moved=tuple(MoveId(move) for move in item["moved"]),
    )
