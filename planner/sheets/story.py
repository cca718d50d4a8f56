"""
The story of an order: where its car is, which crew takes it and why, when and why then, what it costs.

Only what plan and day can show is said; a car's share of its run is that of :mod:`planner.runs.sharing`.
"""

from functools import lru_cache

from planner.model.day import Day
from planner.model.moves import Move, MoveId, MoveKind
from planner.model.orders import Method, Order
from planner.runs.costing import price
from planner.runs.crew_fit import refuse_hired
from planner.runs.plan import NotPlaced, Plan
from planner.runs.run import Itinerary, Run, RunKind, Stop, Visit
from planner.runs.sharing import share_costs
from planner.sheets.plain_text import car_text, crew_name, place_name, place_text, vehicle_name, window_text
from planner.sheets.words import Words, words
from planner.units import hours_text, pounds_text


def delivery_of(day: Day, order: Order) -> Move | None:
    """Return the move that delivers an order, None when it is held."""
    return next((move for move in day.moves if move.order == order.ref and move.kind is MoveKind.DELIVERY), None)


def move_of(day: Day, order: Order) -> Move | None:
    """Return the move that an order is about: its delivery, its return or its transfer; None when it is held."""
    return next((move for move in day.moves if move.order == order.ref and move.kind is not MoveKind.PART_EXCHANGE), None)


def run_of(plan: Plan, move: Move) -> tuple[Run, int] | None:
    """Return the run that does a move and the number of the visit at its door (a return is fetched there), None if none does."""
    for run in plan.runs:
        for number, visit in enumerate(run.visits):
            if move.move_id in (visit.leaves if move.kind is MoveKind.DELIVERY else visit.takes):
                return run, number
    return None


def story(day: Day, plan: Plan, order: Order) -> tuple[str, ...]:
    """Return the story in sentences, most important first."""
    w = words()
    promise = w("story.promise", day=f"{order.promise.day:%A %d %B}", window=window_text(day, order.promise.window))
    stands = w("story.stands", car=car_text(order.car), place=place_text(day, order.stands_at))
    move = move_of(day, order)
    if order.hold is not None:
        hold = order.hold
        says = w(
            "story.held", gate=w(f"gate.{hold.gate}"), to_do=hold.to_do.rstrip("."), owner=hold.owner,
            by=day.clock.wall(hold.cut_off_min),
        )  # fmt: skip
        return (says, promise, stands)
    if move is None:
        return (w("story.no_move"), promise, stands)
    found = run_of(plan, move)
    if found is None:
        left = next((left for left in plan.not_placed if left.move == move.move_id), None)
        return (*_left_behind(left, w), promise, stands)
    run, number = found
    parts = (promise, stands, _crew(day, run, number, w), _method(day, order, move, run, w), _time(day, run.visits[number], w))
    return tuple(part for part in (*parts, *_money(day, run, move, order, w)) if part)


def _left_behind(left: NotPlaced | None, w: Words) -> tuple[str, ...]:
    if left is None:
        return (w("story.nowhere"),)
    return (w("story.not_placed", reason=left.reason), w("story.price", pounds=pounds_text(left.pence)))


def _crew(day: Day, run: Run, number: int, w: Words) -> str:
    here = run.visits[number].place
    doors = (stop.place for stop in run.itinerary.stops if stop.place != here and stop.place not in day.compound_of)
    others = ", ".join(dict.fromkeys(place_name(day, place) for place in doors))
    text = w("story.crew", crew=crew_name(day, run), vehicle=vehicle_name(day, run, w), run=run.run_id, visit=number + 1)
    return f"{text} {w('story.others', places=others) if others else w('story.alone')}"


def _method(day: Day, order: Order, move: Move, run: Run, w: Words) -> str:
    """Say what left no choice between driving and carrying, or that cost decided."""
    driven = run.kind is RunKind.PLATE
    if driven:
        asked, bound = order.method is Method.DRIVEN, not move.may_be_carried
        reason = "wish_driven" if asked else "only_driven" if bound else "cost_driven"
    elif not (move.may_be_driven and order.car.may_be_driven):
        reason = "not_roadworthy"
    elif order.method is Method.CARRIED:
        reason = "wish_carried"
    else:
        reason = "cost_carried"
    return w(f"story.{reason}", km=day.policy.driven_max_m // 1000)


def _time(day: Day, visit: Visit, w: Words) -> str:
    wall = day.clock.wall
    if visit.window is None:
        return w("story.at", start=wall(visit.start_min))
    if visit.arrive_min < visit.start_min == visit.window.opens_min:
        return w("story.waits", arrive=wall(visit.arrive_min), start=wall(visit.start_min))
    return w("story.inside", start=wall(visit.start_min), left=hours_text(visit.window.closes_min - visit.start_min))


def _hired_instead(day: Day, run: Run, move: Move, w: Words) -> str:
    """Say what the cheapest hired carrier would take for this move alone; empty where one does it, or there is none."""
    if run.kind is RunKind.HIRED or not day.carriers:
        return ""
    stops = (Stop(place=move.origin, takes=(move.move_id,)), Stop(place=move.destination, leaves=(move.move_id,)))
    offers, refusals = [], []
    for carrier in day.carriers:
        alone = Itinerary(driver=None, carrier=carrier.carrier_id, stops=stops)
        refusal = refuse_hired(day, alone)
        if refusal is None:
            hired = Run(run_id=run.run_id, itinerary=alone, book="", activities=(), visits=(), costs=())
            offers.append((sum(line.pence for line in price(day, hired)), carrier.name))
        else:
            refusals.append(refusal.says)
    if not offers:
        return w("story.no_hired", reason="; ".join(dict.fromkeys(refusals)))
    pence, name = min(offers)
    return w("story.hired_instead", name=name, pounds=pounds_text(pence))


@lru_cache(maxsize=512)
def shares(day: Day, run: Run) -> dict[MoveId, int]:
    """Return what each move of a run costs, in pence, by the rule of :mod:`planner.runs.sharing`."""
    return {share.move: share.pence for share in share_costs(day, run)}


def _money(day: Day, run: Run, move: Move, order: Order, w: Words) -> tuple[str, ...]:
    own = sum(line.pence for line in run.costs if line.move == move.move_id)
    key = "cost" if len(run.itinerary.moves) > 1 else "cost_alone"
    text = w(
        f"story.{key}", total=pounds_text(shares(day, run)[move.move_id]), run=pounds_text(run.cost_pence), own=pounds_text(own)
    )
    charged = "" if order.charge_pence is None else w("story.charged", pounds=pounds_text(order.charge_pence))
    return (text, _hired_instead(day, run, move, w), charged)
