"""How far and how long it is from one place to another, for one pair on the screen or for a file of pairs."""

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from planner.model.crews import VehicleClass

if TYPE_CHECKING:
    from maps.travel import Path as RoadPath
    from planner.model.places import Place


def travel(
    origin: Annotated[str | None, typer.Argument(metavar="FROM", help="Postcode, place name or lat,lng.")] = None,
    destination: Annotated[str | None, typer.Argument(metavar="TO", help="Likewise.")] = None,
    *,
    vehicle: Annotated[VehicleClass, typer.Option(help="Which class of vehicle drives.")] = VehicleClass.CAR,
    json: Annotated[bool, typer.Option("--json", help="Print JSON instead of words.")] = False,
    pairs: Annotated[Path | None, typer.Option(help="CSV file with the columns from and to.")] = None,
    out: Annotated[Path | None, typer.Option(help="Where to write the pairs with metres and seconds added.")] = None,
) -> None:
    """Tell metres and seconds from FROM to TO, or for every row of --pairs into --out."""
    if pairs is not None and out is not None and origin is None:
        _write_pairs(pairs, out, vehicle)
    elif origin is not None and destination is not None and pairs is None and out is None:
        _tell_one(origin, destination, vehicle, as_json=json)
    else:
        raise typer.BadParameter("give FROM and TO, or --pairs FILE with --out FILE.")


def _tell_one(origin: str, destination: str, vehicle: VehicleClass, *, as_json: bool) -> None:
    from maps.gazetteer import locate
    from maps.travel import path

    start, end = locate(origin), locate(destination)
    found = path(start, end, vehicle)
    if as_json:
        import json

        print(json.dumps(_as_json(start, end, vehicle, found), indent=2))
        return
    from planner.units import hours_text, miles

    print(
        f"{start.name} to {end.name} by {vehicle.value}: {miles(found.metres):.1f} miles ({found.metres / 1000:.1f} km), "
        f"{hours_text(-(-found.seconds // 60))} on an average working day. Planning time, no live traffic."
    )
    for place in (start, end):
        if place.off_by_m >= 1000:
            print(f"{place.name} is taken at its middle; the door may be {place.off_by_m / 1000:.0f} km off.")
    for charge in found.charges:
        print(f"Uses {charge.name}{' (book ahead)' if charge.must_book else ''}.")


def _as_json(start: "Place", end: "Place", vehicle: VehicleClass, found: "RoadPath") -> dict[str, object]:
    return {
        "from": start.name,
        "to": end.name,
        "vehicle": vehicle.value,
        "metres": found.metres,
        "seconds": found.seconds,
        "ferry_seconds": found.ferry_seconds,
        "charges": [
            {"key": charge.key, "name": charge.name, "kind": charge.kind.value, "must_book": charge.must_book}
            for charge in found.charges
        ],
        "from_off_by_m": start.off_by_m,
        "to_off_by_m": end.off_by_m,
    }


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
    header, *rows = [row for row in csv.reader(io.StringIO(text)) if row] or [[]]
    names = [name.strip().casefold() for name in header]
    missing = [
        Problem(file=pairs.name, row=1, says=f"the column {name} is missing", advice=f"Add a column headed {name}.")
        for name in ("from", "to")
        if name not in names
    ]
    missing += [
        Problem(
            file=pairs.name,
            row=number,
            says=f"has {len(row)} cells where the heading has {len(header)}",
            advice="Give every row one cell a column.",
        )
        for number, row in enumerate(rows, start=2)
        if len(row) != len(header)
    ]
    if missing:
        raise BadFiles(missing)
    ends = [(row[names.index("from")].strip(), row[names.index("to")].strip()) for row in rows]
    found = legs(ends, vehicle, file=pairs.name, day=dt.datetime.now(tz=dt.UTC).date())
    written = io.StringIO()
    table = csv.writer(written, lineterminator="\n")
    table.writerow([*header, "metres", "seconds"])
    table.writerows([*row, leg.metres, leg.seconds] for row, leg in zip(rows, found, strict=True))
    write_whole(out, written.getvalue())
    print(f"{len(found)} pairs written to {out}.")
