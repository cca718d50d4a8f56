"""The plan as a document: what is written is read back the same, and sums that do not fit their parts are named."""

import json
from dataclasses import replace

import pytest

from planner.runs.plan_document import BadPlanFile, plan_from_document, plan_to_document
from planner.runs.referee import check_stated
from planner.runs.run import Counter
from planner.search.baseline import solve_baseline
from tests.planner.runs.worked_day import worked_day


@pytest.fixture(scope="module")
def solved():
    made = worked_day()
    day = replace(made, moves=tuple(replace(move, stays_behind_pence=150_000) for move in made.moves))
    return day, solve_baseline(day, seconds=1)


@pytest.fixture
def document(solved):
    return json.loads(json.dumps(plan_to_document(*solved)))


def stated(file):
    """What the referee says of the sums that the document states, a sentence each."""
    return tuple(str(breach) for breach in check_stated(file.day, file.plan, file.document))


def test_what_is_written_is_read_back_the_same(solved, document):
    day, plan = solved
    file = plan_from_document(document)
    assert file.plan.runs == plan.runs
    assert file.plan.not_placed == plan.not_placed
    assert file.day.moves == day.moves
    assert file.day.rates == day.rates
    assert (file.day.tables["car"].seconds == day.tables["car"].seconds).all()
    assert stated(file) == ()


def test_times_are_iso_8601_with_offset(document):
    activity = document["runs"][0]["activities"][0]
    assert activity["start"] == "2026-06-10T06:00+01:00"  # British Summer Time


@pytest.mark.parametrize("key", ["cost_pence", "runs_pence"])
def test_a_wrong_sum_is_named(document, key):
    document[key] += 1
    assert [key in says for says in stated(plan_from_document(document))] == [True]


def test_wrong_figures_of_a_run_are_named(document):
    run = document["runs"][0]
    run["cost_pence"] -= 1
    run["metres"] += 1
    run["start"] = "2026-06-10T05:00+01:00"
    assert len(stated(plan_from_document(document))) == 3


def test_another_version_is_refused(document):
    document["schema_version"] = 99
    with pytest.raises(BadPlanFile, match="99"):
        plan_from_document(document)


@pytest.mark.parametrize("key", ["day", "runs", "not_placed", "bound_pence"])
def test_a_missing_part_is_named(document, key):
    del document[key]
    with pytest.raises(BadPlanFile, match=key):
        plan_from_document(document)


@pytest.mark.parametrize("value", ["sometime", None, 7])
def test_a_time_that_cannot_be_read_is_refused(document, value):
    document["runs"][0]["activities"][0]["start"] = value
    with pytest.raises(BadPlanFile):
        plan_from_document(document)


def test_a_limit_keeps_its_unit_and_one_of_an_older_plan_gets_it_by_its_size(solved, document):
    rests = Counter(rule="reduced daily rests", used=1, limit=3, source="art. 8(4)", is_count=True)
    day, plan = solved
    written = json.loads(json.dumps(plan_to_document(day, replace(plan, runs=(replace(plan.runs[0], counters=(rests,)),)))))
    assert plan_from_document(written).plan.runs[0].counters == (rests,)
    for part in (*written["runs"][0]["counters"], *document["runs"][0]["counters"]):
        del part["unit"]
    assert plan_from_document(written).plan.runs[0].counters == (rests,)
    assert plan_from_document(document).plan.runs == plan.runs
