"""
What to check on a loaded deck: restraint forces, the driver's tick list, height against bridges, marks on what stands out.

These are reminders beside the operator's own instructions, the vehicle maker's transport manual and the law, never instead.
"""

from dataclasses import dataclass

from planner.model.deck import Deck
from planner.rules.load_plan_steps import LoadedStage

GRAVITY = 9.81  # m/s2
#: Bridges below 16 ft 6 in carry a sign (gov.uk, prevention of bridge strikes).
STANDARD_BRIDGE_MM = 5_030
#: Above it the cab shows the overall height (Construction and Use Regulations 1986, regulation 10; from memory).
CAB_NOTICE_MM = 3_000


def height_text(height_mm: int) -> str:
    """
    Return a height as road signs give it, both parts rounded up.

    >>> height_text(4950), height_text(5030), height_text(4875)
    ('4.95 m (16 ft 3 in)', '5.03 m (16 ft 7 in)', '4.88 m (16 ft 0 in)')
    """
    inches = -(-height_mm * 10 // 254)
    return f"{-(-height_mm // 10) / 100:.2f} m ({inches // 12} ft {inches % 12} in)"


@dataclass(frozen=True, kw_only=True, slots=True)
class Restraint:
    """Forces that the restraint of one car must hold, in kilonewtons, and where the shares come from."""

    forward_kn: float
    sideways_kn: float
    rearward_kn: float
    basis: str


def restraint(mass_kg: int, gross_kg: int) -> Restraint:
    """
    Return the forces for a car of ``mass_kg`` on a vehicle of ``gross_kg``.

    EN 12195-1 (0.8 of the weight forward, 0.5 sideways and rearward) leaves out vehicles up to 3,500 kg, which brake and
    corner harder; for them the code of practice "Safety of loads on vehicles" (Department for Transport) is used: the whole
    weight forward, half sideways and rearward (from memory).

    >>> round(restraint(1800, 18000).forward_kn, 1), round(restraint(1800, 3500).forward_kn, 1)
    (14.1, 17.7)
    """
    weight_kn = mass_kg * GRAVITY / 1000
    small = gross_kg <= 3500
    return Restraint(
        forward_kn=weight_kn * (1.0 if small else 0.8),
        sideways_kn=weight_kn * 0.5,
        rearward_kn=weight_kn * 0.5,
        basis="Safety of loads on vehicles (code of practice)" if small else "EN 12195-1",
    )


def low_bridge_warning(height_mm: int, route_height_mm: int) -> str | None:
    """
    Return a warning when the loaded vehicle is taller than the route allows or than an unsigned bridge need be.

    Bridges below 16 ft 6 in (5.03 m) are signed, with at least 75 mm in hand (Traffic Signs Manual).

    >>> low_bridge_warning(4300, 4950) is None
    True
    >>> low_bridge_warning(5000, 4950)
    'Loaded height 5.00 m (16 ft 5 in) is 50 mm above the 4.95 m of this route. Do not leave: load lower cars on top.'
    """
    tall = f"Loaded height {height_text(height_mm)}"
    if height_mm > route_height_mm:
        over = height_mm - route_height_mm
        route = f"the {route_height_mm / 1000:.2f} m of this route"
        return f"{tall} is {over:,} mm above {route}. Do not leave: load lower cars on top."
    if height_mm > STANDARD_BRIDGE_MM:
        return f"{tall} is above 5.03 m: bridges of 16 ft 6 in and more carry no sign. Do not leave without a checked route."
    return None


def height_note(height_mm: int) -> str | None:
    """Return what the cab's height notice has to show, None at 3 m or less."""
    return f"Set the cab height notice to {height_text(height_mm)}" if height_mm > CAB_NOTICE_MM else None


def overhang_notes(stage: LoadedStage) -> tuple[str, ...]:
    """
    Return how cars that stand out have to be marked.

    Rear: over 1 m made clearly visible, over 2 m an end marker; over 3.05 m at either end only with notice (Construction and
    Use Regulations 1986, schedule 12; the 1 m and 2 m from memory).
    """
    notes = []
    for over in stage.overhangs:
        if max(over.front_mm, over.rear_mm) > 3_050:
            most = max(over.front_mm, over.rear_mm)
            notes.append(f"{over.level}: stands out {most:,} mm, above 3,050 mm: not without notice to the police")
        elif over.rear_mm > 2_000:
            notes.append(f"{over.level}: stands out {over.rear_mm:,} mm at the rear: fit the end marker")
        elif over.rear_mm > 1_000:
            notes.append(f"{over.level}: stands out {over.rear_mm:,} mm at the rear: make it clearly visible")
    return tuple(notes)


def tick_list(deck: Deck, stage: LoadedStage, masses_kg: dict[str, int]) -> tuple[str, ...]:
    """
    Return what the driver ticks when the stop is done; ``masses_kg`` by key of the cars.

    All four wheels restrained is common practice; no official number of straps exists.
    """
    ticks = []
    for key, slot in stage.placed:
        force = restraint(masses_kg[key], deck.gross_kg)
        ticks.append(f"{slot} {key}: in gear or Park, handbrake on, 4 wheels strapped or chocked "
                     f"(hold {force.forward_kn:.1f} kN forward, {force.sideways_kn:.1f} kN sideways)")  # fmt: skip
    if stage.placed:
        ticks.append("Straps: labels readable, no cut or knot, over the wheel, not on suspension or body")
        ticks.append("Ramps up and pinned, platforms locked, nothing loose on the deck")
        ticks.append("Straps checked again after the first 10 miles and after each stop")
        ticks.append(f"Mass by the papers {stage.gross_kg:,} kg of {deck.gross_kg + deck.trailer_kg:,} kg; weigh when in doubt")
    ticks += [note for note in (height_note(stage.height_mm),) if note]
    return (*ticks, *overhang_notes(stage))
