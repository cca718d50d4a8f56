"""Sharing a run's cost and gases among its cars: the parts add up, none is negative, and the rule is the stated one."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from planner.model.moves import MoveId
from planner.runs.costing import price
from planner.runs.emissions import emissions
from planner.runs.run import CostKind, CostLine
from planner.runs.sharing import share_costs, split_pence, without_moves
from tests.planner.runs.worked_day import plate_run, transporter_run, worked_day


def of_moves(shares) -> dict[str, int]:
    return {share.move: share.pence for share in shares}


def test_two_cars_share_by_what_they_cause_and_the_rest_by_distance():
    """
    The run costs 29,662.  Without M1 it would cost 20,000, without M2 25,000: they cause 9,662 and 4,662; what is left,
    15,338, goes by the way of each, 80 and 20 km: 12,270.4 and 3,067.6.  So 21,932.4 and 7,729.6.
    """
    shares = of_moves(share_costs(worked_day(), transporter_run(), lambda gone: 20_000 if "M1" in gone else 25_000))
    assert sum(shares.values()) == 29_662
    assert shares["M1"] == pytest.approx(21_932.4, abs=1)
    assert shares["M2"] == pytest.approx(7_729.6, abs=1)


def test_what_the_cars_cause_is_scaled_down_when_it_is_more_than_the_run():
    shares = of_moves(share_costs(worked_day(), transporter_run(), lambda gone: 0 if "M1" in gone else 14_831))
    assert shares["M1"] == pytest.approx(29_662 * 2 / 3, abs=1)


def test_a_car_that_saves_the_run_money_bears_no_negative_part():
    """A part-exchange that is the driver's way home makes the run cheaper, not its own delivery free of charge."""
    shares = of_moves(share_costs(worked_day(), transporter_run(), lambda gone: 40_000 if "M1" in gone else 29_662))
    assert min(shares.values()) >= 0
    assert sum(shares.values()) == 29_662


def test_a_car_alone_bears_the_whole_run():
    (share,) = share_costs(worked_day(), plate_run())
    assert (share.move, share.pence) == ("M4", 19_688)


def test_a_line_that_names_a_car_is_its_own():
    own = CostLine(kind=CostKind.TOLL, says="toll", pence=777, move=MoveId("M2"))
    run = transporter_run()
    lines = (*price(worked_day(), run), own)
    from dataclasses import replace

    shares = share_costs(worked_day(), replace(run, costs=lines), lambda _: 0)
    assert [share.move for share in shares if own in share.lines] == ["M2"]


@given(
    total=st.integers(1, 99_999),
    kinds=st.lists(st.integers(1, 9_999), min_size=1, max_size=6),
    without=st.dictionaries(st.sampled_from(("M1", "M2")), st.one_of(st.none(), st.integers(0, 120_000))),
)
def test_parts_always_add_up_and_are_never_negative(total, kinds, without):
    from dataclasses import replace

    lines = tuple(CostLine(kind=CostKind.FUEL, says=str(number), pence=pence) for number, pence in enumerate((total, *kinds)))
    run = replace(transporter_run(), costs=lines)
    shares = share_costs(worked_day(), run, lambda gone: next((without.get(move) for move in gone), 0))
    assert sum(share.pence for share in shares) == run.cost_pence
    assert all(line.pence > 0 for share in shares for line in share.lines)
    for line in lines:
        assert sum(part.pence for share in shares for part in share.lines if part.says == line.says) == line.pence


@given(pence=st.integers(0, 10_000), weights=st.lists(st.floats(0.0, 1e6), min_size=1, max_size=9).filter(any))
def test_splitting_gives_every_penny_and_no_more_than_one_too_many(pence, weights):
    pieces, _ = split_pence(pence, weights)
    assert sum(pieces) == pence
    assert all(abs(piece - pence * weight / sum(weights)) <= 1 for piece, weight in zip(pieces, weights, strict=True))


def test_leaving_moves_out_leaves_no_idle_stop():
    left = without_moves(transporter_run().itinerary, frozenset({MoveId("M1")}))
    assert [stop.place for stop in left.stops] == ["yard", "door-b"]


def test_gases_of_a_transporter_run_by_hand():
    """25.7256 litres of diesel (worked in the costing test) x 2.57082 kg (2025 factors) = 66.136 kg."""
    found = emissions(worked_day(), transporter_run())
    assert found.grams == pytest.approx(66_136, abs=2)
    assert sum(found.of_move.values()) == found.grams
    assert found.of_move[MoveId("M1")] == pytest.approx(found.grams * 80 / 100, abs=1)


def test_gases_of_an_electric_car_and_the_train_home_by_hand():
    """33.0984 kWh x (0.17700 + 0.01853) = 6.4717 kg; 150 km by rail x 0.03546 = 5.319 kg (2025 factors)."""
    found = emissions(worked_day(), plate_run())
    assert found.grams == pytest.approx(6_471.7 + 5_319, abs=1)
    assert found.rides_grams == 5_319


@pytest.mark.parametrize(("km", "mile"), [(0.25561, 0.41138), (0.46138, 0.74251)])
def test_published_factors_a_mile_are_those_a_kilometre(km, mile):
    """Greenhouse gas conversion factors 2025: average van and empty 3.5-7.5 t rigid, by our own metres in a mile."""
    from planner.units import METRES_A_MILE

    assert km * METRES_A_MILE / 1000 == pytest.approx(mile, abs=2e-5)
