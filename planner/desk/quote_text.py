"""A quote on the screen: the sentence to read out first, then the pounds, the methods side by side, and the reasons."""

from collections.abc import Iterator, Mapping
from typing import Any

from planner.units import pounds_text


def lines(document: Mapping[str, Any]) -> Iterator[str]:
    """Yield the lines of a quote's document."""
    yield document["reply"]
    yield ""
    yield f"  {document['miles']:g} miles from {document['from']}" + (", by ferry" if document["by_ferry"] else "")
    yield from _money(document)
    yield ""
    yield f"  {'method':<18}{'alone':>10}{'in plan':>10}"
    for row in document["methods"]:
        alone, inside = _pounds(row["cost_alone_pence"]), _pounds(row["cost_in_plan_pence"])
        yield f"  {row['by']:<18}{alone:>10}{inside:>10}"
    if document["cost_lines"]:
        yield ""
        parts = ", ".join(f"{line['kind']} {pounds_text(line['pence'])}" for line in document["cost_lines"])
        yield f"  What the plan costs more: {parts}."
    if document.get("changes"):  # quotes given before they were told have none
        anew = "" if document["cost_planned_anew_pence"] is None else ", once it is planned anew"
        yield f"  What changes in the plan{anew}:"
        for change in document["changes"]:
            yield f"    {change['says']:<66}{_signed(change['pence']):>10}"
    free = [item for item in document["windows"] if item["free"]]
    if free:
        yield ""
        told = (f"{item['date']} {item['opens']}-{item['closes']} {_pounds(item['cost_in_plan_pence'])}" for item in free)
        yield f"  Free windows (cost in plan): {'; '.join(told)}"
    for reason in document["reasons"]:
        yield f"  {reason}"
    yield f"  {document['caution']}"


def _money(document: Mapping[str, Any]) -> Iterator[str]:
    charge = document["charge_pence"]
    told = "by arrangement" if charge is None else f"{pounds_text(charge)}, of it VAT {pounds_text(document['vat_pence'])}"
    yield f"  charge             {told} ({document['charge_reason']})"
    yield f"  costs alone        {_pounds(document['cost_alone_pence'])}"
    yield f"  costs in the plan  {_pounds(document['cost_in_plan_pence'])}"
    if document["absorbed_pence"]:
        yield f"  we bear            {pounds_text(document['absorbed_pence'])}"


def _signed(pence: int) -> str:
    return f"{'-' if pence < 0 else '+'}{pounds_text(abs(pence))}"


def _pounds(pence: int | None) -> str:
    return "-" if pence is None else pounds_text(pence)
