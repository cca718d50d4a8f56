"""The roads themselves: bring your own from an OpenStreetMap extract, and see how far the network in use can be trusted."""

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

if TYPE_CHECKING:
    from maps.told_pairs import Spread, Told

roads = typer.Typer(
    name="roads", no_args_is_help=True, help="Bring your own roads, or see how far to trust those in use.", rich_markup_mode=None
)


@roads.command("import")
def import_(
    extract: Annotated[Path, typer.Argument(metavar="FILE.osm.pbf", help="OpenStreetMap extract of your area.")],
    *,
    out: Annotated[Path | None, typer.Option(help="Where the network goes; beside the extract when not given.")] = None,
) -> None:
    """Make a road network from an OpenStreetMap extract."""
    import sys

    from maps.extract import import_extract

    place = out or extract.with_name(extract.name.removesuffix(".pbf").removesuffix(".osm") + ".roads.npz")
    network = import_extract(extract, place, progress=lambda line: print(line, file=sys.stderr))
    print(f"{network.num_nodes:,} junctions and {network.num_edges:,} edges written to {place}.")
    print(f"Use it with: export HOMELEG_ROADS={place}")
    print("Data © OpenStreetMap contributors, ODbL: keep these words with the file.")


@roads.command("check")
def check_roads(
    *,
    out: Annotated[Path | None, typer.Option(help="Write the page with its pictures here.")] = None,
    points: Annotated[int, typer.Option(min=20, max=2000, help="How many random points to hold against published bands.")] = 400,
    seed: Annotated[int, typer.Option(help="Which random points.")] = 5,
) -> None:
    """Hold the roads in use against published distances, drive times and speeds."""
    from cli.atomic import write_whole
    from maps.road_pieces import road_pieces
    from maps.roads import in_use
    from maps.roads_check_page import page
    from maps.told_bands import told_bands
    from maps.told_pairs import BANDS_OF_MILEAGES, BANDS_OF_TIMES, measured_times, spreads, told_mileages, told_times

    mileages, times, measured, bands = told_mileages(), told_times(), measured_times(), told_bands(points, seed)
    _tell_spreads("published distances", spreads(mileages, BANDS_OF_MILEAGES))
    _tell_worst(mileages, "published {0.told:.0f}, ours {0.ours:.1f} miles")
    print()
    _tell_spreads("remembered drive times", spreads(times, BANDS_OF_TIMES))
    _tell_worst(times, "{0.miles:.0f} miles, remembered {0.told:.0f}, ours {0.ours:.0f} minutes")
    print()
    _tell_spreads("measured drive times", spreads(measured, BANDS_OF_TIMES, by_source=True))
    _tell_worst(measured, "{0.miles:.0f} miles, measured {0.told:.0f}, ours {0.ours:.0f} minutes")
    print("\nrandom points against published bands")
    for band in bands:
        if band.pairs:
            unit = "km" if band.what == "circuity" else "miles"
            where = f"{band.what:9} {band.where.replace('_', ' '):12} {band.low:3}-{band.high:3} {unit:5}"
            print(f"  {where}  published {band.published:6.3f}  ours {band.ours:6.3f}  {band.error:+6.1%}")
    mainland, *others = road_pieces(in_use())
    print(f"\npieces of the network: the largest has {mainland.junctions:,} junctions; {len(others)} stand apart")
    for piece in others[:10]:
        print(f"  {piece.junctions:5} junctions near {piece.lat:.3f},{piece.lng:.3f}")
    if out is not None:
        write_whole(out, page(mileages, times, measured, bands, in_use()))
        print(f"\nThe page is in {out}.")


def _tell_spreads(title: str, spreads: "tuple[Spread, ...]") -> None:
    print(f"{title:28} {'pairs':>6} {'median':>8} {'90th':>8} {'middle':>8}")
    for spread in spreads:
        print(f"{spread.name:28} {spread.count:6} {spread.median:8.1%} {spread.p90:8.1%} {spread.bias:+8.1%}")


def _tell_worst(told: "tuple[Told, ...]", figures: str) -> None:
    from maps.told_pairs import worst

    print("\nworst twenty")
    for each in worst(told):
        print(f"  {each.error:+7.1%}  {each.origin} to {each.destination}: {figures.format(each)}")
