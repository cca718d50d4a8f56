"""``homeleg day plan``, ``publish`` and ``sheets``: drafts of the book's day, and the numbered versions made of them."""

from datetime import datetime
from pathlib import Path
from typing import Annotated

import typer

from cli.day_options import BOOK, Book, On, Who


def plan(
    out: Annotated[Path, typer.Option(help="Folder for the draft: plan.json and the board.")],
    seconds: Annotated[float, typer.Option(min=1)] = 20, book: Book = BOOK, who: Who = "", on: On = None,
) -> None:  # fmt: skip
    """Plan the day as the book has it; a draft until it is published."""
    from dataclasses import replace

    from cli.atomic import write_whole
    from cli.day_desk import at_desk, day_of_book
    from cli.head_start import late_start
    from cli.plan_files import write_plan
    from cli.planning import planned_with_prices
    from cli.prices_file import write_prices
    from cli.quoting import tariff_text
    from cli.summary import print_summary
    from planner.desk.day_book.planning import draw_up
    from planner.desk.transfers_ahead import without_idle

    with at_desk(book, actor=who, on=on) as desk:
        with desk.book.reading() as reader:
            desk_saw = reader.last_event
        made = day_of_book(desk)
        solved = planned_with_prices(made, seconds=seconds)
        made, result = without_idle(made, solved.plan)
        with late_start():
            written = write_plan(made, result, out, made_at=desk.now, sheets=False)
        write_prices(out, replace(solved, plan=result))
        tariff = tariff_text(desk.folder())
        if tariff is not None:
            write_whole(out / "tariff.toml", tariff)  # so that quotes on this plan find it
        raw = (out / "plan.json").read_bytes()
        now = datetime.now().astimezone()
        with desk.book.change(actor=desk.actor, at=now, seen=desk_saw) as change:
            change.expect_fresh_day(desk.on)
            draw_up(change, made, result, raw=raw)
        print_summary(made, result, written)


def publish(
    folder: Annotated[Path, typer.Argument(help="Folder of the draft.", metavar="DRAFT")],
    out: Annotated[Path, typer.Option(help="Folder for the version: its plan, board and those sheets that are new.")],
    book: Book = BOOK, who: Who = "", on: On = None,
) -> None:  # fmt: skip
    """
    Make the draft the next numbered version; writes only the sheets that changed.

    When it was stopped before all sheets were written, the same command finishes them.
    """
    from hashlib import sha256

    from cli.day_desk import at_desk
    from cli.day_versions import write_version
    from cli.plan_file import read_plan
    from planner.desk.day_book.planning import publish as make_version
    from planner.desk.day_book.versions import unfinished

    read = read_plan(folder / "plan.json")
    raw = (folder / "plan.json").read_bytes()
    with at_desk(book, actor=who, on=on or datetime.combine(read.day.clock.day, datetime.min.time())) as desk:
        with desk.book.reading() as reader:
            version = unfinished(reader, desk.on)
        if version is None or version.sha != sha256(raw).hexdigest():
            with desk.change() as change:
                version = make_version(change, read.day, read.plan, raw=raw)
        told = write_version(desk, version, out)
        print(f"{desk.on}: version {version.number} is published; {len(version.new_sheets)} new sheets in {out}.")
        for line in told:
            print(f"  {line}")
        for crew in version.gone_sheets:
            print(f"  {crew}: the sheet of the version before is withdrawn; take it back.")
    print("Hours are a planning aid: the operator's transport manager, the tachograph and the law decide.")


def sheets(
    out: Annotated[Path, typer.Option(help="Folder for the plan, the board and the sheets.")],
    number: Annotated[int | None, typer.Argument(help="Version; the newest when not given.", metavar="VERSION")] = None,
    every: Annotated[bool, typer.Option("--all", help="Every sheet, not only those that were new in that version.")] = False,
    book: Book = BOOK, who: Who = "", on: On = None,
) -> None:  # fmt: skip
    """Write a published version again, whichever it was: its plan, its board, its sheets."""
    from cli.day_desk import at_desk
    from cli.day_versions import version_asked, write_version

    with at_desk(book, actor=who, on=on) as desk:
        version = version_asked(desk, number)
        write_version(desk, version, out, every_sheet=every)
        print(f"{desk.on}: version {version.number} is in {out}; open board.html first.")
