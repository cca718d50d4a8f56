"""``homeleg plan``: a day folder in; the plan, the board and the sheets out."""

from datetime import datetime
from pathlib import Path
from typing import Annotated

import typer

from cli.dates import FORM, a_date


def plan(
    folder: Annotated[Path, typer.Argument(help="Folder with orders.csv, drivers.csv and the rest.", metavar="DAY")],
    out: Annotated[Path, typer.Option(help="Folder for the plan, the board and the sheets.")],
    seconds: Annotated[float, typer.Option(min=1, help="Stop improving after so many seconds.")] = 20,
    seed: Annotated[int, typer.Option(min=0, help="Where the search begins; the same seed and rounds give the same plan.")] = 0,
    rounds: Annotated[int | None, typer.Option(min=1, help="Stop after so many rounds of search.")] = None,
    machines: Annotated[
        str | None, typer.Option(help="Share a big day among the workers of this Dask scheduler.", metavar="tcp://HOST:PORT")
    ] = None,
    sheets: Annotated[bool, typer.Option(help="Write the PDFs and the files for other tools too.")] = True,
    date: Annotated[
        datetime | None, typer.Option(parser=a_date, metavar=FORM, help="Planning day, if not that of policy.toml.")
    ] = None,
) -> None:
    """Plan one day: who takes which car, in what order, at what time, at what cost."""
    from dataclasses import replace
    from zoneinfo import ZoneInfo

    from cli.atomic import write_whole
    from cli.geography import open_day
    from cli.head_start import head_start, late_start
    from cli.plan_files import write_plan
    from cli.planning import planned_with_prices
    from cli.prices_file import write_prices
    from cli.quoting import tariff_text
    from cli.summary import print_summary
    from planner.desk.transfers_ahead import without_idle

    tariff = tariff_text(folder)
    with head_start():
        day = open_day(folder, on=date.date() if date else None)
    solved = planned_with_prices(day, seconds=seconds, seed=seed, rounds=rounds, address=machines)
    day, result = without_idle(day, solved.plan)
    made_at = datetime.now(ZoneInfo(day.clock.zone))
    with late_start():
        written = write_plan(day, result, out, made_at=made_at, sheets=sheets)
    write_prices(out, replace(solved, plan=result))
    if tariff is not None:
        write_whole(out / "tariff.toml", tariff)  # so that quotes on this plan find it
    print_summary(day, result, written)
