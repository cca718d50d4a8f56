"""The parts of a big day are solved alike in this process, in others, and on the workers of a cluster."""

from dataclasses import replace

import pytest

from cli.machines import NoMachines, OnMachines, machines
from planner.runs.referee import check_plan
from planner.search import big_day
from planner.search.executors import InProcess, InProcesses
from planner.search.improving import plan_neighbourhood
from planner.search.parts import parts_of
from planner.search.solve import solve
from tests.bench.invented_days import Shape, invented_day


@pytest.fixture
def cluster():
    """One worker in threads of this process: the same scheduler and messages as on many machines."""
    from distributed import Client, LocalCluster

    with (
        LocalCluster(n_workers=1, threads_per_worker=2, processes=False, dashboard_address=None, protocol="tcp://",
                     silence_logs=40) as made,
        Client(made, set_as_default=False) as client,
    ):
        yield client


def planned(executor):
    day = invented_day(Shape(moves=14, compounds=2, decks=(2,)), 2)
    plan = solve(day, seconds=60, rounds=4, executor=executor)
    assert check_plan(day, plan) == ()
    return plan


@pytest.mark.filterwarnings("ignore")  # the scheduler's own libraries warn of each other
def test_answers_are_the_same_on_every_executor(monkeypatch, cluster):
    """Neighbourhoods go to the executor too; that they come out alike is shown in test_improving."""
    monkeypatch.setattr(big_day, "parts_of", lambda whole: parts_of(whole, most=7))
    monkeypatch.setattr("planner.search.solve.improve", lambda _day, runs, **_: tuple(runs))
    here, apart, far = (planned(executor) for executor in (InProcess(), InProcesses(), OnMachines(cluster)))
    assert here.runs
    assert replace(here, seconds=0.0) == replace(apart, seconds=0.0) == replace(far, seconds=0.0)


def test_parts_go_to_the_executor_that_was_given(monkeypatch):
    """Without this a search that ignored its executor would pass the comparison above."""
    monkeypatch.setattr(big_day, "parts_of", lambda whole: parts_of(whole, most=7))
    asked = []

    class Listening(InProcess):
        def answers(self, work, jobs):
            asked.append((work, len(jobs)))
            return super().answers(work, jobs)

    planned(Listening())
    assert [(work, count > 1) for work, count in asked[:2]] == [(big_day.begin_part, True), (big_day.solve_part, True)]
    assert {work for work, _ in asked[2:]} == {plan_neighbourhood}


def test_nobody_at_the_address_is_said_plainly(monkeypatch):
    monkeypatch.setattr("cli.machines.REACHED_WITHIN_S", 0.5)
    with pytest.raises(NoMachines, match="no scheduler answers"), machines("tcp://127.0.0.1:1"):
        pass


def test_an_address_that_is_none_is_said_plainly():
    with pytest.raises(NoMachines, match="nonsense"), machines("nonsense://here"):
        pass


def test_without_an_address_processes_of_this_machine_do_it():
    with machines(None) as executor:
        assert isinstance(executor, InProcesses)
