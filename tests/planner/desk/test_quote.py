"""Quotes: exact against trying everything, honest about dates and windows, and never twice the same place."""

import json
from dataclasses import replace
from datetime import date, timedelta
from itertools import pairwise

import numpy as np
import pytest

from planner.desk.quote import Booked, NoWayThere, extra_changes, extra_lines
from planner.desk.quote_candidates import Candidates
from planner.desk.quote_car import UnknownCar, car_of
from planner.desk.quote_choice import Beside
from planner.desk.quote_dates import BadDate, Calendar
from planner.desk.quote_day import Asked, with_asked, with_doors
from planner.desk.quote_held import HeldQuotes, from_document, held, reopened, to_document
from planner.desk.quote_later import ask as ask_knowing
from planner.desk.quote_legs import LegCosts
from planner.desk.quote_offers import Asking, offers_alone, with_offer
from planner.desk.quote_page import page
from planner.desk.quote_reply import reasons, reply
from planner.desk.quote_reply import to_document as quote_document
from planner.desk.quote_text import lines
from planner.desk.tariff import Islands, Tariff
from planner.model.cars import Fuel
from planner.model.crews import VehicleClass
from planner.model.moves import Move, MoveId, MoveKind
from planner.model.orders import Buyer, Method, Order, OrderRef, Promise
from planner.model.places import Window
from planner.model.travel import Charge, ChargeBand, ChargeKind
from planner.runs.bays import bays_overrun
from planner.runs.costing import price
from planner.runs.driven_legs import vehicle_of_transporter
from planner.runs.referee import check_plan
from planner.runs.run import CostKind, Run, RunKind, Stop
from planner.runs.timing import lay_out
from planner.search.prices import Near
from planner.search.solve import solve, solve_priced
from tests.planner.desk.conftest import NOW, desk_of
from tests.planner.desk.quoting_world import a_car, greedy_plan, place, road_m, roads_to, world

THURSDAY = date(2026, 11, 26)
AFTERNOON = Window(opens_min=720, closes_min=960)


def asked(desk, number: int = 0, **changes) -> Asked:
    rng = np.random.default_rng(100 + number)
    door = place(f"Q{number}", float(rng.uniform(-2.8, 0.2)), float(rng.uniform(51.3, 54.3)))
    nearest = int(np.argmin(road_m([door], list(desk.day.places[:3]))[0]))
    made = Asked(reference=f"Q{number}", door=door, car=a_car(900 + number, rng), origin=desk.day.places[nearest].place_id)
    return replace(made, **changes)


def at_door(desk, number: int = 0, **changes):
    question = asked(desk, number, **changes)
    return desk.with_door(question, roads_to(desk.day, [question.door])), question


@pytest.fixture(scope="module")
def by_transporter():
    """A day on which everything is carried by own transporters."""
    day = world(moves=14, plate_drivers=0, transporters=6)
    drivers = tuple(replace(driver, may_drive_plates=False) for driver in day.drivers)
    day = replace(day, drivers=drivers, policy=replace(day.policy, hired_carriers=False))
    return desk_of(day, greedy_plan(day))


@pytest.mark.parametrize("number", range(6))
@pytest.mark.parametrize("window", [Window(opens_min=480, closes_min=720), AFTERNOON])
@pytest.mark.parametrize("where", ["desk", "by_transporter"])
def test_an_offer_is_the_best_of_all_places_tried_one_by_one(where, number, window, request):
    """Every candidate is timed, none is left out by a bound: the same cheapest extra cost for each kind of run."""
    desk, question = at_door(request.getfixturevalue(where), number)
    day, runs = desk.on(THURSDAY)
    day = with_asked(day, replace(question, window=window))
    move = day.move_of[question.move_id]
    best: dict[RunKind, int] = {}
    for candidate in Asking(day, move, runs)._candidates():
        timed = lay_out(day, candidate.itinerary)
        others = [run for run in runs if run is not candidate.replaces]
        if isinstance(timed, Run) and not bays_overrun(day, (*others, timed)):
            old = candidate.replaces.cost_pence if candidate.replaces else 0
            extra = sum(line.pence for line in price(day, timed)) - old
            assert candidate.least_pence <= extra + 1, "the bound must hold, but for roundings of a penny"
            best[candidate.kind] = min(extra, best.get(candidate.kind, extra))
    offers = Asking(day, move, runs).offers(window, most=10_000)
    assert {offer.kind: offer.extra_pence for offer in offers.best} == best


def test_a_detour_costs_what_going_round_with_it_adds(by_transporter):
    """The whole way of the run, leg by leg with what is aboard, with the delivery in it and without."""
    desk, question = at_door(by_transporter, 2)
    day, runs = desk.on(THURSDAY)
    day = with_asked(day, question)
    costs, tried = LegCosts(), 0

    def round_trip(itinerary):
        transporter = day.transporter_of[itinerary.transporter]
        here, kg, pence = transporter.base, 0, 0.0
        for stop in (*itinerary.stops, Stop(place=transporter.base)):
            pence += costs.of(day, vehicle_of_transporter(transporter), here, stop.place).pence(kg)
            kg += sum(day.move_of[move].car.mass_kg for move in stop.takes) - sum(day.move_of[move].car.mass_kg for move in stop.leaves)
            here = stop.place
        return pence

    for candidate in Candidates(day, day.move_of[question.move_id]).in_runs(runs):
        if candidate.kind is RunKind.TRANSPORTER:
            tried += 1
            assert candidate.least_pence == pytest.approx(round_trip(candidate.itinerary) - round_trip(candidate.crew))
            assert sorted(candidate.itinerary.moves) == sorted((*candidate.crew.moves, question.move_id))
    assert tried > 20


def test_few_tries_find_what_many_find_or_nearly(desk):
    gaps = []
    for number in range(12):
        there, question = at_door(desk, number)
        day, runs = there.on(THURSDAY)
        day = with_asked(day, replace(question, window=AFTERNOON))
        asking = Asking(day, day.move_of[question.move_id], runs)
        few, many = asking.offers(AFTERNOON), asking.offers(AFTERNOON, most=10_000)
        assert bool(few.best) == bool(many.best)
        if many.best:
            gaps.append(few.best[0].extra_pence - many.best[0].extra_pence)
    assert sorted(gaps)[-2] == 0, "at most one of twelve is dearer than the best"


def test_a_plan_with_the_quote_taken_up_passes_the_referee(desk, planned):
    there, question = at_door(desk, 3)
    quote = there.ask(question, day=THURSDAY)
    after = there.holding(quote)
    day, runs = after.on(THURSDAY)
    assert question.move_id in {move for run in runs for move in run.itinerary.moves}
    before = sum(run.cost_pence for run in planned[1].runs)
    assert sum(run.cost_pence for run in runs) == before + quote.cost_by_insertion_pence
    left = tuple(left for left in planned[1].not_placed if left.move in day.move_of)
    assert check_plan(day, replace(planned[1], runs=runs, not_placed=left)) == ()


def test_a_swap_is_a_legal_plan_that_costs_what_the_quote_says(desk, planned):
    """Whatever other car gives way: the two runs stand beside all others, and the referee finds nothing."""
    swapped = 0
    for number in range(12):
        there, question = at_door(desk, number)
        quote = there.ask(question, day=THURSDAY, window=AFTERNOON)
        swap = quote.promised.swap if quote.promised else None
        if swap is None:
            continue
        swapped += 1
        day, runs = there.on(THURSDAY)
        day = with_asked(day, replace(question, window=AFTERNOON))
        changed = {swap.run.run_id: swap.run, swap.other.run_id or "new": replace(swap.other, run_id=swap.other.run_id or "R99")}
        kept = [changed.pop(run.run_id, run) for run in runs]
        left = tuple(left for left in planned[1].not_placed if left.move in day.move_of)
        plan = replace(planned[1], runs=(*kept, *changed.values()), not_placed=left)
        assert check_plan(day, plan) == ()
        assert sum(run.cost_pence for run in plan.runs) - planned[1].runs_pence == swap.extra_pence == quote.cost_in_plan_pence
        assert swap.extra_pence < quote.cost_by_insertion_pence
    assert swapped > 0


@pytest.fixture(scope="module")
def proven():
    """A day planned to the penny, and the desk on it with what came with the plan."""
    day = world(moves=9, seed=3, plate_drivers=4, transporters=3)
    solved = solve_priced(day, seconds=20, near_seconds=2)
    return desk_of(day, solved.plan), solved


def test_what_a_quote_adds_is_what_planning_anew_adds(proven):
    """Each delivery planned with and without: no plan is cheaper than the quote says, and most quotes are right to the penny."""
    desk, solved = proven
    desk = replace(desk, near=Near(prices=solved.prices, runs=solved.near))
    true_of = []
    for number in range(5):
        there, question = at_door(desk, number)
        quote = there.ask(question, day=THURSDAY)
        anew = solve(with_asked(there.day, replace(question, window=quote.promised.window)), seconds=20)
        true_pence = anew.cost_pence - solved.plan.cost_pence
        assert true_pence <= quote.cost_in_plan_pence <= quote.cost_by_insertion_pence
        true_of.append((quote.cost_in_plan_pence, true_pence))
        day, runs = there.on(quote.promised.day)
        assert sum(pence for _, pence in extra_lines(quote.promised, runs)) == quote.cost_in_plan_pence
        assert sum(change.pence for change in extra_changes(quote.promised, day, runs, question)) == quote.cost_in_plan_pence
    assert sum(quoted == true for quoted, true in true_of) >= 4


@pytest.mark.parametrize("number", [2, 3])
def test_a_car_may_give_way_to_a_delivery_to_a_hired_carrier(number):
    """What planning anew adds, to the penny: another car goes with a carrier that no near run knows, as it did not before."""
    day = world(moves=6, seed=1, plate_drivers=2, transporters=2)
    solved = solve_priced(day, seconds=20, near_seconds=2)
    desk = replace(desk_of(day, solved.plan), near=Near(prices=solved.prices, runs=solved.near))
    there, question = at_door(desk, number)
    quote = there.ask(question, day=THURSDAY)
    anew = solve(with_asked(there.day, replace(question, window=quote.promised.window)), seconds=20)
    assert quote.cost_in_plan_pence == anew.cost_pence - solved.plan.cost_pence
    gone = {move for run in quote.promised.anew.gone if run.kind is RunKind.HIRED for move in run.itinerary.moves}
    come = {move for run in quote.promised.anew.fresh if run.kind is RunKind.HIRED for move in run.itinerary.moves}
    assert come - gone - {question.move_id}, "another car is hired out now"


def test_a_delivery_may_send_a_crew_out_for_a_night_that_none_had():
    """What planning anew adds, to the penny, where it makes a run with a night out that is no run of the plan with one car more."""
    day = world(moves=8, seed=3, plate_drivers=0, transporters=3)
    drivers = tuple(replace(driver, may_stay_out=True, starts_from_min=420, home_by_min=1000) for driver in day.drivers)
    day = replace(day, drivers=drivers, policy=replace(day.policy, nights_out=True))
    solved = solve_priced(day, seconds=20, near_seconds=2)
    desk = replace(desk_of(day, solved.plan), near=Near(prices=solved.prices, runs=solved.near))
    there, question = at_door(desk, 2)
    quote = there.ask(question, day=THURSDAY)
    anew = solve(with_asked(there.day, replace(question, window=quote.promised.window)), seconds=20)
    assert quote.cost_in_plan_pence == anew.cost_pence - solved.plan.cost_pence
    nights = [run for run in quote.promised.anew.fresh if run.nights]
    assert [run.cost_pence for run in nights] == [run.cost_pence for run in anew.runs if run.nights]
    assert not any(run.nights for run in solved.plan.runs)


def test_near_runs_are_legal_runs_at_their_price(proven):
    desk, solved = proven
    assert len(solved.near) > len(solved.plan.runs)
    for run in solved.near:
        timed = lay_out(desk.day, run.itinerary)
        assert sum(line.pence for line in price(desk.day, timed)) == run.cost_pence
    beside = Beside.of(desk.day, solved.plan.runs, Near(prices=solved.prices, runs=solved.near))
    assert beside.choice.pence == solved.plan.cost_pence, "none would have made the plan cheaper"


def test_every_pound_of_the_extra_cost_has_a_reason(desk):
    there, question = at_door(desk, 1)
    quote = there.ask(question)
    day, runs = there.on(quote.promised.day)
    assert sum(pence for _, pence in extra_lines(quote.promised, runs)) == quote.cost_in_plan_pence
    assert sum(change.pence for change in extra_changes(quote.promised, day, runs, question)) == quote.cost_in_plan_pence


def test_a_quote_given_before_changes_were_told_is_shown_again(desk):
    there, question = at_door(desk, 1)
    quote = there.ask(question)
    told = quote_document(quote, *there.on(quote.promised.day))
    older = {key: value for key, value in told.items() if key != "changes"}
    for shown, has_them in ((told, True), (older, False)):
        assert any("What changes in the plan" in line for line in lines(shown)) == has_them
        assert ("What changes in the plan" in page(shown, "")) == has_them


def test_cost_alone_is_the_cheapest_run_for_this_car_only(desk):
    """A driven car, by hand: the driver's ride there is none, so wages, charge or fuel, re-valet, plates, fall, ride home."""
    there, question = at_door(desk, 2, method=Method.DRIVEN)
    day = with_asked(there.on(THURSDAY)[0], replace(question, window=None))
    (offer,) = offers_alone(day, day.move_of[question.move_id]).best
    assert offer.kind is RunKind.PLATE
    assert offer.extra_pence == sum(line.pence for line in price(day, offer.run))


@pytest.mark.parametrize(
    ("method", "kinds"),
    [(Method.DRIVEN, {RunKind.PLATE}), (Method.CARRIED, {RunKind.TRANSPORTER, RunKind.HIRED}), (Method.ANY, set(RunKind))],
)
def test_only_the_wished_method_is_offered(desk, method, kinds):
    there, question = at_door(desk, 4, method=method)
    quote = there.ask(question)
    assert {offer.kind for offer in quote.alone.best} <= kinds
    assert {offer.kind for place in quote.tried for offer in place.offers.best} <= kinds
    assert quote.kind in kinds


def test_the_earliest_window_of_the_earliest_day_is_promised(desk):
    for number in range(8):
        there, question = at_door(desk, number)
        quote = there.ask(question)
        free = [(place.day, place.window.opens_min) for place in quote.tried if place.best]
        assert (quote.promised.day, quote.promised.window.opens_min) == min(free)
        visit = next(visit for visit in quote.promised.best.run.visits if question.move_id in visit.leaves)
        assert quote.promised.window.opens_min <= visit.start_min < quote.promised.window.closes_min


def test_a_wished_window_is_kept_or_refused(desk):
    there, question = at_door(desk, 5)
    quote = there.ask(question, window=AFTERNOON)
    assert {place.window for place in quote.tried} == {AFTERNOON}
    assert quote.promised.window == AFTERNOON


@pytest.fixture
def narrow():
    """One plate driver who has time for one more car, no carrier, no transporter."""
    day = world(moves=0, plate_drivers=1, transporters=0)
    tariff = Tariff(windows=(Window(opens_min=720, closes_min=840),))
    day = replace(day, carriers=())
    return desk_of(day, type("Empty", (), {"runs": ()})(), tariff=tariff)


def test_two_quotes_for_the_last_space_cannot_both_be_promised(narrow):
    first_desk, first = at_door(narrow, 7)
    quote = first_desk.ask(first)
    assert quote.promised.day == THURSDAY
    second_desk, second = at_door(first_desk.holding(quote), 8)
    later = second_desk.ask(second)
    assert later.promised.day == THURSDAY + timedelta(days=1), "the only window of Thursday is taken"
    assert later.closed[0][0] == THURSDAY
    free_desk, again = at_door(first_desk, 8)
    assert free_desk.ask(again).promised.day == THURSDAY, "without the first quote Thursday is free"


def kept(quote, desk):
    day, runs = desk.on(quote.promised.day)
    return held(quote, desk, quote_document(quote, day, runs))


def test_held_quotes_survive_being_written_down(narrow):
    there, question = at_door(narrow, 7)
    quote = there.ask(question)
    store = HeldQuotes().with_quote(kept(quote, there))
    read = from_document(json.loads(json.dumps(to_document(store))))
    (open_quote,) = read.open_at(NOW + timedelta(minutes=59))
    desk, warnings = reopened(narrow, [open_quote], roads_to)
    assert warnings == ()
    _, runs = desk.on(THURSDAY)
    assert [run.itinerary for run in runs] == [quote.promised.best.run.itinerary]
    assert read.find("q7").document["charge_pence"] == quote.charge.charge_pence


def test_a_quote_frees_its_place_when_it_expires_is_dropped_or_becomes_an_order(narrow):
    there, question = at_door(narrow, 7)
    store = HeldQuotes().with_quote(kept(there.ask(question), there))
    assert store.open_at(NOW + timedelta(minutes=60)) == ()
    assert store.open_at(NOW, known=["Q7"]) == ()
    assert store.ended("Q7", NOW).open_at(NOW) == ()
    assert len(store.open_at(NOW + timedelta(minutes=59))) == 1
    assert store.kept_since(THURSDAY + timedelta(days=1)).quotes == ()


def test_quotes_on_one_run_keep_their_places_when_one_of_them_expires(desk):
    """Three quotes in a row; the second is gone: the others stay where they were, and the costs add up again."""
    store = HeldQuotes()
    now = desk
    for number in range(3):
        now, question = at_door(now, number)
        quote = now.ask(question, day=THURSDAY)
        store = store.with_quote(kept(quote, now))
        now = now.holding(quote)
    without = [quote for quote in store.quotes if quote.reference != "Q1"]
    fresh, warnings = reopened(desk, without, roads_to)
    assert warnings == ()
    moves = {move for run in fresh.on(THURSDAY)[1] for move in run.itinerary.moves}
    assert {"Q0", "Q2"} <= moves
    assert "Q1" not in moves
    same, _ = reopened(desk, store.quotes, roads_to)
    key = lambda run: str(run.itinerary)  # noqa: E731
    assert sorted(map(key, same.on(THURSDAY)[1])) == sorted(map(key, now.on(THURSDAY)[1]))


def test_a_promise_that_a_new_plan_leaves_no_room_for_is_said_aloud(narrow):
    there, question = at_door(narrow, 7)
    quote = kept(there.ask(question, day=THURSDAY), there)
    nobody = replace(narrow, day=replace(narrow.day, drivers=()))
    _, warnings = reopened(nobody, [quote], roads_to)
    assert "can no longer be kept" in warnings[0]


def test_after_the_cut_off_tomorrow_is_closed(planned):
    desk = desk_of(*planned, now=NOW.replace(hour=16))
    there, question = at_door(desk, 1)
    quote = there.ask(question)
    assert quote.closed[0] == (THURSDAY, "orders closed at 16:00 the day before")
    assert quote.promised.day > THURSDAY


def test_sundays_and_bank_holidays_are_no_delivery_days():
    calendar = Calendar(
        tariff=Tariff(), planned=date(2026, 12, 24), now=NOW.replace(month=12, day=23),
        holiday=lambda day: "Christmas Day" if (day.month, day.day) == (12, 25) else "",
    )  # fmt: skip
    said = dict(calendar.dates(None))
    assert said[date(2026, 12, 24)] == ""
    assert said[date(2026, 12, 25)] == "no deliveries on Christmas Day"
    assert said[date(2026, 12, 27)] == "no deliveries on Sundays"
    assert all((later - earlier).days == 1 for earlier, later in pairwise(said))


@pytest.mark.parametrize(
    ("day", "says"),
    [
        (date(2026, 11, 24), "Tuesday 24 November 2026 is in the past. Give a date from tomorrow on."),
        (date(2026, 11, 25), "is before the planned day"),
        (date(2027, 3, 1), "is beyond the 14 days for which we quote. Give a date up to 09 December 2026"),
    ],
)
def test_dates_out_of_reach_are_refused_with_a_remedy(desk, day, says):
    there, question = at_door(desk, 1)
    with pytest.raises(BadDate, match=says):
        there.ask(question, day=day)


def test_a_door_without_a_road_says_so(desk):
    question = asked(desk, 1)
    roads = roads_to(desk.day, [question.door])
    for strip in roads.strips.values():
        strip.back["metres"][:] = -1
    with pytest.raises(NoWayThere, match="No road or ferry leads from"):
        desk.with_door(question, roads)


def behind_water(desk, number: int = 0):
    """The door of a question behind twenty minutes of ferry."""
    question = asked(desk, number)
    roads = roads_to(desk.day, [question.door])
    for strip in roads.strips.values():
        strip.back["ferry_seconds"][:], strip.out["ferry_seconds"][:, : len(desk.day.places)] = 1200, 1200
    return desk.with_door(question, roads), question


def test_an_island_by_arrangement_is_promised_no_day_and_holds_nothing(desk):
    there, question = behind_water(desk)
    found = there.ask(question)
    assert (found.by_ferry, found.promised, found.charge.charge_pence) == (True, None, None)
    assert found.cost_alone_pence
    assert reply(found) == "Delivery to Q0 is by arrangement, so I will ask the transport office to ring you."
    assert "A ferry leads there: the transport office arranges day, fare and price, and nothing is held." in reasons(found)
    assert held(found, there, {}) is None
    with pytest.raises(BadDate, match="is in the past"):
        there.ask(question, day=date(2026, 11, 20))


def test_an_island_as_mainland_is_promised_a_day(planned):
    there, question = behind_water(desk_of(*planned, tariff=Tariff(islands=Islands.AS_MAINLAND)))
    found = there.ask(question)
    assert found.promised is not None
    assert found.charge.charge_pence


def test_the_only_day_that_was_asked_for_is_told_with_its_reason_and_without_a_reference(desk):
    there, question = at_door(desk, 1)
    sunday = there.ask(question, day=date(2026, 11, 29))
    assert reply(sunday).endswith("I cannot promise Sunday 29 November: no deliveries on Sundays.")
    document = quote_document(sunday, *there.on(THURSDAY))
    assert not document["is_held"]
    assert "reference" not in document["reply"], "nobody could show it again"
    night = there.ask(replace(question, method=Method.DRIVEN), day=THURSDAY, window=Window(opens_min=180, closes_min=181))
    assert reply(night).endswith("I cannot promise tomorrow, Thursday 26 November: it is full between 03:00 and 03:01.")


def test_a_later_day_has_the_tolls_of_its_own_date(desk):
    """A charge of 18 pounds on Thursdays alone, at every hour: Friday's quote for the same door is without it."""
    band = ChargeBand(vehicle_class=VehicleClass.CAR, from_min=0, to_min=0, pence=1800)
    thursdays = Charge(key="gate", name="Gate", kind=ChargeKind.TOLL, bands=(band,))

    def on(charge, day):
        return replace(charge, bands=(band,) if day.weekday() == 3 else ())

    question = asked(desk, 1, method=Method.DRIVEN)
    roads = roads_to(desk.day, [question.door])
    for strip in roads.strips.values():
        strip.back["charge_mask"][:] = 1
    roads = replace(roads, charges=(thursdays,))
    there = replace(desk, calendar=replace(desk.calendar, charge_on=on)).with_door(question, roads)
    friday = date(2026, 11, 27)
    assert there.on(THURSDAY)[0].charges == (thursdays,)
    assert there.on(friday)[0].charges == (replace(thursdays, bands=()),)
    assert not any(kind == CostKind.TOLL for kind, _ in extra_lines(there.ask(question, day=friday).promised, ()))
    told = desk.with_door(question, roads).ask(question, day=friday)
    assert (CostKind.TOLL, 1800) in extra_lines(told.promised, ()), "the charge is on the way"


def test_the_reply_is_one_breath(desk):
    """A breath of reading is some 40 words at 150 words a minute, 16 seconds (common practice)."""
    for number in range(6):
        there, question = at_door(desk, number)
        said = reply(there.ask(question))
        assert len(said.split()) <= 45
        assert f"reference is Q{number}." in said


def test_what_is_not_held_is_not_said_to_be(desk):
    there, question = at_door(desk, 1)
    said = reply(there.ask(question), is_held=False)
    assert "nothing is held yet" in said
    assert "I hold" not in said
    assert "reference" not in said


def test_the_document_has_what_other_programs_need(desk):
    there, question = at_door(desk, 1)
    quote = there.ask(question)
    day, runs = there.on(quote.promised.day)
    document = json.loads(json.dumps(quote_document(quote, day, runs)))
    for key in ("charge_pence", "cost_alone_pence", "cost_in_plan_pence", "earliest_date", "method", "expires_at", "rates"):
        assert document[key] is not None
    assert document["charge_pence"] == document["vat_pence"] + document["net_pence"]
    assert sum(line["pence"] for line in document["cost_lines"]) == document["cost_in_plan_pence"]


def test_a_car_in_few_words():
    assert car_of("estate diesel 1.8t").mass_kg == 1800
    assert car_of("estate diesel 1.8t").fuel is Fuel.DIESEL
    assert car_of("").make_model == "Hatchback"
    assert car_of("hatchback electric").mass_kg == car_of("electric hatchback").mass_kg
    assert "mass_kg" in car_of("hatchback").assumed


@pytest.mark.parametrize(
    ("text", "says"),
    [("spaceship", "so the car has no mass. Use one of"), ("estat", "Did you mean estate"), ("50 kg", "50 kg is no mass of a car")],
)
def test_a_car_that_nobody_knows_is_refused(text, says):
    with pytest.raises(UnknownCar, match=says):
        car_of(text)


def test_offers_are_taken_up_under_a_run_of_their_own_name(desk):
    there, question = at_door(desk, 2, method=Method.DRIVEN)
    day = with_asked(there.on(THURSDAY)[0], replace(question, window=None))
    offer = offers_alone(day, day.move_of[question.move_id]).best[0]
    _, runs = desk.on(THURSDAY)
    grown = with_offer(runs, offer)
    assert len({run.run_id for run in grown}) == len(runs) + 1
    assert desk.on(date(2026, 11, 30))[1] == Booked().runs


def promised_for(move, day, on: date, window: Window) -> Order:
    return Order(
        ref=OrderRef(f"OR-{move.move_id}"), car=move.car, stands_at=move.origin, door=day.place_of[move.destination],
        buyer=Buyer(name="A. Nobody", phone="01632 960001", address=("1 No Street",)), promise=Promise(day=on, window=window),
    )  # fmt: skip


def test_an_order_promised_for_a_later_date_has_its_place_there_before_any_quote(narrow):
    """The only driver's only window of Friday belongs to an order; the quote gets the next day and says what it supposes."""
    friday = THURSDAY + timedelta(days=1)
    ordered = world(moves=1)
    order = promised_for(ordered.moves[0], ordered, friday, narrow.tariff.windows[0])
    full = replace(narrow, day=replace(narrow.day, later=(order,)))
    free_desk, question = at_door(narrow, 7)
    assert free_desk.ask(question, day=friday).promised is not None
    there, question = at_door(full, 7)
    desk, quote = ask_knowing(there, question, roads_to, day=friday)
    assert quote.promised is None
    assert [move.move_id for move in desk.booked[friday].moves] == [order.ref]
    held_for_friday = kept(free_desk.ask(question, day=friday), free_desk)
    _, warnings = reopened(full, [held_for_friday], roads_to)
    assert "can no longer be kept" in warnings[0], "the order was there first"


def test_what_is_supposed_of_a_date_that_is_not_planned_is_told(desk):
    there, question = at_door(desk)
    friday = THURSDAY + timedelta(days=1)
    told = reasons(there.ask(question, day=friday))
    said = "is not planned yet: crews, compounds and rates are taken to be those of Thursday 26 November; no cars promised for it"
    assert told == (f"Friday 27 November {said} so far.",)
    assert not any("not planned yet" in line for line in reasons(there.ask(question, day=THURSDAY)))


def test_a_night_out_is_offered_only_where_no_day_costs_less():
    day = world(moves=1, seed=4)
    far = place("QN", -4.6, 50.4)
    day = with_doors(day, [far], roads_to(day, [far]))
    question = Asked(reference="QN", door=far, car=a_car(1, np.random.default_rng(1)), origin=day.places[2].place_id, method=Method.CARRIED)
    crews = tuple(replace(driver, may_stay_out=True, home_by_min=720) for driver in day.drivers if driver.role == "transporter driver")
    by_night = with_asked(replace(day, drivers=crews, policy=replace(day.policy, nights_out=True)), question)
    alone = replace(by_night, carriers=())
    offers = offers_alone(alone, alone.move_of[question.move_id])
    assert [(offer.kind, offer.run.nights) for offer in offers.best] == [(RunKind.TRANSPORTER, 1)]
    dearer, dear_pence = replace(day.carriers[0], minimum_pence=10**6), offers.best[0].extra_pence
    beside_dear = replace(by_night, carriers=(dearer,))
    assert offers_alone(beside_dear, alone.move_of[question.move_id]).best[0].extra_pence == dear_pence
    beside_cheap = offers_alone(by_night, alone.move_of[question.move_id])
    assert [offer.kind for offer in beside_cheap.best] == [RunKind.HIRED]


def with_exchange(question):
    """The question with a part-exchange that goes to where the sold car stands."""
    move = Move(
        move_id=MoveId(f"{question.reference}.PX"), kind=MoveKind.PART_EXCHANGE, car=a_car(990, np.random.default_rng(9)),
        origin=question.door.place_id, destination=question.origin, origin_min=20, tied_to=question.move_id,
    )  # fmt: skip
    return replace(question, part_exchange=move)


@pytest.mark.parametrize("method", [Method.ANY, Method.CARRIED, Method.DRIVEN])
def test_a_part_exchange_is_in_the_price(planned, desk, method):
    there, question = at_door(desk, 2, method=method)
    question = with_exchange(question)
    quote = there.ask(question, day=THURSDAY)
    best = quote.promised.best
    assert set(best.run.itinerary.moves) >= question.moves_it_adds
    assert best.kind is not RunKind.HIRED, "no hired carrier takes one"
    held_desk = there.holding(quote)
    day, runs = held_desk.on(THURSDAY)
    plan = replace(planned[1], runs=runs)
    assert check_plan(day, plan) == ()
    assert plan.runs_pence - planned[1].runs_pence == best.extra_pence


def test_a_driver_with_a_part_exchange_saves_the_fare_home(desk):
    """Alone on plates: out in the sold car, back in the old one, so no ride is paid."""
    there, question = at_door(desk, 2, method=Method.DRIVEN)
    alone = there.ask(with_exchange(question), day=THURSDAY).alone.of(RunKind.PLATE)
    assert {line.kind for line in alone.run.costs}.isdisjoint({CostKind.FARE})
    plain = there.ask(question, day=THURSDAY).alone.of(RunKind.PLATE)
    assert CostKind.FARE in {line.kind for line in plain.run.costs}


def test_a_held_quote_keeps_its_part_exchange(desk):
    there, question = at_door(desk, 2)
    question = with_exchange(question)
    quote = there.ask(question, day=THURSDAY)
    again = from_document(json.loads(json.dumps(to_document(HeldQuotes().with_quote(kept(quote, there))))))
    reopened_desk, warnings = reopened(desk, again.quotes, roads_to)
    assert warnings == ()
    assert reopened_desk.on(THURSDAY)[1] == there.holding(quote).on(THURSDAY)[1]


def test_what_a_quote_with_a_part_exchange_adds_is_what_planning_anew_adds(proven):
    desk, solved = proven
    desk = replace(desk, near=Near(prices=solved.prices, runs=solved.near))
    equal = 0
    for number in range(4):
        there, question = at_door(desk, number)
        question = with_exchange(question)
        quote = there.ask(question, day=THURSDAY)
        anew = solve(with_asked(there.day, replace(question, window=quote.promised.window)), seconds=20)
        true_pence = anew.cost_pence - solved.plan.cost_pence
        assert true_pence <= quote.cost_in_plan_pence <= quote.cost_by_insertion_pence
        equal += quote.cost_in_plan_pence == true_pence
    assert equal >= 3
