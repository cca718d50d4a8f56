"""
Place names: a town or village by name turned into its middle.

``Newport`` alone may be any of several; a postcode district or area after a comma, ``Newport, PO30``, says which.
Source and licence: GeoNames, ``data/ATTRIBUTION.md``.
"""

from dataclasses import dataclass
from functools import lru_cache

from maps.packaged import packaged_rows
from planner.faults import ByArrangement, UnknownPlace
from planner.model.places import Nation, Place, PlaceId

#: One place this many times as large as the next of its name is meant without asking.
CLEARLY_LARGER = 8
#: Short names that everybody uses.
ALSO = {
    "hull": "kingston upon hull",
    "newcastle": "newcastle upon tyne",
    "southend": "southend on sea",
    "stoke": "stoke on trent",
    "berwick": "berwick upon tweed",
    "glasgow city": "glasgow",
    "brighton and hove": "brighton",
}


@dataclass(frozen=True, kw_only=True, slots=True)
class Named:
    """A settlement; ``where`` is a nation of Great Britain or what lies outside it, ``district`` that of its middle."""

    name: str
    lng: float
    lat: float
    where: str
    district: str
    people: int

    @property
    def label(self) -> str:
        """The name that says which one is meant."""
        return f"{self.name}, {self.district}"


def plain(name: str) -> str:
    """Return a name as it is compared: small letters, no marks, ``saint`` as ``st``, ``and`` for ``&``."""
    words = name.casefold().replace("&", " and ").replace("-", " ").replace("'", "").replace(".", " ").split()
    return " ".join("st" if word == "saint" else word for word in words)


def area_of(district: str) -> str:
    """Return the letters at the front of a postcode district."""
    return district[:2] if district[1:2].isalpha() else district[:1]


@lru_cache(maxsize=1)
def gazetteer() -> dict[str, tuple[Named, ...]]:
    """Return all settlements by their plain name, the largest of each name first."""
    found: dict[str, list[Named]] = {}
    for row in packaged_rows("place_names.csv"):
        place = Named(
            name=row["name"],
            lng=float(row["lng"]),
            lat=float(row["lat"]),
            where=row["where"],
            district=row["district"],
            people=int(row["people"]),
        )
        found.setdefault(plain(place.name), []).append(place)
    return {name: tuple(sorted(places, key=lambda each: -each.people)) for name, places in found.items()}


def find_name(text: str) -> Place:
    """
    Return the middle of a settlement; ``off_by_m`` grows with its size.

    Raises
    ------
    ByArrangement
        If it lies outside Great Britain.
    UnknownPlace
        If no settlement has that name, or several have, with what it might have meant.

    """
    name, _, hint = (part.strip() for part in text.partition(","))
    meant = gazetteer().get(ALSO.get(plain(name), plain(name)), ())
    hint = hint.upper().replace(" ", "")
    if hint:
        meant = tuple(
            each for each in meant if hint in (each.district, area_of(each.district), each.where.upper().replace(" ", ""))
        )
    if not meant:
        raise UnknownPlace(text, _nearest(name))
    first, *others = meant
    if others and first.people < CLEARLY_LARGER * max(others[0].people, 1):
        raise UnknownPlace(
            text,
            tuple(each.label if each.district else f"{each.name}, {each.where}" for each in meant[:4]),
            reason="is the name of several places",
        )
    if not first.district:
        raise ByArrangement(text, first.where)
    radius = max(500, round((first.people / 4000 / 3.1416) ** 0.5 * 1000, -2))  # at some 4,000 people a square kilometre
    return Place(
        place_id=PlaceId(first.label),
        name=first.label,
        lng=first.lng,
        lat=first.lat,
        nation=Nation(first.where),
        off_by_m=int(radius),
    )


def _nearest(name: str, most: int = 3) -> tuple[str, ...]:
    from rapidfuzz import process

    if not plain(name):
        return ()
    found = process.extract(plain(name), list(gazetteer()), limit=most, score_cutoff=80)
    return tuple(gazetteer()[match][0].label for match, _score, _at in found if gazetteer()[match][0].district)
