"""Charges met: the tolls, zones and ferries on a run's way as its sheet prints them, with how and by when to pay."""

from dataclasses import dataclass

from planner.model.day import Day
from planner.model.travel import Charge, ChargeKind
from planner.runs.costing import charges_of, passage_pence
from planner.runs.driven_legs import DrivenLeg, driven_legs
from planner.runs.run import Run
from planner.sheets.plain_text import place_name
from planner.sheets.words import Words


@dataclass(frozen=True, kw_only=True, slots=True)
class ChargeRow:
    """One toll or ferry, or one zone for the day, and how to pay it; ``vehicle`` names the car that meets it on a plate run."""

    name: str
    amount: str
    pay_by: str
    vehicle: str = ""
    warning: str = ""
    has_receipt: bool = True  # whether something is paid, whose reference is written down


def charge_rows(day: Day, run: Run, w: Words) -> tuple[ChargeRow, ...]:
    """Return a row for each passage of a toll or ferry and for each zone of a vehicle's day, in the order met."""
    met: dict[tuple[object, ...], list[DrivenLeg]] = {}
    charges = {charge.key: charge for charge in day.charges}
    for number, leg in enumerate(driven_legs(day, run)):
        for charge in charges_of(day, leg.charge_mask):
            passage = None if charge.kind is ChargeKind.ZONE else number
            met.setdefault((charge.key, leg.vehicle.key, passage), []).append(leg)
    return tuple(_row(day, run, charges[str(key[0])], legs, w) for key, legs in met.items())


def _row(day: Day, run: Run, charge: Charge, legs: list[DrivenLeg], w: Words) -> ChargeRow:
    old = charge.review_after is not None and charge.review_after < day.clock.day
    places = ", ".join(dict.fromkeys(place_name(day, leg.destination) for leg in legs))
    has_price = bool(charge.bands) or charge.kind is ChargeKind.ZONE
    warnings = [w("charge.book")] * charge.must_book + [w("charge.old_price")] * (old and has_price)
    return ChargeRow(
        name=f"{charge.name} ({w('charge.before', place=places)})",
        amount=_amount(charge, legs, w),
        pay_by=charge.pay_by,
        vehicle="" if run.itinerary.transporter is not None else legs[0].vehicle.name,
        warning=" ".join(warnings),
        has_receipt=charge.kind is ChargeKind.FERRY or _pence(charge, legs) > 0,
    )


def _amount(charge: Charge, legs: list[DrivenLeg], w: Words) -> str:
    """Say what costing counts; where there is no price for the vehicle, why."""
    pence = _pence(charge, legs)
    if pence:
        return w("charge.about", pounds=f"{pence / 100:.2f}")
    if charge.kind is ChargeKind.FERRY:
        return w("charge.ask")
    return w("charge.free_zone" if charge.kind is ChargeKind.ZONE else "charge.free_now")


def _pence(charge: Charge, legs: list[DrivenLeg]) -> int:
    return max(passage_pence(charge, leg) for leg in legs)
