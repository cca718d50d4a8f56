"""
Approved mileage: what a driver's own car or van on business miles may be paid without tax.

45p a mile for the first 10,000 business miles of the tax year, 25p after that, 5p more for each colleague carried: Income
Tax (Earnings and Pensions) Act 2003, sections 230 and 234, as on GOV.UK, "Travel - mileage and fuel rates and allowances".
"""

from decimal import Decimal

FIRST_MILES = Decimal(10_000)
FIRST_PENCE, AFTER_PENCE, PASSENGER_PENCE = Decimal(45), Decimal(25), Decimal(5)


def approved_pence(miles: Decimal | int, *, so_far: Decimal | int = 0, passengers: int = 0) -> Decimal:
    """
    Return the approved amount for ``miles`` more, after ``so_far`` miles in the tax year; pence, not rounded.

    >>> approved_pence(12_000)
    Decimal('500000')
    """
    at_first = max(Decimal(0), min(Decimal(miles), FIRST_MILES - Decimal(so_far)))
    return FIRST_PENCE * at_first + AFTER_PENCE * (Decimal(miles) - at_first) + PASSENGER_PENCE * passengers * Decimal(miles)
