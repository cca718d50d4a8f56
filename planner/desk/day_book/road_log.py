"""
The road log: what was rung in is recorded, or taken back when it was not so; nothing is ever removed.

Each event is put once under its crew, and once more under each order and vehicle it speaks of, in the same transaction, so
that every story has it.  The same event again changes nothing.
"""

from collections.abc import Iterator, Mapping, Sequence
from typing import Any

from planner.clock import DayClock
from planner.desk.day_book.change import Change
from planner.desk.day_book.entries import Put
from planner.desk.day_book.happenings import Happening
from planner.desk.day_book.refusals import NotSo
from planner.desk.day_book.road import Road
from planner.desk.day_book.road_events import Fault, RoadEvent, Told, subject_of


def record(change: Change, told: Sequence[Told], clock: DayClock, *, now_min: int | None) -> tuple[int, list[Fault]]:
    """
    Record what was told, in the order in which it happened; return how much was new, and every fault of any of it.

    Parameters
    ----------
    change
        The transaction; the caller lets nothing of it stand when there is a fault.
    told
        What was rung in; what the book has already is passed over.
    clock
        That of the planning day.
    now_min
        The minute that it is; None when the day is rehearsed and anything may be told.

    """
    road = Road(change, clock, now_min=now_min)
    known = change.standing("road", road.on)
    faults, new = list[Fault](), 0
    for number, one in sorted(enumerate(told), key=lambda item: (item[1].at_min, list(Happening).index(item[1].what))):
        subject = f"{road.on} {subject_of(one, clock)}"
        if subject in known:
            _say_more(change, subject, known[subject], one.says)
            continue
        event = road.event(one)
        found = [Fault(number=number, part=part, says=says, advice=advice) for part, says, advice in road.faults(one, event)]
        faults += found
        if event is not None and not found:
            before = road.order(event.order) if event.order else None
            road.add(event)
            after = road.order(event.order) if event.order else None
            puts = list(_puts(subject, event, clock, before, after))
            known[subject] = puts[0].value
            change.put_all(puts)
            new += 1
    return new, sorted(faults, key=lambda fault: fault.number)


def _puts(subject: str, event: RoadEvent, clock: DayClock, before: Any, after: Any) -> Iterator[Put]:
    on = clock.day.isoformat()
    value = {
        "crew": event.crew, "order": event.order, "transporter": event.transporter, "what": event.what.value,
        "at": clock.iso(event.at_min), "late_min": event.late_min, "says": event.says,
    }  # fmt: skip
    kind = event.what.value
    yield from _of_road(kind, subject, value, value, on)
    if event.order is not None and after != before:
        yield Put(kind=kind, thing="order", subject=event.order, value=after, topic=event.order, day=on)


def _of_road(kind: str, subject: str, value: Any, names: Mapping[str, Any], on: str) -> Iterator[Put]:
    """Yield what is put under the crew, and again under each other name that the event speaks of."""
    first, *others = (name for name in (names["crew"], names["order"], names["transporter"]) if name)
    yield Put(kind=kind, thing="road", subject=subject, value=value, topic=first, day=on)
    for name in others:
        yield Put(kind=kind, thing="told", subject=f"{subject} / {name}", value=value, topic=name, day=on)


def _say_more(change: Change, subject: str, value: Mapping[str, Any], says: str) -> None:
    """Keep another remark with what is known already; a blank one takes none away."""
    if says and says != value["says"]:
        change.put_all(_of_road("said more", subject, {**value, "says": says}, value, subject[:10]))


def take_back(change: Change, number: int) -> str:
    """
    Take back what entry ``number`` told, because it was not so; the entry stays in the book. Return what it was, in words.

    Raises
    ------
    NotSo
        If that entry tells nothing of the road, was taken back already, or something was built upon it since.

    """
    entry = next(iter(list(change.events(after=number - 1, most=1))), None)
    if entry is None or entry.id != number or entry.thing not in ("road", "told"):
        raise NotSo(f"Entry {number} tells nothing of the road. 'homeleg day story' shows the number of each entry.")
    subject = entry.subject.split(" / ")[0]
    value = change.value("road", subject)
    if value is None:
        raise NotSo(f"Entry {number} was taken back already.")
    of_order = [one for one in change.events(topic=value["order"]) if one.thing == "order"] if value["order"] else []
    mine = next((one for one in of_order if one.change == entry.change and one.kind == value["what"]), None)
    if mine is not None and of_order[-1].id != mine.id:
        raise NotSo(f"Order {value['order']} was changed after entry {number}. Put it right with a new entry.")
    puts = list(_of_road("taken back", subject, None, value, str(entry.day)))
    if mine is not None:
        ref = mine.subject
        puts.append(Put(kind="taken back", thing="order", subject=ref, value=mine.before, topic=ref, day=mine.day))
    change.put_all(puts)
    return subject
