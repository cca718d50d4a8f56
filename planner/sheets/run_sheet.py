"""
The run sheet: what one crew follows from the first minute to the last, as data ready to print.

Every field is text as printed unless its name wears a unit.  Steps are in the order of the day; a step that is a visit
carries its :class:`~planner.sheets.run_steps.Call`.
"""

from dataclasses import dataclass

from planner.model.day import Day
from planner.model.moves import MoveKind
from planner.runs.next_morning import next_mornings
from planner.runs.plan import Plan
from planner.runs.run import ActivityKind, Counter, Run, RunKind
from planner.sheets.cautions import Caution, cautions, run_facts
from planner.sheets.charges_met import ChargeRow, charge_rows
from planner.sheets.fuel_plan import fuel_plan
from planner.sheets.load_figures import licence_text
from planner.sheets.load_sheet import LoadSheet
from planner.sheets.plain_text import (
    car_text,
    crew_name,
    place_text,
    vehicle_name,
)
from planner.sheets.rule_names import rule_name
from planner.sheets.run_steps import LegRoads, Step, run_steps
from planner.sheets.stamp import Stamp
from planner.sheets.words import Words, words
from planner.units import hours_text, miles


@dataclass(frozen=True, kw_only=True, slots=True)
class HoursRow:
    """One limit, what the run uses of it and what is left."""

    rule: str
    used: str
    limit: str
    left: str
    is_tight: bool


@dataclass(frozen=True, kw_only=True, slots=True)
class RunSheet:
    """Everything on the sheet of one run."""

    run_id: str
    kind: str
    date: str
    crew: str
    phone: str
    vehicle: str
    plates: bool  # whether a set of trade plates goes with it
    start: str
    end: str
    first_place: str
    totals: str
    loading: str
    licence: str  # category for the mass of a transporter
    steps: tuple[Step, ...]
    charges: tuple[ChargeRow, ...]
    fuel: tuple[str, ...]
    way_home: str
    hours: tuple[HoursRow, ...]
    next_duty: tuple[str, ...]  # when each driver may start again
    cautions: tuple[Caution, ...]
    note: str
    retailer: str
    desk_phone: str
    stamp: Stamp
    language: str = "en"


def run_sheet(
    day: Day, plan: Plan, run: Run, *, stamp: Stamp | None = None, roads: LegRoads | None = None,
    loaded: LoadSheet | None = None, with_qr: bool = True,
) -> RunSheet:  # fmt: skip
    """
    Return the sheet of one run of ``plan``.

    ``roads`` names the roads of a leg; without it, or ``with_qr``, the sheet has no roads or no codes to scan.  ``loaded`` is
    the load sheet that goes with it: what is read while loading stands there.
    """
    assert run in plan.runs
    w = words()
    driver = day.driver_of.get(run.itinerary.driver) if run.itinerary.driver else None
    carrier = day.carrier_of.get(run.itinerary.carrier) if run.itinerary.carrier else None
    return RunSheet(
        run_id=run.run_id,
        kind=w(f"kind.{run.kind.name.lower()}"),
        date=f"{day.clock.day:%A %d %B %Y}",
        crew=crew_name(day, run),
        phone=carrier.phone if carrier else driver.phone if driver else "",
        vehicle=vehicle_name(day, run, w),
        start=day.clock.wall(run.start_min) if run.activities else "",
        end=day.clock.wall(run.end_min) if run.activities else "",
        plates=run.kind is RunKind.PLATE,
        first_place=place_text(day, run.visits[0].place),
        totals=_totals(run, w),
        loading=_loading(day, run, w),
        licence=licence_text(day, run),
        steps=run_steps(day, run, roads=roads, with_qr=with_qr),
        charges=charge_rows(day, run, w),
        fuel=fuel_plan(day, run, w),
        way_home=_way_home(day, run, w),
        hours=tuple(hours_row(counter, run.book, w) for counter in run.counters),
        next_duty=tuple(
            w("run.next_duty", name=morning.driver.name, at=day.clock.wall(morning.allowed.earliest_min))
            for morning in next_mornings(day, run)
        ),
        cautions=_cautions(day, run, loaded),
        note="" if run.activities else w("run.hired_note"),
        retailer=day.policy.retailer,
        desk_phone=day.policy.phone,
        stamp=stamp or Stamp(),
    )


def _cautions(day: Day, run: Run, loaded: LoadSheet | None) -> tuple[Caution, ...]:
    found = cautions(run_facts(day, run, loaded_height_mm=loaded.height_mm if loaded is not None else None))
    goes_along = loaded is not None and bool(loaded.stages)
    return tuple(one for one in found if not (one.at_deck and goes_along))


def _totals(run: Run, w: Words) -> str:
    if not run.activities:
        return ""
    driven = sum(step.end_min - step.start_min for step in run.activities if step.kind is ActivityKind.DRIVE)
    rests = sum(step.end_min - step.start_min for step in run.activities if step.kind is ActivityKind.REST)
    duty = hours_text(run.end_min - run.start_min - rests)
    return w("run.totals", miles=round(miles(run.metres)), driving=hours_text(driven), duty=duty, visits=len(run.itinerary.stops))


def _loading(day: Day, run: Run, w: Words) -> str:
    """Say in which order the cars go on at the first compound and how heavy they are together."""
    first = run.visits[0]
    if run.kind is not RunKind.TRANSPORTER or not first.takes:
        return ""
    mass = sum(day.move_of[move].car.mass_kg for move in first.takes)
    payload = day.transporter_of[run.itinerary.transporter].payload_kg if run.itinerary.transporter else 0
    return w("run.loading", mass=f"{mass:,}", payload=f"{payload:,}")


def _way_home(day: Day, run: Run, w: Words) -> str:
    """Say how the crew comes home: the last move of a plate run may be a part-exchange, another car or a ride."""
    if run.kind is not RunKind.PLATE:
        return ""
    if run.itinerary.support_driver is not None:
        return w("home.support_car")
    if run.visits[-1].leg_by == "ride" and run.visits[-1].leg_min > 0:
        fare = sum(line.pence for line in run.costs if line.kind.name == "FARE")
        return w("home.ride", minutes=hours_text(run.visits[-1].leg_min), pounds=f"{fare / 100:.2f}")
    last = [day.move_of[move] for visit in run.visits for move in visit.takes]
    if last and last[-1].kind is MoveKind.PART_EXCHANGE:
        return w("home.part_exchange", car=car_text(last[-1].car))
    comes_back = bool(last) and last[-1].kind in (MoveKind.RETURN, MoveKind.TRANSFER)
    return w("home.other_car", car=car_text(last[-1].car)) if comes_back else ""


def can_be_tight(counter: Counter) -> bool:
    """Return whether little left of a limit is news; breaks are planned to the minute, so theirs never is."""
    return not counter.is_of_breaks


def hours_row(counter: Counter, book: str, w: Words) -> HoursRow:
    """Return a limit of a book as printed; tight when under a tenth of it, or under a whole one of a count, is left."""
    shown = str if counter.is_count else hours_text
    tight = can_be_tight(counter) and (counter.slack <= 0 if counter.is_count else counter.slack * 10 < counter.limit)
    return HoursRow(
        rule=rule_name(book, counter.rule, w), used=shown(counter.used), limit=shown(counter.limit),
        left=shown(counter.slack), is_tight=tight,
    )  # fmt: skip
