"""
Tariff: what the buyer is charged for delivery, from the distance or from what it costs, as the retailer has settled it.

Charges are what the buyer pays, value added tax included (a price shown to a consumer is the whole price: Consumer
Contracts Regulations 2013, Schedule 2(f), from memory); costs are without it.  Distances are road miles from where the
car stands to the door.
"""

from dataclasses import dataclass
from decimal import ROUND_CEILING, Decimal
from enum import StrEnum

from planner.model.places import Window
from planner.units import pence, pounds_text


class Beyond(StrEnum):
    """What holds above the last band, and everywhere when there are no bands."""

    COST_PLUS = "cost plus"
    BY_ARRANGEMENT = "by arrangement"


class Islands(StrEnum):
    """What holds where a ferry leads."""

    AS_MAINLAND = "as mainland"
    BY_ARRANGEMENT = "by arrangement"


@dataclass(frozen=True, kw_only=True, slots=True)
class Band:
    """One price up to a distance, that distance included."""

    up_to_miles: float
    pence: int


@dataclass(frozen=True, kw_only=True, slots=True)
class Tariff:
    """
    How delivery is charged and promised.

    ``floor_pence`` and ``cap_pence`` hold for every charge but a free one.  ``hold_min`` is how long a quote keeps its
    place, ``cut_off_min`` the latest minute of the day before (as clocks show) at which a day can still be promised.
    ``weekdays`` are those on which cars are delivered, Monday 0.
    """

    free_miles: float = 0.0
    bands: tuple[Band, ...] = ()
    beyond: Beyond = Beyond.COST_PLUS
    margin_percent: Decimal = Decimal(10)
    floor_pence: int = 0
    cap_pence: int | None = None
    round_up_to_pence: int = 100
    vat_percent: Decimal = Decimal(20)
    islands: Islands = Islands.BY_ARRANGEMENT
    hold_min: int = 60
    horizon_days: int = 14
    cut_off_min: int = 960
    weekdays: frozenset[int] = frozenset(range(6))
    bank_holidays: bool = False
    windows: tuple[Window, ...] = (
        Window(opens_min=480, closes_min=720),
        Window(opens_min=720, closes_min=960),
        Window(opens_min=960, closes_min=1200),
    )

    def is_arranged(self, *, by_ferry: bool) -> bool:
        """Return whether price and day are settled by somebody else, as where a ferry leads and islands are by arrangement."""
        return by_ferry and self.islands is Islands.BY_ARRANGEMENT


@dataclass(frozen=True, kw_only=True, slots=True)
class Charge:
    """
    What the buyer pays; ``charge_pence`` is None where delivery is by arrangement.

    ``net_pence`` is the charge without tax, ``absorbed_pence`` what the retailer bears of the cost, at least 0.
    """

    charge_pence: int | None
    vat_pence: int
    net_pence: int
    absorbed_pence: int
    says: str


def charge(tariff: Tariff, *, cost_pence: int, miles: float, by_ferry: bool = False) -> Charge:
    """Return what to charge for a delivery that costs ``cost_pence`` over ``miles`` of road."""
    if tariff.is_arranged(by_ferry=by_ferry):
        return Charge(charge_pence=None, vat_pence=0, net_pence=0, absorbed_pence=0, says="islands are by arrangement")
    if miles <= tariff.free_miles:
        return _charged(tariff, 0, f"free within {tariff.free_miles:g} miles", cost_pence)
    band = next((band for band in tariff.bands if miles <= band.up_to_miles), None)
    if band is not None:
        says = f"{pounds_text(band.pence)} up to {band.up_to_miles:g} miles"
        return _charged(tariff, *_within_limits(tariff, band.pence, says), cost_pence)
    if tariff.beyond is Beyond.BY_ARRANGEMENT:
        says = f"beyond {tariff.bands[-1].up_to_miles:g} miles is by arrangement" if tariff.bands else "by arrangement"
        return Charge(charge_pence=None, vat_pence=0, net_pence=0, absorbed_pence=0, says=says)
    gross = cost_pence * (1 + tariff.margin_percent / 100) * (1 + tariff.vat_percent / 100)
    steps = (gross / tariff.round_up_to_pence).to_integral_value(ROUND_CEILING)
    rounded = int(steps) * tariff.round_up_to_pence
    says = f"cost plus {tariff.margin_percent:f}% and {tariff.vat_percent:f}% VAT"
    return _charged(tariff, *_within_limits(tariff, rounded, says), cost_pence)


def _within_limits(tariff: Tariff, amount: int, says: str) -> tuple[int, str]:
    if amount < tariff.floor_pence:
        return tariff.floor_pence, f"{says}, at least {pounds_text(tariff.floor_pence)}"
    if tariff.cap_pence is not None and amount > tariff.cap_pence:
        return tariff.cap_pence, f"{says}, at most {pounds_text(tariff.cap_pence)}"
    return amount, says


def _charged(tariff: Tariff, amount: int, says: str, cost_pence: int) -> Charge:
    # The part of a price that is tax: 20/120 at the standard rate (Value Added Tax Act 1994, section 19(2), from memory).
    vat = pence(amount * tariff.vat_percent / (100 + tariff.vat_percent))
    net = amount - vat
    return Charge(charge_pence=amount, vat_pence=vat, net_pence=net, absorbed_pence=max(0, cost_pence - net), says=says)
