"""
Atlas: the places of a day, each once, with the compounds by name; every text that is no place becomes a problem.

Compounds come first, then doors and homes in the order in which they are met: the order of the travel tables.
"""

from collections.abc import Callable
from dataclasses import replace
from datetime import date, time, timedelta

from planner.clock import DayClock
from planner.desk.intake_calendar import bank_holiday, is_off
from planner.desk.intake_cells import closest
from planner.desk.intake_policy import HouseRules
from planner.desk.intake_table import Row, refuse_twice
from planner.faults import ByArrangement, SkippedTime, UnknownPlace
from planner.model.places import Compound, Place, PlaceId, Window
from planner.units import miles

#: Turns a text (postcode, name, lat,lng) into a place; raises UnknownPlace or ByArrangement.
Locate = Callable[[str], Place]


def minute_at(clock: DayClock, wall: int, on: date) -> int:
    """
    Return the minute of the planning day at which clocks show ``wall`` minutes on the day ``on``.

    Raises
    ------
    SkippedTime
        If the clocks go forward over that time.

    """
    days, rest = divmod(wall, 1440)
    return clock.minute(time(rest // 60, rest % 60), day=on + timedelta(days=days))


def row_minute(row: Row, column: str, clock: DayClock, on: date, *, wall: int | None = None) -> int | None:
    """Return the minute of the time in a cell, None where there is none or the clocks skip it, which is noted."""
    shown = row[column] if wall is None else wall
    if shown is None:
        return None
    try:
        return minute_at(clock, shown, on)
    except SkippedTime as fault:
        says = f"{fault.wall:%H:%M} does not exist on {fault.day:%d %B %Y}, when the clocks go forward over it"
        row.refuse(column, says, "Give a time after it.")
        return None


class Atlas:
    """Grows while the tables are read."""

    def __init__(self, locate: Locate) -> None:
        self._locate = locate
        self._found: dict[str, Place] = {}
        self._places: dict[PlaceId, Place] = {}
        self.compounds: dict[str, Compound] = {}
        self.named: set[str] = set()  # compounds that stand in the file, though something about them is at fault
        self.notes: list[str] = []

    @property
    def places(self) -> tuple[Place, ...]:
        """Every place met so far, compounds first."""
        return (*(compound.place for compound in self.compounds.values()), *self._places.values())

    def find(self, row: Row, column: str) -> Place | None:
        """Return the place a cell names without keeping it, None where it names none, which is noted."""
        text = row[column]
        if text is None:
            return None
        if text not in self._found:
            try:
                self._found[text] = self._locate(text)
            except UnknownPlace as fault:
                says, _, advice = str(fault).partition(". " if ". " in str(fault) else ".")
                row.refuse(column, says.removeprefix(repr(fault.text)).strip(), advice)
                return None
            except ByArrangement as fault:
                row.refuse(column, f"this is in {fault.where}, where delivery is by arrangement",
                           "Ring the transport office, and take the row out of the file.")  # fmt: skip
                return None
        return self._found[text]

    def door(self, row: Row, column: str, what: str, *, town: str = "") -> Place | None:
        """
        Return the place a cell names and keep it for the tables.

        ``what`` opens the note when the place is only near; ``town`` is what people call it, the postcode when not given.
        """
        place = self.find(row, column)
        if place is None:
            return None
        if place.off_by_m >= 1000:
            off = f"the door may be {miles(place.off_by_m):.0f} miles from its middle"
            self.notes.append(f"{what}: {row[column]} is only an area; {off}.")
        if place.place_id in {compound.place_id for compound in self.compounds.values()}:
            place = replace(place, place_id=PlaceId(f"{place.place_id} (door)"))  # a door in the town a compound is named for
        return self._places.setdefault(place.place_id, replace(place, name=town or place.name))

    def compound(self, row: Row, column: str) -> Compound | None:
        """Return the compound a cell names, None where it names none, which is noted."""
        text = row[column]
        if text is None or text.casefold() in self.named - set(self.compounds):
            return None
        if text.casefold() not in self.compounds:
            names = [str(compound.place_id) for compound in self.compounds.values()]
            near = closest(text, names)
            advice = f"Did you mean {near}?" if near else f"Use one of: {', '.join(names)}." if names else "Add it to compounds."
            row.refuse(column, "this is no compound of the compounds table", advice)
            return None
        return self.compounds[text.casefold()]


def read_compounds(rows: list[Row], atlas: Atlas, clock: DayClock, rules: HouseRules) -> None:
    """Put the compounds of a table into ``atlas``, open or shut as they are on the planning day."""
    refuse_twice(rows, "compound", "compound")
    for row in rows:
        place = atlas.find(row, "postcode")
        window = _window(row, place, atlas, clock, rules)
        if row["compound"] is not None:
            atlas.named.add(row["compound"].casefold())
        if place is None or not row.is_sound:
            continue
        known = replace(place, place_id=PlaceId(row["compound"]), name=row["compound"])
        atlas.compounds[row["compound"].casefold()] = Compound(
            place=known, window=window, phone=row["phone"], bays=row["bays"], plate_sets=row["plate_sets"],
            address=tuple(line for line in (row["address_1"], row["address_2"], row["address_3"]) if line),
        )  # fmt: skip


def _window(row: Row, place: Place | None, atlas: Atlas, clock: DayClock, rules: HouseRules) -> Window | None:
    """Return when the compound is open on the planning day; faults in the hours of other days are noted too."""
    today = _hours_in_force(place, clock.day, rules)
    found = None
    for prefix in ("", "saturday_", "sunday_", "bank_holiday_"):
        opens, closes = row[f"{prefix}opens"], row[f"{prefix}closes"]
        if {f"{prefix}opens", f"{prefix}closes"} & row.faulty:
            continue
        if (opens is None) != (closes is None):
            blank = f"{prefix}opens" if opens is None else f"{prefix}closes"
            row.refuse(blank, "only one of opening and closing is given", "Give both, or neither when it is shut.")
        elif opens is not None and opens >= closes:
            row.refuse(f"{prefix}closes", "it closes before it opens", "Swap the two times.")
        elif opens is not None and prefix == today:
            found = row_window(row, f"{prefix}opens", f"{prefix}closes", clock, clock.day)
    if "shut_on" not in row.faulty and is_off(clock.day, row["shut_on"]):
        found = None
    if found is None and row.is_sound:
        atlas.notes.append(f"{row['compound']} is shut on {clock.day:%A %d %B %Y}: no car leaves or enters.")
    return found


def _hours_in_force(place: Place | None, on: date, rules: HouseRules) -> str:
    if place is not None and bank_holiday(place.nation, on, rules):
        return "bank_holiday_"
    return {5: "saturday_", 6: "sunday_"}.get(on.weekday(), "")


def row_window(
    row: Row, opens: str, closes: str, clock: DayClock, on: date, *, usual: tuple[int, int] | None = None,
) -> Window | None:  # fmt: skip
    """
    Return the window that two cells give, in minutes of ``clock``'s day, None when one is at fault, which is noted.

    ``usual`` stands in where a cell is blank.
    """
    if {opens, closes} & row.faulty:
        return None
    walls = [row[column] if row[column] is not None or usual is None else usual[at] for at, column in enumerate((opens, closes))]
    first = row_minute(row, opens, clock, on, wall=walls[0])
    last = row_minute(row, closes, clock, on, wall=walls[1])
    if first is None or last is None:
        return None
    if first >= last:
        given = row.texts.get(closes) and row.texts.get(opens)
        says = "the window closes before it opens" if given else "the window is empty with the usual hours of a door"
        row.refuse(closes, says, "Swap the two times." if given else "Give both opening and closing.")
        return None
    return Window(opens_min=first, closes_min=last)
