"""
Units and the few constants that turn one into another.

Plain numbers wear their unit in their name: ``_m`` and ``metres`` are metres, ``_mm`` millimetres, ``_kg`` kilograms,
``_s`` and ``seconds`` seconds, ``_min`` and ``minutes`` whole minutes, ``_pence`` whole pence.  Money is rounded once,
half up, where a cost line is made.
"""

from decimal import ROUND_HALF_UP, Decimal

METRES_A_MILE = 1609.344  # exact: international yard and pound agreement, 1959
LITRES_A_GALLON = 4.54609  # exact: Units of Measurement Regulations 1995 (from memory)
MINUTES_A_DAY = 1440


def miles(metres: float) -> float:
    """Return ``metres`` in miles."""
    return metres / METRES_A_MILE


def metres(miles_: float) -> float:
    """Return ``miles_`` in metres."""
    return miles_ * METRES_A_MILE


def minutes_up(seconds: float) -> int:
    """
    Return ``seconds`` in whole minutes, any part of a minute counted as a whole one.

    >>> minutes_up(0), minutes_up(60), minutes_up(61)
    (0, 1, 2)
    """
    return -int(-seconds // 60)


def pence(amount: Decimal | float | str) -> int:
    """
    Return an amount of pence rounded half up, away from zero, to a whole penny.

    >>> pence("2.5"), pence(-2.5), pence(Decimal("2.4999"))
    (3, -3, 2)
    """
    exact = amount if isinstance(amount, Decimal) else Decimal(str(amount))
    return int(exact.quantize(Decimal(1), rounding=ROUND_HALF_UP))


def pounds_text(amount_pence: int) -> str:
    """
    Return pence as people read them.

    >>> pounds_text(123456), pounds_text(-5)
    ('£1,234.56', '-£0.05')
    """
    sign = "-" if amount_pence < 0 else ""
    return f"{sign}£{abs(amount_pence) // 100:,}.{abs(amount_pence) % 100:02d}"


def wall_text(minute: int) -> str:
    """
    Return minutes of a day as a clock on the wall shows them; for a day on which no clock changes.

    >>> wall_text(545)
    '09:05'
    """
    return f"{minute // 60:02d}:{minute % 60:02d}"


def hours_text(minutes: int) -> str:
    """
    Return minutes as hours and minutes.

    >>> hours_text(545), hours_text(0)
    ('9 h 05', '0 h 00')
    """
    sign = "-" if minutes < 0 else ""
    return f"{sign}{abs(minutes) // 60} h {abs(minutes) % 60:02d}"
