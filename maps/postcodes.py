"""
Postcodes: a postcode, whole or in part, turned into a point, with how far off the door may be.

The table holds every postcode of England, Scotland and Wales that was ever in use up to its edition, each with a grid
point and whether it is known to be in use.  Seven characters make a key in base 37, so that all codes of one area,
district or sector stand side by side.  Sources and licences: ``data/ATTRIBUTION.md``.
"""

import re
from dataclasses import dataclass
from functools import lru_cache, partial
from importlib.resources import files
from itertools import chain
from typing import Any

import numpy as np
import numpy.typing as npt

from maps.national_grid import to_lng_lat
from maps.travel_store import as_installed, kept
from planner.faults import ByArrangement, UnknownPlace
from planner.model.places import Nation, Place, PlaceId

ALPHABET = " 0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZ"
NATIONS = (Nation.ENGLAND, Nation.SCOTLAND, Nation.WALES)
ELSEWHERE = {
    "BT": "Northern Ireland",
    "IM": "the Isle of Man",
    "JE": "Jersey",
    "GY": "Guernsey and its islands",
    "BF": "the forces' own post",
    "GX": "Gibraltar",
}

# Royal Mail's form: one or two letters, a digit, a digit or letter at most; then a digit and two letters.
WHOLE = re.compile(r"([A-Z]{1,2}[0-9][A-Z0-9]?)([0-9][A-Z]{2})")
DISTRICT = re.compile(r"[A-Z]{1,2}[0-9][A-Z0-9]?")
SECTOR = re.compile(r"([A-Z]{1,2}[0-9][A-Z0-9]?)([0-9])")
# What people type for one another, by eye or by key.
LOOK_ALIKES = ("0O", "1I", "1L", "5S", "8B", "2Z", "6G", "4A", "VU", "MN", "QO", "7T", "YV", "DO")
ALIKE = {a: "".join(pair.replace(a, "") for pair in LOOK_ALIKES if a in pair) for a in "".join(LOOK_ALIKES)}


def clean(text: str) -> str:
    """
    Return a postcode's characters as the table holds them: capitals, outward part filled to four, then the inward part.

    A text that has not the form of a whole postcode comes back in capitals without blanks and marks.

    >>> clean(" so14-0yg "), clean("s1 1aa")
    ('SO140YG', 'S1  1AA')
    """
    bare = re.sub(r"[^A-Z0-9]", "", text.upper())
    whole = WHOLE.fullmatch(bare)
    return whole[1].ljust(4) + whole[2] if whole else bare


def shown(code: str) -> str:
    """Return a seven-character code as it is written: ``SO14 0YG``."""
    return f"{code[:4].strip()} {code[4:]}"


def key_of(code: str) -> int:
    """Return the number by which the table is sorted."""
    key = 0
    for letter in code.ljust(7):
        key = key * len(ALPHABET) + ALPHABET.index(letter)
    return key


def code_of(key: int) -> str:
    """Return the seven characters of a key."""
    letters = []
    for _ in range(7):
        key, digit = divmod(key, len(ALPHABET))
        letters.append(ALPHABET[digit])
    return "".join(reversed(letters))


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class PostcodeTable:
    """All postcodes, sorted by key; grid metres; ``nation`` indexes :data:`NATIONS`."""

    key: npt.NDArray[np.int64]
    easting: npt.NDArray[np.int32]
    northing: npt.NDArray[np.int32]
    nation: npt.NDArray[np.uint8]
    is_live: npt.NDArray[np.bool_]

    def row(self, code: str) -> int | None:
        """Return the row of a whole postcode, None when it was never in use."""
        key = key_of(code)
        row = int(np.searchsorted(self.key, key))
        return row if row < len(self.key) and self.key[row] == key else None

    def rows(self, prefix: str) -> slice:
        """Return the rows of all codes that begin with ``prefix`` (blanks count)."""
        spare = len(ALPHABET) ** (7 - len(prefix))
        first = key_of(prefix.ljust(7))
        low, high = np.searchsorted(self.key, [first, first + spare])
        return slice(int(low), int(high))


@lru_cache(maxsize=1)
def table() -> PostcodeTable:
    """Return the table of the package; kept unpacked between runs."""
    names = ("key", "easting", "northing", "nation", "is_live")
    return PostcodeTable(**{name: kept(f"postcodes-{as_installed()}-{name}", partial(_column, name)) for name in names})


def _column(name: str) -> npt.NDArray[Any]:
    return _unpacked()[name]


@lru_cache(maxsize=1)
def _unpacked() -> dict[str, npt.NDArray[Any]]:
    with (files(__package__) / "data" / "postcodes.npz").open("rb") as file, np.load(file) as held:
        key = np.cumsum(held["key_step"])
        return {
            "key": key,
            "easting": np.cumsum(held["easting_step"], dtype=np.int32),
            "northing": np.cumsum(held["northing_step"], dtype=np.int32),
            "nation": held["nation"],
            "is_live": np.unpackbits(held["live"], count=len(key)).astype(bool),
        }


def find(text: str) -> Place:
    """
    Return the place of a postcode, or the middle of a sector, district or area.

    ``off_by_m`` is the distance to the next different point for a whole postcode (never under 50), and for a part of
    one the distance within which nineteen in twenty of its postcodes lie.  An area that is also a common word is not
    read here as anything else.

    Raises
    ------
    ByArrangement
        For Northern Ireland, the Isle of Man, the Channel Islands and the forces' own post.
    UnknownPlace
        For anything else that was never in use, with what it might have meant.

    """
    code = clean(text)
    where = ELSEWHERE.get(code[:2])
    if where and (len(code) == 2 or code[2].isdigit()):
        raise ByArrangement(text, where)
    if len(code) == 7 and WHOLE.fullmatch(code.replace(" ", "")):
        row = table().row(code)
        if row is not None:
            return _whole(row)
        raise UnknownPlace(text, suggest(text), reason="is not a postcode that was ever in use")
    prefix = part_of(text)
    if prefix is not None:
        return _middle(prefix)
    raise UnknownPlace(text, suggest(text), reason="is not a postcode")


def part_of(text: str) -> str | None:
    """Return the prefix in the table that an area, district or sector stands for, None when it is none of them."""
    words = text.upper().split()
    bare = "".join(words)
    choices: list[str] = []
    sector = SECTOR.fullmatch(bare)
    split = SECTOR.fullmatch(bare) if len(words) == 2 and len(words[1]) == 1 else None
    if split and split[1] == words[0]:
        choices.append(words[0].ljust(4) + words[1])
    elif DISTRICT.fullmatch(bare):
        choices.append(bare.ljust(4))
    if sector and not split:
        choices.append(sector[1].ljust(4) + sector[2])
    for prefix in choices:
        rows = table().rows(prefix)
        if rows.stop > rows.start:
            return prefix
    return bare if bare in areas() else None


@lru_cache(maxsize=1)
def areas() -> frozenset[str]:
    """Return every postcode area of Great Britain (the letters at the front)."""
    two = np.unique(table().key // len(ALPHABET) ** 5)
    return frozenset(code_of(int(pair) * len(ALPHABET) ** 5)[:2].rstrip("0123456789 ") for pair in two)


def _whole(row: int) -> Place:
    held = table()
    code = code_of(int(held.key[row]))
    near = held.rows(code[:5])
    east = held.easting[near].astype(np.int64) - int(held.easting[row])
    north = held.northing[near].astype(np.int64) - int(held.northing[row])
    apart = np.hypot(east, north)
    apart = apart[apart > 0]
    off = int(min(max(apart.min(), 50), 2000)) if len(apart) else 500
    return _place(shown(code), float(held.easting[row]), float(held.northing[row]), int(held.nation[row]), off, shown(code))


def _middle(prefix: str) -> Place:
    held = table()
    ranges = [held.rows(prefix)] if len(prefix) > 2 else [held.rows(prefix + digit) for digit in "0123456789"]
    rows = np.fromiter(chain.from_iterable(range(each.start, each.stop) for each in ranges), dtype=np.int64)
    live = rows[held.is_live[rows]]
    rows = live if len(live) else rows
    east, north = held.easting[rows].astype(np.float64), held.northing[rows].astype(np.float64)
    middle = (float(np.median(east)), float(np.median(north)))
    off = int(np.ceil(np.percentile(np.hypot(east - middle[0], north - middle[1]), 95) / 100) * 100)
    name = f"{prefix[:4].strip()} {prefix[4:]}".strip()
    return _place(name, *middle, int(np.bincount(held.nation[rows]).argmax()), max(off, 100), "")


def _place(name: str, easting: float, northing: float, nation: int, off_by_m: int, postcode: str) -> Place:
    lng, lat = to_lng_lat(np.array([easting]), np.array([northing]))
    return Place(
        place_id=PlaceId(name),
        name=name,
        lng=round(float(lng[0]), 6),
        lat=round(float(lat[0]), 6),
        postcode=postcode,
        nation=NATIONS[nation],
        off_by_m=off_by_m,
    )


def suggest(text: str, most: int = 3) -> tuple[str, ...]:
    """Return postcodes one slip away from ``text``, those that look most alike first; its sector when none is nearer."""
    bare = re.sub(r"[^A-Z0-9]", "", text.upper())
    found: dict[str, int] = {}
    for rank, candidate in chain(((0, each) for each in _looking_alike(bare)), ((2, each) for each in _one_edit(bare))):
        code = clean(candidate)
        row = table().row(code) if WHOLE.fullmatch(candidate) else None
        if row is not None:
            found.setdefault(shown(code), rank + (0 if table().is_live[row] else 1))
    best = sorted(found, key=lambda each: (found[each], each))[:most]
    whole = WHOLE.fullmatch(bare)
    if whole and part_of(f"{whole[1]} {whole[2][0]}") and not any(found[each] < 2 for each in best):
        best = [f"{whole[1]} {whole[2][0]}", *best[: most - 1]]
    return tuple(best)


def _looking_alike(bare: str) -> list[str]:
    if len(bare) > 8:
        return []
    one = [bare[:at] + swap + bare[at + 1 :] for at, letter in enumerate(bare) for swap in ALIKE.get(letter, "")]
    two = [each[:at] + swap + each[at + 1 :] for each in one for at, letter in enumerate(each) for swap in ALIKE.get(letter, "")]
    return one + [each for each in two if each != bare]


def _one_edit(bare: str) -> list[str]:
    if not 4 <= len(bare) <= 8:
        return []
    letters = ALPHABET[1:]
    swapped = [bare[:at] + bare[at + 1] + bare[at] + bare[at + 2 :] for at in range(len(bare) - 1)]
    changed = [bare[:at] + letter + bare[at + 1 :] for at in range(len(bare)) for letter in letters]
    dropped = [bare[:at] + bare[at + 1 :] for at in range(len(bare))]
    added = [bare[:at] + letter + bare[at:] for at in range(len(bare) + 1) for letter in letters]
    return swapped + dropped + changed + added
