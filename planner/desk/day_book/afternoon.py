"""
The afternoon: orders held and released, cars pinned to crews, crews taken off and put on again, each a recorded change.

These stand beside the orders and outlast a new file of the sales system.
"""

from typing import Any

from planner.desk.day_book.change import Change
from planner.desk.day_book.orders import OPEN
from planner.desk.day_book.refusals import NotSo
from planner.model.orders import Gate


def order_of(change: Change, ref: str) -> dict[str, Any]:
    """
    Return an open order.

    Raises
    ------
    NotSo
        If there is none of that reference, or it is delivered or cancelled.

    """
    value = change.value("order", ref)
    if value is None:
        raise NotSo(f"No order {ref!r} is in the book. Look at its reference again, or take it in with 'homeleg day open'.")
    if value["state"] != OPEN:
        raise NotSo(f"Order {ref} is {value['state']}, so nothing more can happen to it. Its story: 'homeleg day story {ref}'.")
    return dict(value)


def hold(change: Change, ref: str, *, day: str, gate: Gate, owner: str, by: str, to_do: str) -> None:
    """Hold an order at a gate: who has to act, by which local time (YYYY-MM-DD HH:MM), and what is to be done."""
    order_of(change, ref)
    change.expect_fresh(ref)
    passed = set(change.value("released", ref) or ()) - {gate.value}
    change.put("held", "hold", ref, {"gate": gate.value, "owner": owner, "by": by, "to_do": to_do}, topic=ref, day=day)
    change.put("gates passed", "released", ref, sorted(passed) or None, topic=ref, day=day)


def release(change: Change, ref: str, *, day: str, gate: Gate | None = None) -> None:
    """
    Let an order go: end what held it by hand, and count ``gate`` as passed whatever the file says.

    Raises
    ------
    NotSo
        If nothing held it by hand and no gate is named.

    """
    order_of(change, ref)
    change.expect_fresh(ref)
    held = change.value("hold", ref)
    if held is None and gate is None:
        raise NotSo(f"Order {ref} is not held by hand. Name the gate that is passed with --gate.")
    passed = set(change.value("released", ref) or ())
    passed |= {gate.value} if gate else set()
    passed |= {held["gate"]} if held else set()
    change.put("gates passed", "released", ref, sorted(passed), topic=ref, day=day)
    if held is not None and gate in (None, Gate(held["gate"])):
        change.put("released", "hold", ref, None, topic=ref, day=day)


def pin(change: Change, ref: str, *, day: str, driver: str | None, transporter: str | None) -> None:
    """Say which driver or transporter alone may take an order; with neither, any may again."""
    order_of(change, ref)
    change.expect_fresh(ref)
    value = {name: key for name, key in (("driver", driver), ("transporter", transporter)) if key}
    change.put("pinned" if value else "unpinned", "pin", ref, value or None, topic=ref, day=day)


def crew_off(change: Change, crew: str, *, day: str, why: str | None) -> None:
    """
    Take a driver or transporter off a day; ``why`` None puts it on again.

    Raises
    ------
    NotSo
        If it is to be put on again and was not off.

    """
    change.expect_fresh(crew)
    if why is None and change.value("crew off", f"{day} {crew}") is None:
        raise NotSo(f"{crew} is not off on {day}. Who is off stands in 'homeleg day show'.")
    value = None if why is None else {"crew": crew, "why": why}
    change.put("off" if value else "on again", "crew off", f"{day} {crew}", value, topic=crew, day=day)
