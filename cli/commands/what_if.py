"""``homeleg what-if``: what a change to the day would save, by the plan's prices and by planning it again."""

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

if TYPE_CHECKING:
    from planner.desk.what_if import Question
    from planner.model.day import Day
    from planner.model.places import Window

Names = list[str] | None


def what_if(
    folder: Annotated[Path, typer.Argument(help="Folder with plan.json, as 'homeleg plan' wrote it.", metavar="DIR")],
    *,
    one_more: Annotated[Names, typer.Option(help="One more like this driver, transporter, compound's plates, carrier.")] = None,
    without: Annotated[Names, typer.Option(help="Keep this driver, transporter or hired carrier out.")] = None,
    pin: Annotated[Names, typer.Option(help="Pin an order to a driver or transporter.", metavar="ORDER=CREW")] = None,
    promise: Annotated[Names, typer.Option(help="Promise an order another window.", metavar="ORDER=HH:MM-HH:MM")] = None,
    home_by: Annotated[Names, typer.Option(help="Latest end of duty, of one driver or all.", metavar="[DRIVER=]HH:MM")] = None,
    keep: Annotated[Names, typer.Option(help="Keep this run exactly as it is.", metavar="RUN")] = None,
    seconds: Annotated[float, typer.Option(min=1, help="How long to plan again.")] = 20,
    as_json: Annotated[bool, typer.Option("--json", help="Print the answer as JSON.")] = False,
) -> None:
    """Ask what a change would save; several options make one question, none lists what one more of each is worth."""
    import json

    from cli.plan_file import read_plan
    from cli.prices_file import read_all_prices
    from cli.progress import told_progress
    from cli.quoting import plan_path
    from planner.desk.what_if import Question
    from planner.desk.what_if_answer import answer, lines, price_tags, tag_document, tag_lines, to_document
    from planner.search.waking import awake

    path = plan_path(folder)
    read = read_plan(path)
    prices = read_all_prices(path.parent, read.plan)
    question = Question(day=read.day, plan=read.plan, prices=prices)
    for option, ask in ((one_more, Question.with_one_more), (without, Question.without), (keep, Question.with_frozen)):
        for name in option or ():
            question = ask(question, name)
    question = _with_times(_with_pins(question, pin or []), read.day, promise or [], home_by or [])
    awake()
    if not question.says:
        if prices is None:
            typer.echo("No prices were kept with this plan. Plan it again, for longer if need be.", err=True)
            raise typer.Exit(1)
        tags = price_tags(question, prices)
        print(json.dumps(tag_document(tags), indent=2, ensure_ascii=False) if as_json else "\n".join(tag_lines(tags)))
        return
    with told_progress(quiet=as_json) as progress:
        made = answer(read.day, question, prices, seconds=seconds, progress=progress)
    print(json.dumps(to_document(made), indent=2, ensure_ascii=False) if as_json else "\n".join(lines(made)))


def _with_pins(question: "Question", pins: list[str]) -> "Question":
    for text in pins:
        order, mark, crew = text.partition("=")
        if not mark:
            raise typer.BadParameter(f'{text!r} says no crew. Write it as "ORDER=CREW".', param_hint="--pin")
        question = question.with_pin(order.strip(), crew.strip())
    return question


def _with_times(question: "Question", day: "Day", promises: list[str], homes: list[str]) -> "Question":
    from datetime import time

    for text in promises:
        order, _, hours = text.partition("=")
        question = question.with_window(order.strip(), _window(day, hours))
    for text in homes:
        name, mark, hour = text.rpartition("=")
        try:
            minute = day.clock.minute(time.fromisoformat(hour.strip()))
        except ValueError:
            raise typer.BadParameter(f'{hour!r} is no time. Write it as "20:30".', param_hint="--home-by") from None
        question = question.with_home_by(name.strip() if mark else None, minute)
    return question


def _window(day: "Day", text: str) -> "Window":
    from datetime import time

    from planner.model.places import Window

    opens, _, closes = text.partition("-")
    try:
        first, last = (day.clock.minute(time.fromisoformat(hour.strip())) for hour in (opens, closes))
        return Window(opens_min=first, closes_min=last)
    except ValueError:
        says = f'{text!r} is no window. Write it as "ORDER=08:00-12:00", the earlier time first.'
        raise typer.BadParameter(says, param_hint="--promise") from None
