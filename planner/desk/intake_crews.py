"""Crews of a day: drivers with their week so far, transporters and hired carriers, as their tables give them."""

from collections.abc import Mapping

from planner.clock import DayClock
from planner.desk.intake_atlas import Atlas, row_minute
from planner.desk.intake_calendar import is_off
from planner.desk.intake_cells import closest
from planner.desk.intake_table import Row, refuse_twice
from planner.model.crews import Carrier, CarrierId, Driver, DriverId, Transporter, TransporterId, WeekSoFar
from planner.model.decks import Deck
from planner.model.moves import MoveKind

#: Columns of a transporter that are fields of the same name.
SAME = ("gross_kg", "payload_kg", "trailer_kg", "unladen_height_mm", "litres_per_100km", "tank_litres", "load_min", "unload_min")


def refuse_unknown(row: Row, column: str, what: str, known: Mapping[str, str]) -> str | None:
    """Return the identifier a cell means, None where it is blank or unknown; ``known`` goes from folded to true."""
    text = row[column]
    if text is None:
        return None
    if text.casefold() not in known:
        near = closest(text, known.values())
        row.refuse(column, f"there is no such {what}", f"Did you mean {near}?" if near else "Add it, or clear this cell.")
        return None
    return known[text.casefold()]


def identifiers(rows: list[Row], column: str) -> dict[str, str]:
    """Return the identifiers that stand in a table, by how they are compared."""
    return {row[column].casefold(): row[column] for row in rows if row[column] is not None}


def read_transporters(rows: list[Row], atlas: Atlas, clock: DayClock, decks: Mapping[str, Deck]) -> list[Transporter]:
    """Return the transporters to be had on the planning day; those off the road are named in the notes."""
    refuse_twice(rows, "transporter", "transporter")
    refuse_twice(rows, "registration", "registration")
    found = []
    for row in rows:
        base = atlas.compound(row, "base")
        deck = _deck(row, decks)
        masses = [row[column] for column in ("payload_kg", "gross_kg", "trailer_kg")]
        if None not in masses and masses[0] >= masses[1] + masses[2]:
            row.refuse("payload_kg", "the payload is not below the maximum mass", "Take it from the plate and a weighbridge.")
        if base is None or deck is None or not row.is_sound:
            continue
        if is_off(clock.day, row["off_the_road"]):
            atlas.notes.append(f"Transporter {row['transporter']} is off the road on {clock.day:%A %d %B %Y}.")
            continue
        found.append(Transporter(
            transporter_id=TransporterId(row["transporter"]), name=row["name"] or row["transporter"],
            registration=row["registration"], base=base.place_id, is_electric=row["electric"], deck=deck.name,
            slots=row["slots"] or len(deck.slots),
            **{column: row[column] for column in SAME},
        ))  # fmt: skip
    return found


def _deck(row: Row, decks: Mapping[str, Deck]) -> Deck | None:
    """Return the loading surface a transporter names, None where nobody described it, which is noted."""
    name = refuse_unknown(row, "deck", "deck", {known.casefold(): known for known in decks})
    if name is None:
        return None
    deck = decks[name]
    if row["slots"] is not None and row["slots"] > len(deck.slots):
        row.refuse("slots", f"its deck {name} has only {len(deck.slots)}", "Correct this, or describe the deck in decks.toml.")
    return deck


def read_drivers(rows: list[Row], atlas: Atlas, clock: DayClock, transporters: Mapping[str, str]) -> list[Driver]:
    """Return the drivers who work on the planning day; those who do not are named in the notes."""
    refuse_twice(rows, "driver", "driver")
    found = []
    for row in rows:
        base = atlas.compound(row, "base")
        pinned = refuse_unknown(row, "transporter", "transporter", transporters)
        is_away = "days_off" not in row.faulty and is_off(clock.day, row["days_off"])
        home = atlas.find(row, "home_postcode") if is_away else atlas.door(row, "home_postcode", f"Driver {row['driver']}")
        starts, ends = row_minute(row, "starts_from", clock, clock.day), _home_by(row, clock)
        week = _week(row, clock)
        if base is None or starts is None or ends is None or not row.is_sound:
            continue
        if is_away:
            atlas.notes.append(f"Driver {row['name']} ({row['driver']}) does not work on {clock.day:%A %d %B %Y}.")
            continue
        found.append(Driver(
            driver_id=DriverId(row["driver"]), name=row["name"], base=base.place_id, licences=frozenset(row["licences"]),
            role=row["role"], home=home.place_id if home else None, starts_from_min=starts, home_by_min=ends,
            phone=row["phone"], may_drive_plates=row["drives_plates"], may_stay_out=row["may_stay_out"], week=week,
            pinned_transporter=TransporterId(pinned) if pinned else None,
        ))  # fmt: skip
    return found


def _home_by(row: Row, clock: DayClock) -> int | None:
    if row["home_by"] is None or row["starts_from"] is None:
        return None
    ends_next_day = row["home_by"] <= row["starts_from"]
    return row_minute(row, "home_by", clock, clock.day, wall=row["home_by"] + (1440 if ends_next_day else 0))


def _week(row: Row, clock: DayClock) -> WeekSoFar:
    if not {"driven_this_week", "worked_this_week"} & row.faulty and row["driven_this_week"] > row["worked_this_week"] > 0:
        row.refuse("worked_this_week", "this is less work than driving", "Work counts driving too; check both figures.")
    return WeekSoFar(
        driven_week_min=row["driven_this_week"] or 0,
        driven_last_week_min=row["driven_last_week"] or 0,
        worked_week_min=max(row["worked_this_week"] or 0, row["driven_this_week"] or 0),
        duty_days=row["duty_days"] or 0,
        extended_days=row["long_days"] or 0,
        reduced_rests=row["short_rests"] or 0,
        last_duty_end_min=_moment(row, "last_duty_ended", clock),
        weekly_rest_ended_min=_moment(row, "weekly_rest_ended", clock),
        rest_owed_min=row["rest_owed"] or 0,
    )


def _moment(row: Row, column: str, clock: DayClock) -> int | None:
    if row[column] is None:
        return None
    on, wall = row[column]
    minute = row_minute(row, column, clock, on, wall=wall)
    if minute is not None and "starts_from" not in row.faulty and minute > row["starts_from"]:
        row.refuse(column, "this is after the shift of the planning day starts", "Check the date.")
    return minute


def read_carriers(rows: list[Row], clock: DayClock) -> list[Carrier]:
    """Return the hired carriers; ``ask_by`` becomes a minute of the day before."""
    refuse_twice(rows, "carrier", "carrier")
    found = []
    for row in rows:
        if not row.is_sound:
            continue
        found.append(Carrier(
            carrier_id=CarrierId(row["carrier"]), name=row["name"], phone=row["phone"], cars=row["cars"],
            base_pence=row["base_charge"], pence_per_mile=row["per_mile"], minimum_pence=row["minimum_charge"],
            max_miles=row["max_miles"], max_mass_kg=row["max_mass_kg"],
            kinds=frozenset(MoveKind(kind.value) for kind in row["takes"]),
            notice_by_min=row_minute(row, "ask_by", clock, clock.day.fromordinal(clock.day.toordinal() - 1)),
        ))  # fmt: skip
    return found
