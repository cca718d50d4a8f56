"""The published schema is current, is a schema itself, and holds the plan worked by hand and no broken one."""

import copy
import json
import random
from pathlib import Path

import jsonschema
import pytest

from planner.runs.misfits import misfits
from planner.runs.plan_document import plan_to_document
from planner.runs.schema import of_hint, plan_schema
from tests.planner.runs.refereed import damage, legal_day, legal_plan

PUBLISHED = Path(__file__).parents[3] / "demo_data" / "plan.schema.json"
CHECKER = jsonschema.Draft202012Validator(plan_schema(), format_checker=jsonschema.FormatChecker())


def document():
    return json.loads(json.dumps(plan_to_document(legal_day(), legal_plan())))


def test_the_published_file_is_current():
    """Mend with: python -c "import json; from planner.runs.schema import plan_schema; print(json.dumps(plan_schema(), indent=1))"."""
    assert json.loads(PUBLISHED.read_text(encoding="utf-8")) == json.loads(json.dumps(plan_schema()))


def test_it_is_a_json_schema():
    """Draft 2020-12's own schema decides, as the jsonschema package carries it."""
    jsonschema.Draft202012Validator.check_schema(plan_schema())


def test_a_plan_and_its_day_fit():
    assert [error.message for error in CHECKER.iter_errors(document())] == []


@pytest.mark.parametrize(("path", "value"), [
    (("schema_version",), 2),
    (("cost_pence",), 1.5),
    (("gap",), "small"),
    (("runs", 0, "kind"), "bus"),
    (("runs", 0, "activities", 0, "start"), "07:00"),
    (("runs", 0, "activities", 0, "kind"), "sleep"),
    (("runs", 0, "visits", 0, "leg_metres"), -1),
    (("runs", 0, "costs", 0, "kind"), "tips"),
    (("day", "moves", 0, "car", "fuel"), "steam"),
    (("day", "rates", "night_out_pence"), 65.0),
    (("surprise",), 1),
])  # fmt: skip
def test_what_is_no_plan_does_not_fit(path, value):
    broken = document()
    place = broken
    for key in path[:-1]:
        place = place[key]
    place[path[-1]] = value
    assert not CHECKER.is_valid(broken)


def test_nothing_may_be_left_out():
    whole = document()
    for key in whole:
        less = copy.copy(whole)
        del less[key]
        assert not CHECKER.is_valid(less), key


@pytest.mark.parametrize("seed", range(60))
def test_our_own_reading_of_the_schema_agrees_with_a_published_reader(seed):
    """The jsonschema package decides, formats left aside; one to three values damaged at random."""
    rng = random.Random(seed)
    broken = document()
    for _ in range(rng.randint(0, 3)):
        damage(broken, rng)
    published = jsonschema.Draft202012Validator(plan_schema())
    assert (next(misfits(broken, plan_schema()), None) is None) is published.is_valid(broken)


@pytest.mark.parametrize(("schema", "value", "fits"), [
    ({"type": "integer"}, True, False),
    ({"type": "integer"}, 1.0, True),
    ({"type": "number"}, 2, True),
    ({"const": 1}, True, False),
    ({"type": "array", "prefixItems": [{"type": "string"}, {"type": "null"}], "minItems": 2, "maxItems": 2}, ["a", None], True),
    ({"type": "array", "prefixItems": [{"type": "string"}, {"type": "null"}], "minItems": 2, "maxItems": 2}, ["a"], False),
    ({"type": "object", "additionalProperties": {"type": "integer"}}, {"a": 1, "b": "c"}, False),
])  # fmt: skip
def test_corners_of_the_schema_words(schema, value, fits):
    assert list(misfits(value, schema)) is not fits
    assert jsonschema.Draft202012Validator(schema).is_valid(value) is fits


def test_every_misfit_is_named_with_its_place():
    broken = document()
    broken["runs"][0]["visits"][1]["leg_min"] = "long"
    broken["day"]["moves"][2]["car"]["mass_kg"] = None
    del broken["runs"][1]["book"]
    assert sorted(misfits(broken, plan_schema())) == [
        "day.moves[2].car.mass_kg: a whole number is expected, got None.",
        "runs[0].visits[1].leg_min: a whole number is expected, got 'long'.",
        "runs[1].book: it is missing.",
    ]


def test_a_hint_no_document_holds_is_refused():
    with pytest.raises(TypeError, match="Expected a type"):
        of_hint(bytes, {})
