"""
What the driver ticks on a loaded deck, height warnings and marks on what stands out, in the words of the catalogue.

The figures are those of :mod:`planner.rules.load_plan_checks`.  These are reminders beside the operator's own instructions,
the vehicle maker's transport manual and the law, never instead.
"""

from planner.model.deck import Deck
from planner.rules.load_plan_checks import (
    CAB_NOTICE_MM,
    END_MARKER_OVER_MM,
    POLICE_OVER_MM,
    STANDARD_BRIDGE_MM,
    VISIBLE_OVER_MM,
    restraint,
)
from planner.rules.load_plan_steps import LoadedStage, Overhang
from planner.sheets.plain_text import height_text
from planner.sheets.words import words


def sign_text(height_mm: int) -> str:
    """
    Return a height as road signs give it, both parts rounded up.

    >>> sign_text(4950), sign_text(5030), sign_text(4875)
    ('4.95 m (16 ft 3 in)', '5.03 m (16 ft 7 in)', '4.88 m (16 ft 0 in)')
    """
    inches = -(-height_mm * 10 // 254)
    return words()("unit.height", metres=height_text(height_mm), feet=inches // 12, inches=inches % 12)


def low_bridge_warning(height_mm: int, route_height_mm: int) -> str | None:
    """
    Return a warning when the loaded vehicle is taller than the route allows or than an unsigned bridge need be.

    Bridges below 16 ft 6 in (5.03 m) are signed, with at least 75 mm in hand (Traffic Signs Manual).

    >>> low_bridge_warning(4300, 4950) is None
    True
    >>> low_bridge_warning(5000, 4950)
    'Loaded height 5.00 m (16 ft 5 in) is 50 mm above the 4.95 m of this route. Do not leave: load lower cars on top.'
    """
    w = words()
    if height_mm > route_height_mm:
        over = f"{height_mm - route_height_mm:,}"
        return w("bridge.above_route", height=sign_text(height_mm), over=over, route=f"{route_height_mm / 1000:.2f}")
    return w("bridge.unsigned", height=sign_text(height_mm)) if height_mm > STANDARD_BRIDGE_MM else None


def height_note(height_mm: int) -> str | None:
    """Return what the cab's height notice has to show, None at 3 m or less."""
    return words()("tick.height", height=sign_text(height_mm)) if height_mm > CAB_NOTICE_MM else None


def overhang_notes(stage: LoadedStage) -> tuple[str, ...]:
    """Return how cars that stand out have to be marked."""
    return tuple(note for over in stage.overhangs if (note := _overhang_note(over)))


def platform_notes(stage: LoadedStage) -> tuple[str, ...]:
    """Return which empty platforms have to be out of the way of which cars."""
    return tuple(words()("tick.too_low", slot=slot, car=key) for slot, key in stage.too_low)


def _overhang_note(over: Overhang) -> str:
    w, most, rear = words(), max(over.front_mm, over.rear_mm), f"{over.rear_mm:,}"
    if most > POLICE_OVER_MM:
        return w("tick.police", level=over.level, mm=f"{most:,}", most=f"{POLICE_OVER_MM:,}")
    if over.rear_mm > END_MARKER_OVER_MM:
        return w("tick.end_marker", level=over.level, mm=rear)
    return w("tick.visible", level=over.level, mm=rear) if over.rear_mm > VISIBLE_OVER_MM else ""


def tick_list(deck: Deck, stage: LoadedStage, masses_kg: dict[str, int]) -> tuple[str, ...]:
    """
    Return what the driver ticks when the stop is done; ``masses_kg`` by key of the cars.

    All four wheels restrained is common practice; no official number of straps exists.
    """
    w, ticks = words(), []
    for key, slot in stage.placed:
        force = restraint(masses_kg[key], deck.gross_kg)
        ticks.append(w("tick.car", slot=slot, car=key, forward=f"{force.forward_kn:.1f}", sideways=f"{force.sideways_kn:.1f}"))
    if stage.placed:
        ticks += w.many("tick.on_deck")
        ticks.append(w("tick.mass", gross=f"{stage.gross_kg:,}", limit=f"{deck.gross_kg + deck.trailer_kg:,}"))
    ticks += [note for note in (height_note(stage.height_mm),) if note]
    return (*ticks, *overhang_notes(stage), *platform_notes(stage))
