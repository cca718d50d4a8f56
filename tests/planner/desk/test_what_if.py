"""What-ifs: the price never promises less than what planning again finds, frozen runs stay, and the referee agrees."""

from dataclasses import replace

import pytest

from planner.desk.what_if import NoSuchName, Question
from planner.desk.what_if_answer import CannotFreeze, answer, lines, price_tags, tag_lines, to_document
from planner.model.places import Window
from planner.runs.referee import check_plan
from planner.search.course import run
from planner.search.price_bound import least_by_prices
from planner.search.replanning import replan
from planner.search.solve import solve_priced
from planner.search.solving import Solving
from tests.bench.invented_days import Shape, invented_day


@pytest.fixture(scope="module")
def short():
    """A day with too few crews, planned, with its prices."""
    day = invented_day(Shape(moves=12, decks=(2,)), 4)
    plates = tuple(item for item in day.drivers if item.role == "plate driver")[:1]
    lorries = tuple(item for item in day.drivers if item.role != "plate driver")[:2]
    day = replace(day, drivers=(*plates, *lorries), transporters=day.transporters[:2])
    made = solve_priced(day, seconds=10, rounds=40)
    assert check_plan(day, made.plan) == ()
    return day, made.plan, made.prices


def asked(short):
    return Question(day=short[0], plan=short[1], prices=short[2])


def answered(short, question):
    """The answer, its plan checked, and the fence it states held against both plans."""
    day, _, prices = short
    made = answer(day, question, prices, seconds=10, rounds=40)
    assert check_plan(question.day, made.then) == ()
    assert made.then.bound.pence <= made.then.cost_pence
    assert made.saves_least <= made.saves <= made.saves_most
    assert made.price_saves is not None
    return made


def driver_of(short):
    return next(item.driver_id for item in short[0].drivers if item.role == "plate driver")


def test_the_prices_give_the_bound_back(short):
    """The same prices on the same day prove what they did in the search, but for the rounding of a penny a rig."""
    day, plan, prices = short
    solving = Solving(day, seconds=10, rounds=40, progress=None)
    run(solving)
    by_prices_alone, _ = solving.proof
    assert by_prices_alone - 60 <= least_by_prices(day, prices) <= plan.bound.pence


def test_one_more_driver_saves_no_more_than_its_price(short):
    name = driver_of(short)
    made = answered(short, asked(short).with_one_more(name))
    assert made.saves > 0
    assert made.price_saves == pytest.approx(short[2].driver[name], abs=60)
    assert made.saves <= made.price_saves + (made.now.cost_pence - made.now.bound.pence) + 60
    assert made.placed


@pytest.mark.parametrize("kind", ["transporter", "plates", "carrier"])
def test_one_more_of_anything_never_costs_more(short, kind):
    day = short[0]
    name = {"transporter": day.transporters[0].transporter_id, "plates": day.compounds[0].place.name, "carrier": "H0"}[kind]
    assert answered(short, asked(short).with_one_more(name)).saves >= 0


def test_a_crew_kept_out_costs_at_least_its_price(short):
    made = answered(short, asked(short).without(driver_of(short)))
    assert made.saves <= 0
    assert made.price_saves <= 0
    assert all(run.itinerary.driver != driver_of(short) for run in made.then.runs)


def test_a_later_hour_is_worth_something_to_those_who_are_short_of_it(short):
    made = answered(short, asked(short).with_home_by(None, 1320))
    assert made.saves >= 0
    assert made.price_saves >= 0


def test_a_pinned_move_goes_with_its_crew(short):
    day, plan, _ = short
    run = next(run for run in plan.runs if run.itinerary.transporter)
    other = next(item.transporter_id for item in day.transporters if item.transporter_id != run.itinerary.transporter)
    made = answered(short, asked(short).with_pin(run.itinerary.moves[0], other))
    assert made.saves <= made.saves_most
    found = [then.itinerary.transporter for then in made.then.runs if run.itinerary.moves[0] in then.itinerary.moves]
    assert found in ([], [other])


def test_a_frozen_run_stays_and_the_rest_is_planned_around_it(short):
    run = short[1].runs[0]
    made = answered(short, asked(short).with_frozen(run.run_id).with_one_more(driver_of(short)))
    assert run in made.then.runs
    assert made.saves >= 0


def test_a_frozen_run_keeps_its_bay(short):
    """With one bay and a frozen transporter in it, no other transporter may load at that time."""
    day, plan, _ = short
    one_bay = replace(day, compounds=tuple(replace(compound, bays=1) for compound in day.compounds))
    run = next(run for run in plan.runs if run.itinerary.transporter)
    kept = replan(one_bay, plan, frozen=[run], seconds=5, rounds=20)
    assert run in kept.runs
    assert check_plan(one_bay, kept) == ()


def test_a_promise_moved_to_a_wider_window_never_costs_more(short):
    day = short[0]
    left = short[1].not_placed[0].move
    own = day.move_of[left].destination_window or day.move_of[left].origin_window
    wider = Window(opens_min=own.opens_min - 120, closes_min=own.closes_min + 120)
    assert answered(short, asked(short).with_window(left, wider)).saves >= 0


def test_a_run_whose_driver_is_out_cannot_stay(short):
    run = next(run for run in short[1].runs if run.itinerary.driver)
    question = asked(short).with_frozen(run.run_id).without(run.itinerary.driver)
    with pytest.raises(CannotFreeze, match=run.run_id):
        answer(short[0], question, short[2], seconds=1)


def test_strangers_are_named_with_what_was_meant(short):
    question = asked(short)
    for ask in (question.with_one_more, question.without, question.with_frozen, lambda name: question.with_pin("M3", name),
                lambda name: question.with_home_by(name, 1200), lambda name: question.with_window(name, Window(opens_min=1, closes_min=2))):
        with pytest.raises(NoSuchName, match="'P00' is no"):
            ask("P00")


def test_price_tags_name_the_crew_that_is_short(short):
    tags = price_tags(asked(short), short[2])
    assert tags[0].saves_most > 1000
    assert any(driver_of(short) in tag.names for tag in tags)
    assert [tag.saves_most for tag in tags] == sorted((tag.saves_most for tag in tags), reverse=True)
    assert len(list(tag_lines(tags))) == len(tags) + 1


def test_the_answer_reads_as_it_counts(short):
    made = answered(short, asked(short).without("H0"))
    document = to_document(made)
    assert document["replanned_saves_pence"] == document["now"]["cost_pence"] - document["then"]["cost_pence"]
    assert document["saves_at_least_pence"] <= document["replanned_saves_pence"] <= document["saves_at_most_pence"]
    told = "\n".join(lines(made))
    assert "What if: H0 kept out." in told
    assert "planned again" in told
