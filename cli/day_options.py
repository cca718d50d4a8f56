"""Options that the commands of the day book share."""

from datetime import datetime
from typing import Annotated

import typer

from cli.dates import FORM, a_date

Book = Annotated[str, typer.Option(envvar="HOMELEG_BOOK", help="File of the day book, or a postgresql:// URL.")]
Who = Annotated[str, typer.Option("--as", envvar="HOMELEG_USER", help="Who you are; your login name when not given.")]
On = Annotated[
    datetime | None, typer.Option("--date", parser=a_date, metavar=FORM, help="Planning day; the latest opened when not given.")
]
Ref = Annotated[str, typer.Argument(help="Reference of the order.", metavar="ORDER")]
BOOK = "daybook.db"
