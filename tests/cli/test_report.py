"""The report command: finds the plans of a period, writes every file, and says plainly what is missing."""

import json
from dataclasses import replace
from datetime import timedelta

import pytest

from planner.clock import DayClock
from planner.runs.costing import price
from planner.runs.plan_document import plan_to_document
from tests.planner.runs.refereed import legal_day, legal_plan


@pytest.fixture
def folder(tmp_path):
    """Two days of plans, 10 and 11 June 2026."""
    day, plan = legal_day(), legal_plan()
    for number in (0, 1):
        own = replace(day, clock=DayClock(day.clock.day + timedelta(days=number)))
        runs = tuple(replace(run, costs=price(own, run)) for run in plan.runs)
        (tmp_path / f"day{number}").mkdir()
        (tmp_path / f"day{number}" / "plan.json").write_text(json.dumps(plan_to_document(own, replace(plan, runs=runs))))
    return tmp_path


def test_a_report_of_two_days_is_written_whole(run, folder):
    answer = run("report", "--from", "2026-06-01", "--to", "2026-06-30", "--folder", str(folder), "--out", str(folder / "out"))
    assert answer.returncode == 0, answer.stderr
    assert "Days                                                   2" in answer.stdout
    assert {path.name for path in (folder / "out").iterdir()} >= {"report.html", "report.xlsx", "cars.csv", "by_method.csv"}


def test_only_the_days_asked_for_count(run, folder):
    answer = run("report", "--from", "2026-06-11", "--to", "2026-06-11", "--folder", str(folder), "--out", str(folder / "out"))
    assert "Days                                                   1" in answer.stdout


def test_a_period_without_plans_and_a_period_turned_round_say_so(run, folder):
    answer = run("report", "--from", "2025-01-01", "--to", "2025-01-31", "--folder", str(folder))
    assert answer.returncode == 1
    assert "has no plan from 2025-01-01 to 2025-01-31. It has 2, from 2026-06-10 to 2026-06-11." in answer.stderr
    turned = run("report", "--from", "2026-02-01", "--to", "2026-01-01", "--folder", str(folder))
    assert turned.returncode == 2
    assert "Swap the two" in turned.stderr


def test_two_plans_of_one_day_are_not_added_up(run, folder):
    (folder / "copy").mkdir()
    (folder / "copy" / "plan.json").write_text((folder / "day0" / "plan.json").read_text())
    answer = run("report", "--from", "2026-06-01", "--to", "2026-06-30", "--folder", str(folder), "--out", str(folder / "out"))
    assert answer.returncode == 1
    assert "are both plans of 2026-06-10" in answer.stderr
    assert not (folder / "out").exists()
