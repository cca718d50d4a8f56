"""The catalogue of words is whole, and every language is a part of it."""

import re
from pathlib import Path

import pytest

from planner.sheets.words import languages, words

ROOM = Path(__file__).parents[3] / "planner" / "sheets"
HOLE = re.compile(r"\{(\w+)\}")


def test_every_key_that_the_code_asks_for_is_there():
    asked = set()
    for source in ROOM.glob("*.py"):
        asked |= set(re.findall(r"""\bw(?:ords\(\))?(?:\.many)?\(\s*"([a-z_.]+)\"""", source.read_text()))
    for template in (ROOM / "templates").iterdir():
        asked |= set(re.findall(r"""\bw\((?:"en", |l, |language, )?["']([a-z_.]+)["']\)""", template.read_text()))
    assert len(asked) > 150
    assert [key for key in sorted(asked) if key not in words()] == []


@pytest.mark.parametrize("language", languages())
def test_another_language_has_no_key_of_its_own_and_the_same_holes(language):
    english, other = words(), words(language)
    for key in other:
        mine, theirs = str(english.table()[key]), str(other.table()[key])
        assert set(HOLE.findall(mine)) == set(HOLE.findall(theirs)), key


def test_a_list_is_not_a_sentence_and_a_sentence_no_list():
    with pytest.raises(TypeError):
        words()("px.documents")
    with pytest.raises(TypeError):
        words().many("px.title")
    with pytest.raises(KeyError):
        words()("px.no_such")
