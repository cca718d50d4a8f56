"""
Figures to check a loaded deck by: restraint forces, heights of bridges, how far cars may stand out, clearance over ramps.

These are reminders beside the operator's own instructions, the vehicle maker's transport manual and the law, never instead.
"""

from dataclasses import dataclass

GRAVITY = 9.81  # m/s2
#: Bridges below 16 ft 6 in carry a sign (gov.uk, prevention of bridge strikes).
STANDARD_BRIDGE_MM = 5_030
#: Above it the cab shows the overall height (Construction and Use Regulations 1986, regulation 10; from memory).
CAB_NOTICE_MM = 3_000
#: Rear: over 1 m made clearly visible, over 2 m an end marker; over 3.05 m at either end only with notice (Construction and
#: Use Regulations 1986, schedule 12; the 1 m and 2 m from memory).
VISIBLE_OVER_MM, END_MARKER_OVER_MM, POLICE_OVER_MM = 1_000, 2_000, 3_050


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
