"""After waking, a load plan of a large deck finds every kernel made."""

import subprocess
import sys

MADE = """
import random
from numba.core import event
from planner.rules.load_plan import plan_load
from planner.rules.load_plan_waking import wake
from planner.model.decks import library
from tests.bench.load_plans import random_run

deck = library()["eleven-car-artic"]
plan_load(deck, random_run(deck, 0, random.Random(0)), reshuffle_min=15)  # the plain search
wake()
with event.install_recorder("numba:compile") as made:
    plan = plan_load(deck, random_run(deck, 6, random.Random(1_000_045)), reshuffle_min=15)
assert plan.reshuffles == plan.at_least == 3
print([data.data["dispatcher"].py_func.__name__ for _, data in made.buffer if data.is_start])
"""


def test_nothing_is_left_to_compile_for_the_bounds():
    """In a process of its own: what another test has compiled does not count."""
    assert subprocess.run([sys.executable, "-c", MADE], capture_output=True, text=True, check=True).stdout.strip() == "[]"
