"""The board in a real browser: pick a run, filter a table, follow an order, print, on a phone, with no network."""

from itertools import pairwise

import pytest

from maps.route_map import route_map
from planner.sheets.board import board_page
from planner.sheets.stamp import Stamp
from tests.browser import Browser, why_not
from tests.sheet_days import a_day, a_plan, many_orders

pytestmark = [pytest.mark.browser, pytest.mark.skipif(bool(why_not()), reason=why_not() or "a browser is here")]


@pytest.fixture(scope="module")
def browser():
    chosen = Browser()
    yield chosen
    chosen.close()


@pytest.fixture
def board(browser, tmp_path):
    page = tmp_path / "board.html"
    page.write_text(board_page(a_day(), a_plan(), route_map(a_day(), a_plan()), stamp=Stamp(version="7f3a91c2", made_at="now")), encoding="utf-8")
    browser.resize(1300, 900)
    browser.open(page)
    yield browser
    assert browser.console() == []
    assert browser.requests() == []


def rows(board, table):
    return board.run(f"return Array.from(document.querySelectorAll('#{table} tbody tr')).filter(r => !r.hidden).map(r => r.cells[0].textContent.trim())")


def test_a_run_is_picked_and_followed_leg_by_leg(board):
    shown = "return Array.from(document.querySelectorAll('.stop-mark.on')).map(m => m.textContent)"
    assert board.run(shown) == []
    board.click(".picker [data-pick='R2']")
    assert board.run(shown) == ["1", "2", "3"]
    assert board.run("return document.querySelector(\"[data-pick='R2']\").getAttribute('aria-pressed')") == "true"
    assert board.run("return Array.from(document.querySelectorAll('.picked')).map(e => e.dataset.run)") == ["R2", "R2"]
    board.click("#next-leg")
    assert "Drive to Kettering" in board.run("return document.getElementById('leg-says').textContent")
    board.click("#next-leg")
    weights = board.run("return routeMap.runs.R2.lines.map(line => line.options.weight)")
    assert weights == [5, 7, 5]
    board.click("#previous-leg")
    assert "Kettering" in board.run("return document.getElementById('leg-says').textContent")
    board.click("#all-runs")
    assert board.run(shown) == []


def test_a_leg_with_a_break_shows_both_drives(board):
    board.click(".picker [data-pick='R1']")
    board.click("#next-leg")
    says = board.run("return document.getElementById('leg-says').textContent")
    assert says.startswith("06:45 Drive to Cardiff")
    assert "Drive on to Cardiff" in says
    assert board.run("return document.querySelectorAll('.steps li.now').length") == 2


def test_a_run_is_picked_by_its_line_on_the_map(board):
    board.run("routeMap.runs.R1.lines[0].fire('click')")
    assert board.run("return document.querySelector(\".picker [aria-pressed='true']\").dataset.pick") == "R1"


def test_a_table_is_filtered_by_words_and_by_state_and_sorted(board):
    assert rows(board, "order-table") == ["H-190", "H-101", "H-102", "H-103", "H-104"]
    board.type("[data-table='order-table'] input", "brightwell cardiff")
    assert rows(board, "order-table") == ["H-102"]
    assert board.run("return document.querySelector(\"[data-table='order-table'] output\").textContent") == "1 / 5"
    board.run("var f = document.querySelector(\"[data-table='order-table']\"); f.elements.text.value = ''; f.elements.state.value = 'held'; f.dispatchEvent(new Event('input'))")
    assert rows(board, "order-table") == ["H-190"]
    board.click("#run-table thead th:nth-child(10) button")
    assert rows(board, "run-table") == ["R3", "R1", "R2"]  # £164.40, £183.25, £299.54
    board.click("#run-table thead th:nth-child(10) button")
    assert rows(board, "run-table") == ["R2", "R1", "R3"]


def test_an_order_is_followed_from_what_needs_a_decision_to_its_story(board):
    board.run("document.querySelector(\".decisions a[href='#order-H-190']\").click()")
    board.run("window.dispatchEvent(new HashChangeEvent('hashchange'))")
    story = board.run("return document.querySelector('#order-H-190 details').open && document.querySelector('#order-H-190 details').textContent")
    assert "Confirm the bank transfer" in story
    assert "Accounts has until Mon 17:00" in story


def test_an_order_leads_to_its_run_on_the_map(board):
    board.run("document.querySelector('#order-H-102 details').open = true")
    board.click("#order-H-102 [data-pick]")
    assert board.run("return document.querySelector(\".picker [aria-pressed='true']\").dataset.pick") == "R1"
    centre = board.run("var c = routeMap.map.getCenter(); return [c.lng, c.lat]")
    assert centre == pytest.approx([-3.18, 51.48], abs=0.01)


def test_keys_are_enough(board):
    board.run("document.querySelector(\".picker [data-pick='R2']\").focus(); document.activeElement.click()")
    board.press("n")
    assert "Kettering" in board.run("return document.getElementById('leg-says').textContent")
    board.press("Escape")
    assert board.run("return document.querySelector('.follow').hidden") is True


def test_everything_that_can_be_pressed_has_a_name_and_every_picture_a_sentence(board):
    """WCAG 2.2, 4.1.2 name, role, value and 1.1.1 non-text content."""
    nameless = "return Array.from(document.querySelectorAll('button, a, input, select, summary')).filter(e => !(e.textContent.trim() || e.getAttribute('aria-label') || e.labels && e.labels.length)).map(e => e.outerHTML)"
    assert board.run(nameless) == []
    silent = "return Array.from(document.querySelectorAll('svg.line')).filter(e => !(e.getAttribute('aria-label') || '').includes('driving') && !e.closest(\"[data-run='R3']\")).length"
    assert board.run(silent) == 0
    assert board.run("return Array.from(document.querySelectorAll('h1, h2, h3')).map(h => h.tagName)[0]") == "H1"
    assert board.run("return document.documentElement.lang") == "en"


def test_a_phone_reads_it_without_scrolling_sideways(board):
    board.resize(390, 844)
    assert board.run("return document.documentElement.scrollWidth <= document.documentElement.clientWidth")


def test_the_print_view_shows_decisions_and_time_lines_and_no_buttons(board):
    board.devtools("Emulation.setEmulatedMedia", media="print")
    try:
        visible = "return ['.no-print', '.decisions li', 'svg.line'].map(s => Array.from(document.querySelectorAll(s)).filter(e => e.getClientRects().length).length)"
        assert board.run(visible) == [0, 4, 3]
    finally:
        board.devtools("Emulation.setEmulatedMedia", media="")
    assert board.pdf(landscape=True).startswith(b"%PDF")


def test_everything_is_reached_and_worked_with_the_keyboard_alone(board):
    """WCAG 2.2, 2.1.1 Keyboard, 2.1.2 No Keyboard Trap and 2.4.7 Focus Visible."""
    at = "var e = document.activeElement; return [e.tagName, e.id || e.dataset.pick || e.closest('[data-run]')?.dataset.run || '', e.matches(':focus-visible')]"
    wanted = board.run("return document.querySelectorAll('a[href], button, summary, input, select, .folium-map').length")
    board.press("Tab")
    assert board.run("return document.activeElement.className") == "skip"
    board.press("Enter")
    assert board.run("return document.activeElement.id") == "decide"
    board.run("document.activeElement.blur(); document.body.focus()")
    seen = []
    for _ in range(wanted + 5):
        board.press("Tab")
        seen.append(board.run(at))
        if seen[-1][:2] == ["BUTTON", "R2"] and board.run("return document.activeElement.closest('.picker') !== null"):
            board.press("Enter")
        if seen[-1][0] == "SUMMARY" and seen[-1][1] == "R2":
            board.press("Enter")
        if seen[-1][0] == "BODY":
            break
    assert seen[-1][0] == "BODY"  # through the whole page and out again
    assert all(visible for tag, _, visible in seen if tag != "BODY")
    assert {"BUTTON", "SUMMARY", "INPUT", "SELECT", "A", "DIV"} <= {tag for tag, _, _ in seen}
    assert board.run("return document.querySelector(\".picker [aria-pressed='true']\").dataset.pick") == "R2"
    assert board.run("return document.getElementById('run-R2').open")


def test_what_is_folded_on_the_screen_is_open_on_paper(board):
    opened = "return Array.from(document.querySelectorAll('details.notes')).map(e => e.open)"
    assert board.run(opened) == [False]
    board.run("window.dispatchEvent(new Event('beforeprint'))")
    assert board.run(opened) == [True]
    board.run("window.dispatchEvent(new Event('afterprint'))")
    assert board.run(opened) == [False]


def test_the_hours_on_a_phone_stand_clear_of_each_other(board):
    board.resize(390, 844)
    edges = board.run("return Array.from(document.querySelectorAll('.axis text')).map(e => e.getBoundingClientRect()).filter(b => b.width).map(b => [b.left, b.right])")
    assert len(edges) >= 3
    assert all(left[1] + 4 < right[0] for left, right in pairwise(edges))


def test_the_map_is_laid_out_for_paper_and_again_for_the_screen(board):
    size = "var s = routeMap.map.getSize(); return [s.x, s.y]"
    before = board.run(size)
    board.run("window.dispatchEvent(new Event('beforeprint'))")
    # 265 x 140 mm at 96 dots an inch, less a border of one dot on each side
    assert board.run(size) == pytest.approx([265 / 25.4 * 96 - 2, 140 / 25.4 * 96 - 2], abs=1.5)
    board.run("window.dispatchEvent(new Event('afterprint'))")
    assert board.run(size) == before


def test_a_board_of_150_orders_is_drawn_in_two_seconds(browser, tmp_path):
    day, plan = many_orders()
    page = tmp_path / "many.html"
    page.write_text(board_page(day, plan, route_map(day, plan)), encoding="utf-8")
    # seconds of the page's own thread, so that a busy machine does not decide
    browser.devtools("Performance.enable", timeDomain="threadTicks")
    browser.open(page)
    browser.run("document.body.offsetHeight")
    told = {row["name"]: row["value"] for row in browser.devtools("Performance.getMetrics")["metrics"]}
    browser.devtools("Performance.disable")
    assert 0 < told["TaskDuration"] < 2
    assert browser.console() == []
