"""Load plans in words a router can act on, and worked examples checked by hand."""

from dataclasses import replace

import pytest

from planner.model.cars import Car
from planner.model.decks import Deck, Level, MassSum, Slot, library
from planner.rules.load_plan import LoadPlan, Stage, plan_load, under_route
from planner.rules.load_plan_reasons import NoLoad
from planner.rules.load_plan_steps import StepKind


def car(key, *, mass_kg=1400, length_mm=4100, height_mm=1500, **more):
    return Car(registration=key, make_model="Corvid", mass_kg=mass_kg, length_mm=length_mm, height_mm=height_mm, **more)


def drops(cars, order, takes=()):
    """Load all, then drop one a stop; ``takes`` are cars taken aboard at the stop of the same number."""
    taken = {number: (key, one) for number, key, one in takes}
    stages = [Stage(on=tuple(cars.items()), says="the compound")]
    stages += [Stage(off=(key,), on=(taken[number],) if number in taken else (), says=f"stop {number}") for number, key in enumerate(order, start=1)]
    return stages


def lane(num_slots):
    """A deck in one lane: the last car on is the first off."""
    names = [str(number) for number in range(1, num_slots + 1)]
    slots = tuple(Slot(name=name, level="lane", x_mm=0, base_mm=900, length_mm=5000, width_mm=2200, height_mm=2200, mass_kg=3000,
                       blocked_by=tuple(names[place + 1:])) for place, name in enumerate(names))  # fmt: skip
    return Deck(name="lane", says="", gross_kg=26000, payload_kg=12000, height_mm=4000, empty_height_mm=2900, length_mm=12000, slots=slots)


def test_a_heavy_car_is_refused_on_the_small_deck_with_the_figures():
    """Kerb mass of a large electric or sport-utility car against a 3.5 t transporter's payload (facts: weights, section 4.1)."""
    answer = plan_load(library()["one-car-3500"], [Stage(on=(("AB12CDE", car("AB12CDE", mass_kg=2450)),))], reshuffle_min=15)
    assert isinstance(answer, NoLoad)
    assert answer.limit == "payload"
    assert answer.short_by == 1050  # 2,450 - 1,400
    assert answer.says == "Corvid AB12CDE weighs 2,450 kg; one-car-3500 may carry 1,400 kg (payload). That is 1,050 kg too much."


def test_last_in_first_out_costs_nothing():
    cars = {key: car(key) for key in "abcd"}
    plan = plan_load(lane(4), drops(cars, "abcd"), reshuffle_min=15)
    assert plan.reshuffles == 0
    assert plan.stages[0].slot_of == {"a": "4", "b": "3", "c": "2", "d": "1"}
    assert [step.key for step in plan.stages[0].steps] == ["d", "c", "b", "a"]


@pytest.mark.parametrize(("num_slots", "wanted"), [(2, 1), (3, 2)])
def test_part_exchanges_in_a_single_lane_cost_reshuffles(num_slots, wanted):
    """
    By hand.  Two: the first part-exchange stands before the second delivery and is moved once.  Three: leaving deliveries
    where they are costs 0 + 1 + 2; at the second door it is better to move the first part-exchange and the last delivery,
    and put the latter at the way out: 2.
    """
    cars = {f"d{number}": car(f"d{number}") for number in range(1, num_slots + 1)}
    takes = [(number, f"p{number}", car(f"p{number}")) for number in range(1, num_slots + 1)]
    assert plan_load(lane(num_slots), drops(cars, list(cars), takes), reshuffle_min=15).reshuffles == wanted


def test_a_reshuffle_is_minutes_and_two_steps():
    cars = {"d1": car("d1"), "d2": car("d2")}
    plan = plan_load(lane(2), drops(cars, ["d1", "d2"], [(1, "p1", car("p1"))]), reshuffle_min=12)
    assert isinstance(plan, LoadPlan)
    assert (plan.reshuffles, plan.minutes) == (1, 12)
    last = plan.stages[2]
    assert [(step.kind, step.key) for step in last.steps] == [(StepKind.ASIDE, "p1"), (StepKind.OFF, "d2"), (StepKind.BACK, "p1")]
    assert last.moved == ("p1",)
    assert last.minutes == 12


def test_loaded_height_lifts_the_upper_car_over_the_lower():
    """By hand: roof below 850 + 1,500 = 2,350, platform 200, so wheels at 2,550; roof above 2,550 + 1,500 = 4,050."""
    plan = plan_load(library()["two-car-7500"], drops({"a": car("a"), "b": car("b")}, "ab"), reshuffle_min=15)
    loaded = plan.stages[0]
    assert dict(zip(loaded.slot_of.values(), loaded.wheels_mm, strict=True)) == {"U1": 2550, "L1": 850}
    assert loaded.height_mm == plan.height_mm == 4050
    assert loaded.gross_kg == plan.gross_kg == 4500 + 2800
    assert plan.stages[1].height_mm == 2400 + 1500  # alone on top, let down to 2,400
    assert plan.stages[2].height_mm == 2600  # empty


def test_cars_over_the_ends_of_a_level_are_told():
    """By hand: 5,400 of bed and 900 overhang; 5,500 stands 100 mm out at the rear, on the upper level it finds no slot."""
    plan = plan_load(library()["two-car-7500"], [Stage(on=(("a", car("a", length_mm=5500)),))], reshuffle_min=15)
    assert [(over.level, over.front_mm, over.rear_mm) for over in plan.stages[0].overhangs] == [("lower", 0, 100)]


def test_overhang_beyond_the_rear_goes_to_the_front():
    """By hand: 4,000 of bed, 5,000 long: 300 at the rear, as much as it may, 700 at the front."""
    deck = replace(lane(1), levels=(Level(name="lane", length_mm=4000, front_mm=800, rear_mm=300),))
    plan = plan_load(deck, [Stage(on=(("a", car("a", length_mm=5000)),))], reshuffle_min=15)
    assert [(over.front_mm, over.rear_mm) for over in plan.stages[0].overhangs] == [(700, 300)]


@pytest.mark.parametrize(("cars", "deck", "limit", "words"), [
    ([car("a"), car("b"), car("c")], "two-car-7500", "slots", "3 cars are aboard after the compound; two-car-7500 has 2 slots, 1 too few."),
    ([car("a", mass_kg=1900), car("b", mass_kg=1500)], "two-car-7500", "payload", "(a, b) weigh 3,400 kg; two-car-7500 may carry 3,000 kg"),
    ([car("a", length_mm=5900)], "two-car-7500", "slot length", "5,900 mm long; no slot of two-car-7500 takes more than 5,600 mm. It is 300 mm too long."),
    ([car("a", height_mm=2300)], "two-car-7500", "slot height", "2,300 mm tall"),
    ([car("a", width_mm=2250)], "two-car-7500", "slot width", "2,250 mm wide"),
    ([car("a", mass_kg=2800)], "two-car-7500", "slot mass", "2,800 kg; no slot of two-car-7500 takes more than 2,600 kg. It is 200 kg too heavy."),
    ([car("a", ground_clearance_mm=80)], "two-car-7500", "ground clearance", "80 mm; the ramp of two-car-7500 asks for 95 mm, 15 mm more"),
    # by hand: 850 + 1,800 + 200 + 1,650 = 4,500, the deck's 4,300 is 200 short; the other way round the upper slot takes 1,800 too: 4,500
    ([car("a", height_mm=1800), car("b", height_mm=1650)], "two-car-7500", "loaded height", "loaded height binds, short by 200 mm"),
])  # fmt: skip
def test_the_binding_limit_is_named_with_its_numbers(cars, deck, limit, words):
    answer = plan_load(library()[deck], [Stage(on=tuple((one.registration, one) for one in cars), says="the compound")], reshuffle_min=15)
    assert isinstance(answer, NoLoad)
    assert answer.limit == limit
    assert words in answer.says


def test_level_length_in_total_is_named():
    """By hand: 4 x (4,900 + 100) = 20,000; levels 9,400 + 500 + 600 and 8,300 + 1,700 with a gap each: 20,700, so shorten one."""
    deck = library()["four-car-rigid"]
    short = replace(deck, levels=(replace(deck.levels[0], length_mm=8600), deck.levels[1]))
    answer = plan_load(short, [Stage(on=tuple((key, car(key, length_mm=4900)) for key in "abcd"))], reshuffle_min=15)
    assert (answer.limit, answer.short_by) == ("level length", 100)


def on_two_axles(front_kg, rear_kg):
    """
    Plan 1,700 kg and 1,500 kg over one another.

    By hand, the heavier below: 0.2 x 1,700 + 0.4 x 1,500 = 940 in front, 0.8 x 1,700 + 0.6 x 1,500 = 2,260 behind; the heavier
    above: 0.4 x 1,700 + 0.2 x 1,500 = 980 and 0.6 x 1,700 + 0.8 x 1,500 = 2,220.
    """
    sums = (MassSum(name="front axle", max_kg=front_kg, shares=(("U1", 400), ("L1", 200))),
            MassSum(name="rear axle", max_kg=rear_kg, shares=(("U1", 600), ("L1", 800))))  # fmt: skip
    deck = replace(library()["two-car-7500"], payload_kg=3300, mass_sums=sums)
    pair = [Stage(on=(("a", car("a", mass_kg=1700)), ("b", car("b", mass_kg=1500))))]
    return plan_load(deck, pair, reshuffle_min=15)


@pytest.mark.parametrize(("front_kg", "rear_kg", "limit", "short_by", "words"), [
    (900, 2300, "mass on front axle", 40, "mass on front axle binds, short by 40 kg (of 900 kg)."),
    (900, 2100, "axle or deck mass", 120, "puts 80 kg more than 900 kg on front axle and 120 kg more than 2,100 kg on rear axle."),
    (900, 2240, "axle or deck mass", 40, "It would also be enough to have 80 kg more mass on front axle (of 900 kg)."),
    (1000, 2200, "mass on rear axle", 20, "mass on rear axle binds, short by 20 kg (of 2,200 kg)."),
])  # fmt: skip
def test_axle_sums_that_bind_are_named_with_their_figures(front_kg, rear_kg, limit, short_by, words):
    answer = on_two_axles(front_kg, rear_kg)
    assert isinstance(answer, NoLoad)
    assert (answer.limit, answer.short_by) == (limit, short_by)
    assert answer.says.endswith(words)


@pytest.mark.parametrize(("front_kg", "rear_kg", "below"), [(940, 2260, "a"), (980, 2220, "b")])
def test_axle_sums_decide_which_car_stands_below(front_kg, rear_kg, below):
    plan = on_two_axles(front_kg, rear_kg)
    assert plan.stages[0].slot_of[below] == "L1"
    assert plan.stages[0].sums_kg == (("front axle", front_kg, front_kg), ("rear axle", rear_kg, rear_kg))


def test_a_level_too_short_alone_is_named():
    """By hand: the longer car, 5,300, only goes below (5,400 and 900 over the end); above 4,800 of 4,900 + 500 less 900 are left."""
    deck = library()["two-car-7500"]
    short = replace(deck, levels=(replace(deck.levels[0], length_mm=4000), deck.levels[1]))
    answer = plan_load(short, [Stage(on=(("a", car("a", length_mm=5300)), ("b", car("b", length_mm=4800))))], reshuffle_min=15)
    assert (answer.limit, answer.short_by) == ("length of level upper", 300)
    assert answer.says.endswith("length of level upper binds, short by 300 mm (of 4,500 mm).")


def test_a_plate_of_another_payload_makes_another_deck():
    deck = library()["two-car-7500"]
    assert deck.with_payload(3000) is deck
    pair = [Stage(on=(("a", car("a")), ("b", car("b"))))]
    assert isinstance(plan_load(deck, pair, reshuffle_min=15), LoadPlan)
    assert plan_load(deck.with_payload(2500), pair, reshuffle_min=15).short_by == 300


def test_no_cars_is_a_plan_without_steps():
    plan = plan_load(lane(2), [Stage(says="nothing")], reshuffle_min=15)
    assert plan.reshuffles == 0
    assert plan.stages[0].steps == ()
    assert plan_load(lane(2), [], reshuffle_min=15).reshuffles == 0


@pytest.mark.parametrize("stages", [
    [Stage(off=("a",))],
    [Stage(on=(("a", car("a")),)), Stage(on=(("a", car("a")),))],
    [Stage(on=(("a", car("a")),)), Stage(off=("a", "a"))],
])  # fmt: skip
def test_stages_that_make_no_sense_are_refused(stages):
    with pytest.raises(ValueError, match="Expected a"):
        plan_load(lane(2), stages, reshuffle_min=15)


def test_cars_are_loaded_low_where_the_route_asks_for_it():
    """By hand: on the front upper slot 2,700 + 1,700 mm, on a lower one 950 + 1,700, less than the 2,950 it stands empty."""
    deck = library()["four-car-rigid"]
    stages = [Stage(on=(("tall", car("tall", height_mm=1700)),), says="the compound"), Stage(off=("tall",))]
    assert plan_load(deck, stages, reshuffle_min=15).height_mm > 3000
    low = under_route(deck, 3000, stages, lambda deck: plan_load(deck, stages, reshuffle_min=15))
    assert low.height_mm == 2950
    assert dict(low.stages[0].placed)["tall"] in {"L1", "L2"}


def test_a_load_that_cannot_stay_below_the_route_is_still_planned_for_the_reason_to_be_told():
    deck = library()["two-car-7500"]
    pair = [Stage(on=(("a", car("a")), ("b", car("b"))))]
    assert under_route(deck, 3000, pair, lambda deck: plan_load(deck, pair, reshuffle_min=15)).height_mm > 3000
    assert under_route(deck.with_payload(1000), 3000, pair, lambda deck: plan_load(deck, pair, reshuffle_min=15)).limit == "payload"
