"""
Documents: frozen dataclasses as plain dictionaries that JSON can hold, and back again exactly.

What a field becomes follows from its type hint, so a new field with a default needs nothing here and an older document
without it still reads.  Decimals and dates become text, sets sorted lists, arrays ``{"shape", "dtype", "zlib_base64"}``.
"""

import base64
import math
import types
import zlib
from collections.abc import Callable
from dataclasses import MISSING, fields, is_dataclass
from datetime import date, datetime, time
from decimal import Decimal, InvalidOperation
from enum import Enum
from functools import cache, partial
from typing import Any, TypeVar, Union, get_args, get_origin, get_type_hints

import numpy as np

from planner.faults import BadDocument

T = TypeVar("T")
_MOST_CELLS = 400_000_000  # a table of 20,000 places; anything larger is damage, not data


def to_document(thing: Any) -> Any:
    """
    Return ``thing`` as dictionaries, lists, text, numbers, booleans and None.

    Raises
    ------
    TypeError
        If it holds something that has no place in a document.
    ValueError
        If it holds a number that JSON has no word for (infinity, not-a-number).

    """
    if thing is None or (isinstance(thing, bool | int | str) and not isinstance(thing, Enum)):
        return thing
    if isinstance(thing, float):
        if not math.isfinite(thing):
            raise ValueError(f"Expected a finite number, got {thing}.")
        return thing
    for kind, write in _WRITERS:
        if isinstance(thing, kind):
            return write(thing)
    if is_dataclass(thing) and not isinstance(thing, type):
        return {field.name: to_document(getattr(thing, field.name)) for field in fields(thing) if field.init}
    raise TypeError(f"Expected something a document can hold, got {type(thing).__name__}.")


def _array_document(array: np.ndarray[Any, Any]) -> dict[str, Any]:
    plain = np.ascontiguousarray(array).astype(array.dtype.newbyteorder("<"))
    packed = base64.b64encode(zlib.compress(plain.tobytes(), 6)).decode("ascii")
    return {"shape": list(array.shape), "dtype": plain.dtype.str, "zlib_base64": packed}


def _listed(things: Any) -> list[Any]:
    return [to_document(thing) for thing in things]


_WRITERS: tuple[tuple[Any, Callable[[Any], Any]], ...] = (
    (Enum, lambda thing: thing.value),
    (Decimal, str),
    (date | time, lambda thing: thing.isoformat()),
    (np.ndarray, _array_document),
    (np.integer, int),
    (np.floating, lambda thing: to_document(float(thing))),
    (dict, lambda thing: {str(to_document(key)): to_document(value) for key, value in thing.items()}),
    (frozenset | set, lambda thing: sorted(_listed(thing))),
    (tuple | list, _listed),
)


def from_document(kind: type[T], document: Any, *, where: str = "") -> T:
    """
    Return the ``kind`` of which ``document`` was made by :func:`to_document`.

    Parameters
    ----------
    kind
        A dataclass, or any type that may stand in one's hints.
    document
        What :func:`to_document` returned, perhaps by way of a file.
    where
        What the document is called in messages.

    Raises
    ------
    BadDocument
        If anything in it is missing, unknown, of the wrong kind or refused by the model; says where.

    """
    made: T = _read(kind, document, where)
    return made


def _read(hint: Any, value: Any, where: str) -> Any:
    return _reader(hint)(value, where)


@cache
def _reader(hint: Any) -> Callable[[Any, str], Any]:
    """Return what reads a value of a type; found once for each, since a day holds thousands of values of some fifty."""
    hint = _plain_hint(hint)
    if hint is Any:
        return lambda value, _where: value
    origin, args = get_origin(hint), get_args(hint)
    if origin in (Union, types.UnionType):
        return partial(_read_union, args)
    if hint is np.ndarray or origin is np.ndarray:
        return _read_array
    if origin is dict:
        return partial(_read_dict, args)
    if origin is tuple and not (len(args) == 2 and args[1] is Ellipsis):
        return partial(_read_tuple, args)
    if origin is not None:
        return partial(_read_many, origin, args[0])
    return partial(_read_dataclass if is_dataclass(hint) else _read_plain, hint)


def _plain_hint(hint: Any) -> Any:
    while hasattr(hint, "__supertype__"):  # a NewType stands for what it was made of
        hint = hint.__supertype__
    return hint


def _read_union(choices: tuple[Any, ...], value: Any, where: str) -> Any:
    if value is None and type(None) in choices:
        return None
    faults = []
    for choice in choices:
        if choice is not type(None):
            try:
                return _read(choice, value, where)
            except BadDocument as fault:
                faults.append(fault)
    raise faults[0]


def _read_dict(args: tuple[Any, ...], value: Any, where: str) -> Any:
    _expect(value, dict, where)
    read = _reader(args[1])
    return {_read_key(args[0], key, where): read(item, f"{where}.{key}") for key, item in value.items()}


def _read_tuple(args: tuple[Any, ...], value: Any, where: str) -> Any:
    _expect(value, list, where)
    if len(args) != len(value):
        raise BadDocument(where, f"{len(args)} items are expected, {len(value)} are there")
    return tuple(_read(arg, item, f"{where}[{row}]") for row, (arg, item) in enumerate(zip(args, value, strict=True)))


def _read_many(origin: Any, arg: Any, value: Any, where: str) -> Any:
    _expect(value, list, where)
    read = _reader(arg)
    return origin([read(item, f"{where}[{row}]") for row, item in enumerate(value)])


def _read_key(hint: Any, key: str, where: str) -> Any:
    hint = _plain_hint(hint)
    if hint is int:
        try:
            return int(key)
        except ValueError:
            raise BadDocument(where, f"the key {key!r} is not a whole number") from None
    return _read(hint, key, f"{where} key")


@cache
def _fields(kind: Any) -> tuple[dict[str, Callable[[Any, str], Any]], tuple[str, ...]]:
    """Return what reads each field of a dataclass, and the fields that have no default."""
    known, hints = [field for field in fields(kind) if field.init], get_type_hints(kind)
    bare = tuple(field.name for field in known if field.default is MISSING and field.default_factory is MISSING)
    return {field.name: _reader(hints[field.name]) for field in known}, bare


def _read_dataclass(kind: Any, value: Any, where: str) -> Any:
    _expect(value, dict, where)
    known, bare = _fields(kind)
    if strangers := sorted(value.keys() - known.keys()):
        raise BadDocument(where, f"{', '.join(strangers)} is not known here; a newer homeleg may have written it")
    if missing := [name for name in bare if name not in value]:
        raise BadDocument(where, f"{', '.join(missing)} is missing")
    inside = f"{where}." if where else ""
    read = {name: known[name](item, inside + name) for name, item in value.items()}
    try:
        return kind(**read)
    except ValueError as fault:
        raise BadDocument(where, str(fault).rstrip(".")) from None


def _read_array(value: Any, where: str) -> np.ndarray[Any, Any]:
    _expect(value, dict, where)
    try:
        shape, dtype = tuple(int(size) for size in value["shape"]), np.dtype(value["dtype"])
        if dtype.kind not in "iufb" or min(shape, default=0) < 0 or math.prod(shape) > _MOST_CELLS:
            raise BadDocument(where, "the table has a size or a kind of number that no table has")
        length = math.prod(shape) * dtype.itemsize
        raw = zlib.decompressobj().decompress(base64.b64decode(value["zlib_base64"], validate=True), length + 1)
        if len(raw) != length:
            raise BadDocument(where, f"the table holds {len(raw)} bytes where {length} are expected")
    except (KeyError, TypeError, ValueError, zlib.error) as fault:
        raise BadDocument(where, f"the table cannot be unpacked ({type(fault).__name__}: {fault})") from None
    return np.frombuffer(raw, dtype=dtype).reshape(shape).astype(dtype.newbyteorder("="))


def _read_plain(hint: Any, value: Any, where: str) -> Any:
    if hint is float:
        if isinstance(value, bool) or not isinstance(value, int | float):
            raise BadDocument(where, f"a number is expected, got {value!r}")
        return value  # an int stays one, so that what comes back equals what went in
    if hint in (int, bool, str):
        _expect(value, hint, where)
        return value
    if hint is type(None):
        raise BadDocument(where, f"nothing is expected, got {value!r}")
    _expect(value, str, where)
    try:
        if hint is Decimal:
            return Decimal(value)
        return hint.fromisoformat(value) if hint in (date, time, datetime) else hint(value)
    except (ValueError, InvalidOperation):
        raise BadDocument(where, f"{value!r} is no {hint.__name__}") from None


def _expect(value: Any, kind: type, where: str) -> None:
    if not isinstance(value, kind) or (kind is int and isinstance(value, bool)):
        wanted = {dict: "a group of named values", list: "a list", int: "a whole number", bool: "true or false", str: "text"}
        raise BadDocument(where, f"{wanted[kind]} is expected, got {str(value)[:40]!r}")
