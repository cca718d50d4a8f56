"""
Decks: the library of examples, beside the shapes they are made of.

Every figure of the library is invented, though like what runs on the road: replace it by the maker's plate.
"""

from functools import cache
from importlib.resources import files

from planner.model.deck import Deck, Level, MassSum, Shut, Slot, Stack
from planner.model.deck_text import read_decks

__all__ = ["Deck", "Level", "MassSum", "Shut", "Slot", "Stack", "library"]


@cache
def library() -> dict[str, Deck]:
    """Return the example decks by name, from the smallest to the largest."""
    text = files("planner.model").joinpath("deck_library.toml").read_text(encoding="utf-8")
    return read_decks(text, "deck_library.toml")
