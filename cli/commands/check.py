"""``homeleg check``: a plan file re-derived from its day alone, every breach listed."""

from pathlib import Path
from typing import Annotated

import typer


def check(
    file: Annotated[Path, typer.Argument(help="The plan.json to check.", metavar="FILE")],
    as_json: Annotated[bool, typer.Option("--json", help="Print the breaches as JSON.")] = False,
) -> None:
    """Check a plan against its day: every move, time, hour, mass and penny; exits 1 when anything is wrong."""
    import json

    from cli.plan_file import UnreadablePlan, read_plan
    from planner.runs.referee import check_plan, check_stated
    from planner.units import pounds_text

    read = read_plan(file)
    try:
        breaches = (*check_stated(read.day, read.plan, read.document), *check_plan(read.day, read.plan))
    except OverflowError:
        raise UnreadablePlan(file, "the file is damaged: it holds a number that no plan has.") from None
    if as_json:
        items = [
            {"rule": item.rule, "run": item.run, "where": item.where, "says": item.says, "expected": item.expected,
             "found": item.found}
            for item in breaches
        ]  # fmt: skip
        print(json.dumps({"file": str(file), "passes": not breaches, "breaches": items}, indent=2, ensure_ascii=False))
    elif breaches:
        print(f"{file}: {len(breaches)} breach{'es' if len(breaches) > 1 else ''}.")
        for breach in breaches:
            print(f"  {breach}")
    else:
        moves = sum(len(run.itinerary.moves) for run in read.plan.runs)
        print(f"{file}: nothing wrong. {len(read.plan.runs)} runs do {moves} moves, {len(read.plan.not_placed)} stay behind, "
              f"{pounds_text(read.plan.cost_pence)} in all.")  # fmt: skip
    if not as_json:
        print("Hours are a planning aid: the operator's transport manager, the tachograph and the law decide.")
    raise typer.Exit(1 if breaches else 0)
