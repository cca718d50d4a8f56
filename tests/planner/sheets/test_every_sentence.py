"""
Every printed sentence is in the catalogue or comes with the day: the pages are made with a catalogue in another alphabet.

Each letter of the catalogue is put into Cyrillic, letter for letter; whatever the pages then still say in our letters has to
be found in the day or in its plan.
"""

import calendar
import re
import shutil
import subprocess
from collections.abc import Mapping
from dataclasses import fields, is_dataclass
from enum import Enum
from html.parser import HTMLParser

import pytest

from cli.pages import pdf
from planner.rules.books import BOOK_NAMES, book_named
from planner.sheets import html_pages
from planner.sheets import words as catalogue
from planner.sheets.board import board_page
from planner.sheets.buyer_texts import buyer_texts
from planner.sheets.calendars import crew_calendar
from planner.sheets.cover import cover
from planner.sheets.pack import pack
from planner.sheets.rule_names import rule_name
from planner.sheets.stamp import Stamp
from tests.sheet_days import a_day, a_plan, on_a_deck, ugly_day

HOLE = re.compile(r"(\{\w+\})")
CYRILLIC = {ord(letter): chr(0x430 + at) for at, letter in enumerate("abcdefghijklmnopqrstuvwxyz")}
CYRILLIC |= {ord(letter.upper()): chr(0x410 + at) for at, letter in enumerate("abcdefghijklmnopqrstuvwxyz")}
#: Not sentences: signs of units, the names of days and months as the clock gives them.
SIGNS = {"h", "m", "kg", "geo", *calendar.day_name, *calendar.day_abbr, *calendar.month_name, *calendar.month_abbr}
STAMP = Stamp(version="7f3a91c2", made_at="Mon 16 Mar 2026 17:42")


def in_cyrillic(table):
    def put(value):
        if isinstance(value, list):
            return [put(one) for one in value]
        return "".join(part if HOLE.fullmatch(part) else part.translate(CYRILLIC) for part in HOLE.split(value))

    return {key: in_cyrillic(value) if isinstance(value, Mapping) else put(value) for key, value in table.items()}


@pytest.fixture
def cyrillic(monkeypatch):
    """The catalogue in Cyrillic letters for as long as a test lasts."""
    read = catalogue._read
    monkeypatch.setattr(catalogue, "_read", lambda language: in_cyrillic(read(language)))
    for one in (catalogue.words, html_pages._template):
        one.cache_clear()
    yield
    for one in (catalogue.words, html_pages._template):
        one.cache_clear()


def texts_of(thing):
    """Every text that a day or a plan holds; enumerations are not among them, they have to be put into words."""
    if isinstance(thing, Enum):
        return
    if isinstance(thing, str):
        yield thing
    elif isinstance(thing, Mapping):
        for key, value in thing.items():
            yield from texts_of(key)
            yield from texts_of(value)
    elif isinstance(thing, tuple | list | frozenset):
        for one in thing:
            yield from texts_of(one)
    elif is_dataclass(thing):
        for field in fields(thing):
            if not (type(thing).__name__ in ("Activity", "Counter") and field.name in ("says", "rule")):  # those have words of their own
                yield from texts_of(getattr(thing, field.name))


class _Texts(HTMLParser):
    def __init__(self):
        super().__init__()
        self.found, self.inside = [], ""

    def handle_starttag(self, tag, attributes):
        self.inside = tag
        self.found += [value for name, value in attributes if name in ("aria-label", "title", "alt", "placeholder") and value]

    def handle_endtag(self, _):
        self.inside = ""

    def handle_data(self, data):
        if self.inside not in ("script", "style"):
            self.found.append(data)


def texts_on(html):
    reader = _Texts()
    reader.feed(html)
    return reader.found


def of_nowhere(texts, day, plan):
    """The words in our letters that are neither in the day nor in its plan."""
    known = {word for text in texts_of((day, plan, STAMP)) for word in re.findall(r"[A-Za-z]+", text)} | SIGNS
    known |= {"A", "B", "C", "D", "J", "P"} | {word[:1] for word in known}  # initials
    return sorted({word for text in texts for word in re.findall(r"[A-Za-z]+", text) if word not in known})


def pages_of(day, plan):
    packs = [pack(day, plan, run, stamp=STAMP, buyers_language="cy") for run in plan.runs]
    return [cover(day, plan, stamp=STAMP), *(sheet for one in packs for sheet in one.sheets)]


DAYS = {"ordinary": lambda: (a_day(), a_plan()), "ugly": ugly_day, "a deck": on_a_deck}


@pytest.mark.usefixtures("cyrillic")
@pytest.mark.parametrize("name", DAYS)
def test_the_sheets_say_nothing_that_is_neither_in_the_catalogue_nor_of_the_day(name):
    day, plan = DAYS[name]()
    assert of_nowhere(texts_on(html_pages.html_pages(pages_of(day, plan), title="")), day, plan) == []


@pytest.mark.usefixtures("cyrillic")
@pytest.mark.parametrize("name", DAYS)
def test_nor_does_the_board(name):
    day, plan = DAYS[name]()
    assert of_nowhere(texts_on(board_page(day, plan, stamp=STAMP)), day, plan) == []


@pytest.mark.usefixtures("cyrillic")
def test_nor_do_messages_and_shifts():
    day, plan = a_day(), a_plan()
    assert of_nowhere([text.says for text in buyer_texts(day, plan)], day, plan) == []
    shifts = crew_calendar(day, plan, plan.runs[0].itinerary.driver, made_at=day.clock.local(0)).replace("\r\n ", "")
    told = [text.replace(r"\n", " ") for text in re.findall(r"(?:SUMMARY|LOCATION|DESCRIPTION):(.*)", shifts)]
    assert len(told) == 3
    assert of_nowhere(told, day, plan) == []


@pytest.mark.usefixtures("cyrillic")
@pytest.mark.skipif(shutil.which("pdftotext") is None, reason="no pdftotext (poppler) on this machine")
@pytest.mark.parametrize("name", DAYS)
def test_nor_does_the_paper(name, tmp_path):
    day, plan = DAYS[name]()
    file = tmp_path / "pack.pdf"
    file.write_bytes(pdf(pages_of(day, plan)))
    text = subprocess.run(["pdftotext", "-layout", str(file), "-"], capture_output=True, check=True).stdout.decode()
    assert of_nowhere([text], day, plan) == []


@pytest.mark.usefixtures("cyrillic")
def test_a_sentence_from_elsewhere_is_noticed():
    day, plan = a_day(), a_plan()
    html = html_pages.html_pages(pages_of(day, plan), title="").replace("<h2>", "<h2>Mind the step. ", 1)
    assert of_nowhere(texts_on(html), day, plan) == ["Mind", "step"]


def test_no_word_of_the_catalogue_itself_is_taken_for_the_days():
    """Without the other alphabet the pages are full of words that the day does not have."""
    day, plan = a_day(), a_plan()
    assert len(of_nowhere(texts_on(html_pages.html_pages(pages_of(day, plan), title="")), day, plan)) > 200


@pytest.mark.parametrize("book", BOOK_NAMES)
def test_every_limit_of_a_book_that_is_counted_has_its_words(book):
    """The words follow the law in the book; a limit whose name changed there would no longer be found."""
    w = catalogue.words()
    named = {row.key for row in book_named(book).rows.values() if f"rule.{book}.{row.key}" in w}
    assert named >= {"daily_driving", "between_weekly_rests"}
    for key in named:
        assert rule_name(book, book_named(book).rows[key].says, w) == w(f"rule.{book}.{key}")
    assert {key for key in w if key.startswith(f"rule.{book}.")} == {f"rule.{book}.{key}" for key in named}
