"""
The page of a quote: one A4 sheet for the buyer's file, self-contained, fit for black and white.

What the buyer is told stands first; the office's own costs are on a part that is not printed.
"""

from collections.abc import Mapping
from datetime import date
from functools import cache
from importlib.resources import files
from typing import TYPE_CHECKING, Any

from planner.units import pounds_text

if TYPE_CHECKING:
    import jinja2


@cache
def _template() -> "jinja2.Template":
    import jinja2

    text = files(__package__).joinpath("quote_page.html").read_text(encoding="utf-8")
    environment = jinja2.Environment(autoescape=True, undefined=jinja2.StrictUndefined, trim_blocks=True, lstrip_blocks=True)
    environment.filters["pounds"] = lambda pence: "by arrangement" if pence is None else pounds_text(pence)
    environment.filters["pounds_or_dash"] = lambda pence: "–" if pence is None else pounds_text(pence)
    environment.filters["day"] = lambda text: f"{date.fromisoformat(text):%A %d %B %Y}".replace(" 0", " ")
    return environment.from_string(text)


def page(document: Mapping[str, Any], map_svg: str, *, retailer: str = "") -> str:
    """
    Return the page of a quote's document as HTML.

    Parameters
    ----------
    document
        What :func:`planner.desk.quote_reply.to_document` returned.
    map_svg
        A small map as an SVG element; "" for none.
    retailer
        Whose quote it is.

    """
    import markupsafe

    return _template().render(quote=document, map_svg=markupsafe.Markup(map_svg), retailer=retailer)  # noqa: S704 - our own SVG
