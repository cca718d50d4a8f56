"""How far and how long it is from one place to another, for one pair on the screen or for a file of pairs."""

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from planner.model.crews import VehicleClass

if TYPE_CHECKING:
    from datetime import date

    from maps.travel import Path as RoadPath
    from planner.model.places import Place
    from planner.model.travel import Charge


#: What a vehicle may be too much of for a road, in the order they are told in.
SIZES = ("height", "width", "mass")
ALONE = "--height, --width, --mass, --avoid-tolls, --depart, --on, --older and --json"


def travel(
    origin: Annotated[str | None, typer.Argument(metavar="FROM", help="Postcode, place name or lat,lng.")] = None,
    destination: Annotated[str | None, typer.Argument(metavar="TO", help="Likewise.")] = None,
    *,
    vehicle: Annotated[VehicleClass, typer.Option(help="Which class of vehicle drives.")] = VehicleClass.CAR,
    depart: Annotated[str | None, typer.Option(metavar="HH:MM", help="Leave at this time, with its usual traffic.")] = None,
    on: Annotated[
        str | None, typer.Option(metavar="YYYY-MM-DD", help="Day of travel and of prices; today when not given.")
    ] = None,
    avoid_tolls: Annotated[bool, typer.Option(help="Keep off tolled roads.")] = False,
    height: Annotated[float, typer.Option(metavar="METRES", help="Keep off bridges signed for less.", min=0, max=6)] = 0.0,
    width: Annotated[float, typer.Option(metavar="METRES", help="Keep off roads signed for less.", min=0, max=4)] = 0.0,
    mass: Annotated[float, typer.Option(metavar="TONNES", help="Likewise; the class's own when not given.", min=0, max=60)] = 0.0,
    older: Annotated[bool, typer.Option(help="It misses petrol Euro 4 or diesel Euro 6: low-emission zones are due.")] = False,
    json: Annotated[bool, typer.Option("--json", help="Print JSON instead of words.")] = False,
    pairs: Annotated[Path | None, typer.Option(help="CSV file with the columns from and to.")] = None,
    out: Annotated[Path | None, typer.Option(help="Where to write the pairs with metres and seconds added.")] = None,
) -> None:
    """Tell metres and seconds from FROM to TO, or for every row of --pairs into --out."""
    size = tuple(round(1000 * each) for each in (height, width, mass))
    if pairs is not None and out is not None and origin is None:
        if any(size) or avoid_tolls or older or json or depart is not None or on is not None:
            raise typer.BadParameter(f"{ALONE} are for one FROM and TO, not for --pairs.")
        _write_pairs(pairs, out, vehicle)
    elif origin is not None and destination is not None and pairs is None and out is None:
        ends = origin, destination
        _tell_one(ends, vehicle, _day(on), _minute(depart), avoid_tolls=avoid_tolls, size=size, is_older=older, as_json=json)
    else:
        raise typer.BadParameter("give FROM and TO, or --pairs FILE with --out FILE.")


def _day(text: str | None) -> "date":
    import datetime as dt

    if text is None:
        return dt.datetime.now(tz=dt.UTC).astimezone().date()
    try:
        return dt.date.fromisoformat(text)
    except ValueError as fault:
        raise typer.BadParameter(f"{text!r} is no day. Write it as 2026-03-02.", param_hint="--on") from fault


def _minute(text: str | None) -> int | None:
    import re

    if text is None:
        return None
    told = re.fullmatch(r"([01]?\d|2[0-3]):([0-5]\d)", text.strip())
    if told is None:
        raise typer.BadParameter(f"{text!r} is no time of day. Write it as 07:30.", param_hint="--depart")
    return int(told[1]) * 60 + int(told[2])


def _tell_one(
    ends: tuple[str, str],
    vehicle: VehicleClass,
    day: "date",
    minute: int | None,
    *,
    avoid_tolls: bool,
    size: tuple[int, ...],
    is_older: bool,
    as_json: bool,
) -> None:
    """Print one journey; ``size`` is the vehicle's height and width in mm and its kg, each 0 where not told."""
    from maps.gazetteer import locate
    from maps.speeds_by_hour import seconds_leaving
    from maps.travel import path

    start, end = locate(ends[0]), locate(ends[1])
    high, wide, heavy = size
    found = path(
        start, end, vehicle, day=day, avoid_tolls=avoid_tolls, height_mm=high, width_mm=wide, mass_kg=heavy, is_older=is_older
    )
    leaving = None if minute is None else seconds_leaving(found.pieces, minute, day=day)
    _tell_server_is_not_asked()
    if as_json:
        import json

        print(json.dumps(_as_json(start, end, vehicle, found, minute, leaving), indent=2))
        return
    _print_words(start, end, vehicle, found, day, minute, leaving, is_older=is_older)
    if any(size):
        free = path(start, end, vehicle, day=day, avoid_tolls=avoid_tolls)
        _print_size(size, found.metres - free.metres)


def _tell_server_is_not_asked() -> None:
    """Say on the error stream that a routing server makes tables and draws no lines."""
    import os
    import sys

    named = os.environ.get("HOMELEG_ROADS", "")
    if named.startswith(("http://", "https://")):
        print(f"By the built-in roads: the routing server at {named} is asked for --pairs and for days.", file=sys.stderr)


def _print_size(size: tuple[int, ...], metres_more: int) -> None:
    from maps.roads import in_use
    from maps.travel import size_text
    from planner.units import miles

    roads = in_use()
    signed = roads.max_height_mm, roads.max_width_mm, roads.max_mass_kg
    unknown = [name for name, asked, known in zip(SIZES, size, signed, strict=True) if asked and not (len(known) and known.any())]
    if unknown:
        print(f"The roads in use know of no limit of {' or '.join(unknown)}: check the bridges and signs of the way yourself.")
    if len(unknown) < sum(map(bool, size)):
        away = f"Signs make the way {miles(metres_more):.1f} miles longer" if metres_more > 0 else "No sign bars the nearest way"
        print(f"{away} for a vehicle {size_text(*size)}.")


def _print_words(
    start: "Place",
    end: "Place",
    vehicle: VehicleClass,
    found: "RoadPath",
    day: "date",
    minute: int | None,
    leaving: int | None,
    *,
    is_older: bool,
) -> None:
    from maps.straight_line import circuity, straight_metres
    from planner.units import hours_text, miles

    print(
        f"{start.name} to {end.name} by {vehicle.value}: {miles(found.metres):.1f} miles ({found.metres / 1000:.1f} km), "
        f"{hours_text(-(-found.seconds // 60))} on an average working day. A planning aid without live traffic."
    )
    factor = circuity(start, end, found.metres)
    if factor is not None:
        print(f"The straight line is {miles(straight_metres(start, end)):.1f} miles; the road is {factor:.2f} times as long.")
    if minute is not None and leaving is not None:
        print(f"Leaving at {minute // 60:02d}:{minute % 60:02d} on {day:%A}: {hours_text(-(-leaving // 60))}.")
    roads = [name for name, metres in found.roads if metres >= 3000 and name != "ferry"]
    if roads:
        print(f"By {', '.join(dict.fromkeys(roads))}.")
    for place in (start, end):
        if place.off_by_m >= 1000:
            print(f"{place.name} is taken at its middle; the door may be {place.off_by_m / 1000:.0f} km off.")
    for charge in found.charges:
        said = _due(charge, vehicle, minute if minute is not None else 12 * 60, is_older=is_older)
        book = " Book ahead." if charge.must_book else ""
        print(f"Uses {charge.name}: {said}.{book}")


def _due(charge: "Charge", vehicle: VehicleClass, minute: int, *, is_older: bool) -> str:
    """Say what a charge costs then, and how and by when it is paid."""
    from maps.crossings import for_older_only
    from planner.units import pounds_text

    price = charge.pence_at(vehicle, minute)
    if price:
        doubtful = f"; price read before {charge.review_after:%d %B %Y}, check it" if charge.review_after else ""
        return f"{pounds_text(price)}, {charge.pay_by}{doubtful}"
    if charge.kind.value == "ferry":
        return "fare not known"
    if for_older_only(charge.key):
        if not is_older:
            return "nothing to pay from petrol Euro 4 and diesel Euro 6 on (--older prices one that misses them)"
        if not charge.bands and charge.pay_by.startswith("cannot"):
            return charge.pay_by
    return "nothing to pay"


def _as_json(
    start: "Place", end: "Place", vehicle: VehicleClass, found: "RoadPath", minute: int | None, leaving: int | None
) -> dict[str, object]:
    from maps.straight_line import straight_metres

    at = minute if minute is not None else 12 * 60
    told: dict[str, object] = {
        "from": start.name,
        "to": end.name,
        "vehicle": vehicle.value,
        "metres": found.metres,
        "seconds": found.seconds,
        "straight_metres": straight_metres(start, end),
        "ferry_seconds": found.ferry_seconds,
        "roads": [{"name": name, "metres": metres} for name, metres in found.roads],
        "charges": [
            {
                "key": charge.key,
                "name": charge.name,
                "kind": charge.kind.value,
                "pence": charge.pence_at(vehicle, at) if charge.bands else None,
                "must_book": charge.must_book,
                "review_after": charge.review_after.isoformat() if charge.review_after else None,
                "pay_by": charge.pay_by,
            }
            for charge in found.charges
        ],
        "from_off_by_m": start.off_by_m,
        "to_off_by_m": end.off_by_m,
    }
    if leaving is not None:
        told["depart_seconds"] = leaving
    return told


def _write_pairs(pairs: Path, out: Path, vehicle: VehicleClass) -> None:
    import csv
    import datetime as dt
    import io

    from cli.atomic import write_whole
    from maps.travel_pairs import legs
    from planner.faults import BadFiles, Problem

    try:
        text = pairs.read_bytes().decode("utf-8-sig")
    except FileNotFoundError as fault:
        raise BadFiles([Problem(file=str(pairs), says="there is no such file", advice="Check the path.")]) from fault
    except UnicodeDecodeError as fault:
        raise BadFiles([Problem(file=str(pairs), says="is not UTF-8 text", advice="Save it as CSV UTF-8.")]) from fault
    except OSError as fault:
        raise BadFiles([Problem(file=str(pairs), says=f"cannot be read ({fault.strerror})", advice="Check the path.")]) from fault
    try:
        header, *numbered = [(at, row) for at, row in enumerate(csv.reader(io.StringIO(text)), start=1) if row] or [(1, [])]
    except csv.Error as fault:
        raise BadFiles([Problem(file=pairs.name, says=f"is no table ({fault})", advice="Save it as CSV UTF-8.")]) from fault
    numbers, rows = [at for at, _ in numbered], [row for _, row in numbered]
    names = [name.strip().casefold() for name in header[1]]
    missing = [
        Problem(file=pairs.name, row=1, says=f"the column {name} is missing", advice=f"Add a column headed {name}.")
        for name in ("from", "to")
        if name not in names
    ]
    missing += [
        Problem(
            file=pairs.name,
            row=number,
            says=f"has {len(row)} cells where the heading has {len(names)}",
            advice="Give every row one cell a column.",
        )
        for number, row in numbered
        if len(row) != len(names)
    ]
    if missing:
        raise BadFiles(missing)
    ends = [(row[names.index("from")].strip(), row[names.index("to")].strip()) for row in rows]
    found = legs(ends, vehicle, file=pairs.name, numbers=numbers, day=dt.datetime.now(tz=dt.UTC).date())
    written = io.StringIO()
    table = csv.writer(written, lineterminator="\n")
    table.writerow([*header[1], "metres", "seconds"])
    table.writerows([*row, leg.metres, leg.seconds] for row, leg in zip(rows, found, strict=True))
    write_whole(out, written.getvalue())
    print(f"{len(found)} pairs written to {out}.")
