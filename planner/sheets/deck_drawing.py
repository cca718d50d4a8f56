"""
The picture of a deck after one stop: side view, front to the left, cars numbered in the order in which they went on.

Pure SVG text in black, white and grey, so that a worn black-and-white printer still makes it readable.  One unit of the
drawing is one centimetre of the vehicle.
"""

from collections.abc import Mapping
from html import escape
from itertools import pairwise

from planner.model.cars import Car
from planner.model.deck import Deck, Slot
from planner.rules.load_plan import LoadPlan
from planner.rules.load_plan_steps import LoadedStage
from planner.sheets.plain_text import height_text
from planner.sheets.words import words

ROOM_LEFT, ROOM_RIGHT, ROOM_UP, ROOM_DOWN = 110, 225, 120, 75
#: More room below for the legend, where a car was moved.
ROOM_LEGEND = 45
#: Slots nearer to each other than any car is long have tilted platforms; their cars overlap in the side view.
TILTED_MM = 3_500
#: White behind black letters, so that lines do not cross them.
HALO = 'stroke="#fff" stroke-width="7" paint-order="stroke"'


def draw_deck(
    deck: Deck, stage: LoadedStage, cars: Mapping[str, Car], *, title: str = "", route_height_mm: int | None = None,
) -> str:  # fmt: skip
    """
    Return the SVG of the deck when a stop is done.

    Parameters
    ----------
    deck
        Its slots stand at their ``x_mm``.
    stage
        Cars moved out of the way at this stop are hatched.
    cars
        Every car aboard by key.
    title
        Line above; the stage's own words when empty.
    route_height_mm
        Lowest clearance of the route, drawn as a dashed line.

    """
    spots = _spots(deck, stage, cars)
    left = min([0, *(x for x, _, _ in spots.values())]) // 10 - ROOM_LEFT
    ends = [slot.x_mm + slot.length_mm for slot in deck.slots] + [x + length for x, length, _ in spots.values()]
    right = max(deck.length_mm, *ends) // 10 + ROOM_RIGHT
    lifted, laid_away = _lifted(deck, stage, cars), {slot for slot, _ in stage.too_low}
    top = max(deck.height_mm, stage.height_mm, route_height_mm or 0) // 10 + ROOM_UP
    heading = title or stage.says
    down = ROOM_DOWN + (ROOM_LEGEND if stage.moved else 0)
    parts = [
        (
            f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="{left} {-top} {right - left} {top + down}" role="img" '
            f'font-family="sans-serif" stroke-linejoin="round"><title>{escape(heading or deck.name)}</title>'
        ),
        (
            '<defs><pattern id="moved" width="14" height="14" patternUnits="userSpaceOnUse" patternTransform="rotate(45)">'
            '<rect width="14" height="14" fill="#fff"/><line x1="0" y1="0" x2="0" y2="14" stroke="#999" stroke-width="5"/>'
            "</pattern></defs>"
        ),
        f'<rect x="{left}" y="{-top}" width="{right - left}" height="{top + down}" fill="#fff"/>',
        f'<text x="{left + 12}" y="{-top + 44}" font-size="40" font-weight="bold">{escape(heading)}</text>',
        *_vehicle(deck, left, right),
        *(_platform(slot, lifted[slot.name]) for slot in deck.slots if slot.name not in laid_away),
        *(_empty(slot, lifted[slot.name]) for slot in deck.slots if slot.name not in spots),
        *_aboard(stage, cars, spots),
        *_heights(deck, stage, right, route_height_mm),
        *(_legend() if stage.moved else ()),
        "</svg>",
    ]
    return "\n".join(parts)


def draw_run(plan: LoadPlan, cars: Mapping[str, Car], *, route_height_mm: int | None = None) -> str:
    """Return one SVG with the deck after every stop, one under the other."""
    stop = words()("deck.stop")
    pictures = [
        draw_deck(plan.deck, stage, cars, title=f"{number}. {stage.says or stop}", route_height_mm=route_height_mm)
        for number, stage in enumerate(plan.stages, start=1)
    ]
    boxes = [[int(part) for part in picture.split('viewBox="', 1)[1].split('"', 1)[0].split()] for picture in pictures]
    width, down, placed = max(box[2] for box in boxes), 0, []
    for picture, box in zip(pictures, boxes, strict=True):
        placed.append(picture.replace("<svg ", f'<svg x="0" y="{down}" width="{box[2]}" height="{box[3]}" ', 1))
        down += box[3] + 20
    inside = "\n".join(placed)
    size = f'viewBox="0 0 {width} {down}" width="900" height="{900 * down // width}"'
    return f'<svg xmlns="http://www.w3.org/2000/svg" {size}>\n{inside}\n</svg>\n'


def _spots(deck: Deck, stage: LoadedStage, cars: Mapping[str, Car]) -> dict[str, tuple[int, int, int]]:
    """Return x, length and wheel height by slot taken; cars of a level keep their gap and the level's ends."""
    on = {slot: key for key, slot in stage.placed}
    wheels = {slot: height for (_, slot), height in zip(stage.placed, stage.wheels_mm, strict=True)}
    spots: dict[str, tuple[int, int, int]] = {}
    for name in dict.fromkeys(slot.level for slot in deck.slots):
        row = sorted((slot for slot in deck.slots if slot.level == name), key=lambda slot: slot.x_mm)
        taken = [(slot, cars[on[slot.name]].length_mm) for slot in row if slot.name in on]
        tilted = any(later.x_mm - slot.x_mm < TILTED_MM for slot, later in pairwise(row))
        end = row[0].x_mm
        starts = []
        for slot, length in taken:
            starts.append(slot.x_mm if tilted else max(slot.x_mm, end))
            end = starts[-1] + length + deck.gap_mm
        level = deck.level_of.get(name)
        limit = row[0].x_mm + level.length_mm + level.rear_mm if level else end
        for (slot, length), start in zip(reversed(taken), reversed(starts), strict=True):
            x = start if tilted else min(start, limit - length)
            limit = x - deck.gap_mm
            spots[slot.name] = (x, length, wheels[slot.name])
    return spots


def _vehicle(deck: Deck, left: int, right: int) -> list[str]:
    """Return road, frame, wheels and cab."""
    cab, roof = deck.cab_mm // 10, min(deck.empty_height_mm, 2650) // 10
    lowest = min(slot.base_mm for slot in deck.slots) // 10
    frame = max(45, lowest - 22)
    shapes = [
        f'<line x1="{left}" y1="0" x2="{right}" y2="0" stroke="#000" stroke-width="3"/>',
        f'<path d="M{cab} {-frame} H{deck.length_mm // 10}" stroke="#555" stroke-width="10" fill="none"/>',
        f'<path d="M0 -40 V-130 L22 {-roof} H{cab} V-40 Z" fill="#eee" stroke="#000" stroke-width="4"/>',
        f'<path d="M14 -145 L32 {-roof + 18} H{cab - 60} V-145 Z" fill="#fff" stroke="#000" stroke-width="3"/>',
    ]
    shapes += [f'<circle cx="{axle // 10}" cy="-48" r="46" fill="#444" stroke="#000" stroke-width="3"/>'
               f'<circle cx="{axle // 10}" cy="-48" r="20" fill="#fff"/>' for axle in deck.axles_mm]  # fmt: skip
    return shapes


def _lifted(deck: Deck, stage: LoadedStage, cars: Mapping[str, Car]) -> dict[str, int]:
    """
    Return how high each platform stands; one without a car is lifted clear of the car below as well.

    One that cannot be is laid away and not drawn; its words then stand over that car.
    """
    on = {slot: key for key, slot in stage.placed}
    heights = {slot.name: slot.base_mm for slot in deck.slots}
    heights |= {slot: wheels for (_, slot), wheels in zip(stage.placed, stage.wheels_mm, strict=True)}
    for stack in deck.stacks:
        if stack.below in on and stack.above not in on:
            needed = heights[stack.below] + cars[on[stack.below]].height_mm + stack.platform_mm
            heights[stack.above] = max(heights[stack.above], needed)
    return heights


def _platform(slot: Slot, height_mm: int) -> str:
    x, y = slot.x_mm // 10, -height_mm // 10 + 7
    return f'<line x1="{x}" y1="{y}" x2="{x + slot.length_mm // 10}" y2="{y}" stroke="#000" stroke-width="9"/>'


def _empty(slot: Slot, height_mm: int) -> str:
    x, y, width = slot.x_mm // 10, -height_mm // 10, slot.length_mm // 10
    return (f'<rect x="{x + 8}" y="{y - 112}" width="{width - 16}" height="104" fill="none" stroke="#888" stroke-width="3" '
            f'stroke-dasharray="14 10"/><text x="{x + width // 2}" y="{y - 45}" font-size="36" fill="#555" '
            f'text-anchor="middle">{escape(words()("deck.empty", slot=slot.name))}</text>')  # fmt: skip


def _aboard(stage: LoadedStage, cars: Mapping[str, Car], spots: Mapping[str, tuple[int, int, int]]) -> list[str]:
    """Return each car as an outline with its number, slot and key."""
    shapes = []
    for number, (key, slot) in enumerate(stage.placed, start=1):
        x, length, wheels = (value // 10 for value in spots[slot])
        tall = cars[key].height_mm // 10
        fill = "url(#moved)" if key in stage.moved else "#fff"
        nose, waist, y = length // 5, tall * 11 // 20, -wheels
        outline = (f"M{x} {y - 22} V{y - waist + 10} L{x + nose} {y - waist} L{x + nose + 55} {y - tall} H{x + length - 75} "
                   f"L{x + length - 8} {y - waist} L{x + length} {y - 22} Z")  # fmt: skip
        wheels_at = (x + length // 6, x + length - length // 6)
        middle = x + length // 2
        size = min(36, length * 3 // 2 // max(1, len(key)))
        shapes += [
            f'<path d="{outline}" fill="{fill}" stroke="#000" stroke-width="5"/>',
            *(f'<circle cx="{at}" cy="{y - 28}" r="28" fill="#fff" stroke="#000" stroke-width="6"/>' for at in wheels_at),
            f'<circle cx="{middle - 62}" cy="{y - tall + 44}" r="33" fill="#000"/>',
            _text(middle - 62, y - tall + 58, 40, str(number), 'font-weight="bold" fill="#fff" text-anchor="middle"'),
            _text(middle - 14, y - tall + 57, 34, slot, HALO),
            _text(middle, y - 34, size, key, f'font-weight="bold" text-anchor="middle" {HALO}'),
        ]
    return shapes


def _legend() -> list[str]:
    """Return what hatching means, below the mass."""
    return [
        '<rect x="0" y="72" width="56" height="34" fill="url(#moved)" stroke="#000" stroke-width="4"/>',
        _text(70, 102, 36, words()("deck.moved")),
    ]


def _text(x: int, y: int, size: int, says: str, style: str = "") -> str:
    return f'<text x="{x}" y="{y}" font-size="{size}" {style}>{escape(says)}</text>'


def _heights(deck: Deck, stage: LoadedStage, right: int, route_height_mm: int | None) -> list[str]:
    """Return the loaded height as a dimension, the mass below the road, and the route's limit."""
    x, y = right - ROOM_RIGHT + 45, -stage.height_mm // 10
    w, limit_kg = words(), deck.gross_kg + deck.trailer_kg
    gross = w("deck.mass", gross=f"{stage.gross_kg:,}", limit=f"{limit_kg:,}", cars=f"{stage.cars_kg:,}")
    shapes = [
        f'<path d="M{x} 0 V{y} M{x - 14} {y} H{x + 14} M{x - 14} 0 H{x + 14}" stroke="#000" stroke-width="3" fill="none"/>',
        f'<text x="{x + 14}" y="{y + 44}" font-size="44" font-weight="bold">{height_text(stage.height_mm)} m</text>',
        f'<text x="0" y="56" font-size="40">{escape(gross)}</text>',
    ]
    if route_height_mm is not None:
        line = -route_height_mm // 10
        shapes += [
            f'<path d="M0 {line} H{x - 20}" stroke="#000" stroke-width="3" stroke-dasharray="24 14"/>',
            _text(0, line - 8, 32, w("deck.route", metres=f"{route_height_mm / 1000:.2f}")),
        ]
    return shapes
