"""A map as the board needs it: three pieces of a page, drawn elsewhere."""

from dataclasses import dataclass


@dataclass(frozen=True, kw_only=True, slots=True)
class MapParts:
    """
    The pieces of a map inside a page.

    The script defines ``window.routeMap``: ``map``, and under ``runs`` by run its ``lines``, ``stops`` and ``label``.
    """

    head: str
    body: str
    script: str
