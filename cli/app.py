"""The command line: every command by its name, and every failure turned into a sentence and an exit code."""

import sys

import typer

from cli.commands import day_now, day_plan, day_proof
from cli.commands.check import check
from cli.commands.day import day
from cli.commands.day_road import event, take_back
from cli.commands.deck import deck
from cli.commands.demo import demo
from cli.commands.hours import hours
from cli.commands.plan import plan
from cli.commands.quote import quote
from cli.commands.report import report
from cli.commands.roads import roads
from cli.commands.sheets import sheets
from cli.commands.tariff import tariff
from cli.commands.travel import travel
from cli.commands.what_if import what_if
from cli.told_plainly import told_plainly

app = typer.Typer(
    name="homeleg", no_args_is_help=True, add_completion=False, rich_markup_mode=None, pretty_exceptions_enable=False
)


@app.callback()
def homeleg() -> None:
    """Plan the home delivery of sold cars: legal, cheap, provably good runs, and the paper that goes with them."""


COMMANDS = (
    check,
    deck,
    demo,
    hours,
    plan,
    quote,
    report,
    sheets,
    tariff,
    travel,
    what_if,
)
for command in COMMANDS:
    app.command()(command)
app.add_typer(roads)


OF_THE_DAY = (
    day_plan.plan, day_plan.publish, day_plan.sheets,
    event, take_back, day_now.now, day_now.replan, day_proof.hours, day_proof.outcomes,
)  # fmt: skip
for of_the_day in OF_THE_DAY:
    day.command()(of_the_day)
app.add_typer(day, name="day")


def main() -> None:
    """Run the command line; exits 0 done, 1 your data, 2 usage, 3 our fault, 130 stopped."""
    with told_plainly():
        app(standalone_mode=True)
    sys.exit(0)
