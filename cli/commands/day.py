"""``homeleg day``: the day book of the office; every command that changes something is recorded with who and when."""

from datetime import date
from pathlib import Path
from typing import Annotated

import typer

from cli.day_options import BOOK, Book, On, Ref, Who
from planner.model.orders import Gate

day = typer.Typer(
    no_args_is_help=True, rich_markup_mode=None, help="The day book: take orders in, hold, pin, plan, publish, prove.",
)  # fmt: skip


@day.command("open")
def open_(
    folder: Annotated[Path, typer.Argument(help="Day folder; its orders are taken into the book.", metavar="FOLDER")],
    source: Annotated[str, typer.Option(help="Who sent the orders; names a column map in sources.toml.")] = "sales",
    cancel_many: Annotated[bool, typer.Option("--cancel-many", help="The file withdraws most of a day, and is right.")] = False,
    book: Book = BOOK, who: Who = "", on: On = None,
) -> None:  # fmt: skip
    """Open a day, or take its orders in again: tells what is new, changed and withdrawn."""
    from cli.day_desk import at_desk, checked_files
    from planner.desk.day_book.orders import rows_of, take_in

    files, planned = checked_files(folder, source=source, on=on.date() if on else None)
    with at_desk(book, actor=who, on=on, may_make=True, needs_day=False) as desk:
        desk.on = planned.isoformat()
        with desk.book.change(actor=desk.actor, at=desk.now) as change:
            value = {"folder": str(folder.resolve())}
            change.put("opened", "day", desk.on, value, topic=desk.on, day=desk.on)
            taken = take_in(change, rows_of(files.tables["orders"]), source=source, on=desk.on, may_cancel_many=cancel_many)
        counts = f"{len(taken.new)} new, {len(taken.changed)} changed, {len(taken.withdrawn)} withdrawn, {taken.same} the same"
        print(f"{desk.on}: {counts}.")
        for ref, differences in taken.changed:
            print(f"  {ref}: {'; '.join(differences)}")
        for ref in taken.withdrawn:
            print(f"  {ref}: withdrawn by {source}; it is cancelled and stays in the book.")


@day.command()
def show(book: Book = BOOK, who: Who = "", on: On = None) -> None:
    """Show the day as the book has it; later changes are checked against what you have seen here."""
    from collections import Counter

    from cli.day_desk import at_desk
    from planner.desk.day_book.queue import waiting_again
    from planner.desk.day_book.versions import unfinished

    with at_desk(book, actor=who, on=on) as desk:
        with desk.book.reading() as reader:
            held, last = reader.now(day=desk.on), reader.last_event
            waiting, again = unfinished(reader, desk.on), waiting_again(reader, date.fromisoformat(desk.on))
        desk.book.mark_seen(desk.actor, desk.on, last)
        things = {thing: [one for one in held if one.thing == thing] for thing in dict.fromkeys(one.thing for one in held)}
        states = Counter(one.value["state"] for one in things.get("order", ()))
        orders = ", ".join(f"{count} {state}" for state, count in states.items()) or "no orders"
        print(f"{desk.on}, as of entry {last}: {orders}.")
        for one in things.get("hold", ()):
            value = one.value
            print(f"  held    {one.subject}: {value['gate']}, {value['owner']} by {value['by']}. {value['to_do']}".rstrip())
        for one in things.get("pin", ()):
            print(f"  pinned  {one.subject}: {', '.join(f'{name} {key}' for name, key in one.value.items())}")
        for ref, times, why, priority in again:
            count = f"{times} time{'s' if times > 1 else ''}"
            print(f"  again   {ref}: failed {count}, last {why}; priority {priority} when next planned")
        for one in things.get("crew off", ()):
            print(f"  off     {one.value['crew']}: {one.value['why']}")
        for one in things.get("draft", ()):
            print(f"  draft   {one.value['runs']} runs, {one.value['left_behind']} left behind")
        for one in things.get("version", ()):
            print(f"  plan    version {one.value['number']}: {one.value['runs']} runs, {one.value['left_behind']} left behind")
        if waiting is not None:
            print(f"  sheets  those of version {waiting.number} are not all written; finish with 'homeleg day sheets --out DIR'")


@day.command()
def hold(
    order: Ref, gate: Annotated[Gate, typer.Option(help="What is not passed.")],
    owner: Annotated[str, typer.Option(help="Who has to act.")],
    by: Annotated[str, typer.Option(help="When: 16:30 (the day before, until the day itself begins) or '2026-11-25 16:30'.")],
    to_do: Annotated[str, typer.Option(help="The one thing to do.")] = "", book: Book = BOOK, who: Who = "", on: On = None,
) -> None:  # fmt: skip
    """Hold an order: which gate, who has to act, by when."""
    from cli.day_desk import at_desk, cut_off
    from planner.desk.day_book import afternoon

    with at_desk(book, actor=who, on=on) as desk:
        until = cut_off(desk, by)
        with desk.change() as change:
            afternoon.hold(change, order, day=desk.on, gate=gate, owner=owner, by=until, to_do=to_do)
    print(f"{order} is held: {gate.value}, {owner} by {until}.")


@day.command()
def release(
    order: Ref, gate: Annotated[Gate | None, typer.Option(help="Gate that is passed, whatever the file says.")] = None,
    book: Book = BOOK, who: Who = "", on: On = None,
) -> None:  # fmt: skip
    """Release an order: its gate counts as passed."""
    from cli.day_desk import at_desk
    from planner.desk.day_book import afternoon

    with at_desk(book, actor=who, on=on) as desk, desk.change() as change:
        afternoon.release(change, order, day=desk.on, gate=gate)
    print(f"{order} is released.")


@day.command()
def pin(
    order: Ref, driver: Annotated[str | None, typer.Option()] = None, transporter: Annotated[str | None, typer.Option()] = None,
    book: Book = BOOK, who: Who = "", on: On = None,
) -> None:  # fmt: skip
    """Say which driver or transporter alone may take an order."""
    from cli.day_desk import at_desk
    from planner.desk.day_book import afternoon

    if not (driver or transporter):
        raise typer.BadParameter("give --driver, --transporter or both; 'homeleg day unpin' takes a pin away")
    with at_desk(book, actor=who, on=on) as desk:
        driver = driver and desk.crew(driver, "drivers")
        transporter = transporter and desk.crew(transporter, "transporters")
        with desk.change() as change:
            afternoon.pin(change, order, day=desk.on, driver=driver, transporter=transporter)
    print(f"{order} is pinned to {' and '.join(key for key in (driver, transporter) if key)}.")


@day.command()
def unpin(order: Ref, book: Book = BOOK, who: Who = "", on: On = None) -> None:
    """Let any crew take an order again."""
    from cli.day_desk import at_desk
    from planner.desk.day_book import afternoon

    with at_desk(book, actor=who, on=on) as desk, desk.change() as change:
        afternoon.pin(change, order, day=desk.on, driver=None, transporter=None)
    print(f"{order} may go with any crew.")


@day.command("crew-off")
def crew_off(
    crew: Annotated[str, typer.Argument(help="Driver or transporter.")], why: Annotated[str, typer.Option(help="Why.")] = "off",
    book: Book = BOOK, who: Who = "", on: On = None,
) -> None:  # fmt: skip
    """Take a driver or transporter off the day."""
    from cli.day_desk import at_desk
    from planner.desk.day_book import afternoon

    with at_desk(book, actor=who, on=on) as desk:
        crew = desk.crew(crew, "drivers", "transporters")
        with desk.change() as change:
            afternoon.crew_off(change, crew, day=desk.on, why=why)
    print(f"{crew} is off: {why}.")


@day.command("crew-on")
def crew_on(
    crew: Annotated[str, typer.Argument(help="Driver or transporter.")], book: Book = BOOK, who: Who = "", on: On = None,
) -> None:  # fmt: skip
    """Put a driver or transporter on the day again."""
    from cli.day_desk import at_desk
    from planner.desk.day_book import afternoon

    with at_desk(book, actor=who, on=on) as desk, desk.change() as change:
        afternoon.crew_off(change, crew, day=desk.on, why=None)
    print(f"{crew} is on again.")


@day.command()
def story(order: Ref, book: Book = BOOK) -> None:
    """Tell everything that happened to an order (or a driver, or a day), in order."""
    from planner.desk.day_book.book import open_book
    from planner.desk.day_book.refusals import NotSo
    from planner.desk.day_book.words import sentence

    with open_book(book) as opened, opened.reading() as reader:
        lines = [f"{event.id:7}  {sentence(event)}" for event in reader.events(topic=order)]
    if not lines:
        raise NotSo(f"The book says nothing of {order!r}. Look the reference up with 'homeleg day show'.")
    print("\n".join(lines))


@day.command()
def buyer(
    order: Annotated[str, typer.Option(help="By order.")] = "", phone: Annotated[str, typer.Option(help="By telephone.")] = "",
    email: Annotated[str, typer.Option(help="By e-mail.")] = "", erase: Annotated[bool, typer.Option("--erase")] = False,
    book: Book = BOOK, who: Who = "",
) -> None:  # fmt: skip
    """Show everything kept of a buyer as JSON, or erase it; the record of what was done stays, without the person."""
    import json
    from dataclasses import asdict

    from cli.day_desk import at_desk
    from planner.desk.day_book import buyers
    from planner.desk.day_book.orders import OPEN
    from planner.desk.day_book.refusals import NotSo
    from planner.desk.day_book.words import sentence

    with at_desk(book, actor=who, on=None, needs_day=False) as desk:
        with desk.book.reading() as reader:
            known = buyers.known(reader, order=order, phone=phone, email=email)
            refs = sorted({one.order_ref for one in known})
            states = {ref: (reader.value("order", ref) or {}).get("state") for ref in refs}
            told = {ref: [sentence(event) for event in reader.events(topic=ref)] for ref in refs}
        if not known:
            raise NotSo("No buyer is known by that. Give --order, --phone or --email as the sales system has it.")
        if not erase:
            kept = [asdict(one) for one in known]
            print(json.dumps({"kept": kept, "events": told}, indent=2, ensure_ascii=False))
            return
        if waiting := [ref for ref, state in states.items() if state == OPEN]:
            raise NotSo(f"{', '.join(waiting)} is still to be delivered. Deliver or cancel it first; then erase.")
        with desk.book.change(actor=desk.actor, at=desk.now) as change:
            buyers.erase(change, known)
        buyers.sweep(desk.book)
        print(f"Erased: {', '.join(refs)}. Backups, day folders, plan.json files and paper made before still have the data; "
              "they are yours to delete.")  # fmt: skip


@day.command("clock-was-wrong")
def clock_was_wrong(book: Book = BOOK, who: Who = "") -> None:
    """Go on from now although earlier entries were made with a clock that was ahead."""
    from cli.day_desk import at_desk

    with at_desk(book, actor=who, on=None, needs_day=False) as desk, desk.change(clock_was_wrong=True) as change:
        change.put("clock was wrong", "clock", "book", {"until": change.at}, topic="book")
    print("Recorded; entries go on from now.")


@day.command()
def verify(book: Book = BOOK) -> None:
    """Work every seal out again, and what holds now from the events alone; exits 1 when anything is wrong."""
    from planner.desk.day_book.book import open_book
    from planner.desk.day_book.proof import faults

    with open_book(book) as opened, opened.reading() as reader:
        found, last = list(faults(reader)), reader.last_event
    print("\n".join(found) if found else f"{last} entries, nothing wrong.")
    raise typer.Exit(1 if found else 0)


@day.command()
def export(
    file: Annotated[Path, typer.Argument(help="CSV to write.")],
    whole: Annotated[bool, typer.Option("--whole", help="Every day, not only one.")] = False,
    book: Book = BOOK, who: Who = "", on: On = None,
) -> None:  # fmt: skip
    """Write every entry as CSV with its seal, for an auditor; buyers appear by number alone."""
    from cli.atomic import write_whole
    from cli.day_desk import at_desk
    from planner.desk.day_book.export import rows

    with at_desk(book, actor=who, on=on, needs_day=not whole) as desk, desk.book.reading() as reader:
        lines = list(rows(reader, day=None if whole else desk.on))
    write_whole(file, "".join(lines))
    print(f"{len(lines) - 1} entries in {file}.")


@day.command()
def backup(file: Annotated[Path, typer.Argument(help="Where to.")], book: Book = BOOK) -> None:
    """Write the whole book to one file; others may go on working."""
    from planner.desk.day_book.backup import write_backup
    from planner.desk.day_book.book import open_book

    with open_book(book) as opened:
        print(f"{file} holds the book up to entry {write_backup(opened, file)}. It has buyers' data in it: keep it safe.")


@day.command()
def restore(file: Annotated[Path, typer.Argument(help="Backup.")], book: Book = BOOK) -> None:
    """Bring a backup back into a new book, of either database."""
    from planner.desk.day_book.backup import restore as bring_back

    print(f"{book} holds the book up to entry {bring_back(file, book)} again.")
