"""The cover: one page for the dispatcher, every run of the day with what has to be ready, and what stays behind."""

from dataclasses import dataclass

from planner.model.day import Day
from planner.runs.plan import Plan
from planner.runs.run import Run
from planner.sheets.plain_text import crew_name, plate, vehicle_name
from planner.sheets.stamp import Stamp
from planner.sheets.words import words
from planner.units import miles


@dataclass(frozen=True, kw_only=True, slots=True)
class CoverRow:
    """One run on the cover."""

    run_id: str
    crew: str
    vehicle: str
    start: str
    end: str
    cars: str
    miles: str


@dataclass(frozen=True, kw_only=True, slots=True)
class Cover:
    """Everything on the cover."""

    date: str
    retailer: str
    rows: tuple[CoverRow, ...]
    held: tuple[tuple[str, str, str], ...]  # order, the one thing to do and who, by when
    left: tuple[tuple[str, str], ...]  # car, reason
    stamp: Stamp
    language: str = "en"


def cover(day: Day, plan: Plan, *, stamp: Stamp | None = None) -> Cover:
    """Return the cover of a plan, its runs by their start, hired carriers last."""
    runs = sorted(plan.runs, key=lambda run: (not run.activities, run.start_min, run.run_id))
    return Cover(
        date=f"{day.clock.day:%A %d %B %Y}",
        retailer=day.policy.retailer,
        rows=tuple(_row(day, run) for run in runs),
        held=tuple(
            (str(order.ref), f"{order.hold.to_do.rstrip('.')} ({order.hold.owner})", day.clock.wall(order.hold.cut_off_min))
            for order in sorted(day.held, key=lambda order: order.hold.cut_off_min if order.hold else 0)
            if order.hold is not None
        ),
        left=tuple((plate(day.move_of[left.move].car.registration), left.reason) for left in plan.not_placed),
        stamp=stamp or Stamp(),
    )


def _row(day: Day, run: Run) -> CoverRow:
    return CoverRow(
        run_id=run.run_id, crew=crew_name(day, run), vehicle=vehicle_name(day, run, words()),
        start=day.clock.wall(run.start_min) if run.activities else "",
        end=day.clock.wall(run.end_min) if run.activities else "",
        cars=", ".join(plate(day.move_of[move].car.registration) for move in run.itinerary.moves),
        miles=str(round(miles(run.metres))) if run.activities else "",
    )  # fmt: skip
