"""
Twins: transporters that differ in nothing but who always drives them; what is listed for one is told of the others too.

In many fleets every driver has a transporter of his own, so that each is a type of its own, and alike types are listed alike.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

from planner.model.day import Day
from planner.runs.alike import kind_of_driver, kind_of_transporter
from planner.search.crew_classes import DriverClass, TransporterType
from planner.search.rig import Rig


@dataclass(frozen=True, kw_only=True, slots=True)
class Twin:
    """A type that is like one before it; ``class_of`` gives the class of its own drivers for each of the other's."""

    number: int
    like: int
    class_of: dict[int, int]

    def rig(self, rig: Rig) -> Rig:
        """Return a rig of the other as one of this type."""
        options = tuple(replace(option, classes=self.classes(option.classes)) for option in rig.options)
        return replace(rig, transporter_type=self.number, options=options)

    def classes(self, classes: Sequence[int]) -> tuple[int, ...]:
        """Return the classes of this type for those of the other."""
        return tuple(self.class_of.get(rank, rank) for rank in classes)


def with_twins_last(
    day: Day, classes: Sequence[DriverClass], types: Sequence[TransporterType], *, asks: Callable[[TransporterType], float]
) -> tuple[tuple[TransporterType, ...], tuple[Twin, ...]]:
    """Return the types, those that are like another last, and how they are; of alike ones that which ``asks`` least is first."""
    pinned = {move.pinned_driver for move in day.moves} | {move.pinned_transporter for move in day.moves}
    alike: dict[object, list[tuple[TransporterType, list[int]]]] = {}
    for kind in types:
        own = [rank for rank, item in enumerate(classes) if item.one.pinned_transporter == kind.one.transporter_id]
        own.sort(key=lambda rank: repr(kind_of_driver(classes[rank].one)))
        names = {kind.one.transporter_id, *(driver.driver_id for rank in own for driver in classes[rank].drivers)}
        drivers = tuple((kind_of_driver(classes[rank].one), len(classes[rank].drivers)) for rank in own)
        key: object = (kind_of_transporter(kind.one), len(kind.transporters), drivers)
        alike.setdefault(kind.one.transporter_id if names & pinned else key, []).append((kind, own))
    groups = [sorted(group, key=lambda item: asks(item[0])) for group in alike.values()]
    first = [group[0] for group in groups]
    others = [(item, like) for like, group in enumerate(groups) for item in group[1:]]
    twins = tuple(
        Twin(number=len(first) + rank, like=like, class_of=dict(zip(first[like][1], own, strict=True)))
        for rank, ((_, own), like) in enumerate(others)
    )
    return (*(kind for kind, _ in first), *(kind for (kind, _), _ in others)), twins
