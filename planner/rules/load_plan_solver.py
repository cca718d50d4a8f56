"""
The same load plan by a constraint solver, for the few sequences on which the compiled search would take too long.

Exact as well, if it is given the time: it minimises the cars moved, starting from the number already proven necessary, and
tells what it has proven when it stops.  Its time is counted in steps, so that the answer is the same on every machine.
"""

from typing import Any

from planner.rules.load_plan_arrays import DeckArrays, Whole
from planner.rules.load_plan_tables import tables

#: Seconds, roughly, for making a plan better once there is one.
EFFORT = 10.0

#: By car: the stages at which it comes on and goes off.
Stays = tuple[tuple[int, int], ...]
#: Moves, moves proven necessary, slots by stage and car (-1: not aboard), cars moved by stage.
Solved = tuple[int, int, tuple[tuple[int, ...], ...], tuple[tuple[int, ...], ...]]


def fewest_by_solver(
    deck: DeckArrays, cars: Whole, stays: Stays, num_stages: int, *, at_least: int = 0, standing: tuple[int, ...] = (),
) -> Solved | None:  # fmt: skip
    """
    Return the plan with fewest moves, as far as it is found in time; None when a stage has no load.

    Parameters
    ----------
    deck
        The limits.
    cars
        Rows of length, width, height, mass, clearance.
    stays
        Stages at which each car comes on and goes off.
    num_stages
        How many stops.
    at_least
        Moves already proven necessary.
    standing
        Slots of the first cars at the first stage, where they stand already.

    """
    from ortools.sat.python import cp_model

    model = cp_model.CpModel()
    program = _Program(model, deck, cars, stays, num_stages)
    for car, slot in enumerate(standing):
        model.add_bool_or([program.at[car, 0, slot]] if (car, 0, slot) in program.at else [])
    moves = list(program.moved.values())
    model.add(sum(moves) >= at_least)
    model.minimize(sum(moves))
    solver = cp_model.CpSolver()
    solver.parameters.num_workers = 1
    solver.parameters.random_seed = 1
    solver.parameters.max_deterministic_time = EFFORT
    status = solver.solve(model)
    if status == cp_model.UNKNOWN:
        solver.parameters.max_deterministic_time = float("inf")
        solver.parameters.stop_after_first_solution = True
        status = solver.solve(model)
    if status == cp_model.INFEASIBLE:
        return None
    slots = tuple(
        tuple(next((slot for slot in program.slots if (car, stage, slot) in program.at and
                    solver.value(program.at[car, stage, slot])), -1) for car in range(len(cars)))
        for stage in range(num_stages)
    )  # fmt: skip
    moved = tuple(
        tuple(car for car in range(len(cars)) if (car, stage) in program.moved and solver.value(program.moved[car, stage]))
        for stage in range(num_stages)
    )
    moves_made = sum(len(row) for row in moved)
    proven = moves_made if status == cp_model.OPTIMAL else max(at_least, round(solver.best_objective_bound))
    return moves_made, proven, slots, moved


class _Program:
    """The variables and the rules; ``at`` by car, stage and slot, ``moved`` by car and stage."""

    def __init__(self, model: Any, deck: DeckArrays, cars: Whole, stays: Stays, num_stages: int) -> None:
        self.model, self.arrays, self.cars, self.stays = model, deck, cars, stays
        self.slots = range(len(deck.length))
        self.fit, self.beside = tables(self.arrays, cars)
        self.at = {
            (car, stage, slot): model.new_bool_var("")
            for car, (on, off) in enumerate(stays) for stage in range(on, off) for slot in self.slots if self.fit[car] >> slot & 1
        }  # fmt: skip
        self.moved = {(car, stage): model.new_bool_var("") for car, (on, off) in enumerate(stays) for stage in range(on + 1, off)}
        for stage in range(num_stages):
            aboard = [car for car, (on, off) in enumerate(stays) if on <= stage < off]
            self.stand(stage, aboard)
            self.pass_by(stage, aboard)

    def var(self, car: int, stage: int, slot: int) -> Any:
        """Return the variable, or 0 where the car never stands."""
        return self.at.get((car, stage, slot), 0)

    def stand(self, stage: int, aboard: list[int]) -> None:
        """Give each car one slot within every limit."""
        model, arrays = self.model, self.arrays
        for car in aboard:
            model.add_exactly_one([self.at[car, stage, slot] for slot in self.slots if (car, stage, slot) in self.at])
        for slot in self.slots:
            model.add_at_most_one([self.at[car, stage, slot] for car in aboard if (car, stage, slot) in self.at])
        for first in aboard:
            for second in aboard:
                if first < second:
                    self.stand_apart(stage, first, second)
        for bits, length in zip(arrays.level_bits, arrays.level_mm, strict=True):
            model.add(sum(int(self.cars[car, 0] + arrays.gap) * self.var(car, stage, slot)
                          for car in aboard for slot in self.slots if bits >> slot & 1) <= int(length))  # fmt: skip
        for share, most in zip(arrays.share, arrays.sum_g, strict=True):
            model.add(sum(int(self.cars[car, 3] * share[slot]) * self.var(car, stage, slot)
                          for car in aboard for slot in self.slots) <= int(most))  # fmt: skip

    def stand_apart(self, stage: int, first: int, second: int) -> None:
        """Keep two cars from slots in which one rules out the other."""
        for slot in self.slots:
            for other in self.slots:
                one, two = self.at.get((first, stage, slot)), self.at.get((second, stage, other))
                if slot != other and one is not None and two is not None and not self.beside[first, slot, second] >> other & 1:
                    self.model.add_bool_or([~one, ~two])

    def pass_by(self, stage: int, aboard: list[int]) -> None:
        """Let a car stay where it is only if its slot blocks none that is driven through at this stop."""
        model = self.model
        touched = [model.new_bool_var("") for _ in self.slots]
        stays_on = [car for car in aboard if self.stays[car][0] < stage]
        for car, (on, off) in enumerate(self.stays):
            for slot in self.slots:
                if off == stage and (car, stage - 1, slot) in self.at:
                    model.add_implication(self.at[car, stage - 1, slot], touched[slot])
                if on == stage and (car, stage, slot) in self.at:
                    model.add_implication(self.at[car, stage, slot], touched[slot])
        for car in stays_on:
            moved = self.moved[car, stage]
            for slot in self.slots:
                if (car, stage, slot) not in self.at:
                    continue
                was, now = self.at[car, stage - 1, slot], self.at[car, stage, slot]
                model.add_bool_or([~was, now, moved])
                model.add_bool_or([~was, ~moved, touched[slot]])
                model.add_bool_or([~now, ~moved, touched[slot]])
                for behind in self.slots:
                    if self.arrays.blocked[behind] >> slot & 1:
                        model.add_bool_or([~was, moved, ~touched[behind]])
