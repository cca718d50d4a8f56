"""
Sheets as one HTML page that any browser opens and prints on A4, with the same data and words as the PDF.

The page asks the network for nothing.
"""

from collections.abc import Sequence
from functools import cache
from importlib.resources import files
from typing import TYPE_CHECKING

from planner.sheets.car_outline import car_outline_svg
from planner.sheets.typst_pages import KINDS, AnySheet
from planner.sheets.words import words

if TYPE_CHECKING:
    from jinja2 import Template


def html_pages(sheets: Sequence[AnySheet], *, title: str) -> str:
    """Return the page, one article for each sheet."""
    told = [(KINDS[type(sheet)], sheet) for sheet in sheets]
    page: str = _template().render(sheets=told, title=title, car=car_outline_svg(), style=_text("sheets.css"))
    return page.lstrip()


@cache
def _template() -> "Template":
    from jinja2 import Environment, StrictUndefined
    from markupsafe import Markup

    environment = Environment(autoescape=True, undefined=StrictUndefined, trim_blocks=True, lstrip_blocks=True)
    environment.globals.update(words=words(), words_of=words, raw=Markup)
    return environment.from_string(_text("sheets.html.j2"))


@cache
def _text(name: str) -> str:
    return files(__package__).joinpath("templates", name).read_text(encoding="utf-8")
