"""``homeleg demo``: plans the demo day of an invented retailer."""

from pathlib import Path
from typing import Annotated

import typer


def demo(
    out: Annotated[Path, typer.Option(help="Folder for the plan, the board and the sheets.")] = Path("demo_out"),
    seconds: Annotated[float, typer.Option(min=1, help="Stop improving after so many seconds.")] = 14,
) -> None:
    """Plan the demo day: some 60 orders, 25 crews, three compounds."""
    from importlib.resources import as_file, files

    from cli.commands.plan import plan

    with as_file(files("demo_data") / "demo_day") as folder:
        plan(folder, out=out, seconds=seconds)
