"""Every page on paper: nothing is cut off, nothing overlaps, whatever the names, and the file is small."""

import re
import shutil
import subprocess
from xml.etree import ElementTree as ET

import pytest

from cli.pages import pdf
from planner.sheets.cover import cover
from planner.sheets.load_sheet import load_sheet
from planner.sheets.pack import pack
from planner.sheets.run_sheet import run_sheet
from planner.sheets.stamp import Stamp
from tests.sheet_days import a_day, a_plan, eleven_cars, many_orders, on_a_deck, ugly_day

STAMP = Stamp(version="7f3a91c2", made_at="Mon 16 Mar 2026 17:42")
A4_MM = (210, 297)


def some_days():
    return {"ordinary": (a_day(), a_plan()), "eleven cars, long names": eleven_cars(), "many": many_orders(1, 5), "a deck": on_a_deck(), "an ugly one": ugly_day()}


def test_the_day_on_a_deck_has_a_load_sheet():
    day, plan = on_a_deck()
    assert pack(day, plan, plan.runs[0]).load_sheet.stages


def sheets_of(day, plan):
    packs = [pack(day, plan, run, stamp=STAMP, buyers_language="cy") for run in plan.runs]
    return [cover(day, plan, stamp=STAMP), *(sheet for one in packs for sheet in one.sheets)]


def pages(content, tmp_path):
    """Each page as its size and its words with their boxes, in points."""
    file = tmp_path / "sheets.pdf"
    file.write_bytes(content)
    xml = subprocess.run(["pdftotext", "-bbox", str(file), "-"], capture_output=True, check=True).stdout.decode()
    space = {"h": "http://www.w3.org/1999/xhtml"}
    for page in ET.fromstring(re.sub(r"<!DOCTYPE[^>]*>", "", xml)).iter(f"{{{space['h']}}}page"):
        words = [(word.text or "", *(float(word.get(side)) for side in ("xMin", "yMin", "xMax", "yMax"))) for word in page.findall("h:word", space)]
        yield float(page.get("width")), float(page.get("height")), words


def cramped(words):
    """Pairs of words of which one lies on the other: more than a point across and nearly half a line down."""
    found, ordered = [], sorted(words, key=lambda word: word[2])
    for at, (text, x1, y1, x2, y2) in enumerate(ordered):
        for other, u1, v1, u2, v2 in ordered[at + 1 :]:
            if v1 > y2:
                break
            if min(x2, u2) - max(x1, u1) > 1 and min(y2, v2) - max(y1, v1) > 0.45 * min(y2 - y1, v2 - v1):
                found.append((text, other))
    return found


@pytest.mark.skipif(shutil.which("pdftotext") is None, reason="no pdftotext (poppler) on this machine")
def test_the_box_of_a_word_is_as_tall_as_its_type(tmp_path):
    (page,) = pages(pdf([cover(a_day(), a_plan())]), tmp_path)
    tall = {text: y2 - y1 for text, _, y1, _, y2 in page[2]}
    assert tall["Runs"] == pytest.approx(16, abs=0.1)  # the title, set in 16 points


def test_words_on_each_other_are_noticed():
    line, next_line, below = ("one", 10, 10, 40, 20), ("two", 30, 12, 60, 22), ("three", 10, 18, 40, 28)
    assert cramped([line, next_line]) == [("one", "two")]
    assert cramped([line, below]) == []


@pytest.mark.skipif(shutil.which("pdftotext") is None, reason="no pdftotext (poppler) on this machine")
@pytest.mark.parametrize("name", some_days())
def test_no_word_leaves_the_page_lies_on_another_or_is_under_eight_points(name, tmp_path):
    """A4 is 210 x 297 mm (ISO 216)."""
    day, plan = some_days()[name]
    for number, (width, height, words) in enumerate(pages(pdf(sheets_of(day, plan)), tmp_path), start=1):
        assert (round(width / 72 * 25.4), round(height / 72 * 25.4)) == A4_MM
        outside = [text for text, x1, y1, x2, y2 in words if x1 < 14 or y1 < 14 or x2 > width - 14 or y2 > height - 14]
        assert outside == [], f"page {number}"
        assert cramped(words) == [], f"page {number}"
        small = [text for text, _, y1, _, y2 in words if y2 - y1 < 7.95]
        assert small == [], f"page {number}"


@pytest.mark.skipif(shutil.which("pdftotext") is None, reason="no pdftotext (poppler) on this machine")
def test_every_page_says_which_plan_it_belongs_to_and_its_number(tmp_path):
    found = list(pages(pdf(sheets_of(a_day(), a_plan())), tmp_path))
    for number, (_, _, words) in enumerate(found, start=1):
        text = " ".join(word[0] for word in words)
        assert "7f3a91c2" in text
        assert re.search(rf"\b(page|tudalen) {number} (of|o) {len(found)}\b", text)


@pytest.mark.skipif(shutil.which("pdftotext") is None, reason="no pdftotext (poppler) on this machine")
def test_an_ordinary_run_sheet_fits_one_page_and_what_is_signed_is_on_the_first(tmp_path):
    day, plan = a_day(), a_plan()
    for run in plan.runs[:2]:
        one = pack(day, plan, run, stamp=STAMP)
        assert len(list(pages(pdf([one.run_sheet]), tmp_path))) == 1
        for sheet in one.door_sheets:
            first = next(iter(pages(pdf([sheet]), tmp_path)))
            assert "signature," in [word[0] for word in first[2]]


@pytest.mark.skipif(shutil.which("pdftotext") is None, reason="no pdftotext (poppler) on this machine")
def test_six_visits_fit_one_page_in_type_that_can_be_read_in_the_rain(tmp_path):
    day, plan = many_orders(1, 5)  # the compound and five doors
    loaded = load_sheet(day, plan.runs[0])
    (page,) = pages(pdf([run_sheet(day, plan, plan.runs[0], stamp=STAMP, loaded=loaded)]), tmp_path)
    tall = [y2 - y1 for text, _, y1, _, y2 in page[2] if text == "Brightwell"]
    assert min(tall) >= 10


@pytest.mark.skipif(shutil.which("pdftotext") is None, reason="no pdftotext (poppler) on this machine")
def test_no_visit_is_split_between_two_pages(tmp_path):
    day, plan = eleven_cars()
    found = list(pages(pdf([run_sheet(day, plan, plan.runs[0], stamp=STAMP)]), tmp_path))
    assert len(found) == 2
    texts = [" ".join(word[0] for word in words) for _, _, words in found]
    for number in range(2, 13):  # from the heading of a visit to the next one, its car goes off
        title = f" {number}. Door {number - 2} near"
        (text,) = [text for text in texts if title in text]
        assert " OFF " in text.split(title)[1].split(f" {number + 1}. Door")[0]


def test_the_same_sheets_give_the_same_bytes_when_the_time_is_given():
    day, plan = a_day(), a_plan()
    at = day.clock.local(0)
    assert pdf([cover(day, plan)], made_at=at) == pdf([cover(day, plan)], made_at=at)


def test_ten_handover_sheets_make_a_small_file():
    day, plan = many_orders(2, 5)
    sheets = [sheet for run in plan.runs for sheet in pack(day, plan, run).door_sheets]
    assert len(sheets) == 10
    assert len(pdf(sheets)) < 600_000


@pytest.mark.skipif(shutil.which("pdftotext") is None, reason="no pdftotext (poppler) on this machine")
def test_what_is_signed_is_on_the_first_page_however_much_is_known_of_a_car(tmp_path):
    day, plan = ugly_day()
    for run in plan.runs:
        for sheet in pack(day, plan, run, stamp=STAMP, buyers_language="cy").door_sheets[:4]:
            first = next(iter(pages(pdf([sheet]), tmp_path)))
            assert "signature," in [word[0] for word in first[2]]
