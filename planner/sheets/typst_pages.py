"""
Sheets as one typst document: the templates of this room put together, and the data as JSON for ``sys.inputs.data``.

Compiling is the shell's business; nothing here touches a disk.  The document needs no typst package and no network.
"""

import json
from collections.abc import Sequence
from dataclasses import asdict
from functools import cache
from importlib.resources import files

from planner.sheets.car_outline import VIEW_NAMES, car_outline_svg
from planner.sheets.cover import Cover
from planner.sheets.handover_sheet import HandoverSheet
from planner.sheets.load_sheet import LoadSheet
from planner.sheets.part_exchange_sheet import PartExchangeSheet
from planner.sheets.return_sheet import ReturnSheet
from planner.sheets.run_sheet import RunSheet
from planner.sheets.words import ENGLISH, words

AnySheet = Cover | RunSheet | LoadSheet | HandoverSheet | PartExchangeSheet | ReturnSheet
KINDS: dict[type[AnySheet], str] = {
    Cover: "cover",
    RunSheet: "run",
    LoadSheet: "load",
    HandoverSheet: "handover",
    PartExchangeSheet: "part_exchange",
    ReturnSheet: "return",
}
PARTS = ("head", "run", "load", "door", "handover", "part_exchange", "return", "cover", "pack")
#: A drawing may ask for any font; on paper it gets the one that lies beside the templates.
ANY_FONT, OUR_FONT = 'font-family=\\"sans-serif\\"', 'font-family=\\"DejaVu Sans\\"'


@cache
def typst_source() -> str:
    """Return the whole typst document; it reads its data from ``sys.inputs.data``."""
    folder = files(__package__).joinpath("templates")
    return "\n".join(folder.joinpath(f"{part}.typ").read_text(encoding="utf-8") for part in PARTS)


def typst_data(sheets: Sequence[AnySheet]) -> str:
    """Return the sheets, the words of their languages and the car outline as JSON text."""
    languages = {ENGLISH} | {sheet.language for sheet in sheets}
    text = json.dumps({
        "sheets": [{**asdict(sheet), "kind_of_sheet": KINDS[type(sheet)]} for sheet in sheets],
        "words": {language: words(language).table() for language in sorted(languages)},
        "car": car_outline_svg(),
        "view_names": [{"name": name, "x": x, "y": y} for name, x, y in VIEW_NAMES],
    })  # fmt: skip
    return text.replace(ANY_FONT, OUR_FONT)
