"""
The reply to a quote: what a salesperson reads out in one breath, and the whole of it for other programs.

Amounts that the buyer hears hold the tax; costs do not.
"""

from collections.abc import Iterator, Sequence
from datetime import date, datetime
from typing import Any

from planner.desk.quote import Place, Quote, extra_changes, extra_lines
from planner.desk.tariff import Tariff
from planner.model.day import Day
from planner.model.places import Place as Door
from planner.model.places import Window
from planner.runs.run import Run, RunKind
from planner.units import miles, pounds_text, wall_text

SCHEMA_VERSION = 1
WORDS = {RunKind.PLATE: "driven to you", RunKind.TRANSPORTER: "on our transporter", RunKind.HIRED: "by a carrier we hire"}


def window_text(window: Window) -> str:
    """Return a window as people say it."""
    return f"between {wall_text(window.opens_min)} and {wall_text(window.closes_min)}"


def day_text(day: date, now: datetime) -> str:
    """Return a date as people say it: tomorrow, or the weekday with the date."""
    away = (day - now.date()).days
    said = f"{day:%A} {day.day} {day:%B}"
    return {0: f"today, {said}", 1: f"tomorrow, {said}"}.get(away, said)


def reply(quote: Quote, *, is_held: bool = True) -> str:
    """Return what to read out: price, day and window, how long it is held, and the reference; without one if nothing is."""
    said = (price_sentence(quote), promise_sentence(quote, is_held=is_held))
    reference = f"Your reference is {quote.reference}." if is_held and quote.promised is not None else ""
    return " ".join(part for part in (*said, reference) if part)


def price_sentence(quote: Quote) -> str:
    """Return the price as a sentence."""
    where = quote.asked.door.name
    amount = quote.charge.charge_pence
    if amount is None:
        return f"Delivery to {where} is by arrangement, so I will ask the transport office to ring you."
    if amount == 0:
        return f"Delivery to {where} is free."
    return f"Delivery to {where} is {pounds_text(amount).removesuffix('.00')} including VAT."


def promise_sentence(quote: Quote, *, is_held: bool = True) -> str:
    """Return what can be promised as a sentence, "" for an island by arrangement."""
    place = quote.promised
    if quote.is_island_by_arrangement:
        return ""
    if place is None and len(quote.closed) == 1:
        return _no_such_day(quote, *quote.closed[0])
    if place is None:
        return f"I cannot promise a day up to {_last_tried(quote)}; the transport office will find one."
    held = f"{quote.expires_at:%H:%M}"
    if quote.expires_at.date() != quote.made_at.date():
        held += f" on {quote.expires_at:%A}"
    way = f", {WORDS[place.best.kind]}" if place.best else ""
    hold = f"I hold that until {held}" if is_held else "nothing is held yet"
    return f"We can bring it {day_text(place.day, quote.made_at)}, {window_text(place.window)}{way}; {hold}."


def _no_such_day(quote: Quote, day: date, why: str) -> str:
    """Return that the only date that was looked at cannot be promised."""
    window = quote.asked.window
    full = f"it is full {window_text(window)}" if window else "it is full"
    return f"I cannot promise {day_text(day, quote.made_at)}: {full if why.startswith('full') else why}."


def _last_tried(quote: Quote) -> str:
    days = [day for day, _ in quote.closed]
    return f"{max(days):%d %B}" if days else "the last day we plan for"


def reasons(quote: Quote) -> tuple[str, ...]:
    """Return why not earlier, a sentence for each date passed over and for the windows that are full."""
    said = [f"{_upper(day_text(day, quote.made_at))}: {why}." for day, why in quote.closed]
    if quote.is_island_by_arrangement:
        said.append("A ferry leads there: the transport office arranges day, fare and price, and nothing is held.")
    if quote.promised is not None:
        full = [place for place in quote.tried if place.day == quote.promised.day and place.best is None]
        if full:
            name = _upper(day_text(quote.promised.day, quote.made_at))
            said.append(f"{name} is full {_stretches(full)}.")
        if quote.promised.day != quote.planned:
            said.append(_supposed(quote, quote.promised.day))
    return tuple(said)


def _supposed(quote: Quote, on: date) -> str:
    """Return what is taken for granted about a date that is not planned yet."""
    cars = "one car" if quote.num_promised == 1 else f"{quote.num_promised or 'no'} cars"
    return (
        f"{on:%A} {on.day} {on:%B} is not planned yet: crews, compounds and rates are taken to be those of "
        f"{quote.planned:%A} {quote.planned.day} {quote.planned:%B}; {cars} promised for it so far."
    )


def _stretches(places: Sequence[Place]) -> str:
    windows = sorted((place.window for place in places), key=lambda window: window.opens_min)
    return " and ".join(f"from {wall_text(window.opens_min)} to {wall_text(window.closes_min)}" for window in windows)


def cheaper(quote: Quote) -> Place | None:
    """Return a later window of the promised day that costs clearly less, at least a tenth and five pounds; else None."""
    if quote.promised is None or quote.promised.best is None:
        return None
    same = [place for place in quote.tried if place.day == quote.promised.day and place.best is not None]
    best = min(same, key=lambda place: place.best.extra_pence if place.best else 0)
    if best.best is None:
        return None
    saved = quote.promised.best.extra_pence - best.best.extra_pence
    return best if saved >= max(500, quote.promised.best.extra_pence // 10) else None


def to_document(quote: Quote, day: Day, runs: Sequence[Run], *, is_held: bool = True) -> dict[str, Any]:
    """
    Return a quote as JSON-safe values, with everything that was used to make it.

    Parameters
    ----------
    quote
        The quote.
    day, runs
        The promised date (the planned day without a promise) and the runs it had before the quote.
    is_held
        Whether its place is kept until it expires.

    """
    place, best = quote.promised, quote.promised.best if quote.promised else None
    return {
        "schema_version": SCHEMA_VERSION,
        "reference": quote.reference,
        "made_at": quote.made_at.isoformat(timespec="minutes"),
        "expires_at": quote.expires_at.isoformat(timespec="minutes"),
        "door": _point(quote.asked.door),
        "car": {"make_model": quote.asked.car.make_model, "mass_kg": quote.asked.car.mass_kg,
                "length_mm": quote.asked.car.length_mm, "fuel": quote.asked.car.fuel},
        "from": day.place_of[quote.asked.origin].name,
        "stands_at": _point(day.place_of[quote.asked.origin]),
        "miles": round(miles(quote.distance_m), 1),
        "by_ferry": quote.by_ferry,
        "charge_pence": quote.charge.charge_pence,
        "vat_pence": quote.charge.vat_pence,
        "net_pence": quote.charge.net_pence,
        "absorbed_pence": quote.charge.absorbed_pence,
        "charge_reason": quote.charge.says,
        "cost_alone_pence": quote.cost_alone_pence,
        "cost_in_plan_pence": quote.cost_in_plan_pence,
        "cost_by_insertion_pence": quote.cost_by_insertion_pence,
        "gives_way": str(place.swap.gives_way.move_id) if place and place.swap else None,
        "cost_planned_anew_pence": place.anew.pence if place and place.anew else None,
        "earliest_date": place.day.isoformat() if place else None,
        "earliest_window": _window(place.window) if place else None,
        "method": None if best is None else "driven" if best.kind is RunKind.PLATE else "carried",
        "by": best.kind if best else None,
        "joins_run": best.replaces if best else None,
        "methods": list(_methods(quote)),
        "windows": [
            {"date": tried.day.isoformat(), **_window(tried.window), "free": tried.best is not None,
             "cost_in_plan_pence": tried.best.extra_pence if tried.best else None}
            for tried in quote.tried
        ],
        "cost_lines": [{"kind": kind, "pence": pence} for kind, pence in extra_lines(place, runs)] if place else [],
        "changes": [{"says": change.says, "pence": change.pence} for change in extra_changes(place, day, runs, quote.asked)]
        if place else [],
        "reasons": list(reasons(quote)),
        "is_held": is_held and place is not None,
        "reply": reply(quote, is_held=is_held),
        "tariff": tariff_used(quote.tariff),
        "rates": rates_used(day),
        "caution": "A planning aid: hours and windows are as planned, the plan of the day decides.",
    }  # fmt: skip


def _point(place: Door) -> dict[str, Any]:
    return {"name": place.name, "postcode": place.postcode, "lng": place.lng, "lat": place.lat}


def _window(window: Window) -> dict[str, str]:
    return {"opens": wall_text(window.opens_min), "closes": wall_text(window.closes_min)}


def _methods(quote: Quote) -> Iterator[dict[str, Any]]:
    """Yield each kind of run with what it costs alone and in the plan; None where it cannot be done so."""
    for kind in RunKind:
        alone = quote.alone.of(kind)
        inside = quote.promised.offers.of(kind) if quote.promised else None
        yield {
            "by": kind,
            "method": "driven" if kind is RunKind.PLATE else "carried",
            "cost_alone_pence": alone.extra_pence if alone else None,
            "cost_in_plan_pence": inside.extra_pence if inside else None,
        }


def tariff_used(tariff: Tariff) -> dict[str, Any]:
    """Return the tariff as plain values."""
    return {
        "free_miles": tariff.free_miles,
        "bands": [{"up_to_miles": band.up_to_miles, "pence": band.pence} for band in tariff.bands],
        "beyond": tariff.beyond,
        "margin_percent": str(tariff.margin_percent),
        "floor_pence": tariff.floor_pence,
        "cap_pence": tariff.cap_pence,
        "vat_percent": str(tariff.vat_percent),
        "islands": tariff.islands,
    }


def rates_used(day: Day) -> dict[str, Any]:
    """Return the rates in force on the day as plain values."""
    rates = day.rates
    return {
        "wages_pence_per_hour": {role: str(wage.pence_per_hour) for role, wage in sorted(rates.wages.items())},
        "fuel_pence": {fuel: str(price) for fuel, price in sorted(rates.fuel_pence.items())},
        "running_pence_per_km": {kind: str(cost.pence_per_km) for kind, cost in sorted(rates.running.items())},
        "night_out_pence": str(rates.night_out_pence),
        "plate_day_pence": str(rates.plate_day_pence),
        "revalet_pence": str(rates.revalet_pence),
        "value_fall_pence_per_km": str(rates.value_fall_pence_per_km),
        "is_weekend": rates.is_weekend,
    }


def _upper(text: str) -> str:
    return text[:1].upper() + text[1:]
