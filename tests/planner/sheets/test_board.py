"""The board as a page: what it says, what it must not say, how large it is."""

import re
from dataclasses import replace
from datetime import timedelta
from html.parser import HTMLParser

import pytest

from maps.route_map import route_map
from planner.model.moves import MoveKind
from planner.model.places import Window
from planner.model.travel import ChargeKind
from planner.runs.sharing import share_costs
from planner.sheets.board import board_page, cost_table, figures
from planner.sheets.decisions import Pressing, decisions
from planner.sheets.run_style import run_style
from planner.sheets.story import story
from planner.sheets.time_line import Scale, limits_ahead, scale_of, time_line_svg
from planner.sheets.words import words
from planner.units import pounds_text
from tests.sheet_days import (
    DOORS,
    HELD,
    ORDERS,
    SEVERN,
    TOO_FAR,
    a_day,
    a_plan,
    car,
    many_orders,
    order,
    plate_run,
    transporter_run,
)


def test_the_page_asks_the_network_for_nothing_and_forbids_it():
    page = board_page(a_day(), a_plan(), route_map(a_day(), a_plan()))
    assert re.findall(r"""(?:src|href)=["'](?!data:|#)""", page) == []
    assert "default-src 'none'" in page


def test_equal_plans_give_equal_pages():
    assert board_page(a_day(), a_plan()) == board_page(a_day(), a_plan())


def test_figures_add_up_with_the_plan():
    # 183.25 + 299.54 + 164.40 = 647.19; with 1,500.00 for what stays behind 2,147.19; (214719 - 210000) / 210000 = 2.25 %
    found = figures(a_day(), a_plan())
    assert (found.money, found.behind, found.cost, found.gap) == ("£647.19", "£1,500.00", "£2,147.19", "2.25%")
    assert (found.kept, found.promised) == (3, 5)  # one order too far, one held


def test_a_promise_of_yesterday_is_not_kept_today():
    day = a_day()
    first = replace(day.orders[0], promise=replace(day.orders[0].promise, day=day.clock.day - timedelta(days=1)))
    late = figures(replace(day, orders=(first, *day.orders[1:])), a_plan())
    assert (late.kept, late.promised) == (2, 5)


def test_a_plan_without_a_bound_says_so():
    found = figures(a_day(), replace(a_plan(), bound=None))
    assert (found.bound, found.gap) == ("not known yet", "not known")


def test_costs_by_kind_are_those_of_the_runs_dearest_first():
    table = cost_table(a_plan())
    assert table[0] == ("wages", "£256.79", "40%")  # 120.25 + 136.54
    assert sum(round(float(pounds[1:].replace(",", "")) * 100) for _, pounds, _ in table) == a_plan().runs_pence


def test_what_needs_a_decision_comes_most_pressing_first_with_one_thing_to_do():
    found = decisions(a_day(), a_plan())
    assert [one.kind for one in found] == [Pressing.HELD, Pressing.NOT_KEPT, Pressing.TIGHT, Pressing.PRICE, Pressing.NOTE]
    assert (found[0].to_do, found[0].who, found[0].by) == ("Confirm the bank transfer of order H-190", "Accounts", "Mon 17:00")
    assert "0 h 05 left of 11 h 00" in found[2].to_do


@pytest.mark.parametrize(
    ("kind", "has_bands", "says"),
    [
        (ChargeKind.TOLL, True, "To be looked up since 01 January 2026."),
        (ChargeKind.ZONE, False, "To be looked up since 01 January 2026."),  # free for these vehicles, as far as we know
        (ChargeKind.FERRY, False, "No price is known: ask when booking, and add it to what the run costs."),
    ],
)
def test_only_a_ferry_without_prices_has_to_be_asked_for_one(kind, has_bands, says):
    charge = replace(SEVERN, kind=kind, bands=SEVERN.bands if has_bands else ())
    found = [one for one in decisions(a_day(charges=(charge,)), a_plan()) if one.kind is Pressing.PRICE]
    assert [one.to_do for one in found] == [says]


def test_a_part_exchange_that_stays_with_its_delivery_is_told_once():
    day, plan = a_day(), a_plan()
    left = tuple(replace(plan.not_placed[0], move=move) for move in ("H-102", "H-102-px"))
    told = [one.order for one in decisions(day, replace(plan, runs=(), not_placed=left)) if one.kind is Pressing.NOT_KEPT]
    assert told == ["H-102"]


def test_the_story_of_an_order_that_goes():
    told = " ".join(story(a_day(), a_plan(), ORDERS[1]))
    assert "Pat Plate takes it (trade plates), run R1, visit 2." in told
    assert "arrives at 10:00 and waits until the window opens at 11:00" in told
    shares = {share.move: share.pence for share in share_costs(a_day(), plate_run())}
    assert sum(shares.values()) == 18_325
    assert f"It costs {pounds_text(shares['H-102'])} of the £183.25 of its run: £18.00 that is its own alone" in told  # the re-valet
    assert "Hired and Sons (invented) would take it alone for £145.28." in told  # 194.843 km = 121.07 miles at 120p
    assert "charged £199.00" in told


def test_the_story_of_an_order_that_stays_and_of_one_that_may_not_be_driven():
    assert "cannot be reached before 11:00" in story(a_day(), a_plan(), TOO_FAR)[0]
    assert "Carried, because it may not be driven on the road." in story(a_day(), a_plan(), ORDERS[2])


def test_the_story_names_the_other_doors_of_the_run_and_why_no_carrier_is_hired():
    day, plan = a_day(), a_plan()
    assert "The same run serves Glossop." in " ".join(story(day, plan, ORDERS[0]))
    small = replace(day, carriers=(replace(day.carriers[0], max_miles=10),))
    assert "No hired carrier takes it: it is farther than Hired and Sons (invented)'s 10 miles." in story(small, plan, ORDERS[0])
    nobody = replace(plan, runs=plan.runs[:2])
    assert "alone for" not in " ".join(story(replace(day, carriers=()), nobody, ORDERS[0]))


def test_promises_with_the_same_window_share_a_line_that_names_their_visits():
    run, window = transporter_run(), Window(opens_min=540, closes_min=720)
    run = replace(run, visits=tuple(replace(visit, window=window) for visit in run.visits))
    svg = time_line_svg(a_day(), run, Scale(360, 1080), run_style(0))
    assert re.findall(r'class="window-mark"[^>]*>([^<]*)', svg) == ["2, 3"]
    assert "<title>2, 3: 09:00-12:00</title>" in svg


def test_the_scale_leaves_room_for_the_limits_just_ahead():
    """The latest home, 20:00, is seen although the last run ends at 19:50."""
    late = tuple(replace(step, end_min=1190) if step.end_min == 985 else step for step in transporter_run().activities)
    assert scale_of((replace(transporter_run(), activities=late),)) == Scale(360, 1260)


def test_time_lines_share_one_scale_and_say_in_words_what_they_draw():
    scale = scale_of(a_plan().runs)
    assert scale == Scale(360, 1080)
    svg = time_line_svg(a_day(), plate_run(), scale, run_style(0))
    # driving 120 + 60 + 180 minutes
    assert 'aria-label="R1, 06:30 to 15:45: other work 1 h 15, driving 6 h 00, break 1 h 00, waiting 1 h 00"' in svg
    assert 'x="4.17%" width="2.08%"' in svg  # 06:30 is 30 of 720 minutes, 15 minutes wide


def test_the_limits_ahead_are_the_latest_home_and_what_duty_leaves():
    found = limits_ahead(a_day(), plate_run(), words())
    assert found == [(1200, "to be home by 20:00"), (950, "duty in a day: 15:50")]


def test_forty_two_runs_look_different():
    assert len({run_style(number) for number in range(42)}) == 42


def test_a_board_of_150_orders_is_under_three_megabytes():
    day, plan = many_orders()
    page = board_page(day, plan, route_map(day, plan))
    assert len(day.orders) == 150
    assert len(page.encode()) < 3_000_000


class Tags(HTMLParser):
    """Complains about tags that are not closed in turn."""

    VOID = frozenset({"meta", "link", "input", "br", "path", "rect", "line", "circle"})

    def __init__(self):
        super().__init__()
        self.open, self.wrong = [], []

    def handle_starttag(self, tag, _attributes):
        if tag not in self.VOID:
            self.open.append(tag)

    def handle_endtag(self, tag):
        if tag not in self.VOID and (not self.open or self.open.pop() != tag):
            self.wrong.append((tag, self.getpos()))


def test_every_tag_is_closed_in_turn_and_names_are_escaped():
    day = a_day()
    nasty = replace(day.orders[0], buyer=replace(day.orders[0].buyer, name="A <script>alert(1)</script>"))
    page = board_page(replace(day, orders=(nasty, *day.orders[1:])), a_plan())
    assert "<script>alert" not in page
    tags = Tags()
    tags.feed(page)
    assert (tags.wrong, tags.open) == ([], [])


def test_a_day_on_which_nothing_runs_still_has_a_board():
    day, nothing = a_day(), replace(a_plan(), runs=(), not_placed=(), bound=None)
    page = board_page(day, nothing, route_map(day, nothing))
    assert "H-190 held at" in page
    assert cost_table(nothing) == ()


def test_where_many_runs_are_tight_the_tightest_come_first_and_the_rest_is_folded_away():
    day, plan = many_orders(8, 1)
    left = (40, 5, 30, 20, 10, 50, 15, 25)  # minutes of a limit of 600; under 60 is tight
    runs = tuple(replace(run, counters=(replace(run.counters[0], used=600 - minutes),)) for run, minutes in zip(plan.runs, left, strict=True))
    tight = [one.run for one in decisions(day, replace(plan, runs=runs)) if one.kind is Pressing.TIGHT]
    assert tight == ["R2", "R5", "R7", "R4", "R8", "R3", "R1", "R6"]
    page = board_page(day, replace(plan, runs=runs))
    assert "3 more runs with tight hours" in page
    assert page.index("Driver 7 Withalongname, R8") < page.index("3 more runs") < page.index("Tight hours: Driver 2 Withalongname, R3")


def test_a_transfer_that_stays_is_told_by_where_it_was_to_go():
    day = a_day()
    transfer = replace(day.moves[5], kind=MoveKind.TRANSFER, destination=day.places[1].place_id)
    found = decisions(replace(day, moves=(*day.moves[:5], transfer)), a_plan())
    assert [one.title for one in found if one.kind is Pressing.NOT_KEPT] == ["Transfer stays: FA12 RRR Ostrava Mule to Taunton branch TA1 2BB"]


def test_what_changed_stands_before_what_needs_a_decision():
    page = board_page(a_day(), a_plan(), changes=("LL-1: D2 in place of D1 <at once>.",))
    assert page.index("D2 in place of D1 &lt;at once&gt;.") < page.index('id="decide-title"')
    assert 'id="changes"' not in board_page(a_day(), a_plan())


def test_an_order_that_is_done_otherwise_is_marked_with_how_it_was_and_so_is_its_run():
    day, plan = a_day(), a_plan()
    move = next(move for run in plan.runs for move in run.itinerary.moves if day.move_of[move].order is not None)
    order = str(day.move_of[move].order)
    run = next(run for run in plan.runs if move in run.itinerary.moves)

    def row(page, begin):
        start = page.index(begin)
        return page[start : page.index("</tr>", start)]

    page = board_page(day, plan, was={str(move): "D9 <with> T9, 10:40"})
    assert "<mark>was D9 &lt;with&gt; T9, 10:40</mark>" in row(page, f'id="order-{order}"')
    assert "<mark>changed</mark>" in row(page, f'" data-run="{run.run_id}"><th')
    assert page.count("<mark>changed</mark>") == 2, "in the table of runs and on the time line, no other run"
    assert "<mark>new</mark>" in row(board_page(day, plan, was={str(move): ""}), f'id="order-{order}"')
    assert "<mark>" not in board_page(day, plan)


def test_a_return_that_is_fetched_is_on_the_board_at_the_hour_of_its_door():
    fetched = order("R-7", car("RE70TRN", "Aldine Vesper 1.2"), DOORS[2], "Bea Returns", 540, 720)
    moves = tuple(replace(one, order=fetched.ref) if one.move_id == "R-7" else one for one in a_day().moves)
    day = replace(a_day(), orders=(*a_day().orders, fetched), moves=moves)
    html = board_page(day, a_plan())
    row = html.split('<tr id="order-R-7"')[1].split("</tr>")[0]
    assert 'data-state="placed"' in row
    assert "<td>R3</td>" in row
    assert "Hired and Sons" in " ".join(story(day, a_plan(), fetched))
    assert figures(day, a_plan()) == figures(a_day(), a_plan())  # no promise to a buyer


def test_what_has_to_be_done_ends_with_one_full_stop():
    hold = HELD.hold
    assert hold is not None
    held = replace(HELD, hold=replace(hold, to_do="Valet the car."))
    assert story(replace(a_day(), held=(held,)), a_plan(), held)[0].startswith('Held at "Funds cleared": Valet the car. Accounts has')
