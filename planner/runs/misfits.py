"""
Misfits: every place where a document does not fit a schema, found with the words that our own schemas use.

Knows ``const enum type minimum pattern properties required additionalProperties items prefixItems minItems maxItems
anyOf $ref``; ``format`` and descriptions say nothing here, as JSON Schema (draft 2020-12) allows.
"""

import re
from collections.abc import Iterator, Mapping
from typing import Any

KINDS: dict[str, tuple[type, ...]] = {
    "object": (dict,), "array": (list,), "string": (str,), "integer": (int,), "number": (int, float), "boolean": (bool,),
    "null": (type(None),),
}  # fmt: skip
WORDS = {"object": "a group of named values", "array": "a list", "string": "text", "integer": "a whole number",
         "number": "a number", "boolean": "true or false", "null": "nothing"}  # fmt: skip


def misfits(document: Any, schema: Mapping[str, Any]) -> Iterator[str]:
    """
    Yield a sentence for each value of ``document`` that ``schema`` does not allow.

    Raises
    ------
    KeyError
        If the schema refers to a definition that it does not hold.

    """
    yield from _misfits(document, schema, schema.get("$defs", {}), "")


def _misfits(value: Any, schema: Mapping[str, Any], known: Mapping[str, Any], where: str) -> Iterator[str]:
    if "$ref" in schema:
        schema = known[schema["$ref"].removeprefix("#/$defs/")]
    if "anyOf" in schema:
        choices = [list(_misfits(value, choice, known, where)) for choice in schema["anyOf"]]
        if all(choices):  # the choice that nearly fits is the one that was meant
            yield from max(choices, key=lambda faults: max(fault.count(".") + fault.count("[") for fault in faults))
        return
    if "type" in schema and not is_kind(value, schema["type"]):
        yield f"{where or 'The document'}: {WORDS[schema['type']]} is expected, got {_shown(value)}."
        return
    yield from _words(value, schema, where)
    if isinstance(value, dict):
        yield from _group(value, schema, known, where)
    elif isinstance(value, list):
        yield from _list(value, schema, known, where)


def is_kind(value: Any, kind: str) -> bool:
    """Return whether a value is of that kind; true and false are no numbers, 1.0 is a whole one."""
    if isinstance(value, bool):
        return kind == "boolean"
    return isinstance(value, KINDS[kind]) or (kind == "integer" and isinstance(value, float) and value.is_integer())


def _words(value: Any, schema: Mapping[str, Any], where: str) -> Iterator[str]:
    allowed = schema.get("enum", [schema["const"]] if "const" in schema else None)
    if allowed is not None and not any(value == word and isinstance(value, bool) is isinstance(word, bool) for word in allowed):
        yield f"{where}: {' or '.join(map(str, allowed))} is expected, got {_shown(value)}."
    if "minimum" in schema and value < schema["minimum"]:
        yield f"{where}: at least {schema['minimum']} is expected, got {_shown(value)}."
    if "pattern" in schema and not re.search(schema["pattern"], value):
        yield f"{where}: {schema.get('description', 'another form')} is expected, got {_shown(value)}."


def _group(value: dict[str, Any], schema: Mapping[str, Any], known: Mapping[str, Any], where: str) -> Iterator[str]:
    named, others = schema.get("properties", {}), schema.get("additionalProperties", True)
    for key in schema.get("required", ()):
        if key not in value:
            yield f"{_under(where, key)}: it is missing."
    for key, item in value.items():
        if key in named:
            yield from _misfits(item, named[key], known, _under(where, key))
        elif others is False:
            yield f"{_under(where, key)}: it is not known here; a newer homeleg may have written it."
        elif isinstance(others, dict):
            yield from _misfits(item, others, known, _under(where, key))


def _list(value: list[Any], schema: Mapping[str, Any], known: Mapping[str, Any], where: str) -> Iterator[str]:
    if not schema.get("minItems", 0) <= len(value) <= schema.get("maxItems", len(value)):
        yield f"{where}: {schema['minItems']} items are expected, got {len(value)}."
    first = schema.get("prefixItems", ())
    for number, item in enumerate(value):
        inner = first[number] if number < len(first) else schema.get("items", {})
        yield from _misfits(item, inner, known, f"{where}[{number}]")


def _under(where: str, key: str) -> str:
    return f"{where}.{key}" if where else key


def _shown(value: Any) -> str:
    text = repr(value)
    return text if len(text) <= 40 else text[:37] + "..."
