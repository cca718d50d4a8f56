"""``homeleg tariff``: the tariff in words, or drawn over the country with the earliest day that can be promised."""

from datetime import datetime
from enum import StrEnum
from pathlib import Path
from typing import Annotated

import typer

from planner.model.orders import Method


class What(StrEnum):
    """What to make of the tariff."""

    MAP = "map"
    RULES = "rules"


def tariff(
    what: Annotated[What, typer.Argument(help="map: draw charge and earliest day; rules: say them.")],
    *,
    day: Annotated[Path, typer.Option(help="Folder with plan.json (and tariff.toml).", metavar="DIR")] = Path(),
    file: Annotated[Path | None, typer.Option("--tariff", help="Tariff, if not tariff.toml in the folder.")] = None,
    out: Annotated[Path, typer.Option(help="Page to write.")] = Path("tariff.html"),
    car: Annotated[str, typer.Option(help="Kind of car, as in quote.")] = "",
    method: Annotated[Method, typer.Option(help="How the car may travel.")] = Method.ANY,
    cell_km: Annotated[float, typer.Option(min=10, max=100, help="Kilometres from one cell to the next.")] = 25.0,
) -> None:
    """Say the delivery tariff, or draw the charge and the earliest day over the country."""
    from cli.quoting import open_desk, roads_apart, roads_to, tariff_of
    from planner.desk.tariff_page import rules

    settled = tariff_of(day, file)
    if what is What.RULES:
        print("\n".join(rules(settled)))
        return
    from cli.atomic import write_whole
    from maps.tariff_map import Cell, cell_places, charge_map, day_map
    from planner.desk.quote_car import car_of
    from planner.desk.quote_later import with_all_later_orders
    from planner.desk.quote_list import quotes_for
    from planner.desk.tariff_page import page

    now = datetime.now().astimezone()
    asked_car = car_of(car)
    with open_desk(day, now=now, tariff=settled) as opened:
        desk = with_all_later_orders(opened.desk, roads_to)
    places = cell_places(cell_km)
    cells = []
    for priced in quotes_for(desk, [(place.name, place) for place in places], roads_apart, car=asked_car, method=method):
        quote = priced.quote
        cells.append(
            Cell(
                lng=priced.door.lng,
                lat=priced.door.lat,
                charge_pence=quote.charge.charge_pence if quote else None,
                day=quote.promised.day if quote and quote.promised else None,
            )
        )
    told = f"A {asked_car.make_model.lower()} from the nearest compound, {len(cells)} cells asked {now:%H:%M on %d %B %Y}."
    maps = (charge_map(cells, cell_km=cell_km), day_map(cells, cell_km=cell_km))
    write_whole(out, page(settled, maps, told=told))
    print(f"{out}: the charge and the earliest day in {len(cells)} cells. Nothing is held.")
