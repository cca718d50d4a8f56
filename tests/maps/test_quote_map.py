"""The small map of a quote."""

import re

from maps.quote_map import WIDTH, quote_map


def a_document(door=("EX7 9FB", -3.47, 50.58)):
    name, lng, lat = door
    return {
        "door": {"name": name, "lng": lng, "lat": lat}, "miles": 183.1,
        "stands_at": {"name": "Daventry", "lng": -1.16, "lat": 52.26},
    }  # fmt: skip


def test_no_town_runs_off_the_paper():
    """Six units a letter at ten units of height is what sans serif faces take at most, by rule of thumb."""
    towns = re.findall(r'<text x="([\d.]+)" y="[\d.]+" text-anchor="(\w+)">([^<]+)</text>', quote_map(a_document()))
    assert len(towns) > 4
    for x, anchor, name in towns:
        assert anchor == "end" or float(x) + 6 * len(name) <= WIDTH, name


def test_both_ends_are_named_and_legible_on_anything():
    drawn = quote_map(a_document(("The <Old> Mill & Co", -3.47, 50.58)))
    for name in ("The &lt;Old&gt; Mill &amp; Co", "Daventry"):
        assert drawn.count(f">{name}</text>") == 2, "a light edge below, the name itself on top"
    assert "<script" not in drawn
