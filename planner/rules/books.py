"""
Rule books: which hours rules govern a vehicle, each figure with its source, as data read from ``books.toml``.

A book holds rows by key; a key that a book lacks is a rule that it does not have.  Company limits may tighten a book and
never loosen it.  A planning aid: the operator's transport manager, the tachograph and the law decide.
"""

import tomllib
from collections.abc import Mapping
from dataclasses import dataclass, replace
from functools import cache
from importlib.resources import files
from types import MappingProxyType

from planner.model.policy import Policy

OVER_3500, UP_TO_3500, PLATES = "over-3500", "up-to-3500", "plates"
BOOK_NAMES = (OVER_3500, UP_TO_3500, PLATES)
PLANNING_AID = (
    "Planning aid only: the tachograph, the operator's transport manager and the law decide. "
    "The emergency departures (Reg. (EC) 561/2006 art. 12) are for the unforeseen and are never planned."
)

AT_LEAST = frozenset({
    "full_break", "first_break_part", "second_break_part", "daily_rest", "reduced_daily_rest", "split_rest_first",
    "split_rest_second", "weekly_rest", "reduced_weekly_rest", "work_break_part", "work_break_above_6h",
    "work_break_above_9h", "rest_break", "ferry_cabin",
})  # fmt: skip


@dataclass(frozen=True, kw_only=True, slots=True)
class Row:
    """One figure of a book: minutes (or a count), what it limits, where it stands, and what is not settled about it."""

    key: str
    limit: int
    says: str
    source: str
    is_company: bool = False
    uncertain: str = ""


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class Book:
    """A named set of rules; ``rows`` by key.  Each book is made once, so that ``is`` tells two apart."""

    name: str
    title: str
    law: str
    rows: Mapping[str, Row]

    def __getitem__(self, key: str) -> int:
        """Return the figure of a rule that the book has."""
        return self.rows[key].limit

    def __contains__(self, key: object) -> bool:
        return key in self.rows

    def get(self, key: str, default: int) -> int:
        """Return the figure of a rule, ``default`` where the book lacks it."""
        row = self.rows.get(key)
        return default if row is None else row.limit

    @property
    def uncertain(self) -> tuple[str, ...]:
        """What the law leaves open and how the book reads it, a sentence each."""
        return tuple(f"{row.says} ({row.source}): {row.uncertain}" for row in self.rows.values() if row.uncertain)


@dataclass(frozen=True, kw_only=True, slots=True)
class CompanyLimits:
    """The firm's own limits, minutes; None leaves the book as it is.  A limit looser than the book has no effect."""

    daily_driving: int | None = None
    daily_duty: int | None = None
    driving_between_breaks: int | None = None
    full_break: int | None = None
    daily_rest: int | None = None

    @classmethod
    def of(cls, policy: Policy, book: Book) -> "CompanyLimits | None":
        """Return what the policy says for a book: limits for plates, None for the others."""
        if book.name != PLATES:
            return None
        return cls(
            daily_driving=policy.plate_driving_max_min,
            daily_duty=policy.plate_duty_max_min,
            driving_between_breaks=policy.plate_break_every_min or None,
            full_break=policy.plate_break_min,
        )


def book_for(gross_kg: int, trailer_kg: int, *, is_sold_car: bool) -> Book:
    """
    Return the book that governs driving a vehicle of this maximum mass, with its trailer's.

    ``is_sold_car``: a car (not a van) driven on plates to its buyer, whatever its mass up to 3.5 t; above that a car is
    taken for a goods vehicle, the stricter reading.
    """
    if gross_kg + trailer_kg > 3500:
        return book_named(OVER_3500)
    return book_named(PLATES if is_sold_car else UP_TO_3500)


@cache
def book_named(name: str) -> Book:
    """
    Return one of ``BOOK_NAMES``.

    Raises
    ------
    KeyError
        If there is no such book.

    """
    table = tomllib.loads(files(__package__).joinpath("books.toml").read_text(encoding="utf-8"))[name]
    rows = {
        key: Row(
            key=key, limit=row["limit"], says=row["says"], source=row["source"],
            is_company=row.get("company", False), uncertain=row.get("uncertain", ""),
        )
        for key, row in table["rule"].items()
    }  # fmt: skip
    return Book(name=name, title=table["title"], law=table["law"], rows=MappingProxyType(rows))


@cache
def tightened(book: Book, limits: CompanyLimits | None) -> Book:
    """Return the book with each company limit that is stricter; the others leave it as it is."""
    if limits is None:
        return book
    rows = dict(book.rows)
    for key in limits.__dataclass_fields__:
        value = getattr(limits, key)
        if value is None:
            continue
        old = rows.get(key)
        if old is None:
            if key == "daily_duty":
                rows[key] = Row(key=key, limit=value, says="duty in a day", source="company limit", is_company=True)
            continue
        strict = max(old.limit, value) if key in AT_LEAST else min(old.limit, value)
        if strict != old.limit:
            rows[key] = replace(old, limit=strict, source="company limit, stricter than " + old.source, is_company=True)
    if "extended_driving" in rows and "daily_driving" in rows and limits.daily_driving is not None:
        old = rows["extended_driving"]
        if limits.daily_driving < old.limit:
            source = "company limit, stricter than " + old.source
            rows["extended_driving"] = replace(old, limit=limits.daily_driving, source=source, is_company=True)
    return Book(name=book.name, title=book.title, law=book.law, rows=MappingProxyType(rows))
