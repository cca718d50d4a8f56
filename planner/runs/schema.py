"""
The schema: what a plan file may hold, as JSON Schema (draft 2020-12), for programs that read it.

The plan's own part is written here; the part of the day follows from the model's type hints, as
:mod:`planner.model.documents` writes it: Decimals and dates are text, sets and tuples lists, tables packed.  The file
``demo_data/plan.schema.json`` holds :func:`plan_schema` for readers without our code.
"""

import types
from dataclasses import MISSING, fields, is_dataclass
from datetime import date, time
from decimal import Decimal
from enum import Enum
from typing import Any, Union, get_args, get_origin, get_type_hints

import numpy as np

from planner.model.day import Day
from planner.runs.run import ActivityKind, CostKind, RunKind

Schema = dict[str, Any]

TEXT: Schema = {"type": "string"}
WHOLE: Schema = {"type": "integer"}
COUNT: Schema = {"type": "integer", "minimum": 0}
TIME: Schema = {
    "type": "string",
    "pattern": r"^\d{4}-\d\d-\d\dT\d\d:\d\d[+-]\d\d:\d\d$",
    "description": "ISO 8601, local time with its offset, to the minute",
}
PENCE: Schema = {"type": "integer", "minimum": 0, "description": "whole pence"}
METRES: Schema = {"type": "integer", "minimum": 0, "description": "whole metres"}
SHARE: Schema = {"type": "number", "minimum": 0, "description": "a share: 0.01 is one per cent"}
MOVES: Schema = {"type": "array", "items": {"type": "string", "description": "a move of the day, by move_id"}}
PACKED: Schema = {
    "type": "object",
    "description": "a table of numbers: zlib-compressed little-endian bytes, row by row, in base64",
    "properties": {
        "shape": {"type": "array", "items": COUNT},
        "dtype": {"type": "string", "pattern": "^[<|][iufb][1248]$"},
        "zlib_base64": {"type": "string", "contentEncoding": "base64"},
    },
    "required": ["shape", "dtype", "zlib_base64"],
    "additionalProperties": False,
}


def plan_schema() -> Schema:
    """Return the JSON Schema of a plan file."""
    definitions: dict[str, Schema] = {}
    day = of_hint(Day, definitions)
    own = {"run": _run(), "activity": _activity(), "visit": _visit(), "cost": _cost(), "counter": _counter()}
    return {
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        "title": "A plan of homeleg, with the day it was made for",
        **_closed(
            {
                "schema_version": {"const": 1},
                "date": {"type": "string", "format": "date"},
                "retailer": TEXT,
                "cost_pence": {**PENCE, "description": "runs and what stays behind; whole pence"},
                "runs_pence": {**PENCE, "description": "what the runs cost; whole pence"},
                "bound_pence": _or_null({**WHOLE, "description": "no legal plan costs less; null until one is known"}),
                "gap": _or_null(SHARE),
                "money_gap": _or_null(SHARE),
                "bound_covers": _or_null(TEXT),
                "bound_relaxed": {"type": "array", "items": TEXT},
                "found_by": TEXT,
                "seconds": {"type": "number", "minimum": 0},
                "runs": {"type": "array", "items": _named("run")},
                "not_placed": {"type": "array", "items": _closed({"move": TEXT, "pence": PENCE, "reason": TEXT})},
                "held": {
                    "type": "array",
                    "items": _closed({"order": TEXT, "gate": TEXT, "owner": TEXT, "to_do": TEXT, "cut_off": TIME}),
                },
                "notes": {"type": "array", "items": TEXT},
                "caution": TEXT,
                "day": day,
            },
        ),
        "$defs": {**own, **definitions},
    }


def _run() -> Schema:
    run = _run_as_planned()
    past = {"now": TIME, "began": TIME, "stops": COUNT, "visits": COUNT, "activities": COUNT, "is_heading": {"type": "boolean"},
            "late_min": COUNT, "is_over": {"type": "boolean"}}  # fmt: skip
    says = "what of the run is done: its first visits and activities, as they really were; only while the day runs"
    run["properties"]["past"] = {**_closed(past), "description": says}
    return run


def _run_as_planned() -> Schema:
    crew = {name: _or_null(TEXT) for name in ("driver", "driver_name", "transporter", "transporter_name", "support_driver",
                                              "carrier", "carrier_name")}  # fmt: skip
    return _closed(
        {
            "run_id": TEXT,
            "kind": _one_of(RunKind),
            "method": {"enum": ["driven", "carried"]},
            "crew": _closed({**crew, "may_stay_out": {"type": "boolean"}}),
            "book": {"enum": ["over-3500", "up-to-3500", "plates", ""], "description": "which hours rules govern it"},
            "start": TIME,
            "end": TIME,
            "metres": METRES,
            "nights": COUNT,
            "reshuffles": COUNT,
            "cost_pence": PENCE,
            "activities": {"type": "array", "items": _named("activity")},
            "visits": {"type": "array", "items": _named("visit")},
            "costs": {"type": "array", "items": _named("cost")},
            "counters": {"type": "array", "items": _named("counter")},
        },
    )


def _activity() -> Schema:
    return _closed(
        {
            "kind": _one_of(ActivityKind),
            "start": TIME,
            "end": TIME,
            "metres": METRES,
            "from": TEXT,
            "to": TEXT,
            "aboard": MOVES,
            "visit": _or_null({**COUNT, "description": "position in visits, from 0"}),
            "says": TEXT,
        },
    )


def _visit() -> Schema:
    return _closed(
        {
            "place": TEXT,
            "name": TEXT,
            "postcode": TEXT,
            "arrive": TIME,
            "start": TIME,
            "end": TIME,
            "window": _or_null(_closed({"opens": TIME, "closes": TIME})),
            "leaves": MOVES,
            "takes": MOVES,
            "aboard_after": MOVES,
            "leg_metres": METRES,
            "leg_min": COUNT,
            "leg_by": {"enum": ["transporter", "car", "ride", "support car", "hired carrier", ""]},
            "charges": {"type": "array", "items": TEXT},
            "slots": {
                "type": "array",
                "items": _closed({"move": TEXT, "slot": TEXT}),
                "description": "where on the deck each car aboard afterwards stands; empty when the deck is not laid out",
            },
            "moved": {**MOVES, "description": "cars moved out of the way and back here, each one reshuffle"},
        },
    )


def _cost() -> Schema:
    return _closed({"kind": _one_of(CostKind), "says": TEXT, "pence": PENCE, "move": _or_null(TEXT)})


def _counter() -> Schema:
    """Return a limit; plans of before units were written have none."""
    whole = _closed(
        {"rule": TEXT, "used": WHOLE, "limit": WHOLE, "left": WHOLE, "unit": {"enum": ["minutes", "count"]}, "source": TEXT}
    )
    return {**whole, "required": [name for name in whole["required"] if name != "unit"]}


def _closed(properties: dict[str, Schema]) -> Schema:
    """Return an object that has all of these and nothing else."""
    return {"type": "object", "properties": properties, "required": list(properties), "additionalProperties": False}


def _or_null(schema: Schema) -> Schema:
    return {"anyOf": [schema, {"type": "null"}]}


def _one_of(words: type[Enum]) -> Schema:
    return {"enum": [word.value for word in words]}


def _named(name: str) -> Schema:
    return {"$ref": f"#/$defs/{name}"}


PLAIN: dict[Any, Schema] = {
    str: TEXT,
    int: WHOLE,
    float: {"type": "number"},
    bool: {"type": "boolean"},
    Decimal: {"type": "string", "pattern": r"^-?\d+(\.\d+)?([eE][+-]?\d+)?$"},
    date: {"type": "string", "format": "date"},
    time: {"type": "string", "format": "time"},
    np.ndarray: PACKED,
    Any: {},
}


def of_hint(hint: Any, definitions: dict[str, Schema]) -> Schema:
    """
    Return the schema of a value with that type hint; dataclasses are put into ``definitions`` and referred to.

    Raises
    ------
    TypeError
        If the hint is of a kind that no document holds.

    """
    while hasattr(hint, "__supertype__"):
        hint = hint.__supertype__
    if hint in PLAIN:
        return PLAIN[hint]
    origin, args = get_origin(hint), get_args(hint)
    if origin in (Union, types.UnionType):
        return {"anyOf": [{"type": "null"} if part is type(None) else of_hint(part, definitions) for part in args]}
    if origin is np.ndarray:
        return PACKED
    if origin is dict:
        return {"type": "object", "additionalProperties": of_hint(args[1], definitions)}
    if origin in (tuple, list, frozenset, set):
        return _list_of(args, definitions)
    if is_dataclass(hint):
        return _of_dataclass(hint, definitions)
    if isinstance(hint, type) and issubclass(hint, Enum):
        return _one_of(hint)
    raise TypeError(f"Expected a type that a document can hold, got {hint}.")


def _list_of(args: tuple[Any, ...], definitions: dict[str, Schema]) -> Schema:
    if len(args) == 2 and args[1] is not Ellipsis:
        return {"type": "array", "prefixItems": [of_hint(part, definitions) for part in args], "minItems": 2, "maxItems": 2}
    return {"type": "array", "items": of_hint(args[0], definitions)}


def _of_dataclass(kind: Any, definitions: dict[str, Schema]) -> Schema:
    if kind.__name__ not in definitions:
        definitions[kind.__name__] = {}
        hints = get_type_hints(kind)
        own = [field for field in fields(kind) if field.init]
        bare = [field.name for field in own if field.default is MISSING and field.default_factory is MISSING]
        definitions[kind.__name__] = {
            "type": "object",
            "description": (kind.__doc__ or "").strip().split("\n\n")[0].replace("\n", " "),
            "properties": {field.name: of_hint(hints[field.name], definitions) for field in own},
            "required": bare,
            "additionalProperties": False,
        }
    return _named(kind.__name__)
