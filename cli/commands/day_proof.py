"""``homeleg day hours`` and ``outcomes``: what the book proves of a week's drivers and of a period's promises."""

from datetime import datetime, timedelta
from typing import Annotated

import typer

from cli.dates import FORM, a_date
from cli.day_options import BOOK, Book, On, Who


def hours(book: Book = BOOK, who: Who = "", on: On = None) -> None:
    """Tell each driver's hours of the week, planned and done, against the limits of the law."""
    from datetime import date

    from cli.day_desk import at_desk
    from planner.desk.day_book.hours import monday, shifts
    from planner.rules.books import OVER_3500, book_named
    from planner.units import hours_text

    rules = book_named(OVER_3500)
    with at_desk(book, actor=who, on=on) as desk:
        day = date.fromisoformat(desk.on)
        with desk.book.reading() as reader:
            found = shifts(reader, monday(day) - timedelta(days=7), monday(day) + timedelta(days=6))
    limits = {key: hours_text(rules[key]) for key in ("weekly_driving", "fortnight_driving", "weekly_work")}
    print(f"Week of {monday(day):%A %d %B %Y}: driving of {limits['weekly_driving']}, of {limits['fortnight_driving']} in two "
          f"weeks; work of {limits['weekly_work']}.")  # fmt: skip
    for driver in sorted({shift.driver for shift in found if shift.day >= monday(day)}):
        own = [shift for shift in found if shift.driver == driver]
        week = [shift for shift in own if shift.day >= monday(day)]
        driving, work = sum(shift.driving_min for shift in week), sum(shift.work_min for shift in week)
        planned = sum(shift.planned_driving_min for shift in week), sum(shift.planned_work_min for shift in week)
        both, untold = sum(shift.driving_min for shift in own), sum(not shift.is_told for shift in week)
        days = f"{len(week)} day{'s' * (len(week) != 1)}"
        print(f"  {driver:8} {days}: driven {hours_text(driving)} (planned {hours_text(planned[0])}), "
              f"in two weeks {hours_text(both)}; worked {hours_text(work)} (planned {hours_text(planned[1])})"
              + (f"; {untold} as planned, not told" if untold else ""))  # fmt: skip
        for key, used in (("weekly_driving", driving), ("fortnight_driving", both), ("weekly_work", work)):
            if used > rules[key]:
                row = rules.rows[key]
                print(f"    over: {hours_text(used)} of {limits[key]}, {row.says} ({row.source})")
    print("A planning aid: the tachograph and the transport manager decide.")


def outcomes(
    first: Annotated[datetime, typer.Option("--from", parser=a_date, metavar=FORM, help="First day.")],
    last: Annotated[datetime, typer.Option("--to", parser=a_date, metavar=FORM, help="Last day.")],
    book: Book = BOOK, who: Who = "",
) -> None:  # fmt: skip
    """Tell how the promises of a period were kept, why others were not, and what replanning cost."""
    from cli.day_desk import at_desk
    from planner.desk.day_book.outcomes import outcomes as of_period
    from planner.desk.day_book.outcomes import total
    from planner.units import pounds_text

    with at_desk(book, actor=who, on=None, needs_day=False) as desk, desk.book.reading() as reader:
        days = of_period(reader, first.date(), last.date())
    for one in days:
        failed = ", ".join(f"{count} {cause}" for cause, count in one.failed.items()) or "none"
        money = f"planned {pounds_text(one.planned_pence)}, at last {pounds_text(one.final_pence)} (version {one.versions})"
        ended = f"{one.promised} promised, {one.kept} kept, {one.late} late, failed: {failed}, {one.untold} not told"
        ended += f", {one.at_last} of earlier days delivered at last" if one.at_last else ""
        print(f"  {one.day}: {ended}; {money}")
    for name, value in total(days):
        print(f"{name.removesuffix('_pence').replace('_', ' ')}: {pounds_text(value) if name.endswith('pence') else value}")
