"""Packaged: the tables in ``data`` that come with this room, by the name of their file."""

import csv
import tomllib
from importlib.resources import files
from typing import Any


def packaged_rows(name: str) -> list[dict[str, str]]:
    """Return the rows of a CSV table by heading."""
    return list(csv.DictReader(_text(name).splitlines()))


def packaged_toml(name: str) -> dict[str, Any]:
    """Return what a TOML file holds."""
    return tomllib.loads(_text(name))


def _text(name: str) -> str:
    return (files(__package__) / "data" / name).read_text(encoding="utf-8")
