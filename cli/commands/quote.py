"""``homeleg quote``: what delivery to a postcode costs, what to charge, and what can be promised; holds the place."""

from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from cli.dates import FORM, a_date
from planner.model.orders import Method

if TYPE_CHECKING:
    from collections.abc import Mapping

    from cli.quoting import OpenDesk
    from planner.desk.quote import Quote, QuoteDesk
    from planner.desk.quote_day import Asked
    from planner.desk.quote_held import HeldQuote
    from planner.model.places import Place, Window


def quote(
    postcode: Annotated[str | None, typer.Argument(help="Postcode, place name or lat,lng of the door.")] = None,
    *,
    car: Annotated[str, typer.Option(help='Kind of car: a body class, a fuel, a mass, such as "estate diesel 1700 kg".')] = "",
    order: Annotated[str | None, typer.Option(help="Ask for an order of the day: its car, to its door or to another.")] = None,
    date: Annotated[datetime | None, typer.Option(parser=a_date, metavar=FORM, help="Only this date.")] = None,
    window: Annotated[str | None, typer.Option(help='Only this window, such as "08:00-12:00".')] = None,
    method: Annotated[Method, typer.Option(help="How the car may travel.")] = Method.ANY,
    day: Annotated[Path, typer.Option(help="Folder with plan.json (and tariff.toml).", metavar="DIR")] = Path(),
    from_: Annotated[str | None, typer.Option("--from", help="Compound where the car stands; the nearest when left out.")] = None,
    tariff: Annotated[Path | None, typer.Option(help="Tariff, if not tariff.toml in the folder.")] = None,
    hold: Annotated[bool, typer.Option(help="Keep the place until the quote expires.")] = True,
    show: Annotated[str | None, typer.Option(metavar="REF", help="Show an earlier quote again.")] = None,
    drop: Annotated[str | None, typer.Option(metavar="REF", help="Give up an earlier quote: its place is free again.")] = None,
    batch: Annotated[Path | None, typer.Option(metavar="FILE", help="CSV with a column postcode: a price list.")] = None,
    out: Annotated[Path | None, typer.Option(help="Write a page to print (or, with --batch, the price list) here.")] = None,
    as_json: Annotated[bool, typer.Option("--json", help="Print the whole quote as JSON.")] = False,
) -> None:
    """Quote one more delivery: cost alone and in tomorrow's plan, the charge, and the earliest honest promise."""
    from cli.numba_alone import load_numba
    from cli.quoting import open_desk, roads_to, tariff_of, warm_up

    if batch is not None:
        _refuse_beside("--batch", {
            "POSTCODE": postcode, "--order": order, "--date": date, "--window": window, "--from": from_, "--show": show,
            "--drop": drop, "--json": as_json,
        })  # fmt: skip
    if order is not None:
        _refuse_beside("--order", {"--car": car, "--from": from_})
    load_numba()
    if postcode:
        warm_up()
    now = datetime.now().astimezone()
    settled = tariff_of(day, tariff)
    if batch is not None:
        from cli.price_list import price_list

        price_list(batch, folder=day, out=out, tariff=settled, car=car, method=method, now=now)
        return
    from planner.desk.quote_later import ask

    with open_desk(day, now=now, tariff=settled, asked_again=order) as opened:
        for warning in opened.warnings:
            typer.echo(f"Warning: {warning}", err=True)
        if show or drop:
            _earlier(opened, show or drop or "", drop=drop is not None, now=now, as_json=as_json, out=out)
            return
        wanted = _window(window)
        if date is not None:
            opened.desk.calendar.check(date.date())
        desk, asked = _question(opened, postcode, order, car=car, method=method, compound=from_)
        desk, found = ask(desk, asked, roads_to, day=date.date() if date else None, window=wanted)
        says = _why_not_held(opened, desk, found) if hold else ""
        is_held = hold and not says
        document = _document(desk, found, is_held=is_held)
        document["reasons"] += [line for line in (says, _part_exchange(asked)) if line]
        if is_held:
            _hold(opened, desk, found, document)
        _print(document, found, as_json=as_json)
    if out is not None:
        _page(document, out)


def _refuse_beside(option: str, others: "Mapping[str, object]") -> None:
    """Refuse what an option would pass over in silence."""
    given = [name for name, value in others.items() if value]
    if given:
        raise typer.BadParameter(f"does not go with {', '.join(given)}. Leave one of them out.", param_hint=option)


def _window(text: str | None) -> "Window | None":
    from planner.desk.tariff_file import window_of

    if text is None:
        return None
    window = window_of(text)
    if window is None:
        says = f'{text!r} is no window. Write it as "08:00-12:00", the earlier time first.'
        raise typer.BadParameter(says, param_hint="--window")
    return window


def _question(
    opened: "OpenDesk", postcode: str | None, order: str | None, *, car: str, method: Method, compound: str | None
) -> "tuple[QuoteDesk, Asked]":
    """Return the desk with the door joined to the roads, and the question."""
    from dataclasses import replace

    from cli import quoting
    from maps.gazetteer import locate
    from planner.desk.quote_car import car_of
    from planner.desk.quote_day import Asked
    from planner.desk.quote_later import asked_of
    from planner.desk.quote_list import nearest_compound
    from planner.model.places import PlaceId

    desk, reference = opened.desk, quoting.new_reference(opened.store)
    if order is not None:
        known = quoting.order_named(desk.day, order)
        to = known if postcode is None else replace(known, door=locate(postcode), no_large_vehicle=False)
        asked = asked_of(to, reference, desk.day)
        asked = replace(asked, method=method) if method is not Method.ANY else asked
        desk = quoting.without_order(desk, known)
        return desk.with_door(asked, quoting.roads_to(desk.day, [asked.door])), asked
    if not postcode:
        raise typer.BadParameter("give a postcode, or --order REF, --show REF, --drop REF or --batch FILE", param_hint="POSTCODE")
    asked_car, place = car_of(car), locate(postcode)
    door = replace(place, place_id=PlaceId(f"door of {reference}"))
    roads = quoting.roads_to(desk.day, [door])
    origin = quoting.compound_named(desk.day, compound) if compound else nearest_compound(desk.day, roads)
    asked = Asked(reference=reference, door=door, car=asked_car, origin=origin, method=method)
    return desk.with_door(asked, roads), asked


def _document(desk: "QuoteDesk", found: "Quote", *, is_held: bool) -> dict[str, Any]:
    from planner.desk.quote_reply import to_document

    day, runs = desk.on(found.promised.day if found.promised else desk.day.clock.day)
    return to_document(found, day, runs, is_held=is_held)


def _part_exchange(asked: "Asked") -> str:
    """Return that a part-exchange is priced too, "" without one."""
    other = asked.part_exchange
    return f"Bringing in its part-exchange ({other.car.make_model}) is in these costs." if other is not None else ""


def _why_not_held(opened: "OpenDesk", desk: "QuoteDesk", found: "Quote") -> str:
    """Return why the place of an order asked for again is not held, "" when it is; its own place in the plan is kept anyway."""
    from dataclasses import replace

    from planner.desk.quote_held import can_be_held, held

    entry = held(found, desk, {})
    if entry is None or found.asked.order is None:
        return ""
    order = next((order for order in desk.day.orders if order.ref == found.asked.order), None)
    if order is None:
        return ""  # an order that waits for a gate has no place in the plan yet
    if _point(order.door) != _point(found.asked.door):
        return f"{order.ref} keeps the place it has in the plan: change its address in the orders and plan anew to have this one."
    if entry.is_promise(order.promise):
        return f"That is what {order.ref} is promised already; its place in the plan is kept."
    day = desk.day.clock.day
    if can_be_held(replace(desk, booked={**desk.booked, day: opened.desk.booked[day]}), entry):
        return ""
    return f"{order.ref} keeps the place it has in the plan: change its promise in the orders and plan anew to have this one."


def _point(door: "Place") -> tuple[float, float]:
    return door.lng, door.lat


def _hold(opened: "OpenDesk", desk: "QuoteDesk", found: "Quote", document: dict[str, Any]) -> None:
    from cli.quote_store import write_held
    from planner.desk.quote_held import held

    entry = held(found, desk, document)
    if entry is not None:
        store = opened.store.kept_since(found.made_at.date())
        if entry.asked.order is not None:
            for earlier in store.open_for(entry.asked.order, found.made_at):
                store = store.ended(earlier, found.made_at)
        write_held(opened.path, store.with_quote(entry))


def _earlier(
    opened: "OpenDesk", reference: str, *, drop: bool, now: datetime, as_json: bool, out: Path | None
) -> None:
    """Show an earlier quote as it was given, or end it."""
    from cli.quote_store import UnknownQuote, write_held

    entry = opened.store.find(reference)
    if entry is None:
        raise UnknownQuote(reference, opened.path)
    if drop:
        write_held(opened.path, opened.store.ended(entry.reference, now))
        was_open = entry.expires_at > now
        print(f"Quote {entry.reference} is given up; its place is free again." if was_open else _state(entry, now))
        return
    if not as_json:
        print(_state(entry, now))
    _print_document(entry.document, as_json=as_json)
    if out is not None:
        _page(entry.document, out)


def _state(entry: "HeldQuote", now: datetime) -> str:
    until = f"{entry.expires_at:%H:%M on %d %B %Y}"
    if entry.expires_at > now:
        return f"Quote {entry.reference}: its place is held until {until}."
    return f"Quote {entry.reference} expired at {until} and holds nothing: ask again."


def _print(document: dict[str, Any], found: "Quote", *, as_json: bool) -> None:
    _print_document(document, as_json=as_json)
    if not as_json and found.asked.car.assumed:
        plain = ", ".join(name.removesuffix("_kg").removesuffix("_mm") for name in found.asked.car.assumed)
        print(f"Assumed for a {found.asked.car.make_model.lower()}: {plain}. Say more with --car.")


def _print_document(document: dict[str, Any], *, as_json: bool) -> None:
    import json

    from planner.desk.quote_text import lines

    print(json.dumps(document, indent=2, ensure_ascii=False) if as_json else "\n".join(lines(document)))


def _page(document: dict[str, Any], out: Path) -> None:
    from cli.atomic import write_whole
    from maps.quote_map import quote_map
    from planner.desk.quote_page import page

    write_whole(out, page(document, quote_map(document)))
    typer.echo(f"{out} is ready to print.", err=True)


