"""Where a published day stands: its newest version as it was kept, and the progress that the book's events make of it."""

from dataclasses import dataclass
from typing import TYPE_CHECKING

from planner.faults import PlannerError

if TYPE_CHECKING:
    from cli.day_desk import Desk
    from planner.desk.day_book.versions import Version
    from planner.model.progress import Progress
    from planner.runs.plan_document import PlanFile


@dataclass(frozen=True, kw_only=True, slots=True)
class Standing:
    """A version, its plan, how far it has got, and the last entry of the book that this is made from."""

    version: "Version"
    kept: "PlanFile"
    progress: "Progress"
    last_event: int


class NothingPublished(PlannerError):
    """A day without a published plan."""

    def __init__(self, on: str) -> None:
        super().__init__(f"{on} has no published plan. Make one with 'homeleg day plan' and 'homeleg day publish'.")


def standing(desk: "Desk", at: str) -> Standing:
    """
    Return where the day stands at a time as typed, now when it is blank.

    Raises
    ------
    NothingPublished
        If there is no plan that could be under way.

    """
    from cli.commands.day_road import minute_at_desk
    from planner.desk.day_book.documents import kept_plan
    from planner.desk.day_book.road_events import road_events
    from planner.desk.day_book.said_since import with_said_since
    from planner.desk.day_book.under_way import progress_of
    from planner.desk.day_book.versions import version_of

    with desk.book.reading() as reader:
        value = reader.value("version", desk.on)
        kept = kept_plan(reader, value["sha"]) if value else None
        if kept is None:
            raise NothingPublished(desk.on)
        events, last = road_events(reader, kept.day.clock), reader.last_event
        now_min = minute_at_desk(desk, kept.day.clock, at)
        progress = with_said_since(reader, kept.day, progress_of(kept.day, kept.plan, events, now_min=now_min))
    return Standing(version=version_of(value), kept=kept, progress=progress, last_event=last)
