"""
How runs are told apart, everywhere alike: map, time line and tables.

Colours follow Okabe and Ito (2008, "Color Universal Design"), darkened where white ground asks for it; dash patterns
and the run's own label do the same in black and white.
"""

from dataclasses import dataclass

COLOURS = ("#0072b2", "#d55e00", "#00795a", "#b04f86", "#000000", "#8a6400", "#3a7f9f")
DASHES = ("", "12 6", "3 6", "14 5 3 5", "20 8", "8 4 2 4 2 4")


@dataclass(frozen=True, kw_only=True, slots=True)
class RunStyle:
    """How a run is drawn."""

    colour: str
    dash: str  # as in SVG stroke-dasharray; empty for a whole line


def run_style(number: int) -> RunStyle:
    """Return the style of the ``number``-th run, from 0; 42 runs differ before the first comes again."""
    return RunStyle(colour=COLOURS[number % len(COLOURS)], dash=DASHES[number % len(DASHES)])
