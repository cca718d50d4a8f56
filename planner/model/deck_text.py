"""
Deck text: decks as TOML tables, turned into :class:`~planner.model.deck.Deck` with every fault found at once.

One table a deck, its name as the key, with the fields of ``Deck``; ``slots``, ``levels``, ``stacks``, ``shuts`` and
``mass_sums`` are lists of tables with the fields of their class, ``shares`` a table of thousandths by slot name.
"""

import tomllib
from collections.abc import Mapping
from dataclasses import MISSING, Field, fields
from typing import Any

from planner.faults import BadFiles, Problem
from planner.model.deck import Deck, Level, MassSum, Shut, Slot, Stack

PARTS: dict[str, type] = {"slots": Slot, "levels": Level, "stacks": Stack, "shuts": Shut, "mass_sums": MassSum}
LISTS_OF = {"blocked_by": str, "axles_mm": int}


def read_decks(text: str, file: str) -> dict[str, Deck]:
    """
    Return every deck of a TOML text by name.

    Raises
    ------
    BadFiles
        With every problem found; ``file`` names the text in them.

    """
    tables = read_tables(text, file)
    problems: list[Problem] = []
    decks = {name: read_deck(table, file=file, name=name, problems=problems) for name, table in tables.items()}
    if problems:
        raise BadFiles(problems)
    return {name: deck for name, deck in decks.items() if deck is not None}


def read_tables(text: str, file: str) -> dict[str, Any]:
    """
    Return what a TOML text holds.

    Raises
    ------
    BadFiles
        If it is not valid TOML; ``file`` names the text.

    """
    try:
        return tomllib.loads(text)
    except tomllib.TOMLDecodeError as fault:
        raise BadFiles([Problem(file=file, says=f"is not valid TOML: {fault}", advice="Mend that line.")]) from None


def read_deck(table: Any, *, file: str, name: str, problems: list[Problem]) -> Deck | None:
    """Return the deck of one table, or None after adding what is wrong with it to ``problems``."""
    before = len(problems)
    if not isinstance(table, Mapping):
        problems.append(Problem(file=file, column=name, says="is no table", advice=f"Write [{name}] and its fields below."))
        return None
    plain = {"name": name, **{key: value for key, value in table.items() if key not in PARTS}}
    parts = {key: _rows(table.get(key, []), kind, f"{name}.{key}", file, problems) for key, kind in PARTS.items()}
    values = _checked(plain, Deck, name, file, problems, skip=frozenset(PARTS))
    if len(problems) > before:
        return None
    deck: Deck | None = _made(Deck, {**values, **parts}, name, file, problems)
    return deck


def _rows(rows: Any, kind: type, where: str, file: str, problems: list[Problem]) -> tuple[Any, ...]:
    if not isinstance(rows, list):
        problems.append(Problem(file=file, column=where, says="is no list of tables", advice=f"Write [[{where}]] before each."))
        return ()
    made = []
    for number, row in enumerate(rows, start=1):
        place, before = f"{where}[{number}]", len(problems)
        if not isinstance(row, Mapping):
            problems.append(Problem(file=file, column=place, says="is no table", advice=f"Write [[{where}]] before each."))
            continue
        values = _checked(dict(row), kind, place, file, problems)
        if len(problems) == before:
            made.append(_made(kind, values, place, file, problems))
    return tuple(made)


def _made(kind: type, values: dict[str, Any], where: str, file: str, problems: list[Problem]) -> Any:
    try:
        return kind(**values)
    except ValueError as fault:
        problems.append(Problem(file=file, column=where, says=str(fault).rstrip("."), advice="Put the figure or name right."))
        return None


def _checked(
    row: dict[str, Any], kind: type, where: str, file: str, problems: list[Problem], *, skip: frozenset[str] = frozenset(),
) -> dict[str, Any]:  # fmt: skip
    known = {field.name: field for field in fields(kind) if field.name not in skip}
    for key in sorted(row.keys() - known.keys()):
        names = ", ".join(sorted((known.keys() | skip) - {"name"}))
        problems.append(Problem(file=file, column=f"{where}.{key}", says="is no field we know", advice=f"Known are {names}."))
    values = {}
    for key, field in known.items():
        if key not in row:
            if field.default is MISSING:
                problems.append(Problem(file=file, column=f"{where}.{key}", says="is missing", advice="Add it."))
        else:
            values[key] = _value(row[key], field, f"{where}.{key}", file, problems)
    return values


def _value(value: Any, field: "Field[Any]", where: str, file: str, problems: list[Problem]) -> Any:
    if field.name == "shares" and isinstance(value, Mapping) and all(_is_whole(share) for share in value.values()):
        return tuple(value.items())
    if field.name in LISTS_OF:
        fits = isinstance(value, list) and all(isinstance(item, LISTS_OF[field.name]) for item in value)
        if fits:
            return tuple(value)
    elif field.name.endswith(("_mm", "_kg")):
        if _is_whole(value):
            return value
    elif isinstance(value, str) and value:
        return value
    wanted = {"shares": "a table of whole thousandths", "blocked_by": "a list of slot names", "axles_mm": "a list of millimetres"}
    unit = "a whole number" if field.name.endswith(("_mm", "_kg")) else "a text"
    kind = wanted.get(field.name, unit)
    problems.append(Problem(file=file, column=where, says=f"is not {kind}", value=str(value), advice=f"Give {kind}."))
    return None


def _is_whole(value: Any) -> bool:
    return isinstance(value, int) and not isinstance(value, bool)
