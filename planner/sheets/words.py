"""
Words: every sentence that a sheet or the board prints, by key, from one catalogue per language.

``words.en.toml`` is whole; another language may hold any part of it and falls back to English for the rest.
"""

import tomllib
from collections.abc import Iterator, Mapping
from functools import cache
from importlib.resources import files
from typing import Any

ENGLISH = "en"


class Words:
    """
    A catalogue; ``words("run.title")`` is the sentence, with ``{holes}`` filled from keyword arguments.

    >>> words()("unit.miles", miles=12)
    '12 miles'
    """

    def __init__(self, tables: tuple[Mapping[str, Any], ...], language: str = ENGLISH) -> None:
        self._flat: dict[str, str | tuple[str, ...]] = {}
        self.language = language
        for table in tables:
            self._flat.update(_flat(table))

    def __call__(self, key: str, **holes: object) -> str:
        """Return one sentence; KeyError when the catalogue has none of that key or a hole is not filled."""
        found = self._flat[key]
        if isinstance(found, tuple):
            raise TypeError(f"{key} is a list of sentences: ask for it with many().")
        return found.format(**holes) if holes else found

    def many(self, key: str, **holes: object) -> tuple[str, ...]:
        """Return a list of sentences."""
        found = self._flat[key]
        if isinstance(found, str):
            raise TypeError(f"{key} is one sentence: call the words with it.")
        return tuple(sentence.format(**holes) if holes else sentence for sentence in found)

    def __contains__(self, key: object) -> bool:
        return key in self._flat

    def __iter__(self) -> Iterator[str]:
        return iter(self._flat)

    def table(self) -> dict[str, str | tuple[str, ...]]:
        """Return the whole catalogue by dotted key, for a template."""
        return dict(self._flat)


def _flat(table: Mapping[str, Any], before: str = "") -> Iterator[tuple[str, str | tuple[str, ...]]]:
    for key, value in table.items():
        if isinstance(value, Mapping):
            yield from _flat(value, f"{before}{key}.")
        else:
            yield f"{before}{key}", tuple(value) if isinstance(value, list) else str(value)


@cache
def words(language: str = ENGLISH) -> Words:
    """Return the catalogue of a language; raises FileNotFoundError where the project has none."""
    chain = (ENGLISH,) if language == ENGLISH else (ENGLISH, language)
    return Words(tuple(_read(one) for one in chain), language)


def _read(language: str) -> dict[str, Any]:
    return tomllib.loads(files(__package__).joinpath(f"words.{language}.toml").read_text(encoding="utf-8"))


def languages() -> tuple[str, ...]:
    """Return every language that has a catalogue."""
    names = sorted(entry.name for entry in files(__package__).iterdir() if entry.name.startswith("words."))
    return tuple(name.split(".")[1] for name in names if name.endswith(".toml"))
