"""
Tasks: what a crew does in one go, a node of the search: one move, or a delivery with the part-exchange at its door.

A task is a chain of stages, each with a window, minutes of work and a leg to the next stage; it folds into one window
and one length, exactly, because work inside a window may wait.
"""

from collections.abc import Iterator
from dataclasses import dataclass

from planner.model.crews import Transporter
from planner.model.day import Day
from planner.model.moves import Move, MoveId
from planner.model.places import PlaceId, Window
from planner.runs.crew_fit import driven_class
from planner.runs.errands import leg

NEVER_OPENS, NEVER_CLOSES = -1440, 10_000


@dataclass(frozen=True, kw_only=True, slots=True)
class Task:
    """
    One node: where it begins and ends, when it may start, how long it takes.

    ``hub`` names where a carried car is loaded (``from``) or unloaded (``to``): a place and the window there.
    """

    moves: tuple[MoveId, ...]
    first: PlaceId
    last: PlaceId
    opens_min: int  # waiting inside the task counted: starting earlier ends no earlier
    closes_min: int  # latest start
    may_start_min: int
    ends_from_min: int
    work_min: int
    drive_min: int = 0
    unload_min: int = 0
    from_hub: tuple[PlaceId, Window] | None = None
    to_hub: tuple[PlaceId, Window] | None = None
    kg_in: int = 0  # delivered: aboard before
    kg_back: int = 0  # collected: aboard after


@dataclass(frozen=True, slots=True)
class Stage:
    """Work inside a window, then a leg."""

    opens_min: int
    closes_min: int
    work_min: int
    leg_min: int = 0
    drive_min: int = 0


def meet(windows: list[Window]) -> Window | None:
    """Return where all windows meet, None when they do not."""
    opens = max((window.opens_min for window in windows), default=NEVER_OPENS)
    closes = min((window.closes_min for window in windows), default=NEVER_CLOSES)
    return Window(opens_min=opens, closes_min=closes) if opens < closes else None


def end_window(day: Day, place: PlaceId, own: Window | None) -> Window | None:
    """Return when work at one end of a move may start, None when never: its own window, or the compound's."""
    if own is not None:
        return own
    compound = day.compound_of.get(place)
    return compound.window if compound is not None else Window(opens_min=NEVER_OPENS, closes_min=NEVER_CLOSES)


def carried_tasks(day: Day, transporter: Transporter, driver: str | None) -> Iterator[Task]:
    """Yield what this type of transporter may do when pins speak of ``driver`` only (None: of nobody)."""
    for move in day.moves:
        if move.tied_to is not None or not _carries(move, transporter, driver):
            continue
        extra = day.part_exchange_of.get(move.move_id)
        if extra is None:
            task = _carried(day, transporter, move)
        elif _carries(extra, transporter, driver):
            task = _exchanged(day, transporter, move, extra)
        else:
            task = None
        if task is not None:
            yield task


def _carries(move: Move, transporter: Transporter, driver: str | None) -> bool:
    return (
        move.may_be_carried
        and not (move.no_large_vehicle and transporter.is_large)
        and move.car.mass_kg <= transporter.payload_kg
        and move.pinned_transporter in (None, transporter.transporter_id)
        and move.pinned_driver in (None, driver)
    )


def _hub(day: Day, place: PlaceId, own: Window | None) -> tuple[PlaceId, Window] | None:
    window = end_window(day, place, own)
    return None if window is None else (place, window)


def is_collected(day: Day, move: Move) -> bool:
    """Return whether the move is a car fetched to a compound, rather than one loaded at a compound."""
    return move.destination in day.compound_of and move.origin not in day.compound_of


def _carried(day: Day, transporter: Transporter, move: Move) -> Task | None:
    if is_collected(day, move):
        window, hub = end_window(day, move.origin, move.origin_window), _hub(day, move.destination, move.destination_window)
        work, place = move.origin_min + transporter.load_min, move.origin
        return None if hub is None else _plain(move, place, window, work, to_hub=hub, unload_min=transporter.unload_min)
    hub = _hub(day, move.origin, move.origin_window)
    window = end_window(day, move.destination, move.destination_window)
    at_door = 0 if move.destination in day.compound_of else move.destination_min
    work = at_door + transporter.unload_min
    return None if hub is None else _plain(move, move.destination, window, work, from_hub=hub)


def _plain(
    move: Move, place: PlaceId, window: Window | None, work: int, *, from_hub: tuple[PlaceId, Window] | None = None,
    to_hub: tuple[PlaceId, Window] | None = None, unload_min: int = 0,
) -> Task | None:  # fmt: skip
    if window is None:
        return None
    return Task(
        moves=(move.move_id,), first=place, last=place, opens_min=window.opens_min, closes_min=window.closes_min - 1,
        may_start_min=window.opens_min, ends_from_min=window.opens_min + work, work_min=work, unload_min=unload_min,
        from_hub=from_hub, to_hub=to_hub, kg_in=move.car.mass_kg if from_hub else 0, kg_back=move.car.mass_kg if to_hub else 0,
    )  # fmt: skip


def _exchanged(day: Day, transporter: Transporter, move: Move, extra: Move) -> Task | None:
    """Return the delivery and its part-exchange in one visit, both windows holding for its start."""
    at_door = [end_window(day, move.destination, move.destination_window), end_window(day, extra.origin, extra.origin_window)]
    from_hub = _hub(day, move.origin, move.origin_window)
    to_hub = _hub(day, extra.destination, extra.destination_window)
    window = None if None in at_door else meet([item for item in at_door if item is not None])
    if window is None or from_hub is None or to_hub is None:
        return None
    work = move.destination_min + transporter.unload_min + extra.origin_min + transporter.load_min
    return Task(
        moves=(move.move_id, extra.move_id), first=move.destination, last=move.destination, opens_min=window.opens_min,
        closes_min=window.closes_min - 1, may_start_min=window.opens_min, ends_from_min=window.opens_min + work,
        work_min=work, unload_min=transporter.unload_min, from_hub=from_hub, to_hub=to_hub, kg_in=move.car.mass_kg,
        kg_back=extra.car.mass_kg,
    )  # fmt: skip


def driven_tasks(day: Day, driver: str | None) -> Iterator[Task]:
    """Yield what a driver on plates may do when pins speak of ``driver`` only (None: of nobody)."""
    for move in day.moves:
        extra = day.part_exchange_of.get(move.move_id)
        chain = (move,) if extra is None else (move, extra)
        if move.tied_to is None and all(_drives(day, each, driver) for each in chain):
            task = _driven(day, chain)
            if task is not None:
                yield task


def _drives(day: Day, move: Move, driver: str | None) -> bool:
    table = day.tables[driven_class(move)]
    metres = int(table.metres[day.place_index[move.origin], day.place_index[move.destination]])
    return (
        move.may_be_driven
        and move.car.may_be_driven
        and 0 <= metres <= day.policy.driven_max_m
        and (move.car.range_m is None or metres <= move.car.range_m)
        and move.pinned_transporter is None
        and move.pinned_driver in (None, driver)
    )


def _driven(day: Day, chain: tuple[Move, ...]) -> Task | None:
    stages: list[Stage] = []
    held: Move | None = None
    for move in (*chain, None):
        place = move.origin if move is not None else chain[-1].destination
        at_compound, windows, work = place in day.compound_of, [], 0
        if held is not None:
            windows.append(end_window(day, place, held.destination_window))
            work += day.policy.hand_in_at_compound_min if at_compound else held.destination_min
        if move is not None:
            windows.append(end_window(day, place, move.origin_window))
            work += day.policy.collect_at_compound_min if at_compound else move.origin_min
        window = None if None in windows else meet([item for item in windows if item is not None])
        road = leg(day, driven_class(move), move.origin, move.destination) if move is not None else None
        if window is None or (move is not None and road is None):
            return None
        is_still = road is None or (move is not None and move.origin == move.destination)
        drive = 0 if road is None or is_still else road.drive_min
        minutes = 0 if road is None or is_still else road.drive_min + road.ferry_min
        stages.append(Stage(window.opens_min, window.closes_min - 1, work, minutes, drive))
        held = move
    return _folded(chain, stages)


def _folded(chain: tuple[Move, ...], stages: list[Stage]) -> Task | None:
    """Return the stages as one window and one length, None when they cannot be met in turn."""
    whole = sum(stage.work_min + stage.leg_min for stage in stages)
    offset, opens, closes, at = 0, NEVER_OPENS, NEVER_CLOSES, stages[0].opens_min
    for stage in stages:
        at = max(at, stage.opens_min)
        if at > stage.closes_min:
            return None
        at += stage.work_min + stage.leg_min
        opens, closes = max(opens, stage.opens_min - offset), min(closes, stage.closes_min - offset)
        offset += stage.work_min + stage.leg_min
    return Task(
        moves=tuple(move.move_id for move in chain), first=chain[0].origin, last=chain[-1].destination, opens_min=opens,
        closes_min=closes, may_start_min=stages[0].opens_min, ends_from_min=opens + whole, work_min=whole,
        drive_min=sum(stage.drive_min for stage in stages),
    )  # fmt: skip
