"""Cycles: candidate runs that serve a door twice because labels forget, and how labels are made to remember."""

from planner.search.columns import Column
from planner.search.rig import Rig, remember


def break_cycle(rig: Rig, column: Column) -> bool:
    """Make labels remember the customers that the column serves twice; return whether that is news."""
    seen, changed = dict[int, int](), False
    for spot, place in enumerate(column.places):
        if place >= len(rig.tasks):
            continue
        customer = int(rig.customer[place])
        if customer in seen:
            for between in column.places[seen[customer] : spot]:
                if between < len(rig.tasks):
                    before = rig.near[between].copy()
                    remember(rig.near, between, [customer])
                    changed |= bool((before != rig.near[between]).any())
        seen[customer] = spot
    return changed
