"""The sheets as a web page: the same data as on paper, and what they say pinned down by snapshots."""

import os
import re
from pathlib import Path

import pytest

from planner.sheets.cover import cover
from planner.sheets.html_pages import html_pages
from planner.sheets.pack import pack
from planner.sheets.stamp import Stamp
from tests.browser import Browser, why_not
from tests.sheet_days import a_day, a_plan, eleven_cars

SNAPSHOTS = Path(__file__).parent / "snapshots"
STAMP = Stamp(version="00000000", made_at="then")


def page(day, plan, run, language=None):
    one = pack(day, plan, run, stamp=STAMP, buyers_language=language)
    return html_pages(one.sheets, title=one.name)


def plain(html):
    """What a reader hears: tags, drawings and codes taken out, one line for each block."""
    body = re.sub(r"<svg.*?</svg>", "", html[html.index("<body>"):], flags=re.DOTALL)
    body = re.sub(r"<(?:p|h\d|tr|li|div|article|br)\b[^>]*>", "\n", body)
    lines = (" ".join(re.sub(r"<[^>]+>", " ", line).split()) for line in body.split("\n"))
    return "\n".join(line for line in lines if line) + "\n"


@pytest.mark.parametrize("number", [0, 1, 2])
def test_what_the_sheets_say_is_as_it_was(number):
    """Set HOMELEG_UPDATE_SNAPSHOTS=1 to write them anew, then read what changed."""
    run = a_plan().runs[number]
    said, file = plain(page(a_day(), a_plan(), run, language="cy" if number == 0 else None)), SNAPSHOTS / f"{run.run_id}.txt"
    if os.environ.get("HOMELEG_UPDATE_SNAPSHOTS"):
        SNAPSHOTS.mkdir(exist_ok=True)
        file.write_text(said, encoding="utf-8")
    assert said == file.read_text(encoding="utf-8")


def test_the_cover_lists_runs_by_their_start_and_what_is_held():
    said = plain(html_pages([cover(a_day(), a_plan(), stamp=STAMP)], title="cover"))
    assert said.index("R1 Pat Plate") < said.index("R2 Terry Transporter") < said.index("R3 Hired and Sons")
    assert "H-190 Confirm the bank transfer of order H-190 (Accounts), by Mon 17:00" in said


def test_the_page_asks_the_network_for_nothing_and_escapes_names():
    html = page(a_day(), a_plan(), a_plan().runs[0])
    assert re.findall(r"""(?:src|href)=["'](?!data:|#|tel:|geo:)""", html) == []
    assert "default-src 'none'" in html


@pytest.mark.browser
@pytest.mark.skipif(bool(why_not()), reason=why_not() or "a browser is here")
def test_nothing_sticks_out_on_a_screen_or_a_phone(tmp_path):
    day, plan = eleven_cars()
    file = tmp_path / "pack.html"
    file.write_text(page(day, plan, plan.runs[0]), encoding="utf-8")
    browser = Browser()
    try:
        browser.open(file)
        for width in (1300, 390):
            browser.resize(width, 900)
            assert browser.run("return document.documentElement.scrollWidth <= document.documentElement.clientWidth")
            out = "return Array.from(document.querySelectorAll('td, p, li, h1')).filter(e => e.scrollWidth > e.clientWidth + 1).map(e => e.textContent.slice(0, 40))"
            assert browser.run(out) == []
        assert browser.console() == []
        assert browser.requests() == []
    finally:
        browser.close()
