"""
Planning from the book: its orders as rows of a day folder, its holds, pins and crews off put upon them, plans published.

A plan is drawn up as a draft and becomes a numbered version when it is published; then each order's placing and each
crew's sheet are put, so that only what differs from the version before makes events, and only those sheets are new.
"""

from collections.abc import Mapping
from dataclasses import replace
from datetime import date, time
from hashlib import sha256
from typing import Any

from sqlalchemy import and_, select

from planner.desk.day_book import tables
from planner.desk.day_book.buyers import latest
from planner.desk.day_book.change import Change
from planner.desk.day_book.documents import keep_plan
from planner.desk.day_book.entries import Put
from planner.desk.day_book.happenings import ROUTINE
from planner.desk.day_book.hours import planned_shifts, with_weeks
from planner.desk.day_book.orders import OPEN
from planner.desk.day_book.outcomes import promises, spoken_of
from planner.desk.day_book.paper import crew_of, put_sheets
from planner.desk.day_book.queue import LOOK_BACK, cells_now
from planner.desk.day_book.reader import Reader
from planner.desk.day_book.refusals import NotSo
from planner.desk.day_book.versions import Version, version_of
from planner.desk.intake import DayFiles
from planner.desk.intake_table import RawTable
from planner.model.day import Day
from planner.model.orders import Gate, Order
from planner.runs.plan import Plan


def rows_to_plan(reader: Reader, on: date) -> list[dict[str, str]]:
    """Return the open orders promised for a day or the 60 before it as rows, with what the office has said of them since."""
    entry = tables.now.c
    query = select(tables.now).where(
        and_(entry.thing == "order", entry.day <= on.isoformat(), entry.day >= (on - LOOK_BACK).isoformat())
    )
    values = {row["subject"]: row["value"] for row in reader.connection.execute(query.order_by(entry.subject)).mappings()}
    still = {ref: value for ref, value in values.items() if value["state"] == OPEN}
    people = latest(reader, still)
    said = {thing: {held.subject: held.value for held in reader.now(thing=thing)} for thing in ("hold", "released", "pin")}
    return [
        {"order": ref, **cells_now(value), **people.get(ref, {}), **_said(ref, said)} for ref, value in still.items()
    ]  # fmt: skip


def _said(ref: str, said: Mapping[str, Mapping[str, Any]]) -> dict[str, str]:
    cells = {f"gate_{gate}": "yes" for gate in said["released"].get(ref, ())}
    if ref in said["hold"]:
        cells[f"gate_{said['hold'][ref]['gate']}"] = "no"
    return cells | {f"pinned_{name}": key for name, key in said["pin"].get(ref, {}).items()}


def files_with(files: DayFiles, rows: list[dict[str, str]], weeks: Mapping[str, Mapping[str, str]] | None = None) -> DayFiles:
    """Return the files of a day folder with the book's orders in place of its own, and drivers' hours where it has none."""
    headings = tuple(dict.fromkeys(name for row in rows for name in row)) or files.tables["orders"].headings
    cells = tuple(tuple(row.get(name, "") for name in headings) for row in rows)
    orders = RawTable(file="orders (day book)", headings=headings, rows=cells)
    drivers = {"drivers": with_weeks(files.tables["drivers"], weeks)} if weeks and "drivers" in files.tables else {}
    return replace(files, tables={**files.tables, **drivers, "orders": orders})


def as_said(day: Day, reader: Reader) -> Day:
    """Return the day without the crews that are off, its holds with the owner, hour and task that the office gave."""
    off = {held.value["crew"] for held in reader.now(thing="crew off", day=day.clock.day.isoformat())}
    holds = {held.subject: held.value for held in reader.now(thing="hold")}
    return replace(
        day,
        drivers=tuple(driver for driver in day.drivers if driver.driver_id not in off),
        transporters=tuple(transporter for transporter in day.transporters if transporter.transporter_id not in off),
        held=tuple(_held(day, order, holds) for order in day.held),
    )


def _held(day: Day, order: Order, holds: Mapping[str, Any]) -> Order:
    said = holds.get(order.ref)
    if said is None or order.hold is None or order.hold.gate is not Gate(said["gate"]):
        return order
    on, _, wall = said["by"].rpartition(" ")  # a time alone, of an older book, is of the planning day
    by_min = day.clock.minute(time.fromisoformat(wall), day=date.fromisoformat(on) if on else day.clock.day)
    hold = replace(order.hold, owner=said["owner"], to_do=said["to_do"] or order.hold.to_do, cut_off_min=by_min)
    return replace(order, hold=hold)


def draw_up(change: Change, day: Day, plan: Plan, *, raw: bytes) -> None:
    """Record a draft plan of a day, ``raw`` as it is in its file."""
    on = day.clock.day.isoformat()
    counts = {"cost_pence": plan.cost_pence, "runs": len(plan.runs), "left_behind": len(plan.not_placed)}
    counts["runs_pence"] = plan.runs_pence
    change.put("planned", "draft", on, {"sha": sha256(raw).hexdigest(), **counts}, topic=on, day=on)


def publish(change: Change, day: Day, plan: Plan, *, raw: bytes) -> Version:
    """
    Make the draft of a day its next numbered version and keep it whole.

    Raises
    ------
    NotSo
        If this is not the plan that was drawn up, or anything of the day was changed after it.
    StaleView
        If somebody else changed anything of the day since the maker of the change looked.

    """
    on = day.clock.day.isoformat()
    draft, sha = change.value("draft", on), sha256(raw).hexdigest()
    if draft is None or draft["sha"] != sha:
        raise NotSo(f"This is not the plan that was drawn up for {on}: it was made elsewhere or changed since. Plan again.")
    change.expect_fresh_day(on, routine=ROUTINE)
    _refuse_later_changes(change, on)
    last = change.value("version", on)
    if last is not None and last["sha"] == sha:
        raise NotSo(f"This plan is version {last['number']} of {on} already. Plan again if something is to change.")
    keep_plan(change, raw, day=on)
    moved = _put_placings(change, day, plan, on)
    new, gone = put_sheets(change, day, plan, sha=sha)
    version = {
        **draft, "number": 1 if last is None else int(last["number"]) + 1, "new_sheets": list(new), "gone_sheets": list(gone),
        "moved_orders": list(moved), "crews": {str(run.run_id): crew_of(run) for run in plan.runs},
        "promises": promises(day, plan, spoken_of=spoken_of(change, day.clock.day)), "shifts": planned_shifts(day, plan),
    }  # fmt: skip
    change.put("published", "version", on, version, topic=on, day=on)
    return version_of(version)


def _refuse_later_changes(change: Change, on: str) -> None:
    drawn = change.connection.execute(
        select(tables.now.c.event).where(and_(tables.now.c.thing == "draft", tables.now.c.subject == on))
    ).scalar_one()
    entry = tables.event.c
    counts = and_(entry.thing.not_in(_OF_PLANS), entry.kind.not_in(ROUTINE))
    query = select(entry.topic).where(and_(entry.day == on, entry.id > drawn, counts)).distinct()
    if later := sorted(change.connection.execute(query).scalars()):
        raise NotSo(f"Since this plan was drawn up, {', '.join(later[:8])} changed. Plan again, so that it counts.")


_OF_PLANS = ("draft", "version", "placing", "sheet", "sheets")


def _put_placings(change: Change, day: Day, plan: Plan, on: str) -> tuple[str, ...]:
    placings: dict[str, Any] = {}
    for run in plan.runs:
        crew = run.itinerary
        for visit in run.visits:
            for move in (*visit.leaves, *visit.takes):
                ref = day.move_of[move].order
                if ref is not None and visit.place == day.order_of[ref].door.place_id:
                    placings[str(ref)] = {
                        "driver": crew.driver, "transporter": crew.transporter, "carrier": crew.carrier,
                        "crew": crew_of(run), "at": day.clock.iso(visit.start_min),
                    }  # fmt: skip
    before = change.standing("placing", on)
    puts = [_of_day("placed", "placing", ref, value, ref, on) for ref, value in placings.items()]
    puts += [_of_day("no longer placed", "placing", ref, None, ref, on) for ref in sorted(set(before) - set(placings))]
    change.put_all(puts)
    return tuple(sorted(ref for ref in {*before, *placings} if ref in before and before[ref] != placings.get(ref)))


def _of_day(kind: str, thing: str, subject: str, value: Any, topic: str, on: str) -> Put:
    return Put(kind=kind, thing=thing, subject=subject, value=value, topic=topic, day=on)
