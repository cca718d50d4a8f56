"""The page of a tariff: the two maps side by side, and the rules of the tariff in words."""

from collections.abc import Iterator, Sequence
from html import escape

from planner.desk.tariff import Beyond, Tariff
from planner.units import pounds_text


def rules(tariff: Tariff) -> Iterator[str]:
    """Yield the rules of a tariff as sentences, in the order in which they hold."""
    yield f"Islands reached by ferry: {tariff.islands}."
    if tariff.free_miles:
        yield f"Free within {tariff.free_miles:g} miles."
    for band in tariff.bands:
        yield f"{pounds_text(band.pence)} up to {band.up_to_miles:g} miles."
    where = "Beyond that" if tariff.bands else "Elsewhere" if tariff.free_miles else "Everywhere"
    if tariff.beyond is Beyond.BY_ARRANGEMENT:
        yield f"{where}: by arrangement."
    else:
        up_to = pounds_text(tariff.round_up_to_pence).removesuffix(".00")
        yield f"{where}: cost plus {tariff.margin_percent:f}% and VAT, rounded up to {up_to}."
    if tariff.floor_pence:
        yield f"Never less than {pounds_text(tariff.floor_pence)} where it is not free."
    if tariff.cap_pence is not None:
        yield f"Never more than {pounds_text(tariff.cap_pence)}."
    yield f"Charges hold VAT at {tariff.vat_percent:f}%. A quote keeps its place for {tariff.hold_min} minutes."


def page(tariff: Tariff, maps: Sequence[str], *, told: str) -> str:
    """
    Return the page as self-contained HTML.

    Parameters
    ----------
    tariff
        Its rules are printed below the maps.
    maps
        SVG elements, side by side.
    told
        What was asked, for the line below the heading.

    """
    figures = "".join(f"<figure>{svg}</figure>" for svg in maps)
    said = "".join(f"<li>{escape(rule)}</li>" for rule in rules(tariff))
    return (
        '<!doctype html>\n<html lang="en-GB"><head><meta charset="utf-8"><title>Delivery tariff</title><style>'
        "@page{size:A4 landscape;margin:10mm}body{font:15px/1.45 system-ui,'Liberation Sans',Arial,sans-serif;color:#16202a;"
        "margin:6mm}.maps{display:flex;gap:6mm}figure{margin:0;flex:1}svg{width:100%;max-height:150mm}"
        "@media(max-width:640px){.maps{display:block}}</style></head>"
        f"<body><h1>Delivery tariff</h1><p>{escape(told)}</p><div class='maps'>{figures}</div><ul>{said}</ul></body></html>\n"
    )
