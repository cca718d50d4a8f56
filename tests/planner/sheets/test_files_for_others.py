"""Calendars, tracks and tables for other tools, held against the rules of their standards."""

import csv
import io
import json
import re
from dataclasses import replace
from datetime import UTC, datetime
from xml.etree import ElementTree as ET

import jsonschema
import pytest

from cli.plan_files import runs_csv
from planner.model.crews import DriverId
from planner.sheets.buyer_texts import buyer_texts
from planner.sheets.calendars import crew_calendar
from planner.sheets.tracks import run_geojson, run_gpx
from planner.sheets.visits_table import COLUMNS, visits_csv
from tests.sheet_days import a_day, a_plan, eleven_cars, many_orders

MADE_AT = datetime(2026, 3, 16, 17, 42, tzinfo=UTC)
DAYS = {"ordinary": (a_day(), a_plan()), "eleven cars, long names": eleven_cars(), "many": many_orders(3, 5)}

#: RFC 5545 section 3.1: contentline = name *(";" param) ":" value; names are letters, digits and hyphens.
CONTENT_LINE = re.compile(r"[A-Z0-9-]+(;[A-Z0-9-]+=[^;:,\"\x00-\x08\x0a-\x1f\x7f]*)*:[^\x00-\x08\x0a-\x1f\x7f]*")
#: RFC 5545 section 3.3.11, TEXT: commas, semicolons and backslashes are escaped; so is a new line.
TEXT = re.compile(r"(?:[^\\;,\x00-\x08\x0a-\x1f\x7f]|\\[\\;,nN])*")

POSITION = {"type": "array", "minItems": 2, "maxItems": 3,
            "prefixItems": [{"type": "number", "minimum": -180, "maximum": 180}, {"type": "number", "minimum": -90, "maximum": 90}]}
#: RFC 7946: sections 3.1.1 (positions, lng first), 3.1.4 (two or more in a line), 3.2, 3.3; no "crs" (section 4, WGS84 always).
GEOJSON = {
    "type": "object", "required": ["type", "features"], "not": {"required": ["crs"]},
    "properties": {"type": {"const": "FeatureCollection"}, "features": {"type": "array", "items": {
        "type": "object", "required": ["type", "geometry", "properties"],
        "properties": {"type": {"const": "Feature"}, "properties": {"type": ["object", "null"]}, "geometry": {"oneOf": [
            {"required": ["type", "coordinates"], "properties": {"type": {"const": "Point"}, "coordinates": POSITION}},
            {"required": ["type", "coordinates"], "properties": {
                "type": {"const": "LineString"}, "coordinates": {"type": "array", "minItems": 2, "items": POSITION}}},
        ]}}}}},
}  # fmt: skip


def every_run():
    return [pytest.param(day, run, id=f"{name} {run.run_id}") for name, (day, plan) in DAYS.items() for run in plan.runs]


@pytest.mark.parametrize("name", DAYS)
def test_a_calendar_is_made_of_content_lines_and_has_what_an_event_must_have(name):
    """RFC 5545: 3.1 lines, 3.4 and 3.6 components, 3.6.1 an event's required properties, each once; 3.7.3, 3.7.4."""
    day, plan = DAYS[name]
    for driver in day.drivers:
        raw = crew_calendar(day, plan, driver.driver_id, made_at=MADE_AT)
        assert raw.endswith("\r\n")
        assert all(len(line.encode()) <= 75 for line in raw.split("\r\n"))
        lines = raw.replace("\r\n ", "").split("\r\n")[:-1]
        assert [line for line in lines if not CONTENT_LINE.fullmatch(line)] == []
        assert lines[:3] == ["BEGIN:VCALENDAR", "VERSION:2.0", "PRODID:-//homeleg//shifts//EN"]
        assert lines[-1] == "END:VCALENDAR"
        events = "\n".join(lines[3:-1]).split("BEGIN:VEVENT\n")[1:]
        assert len(events) == sum(driver.driver_id == run.itinerary.driver for run in plan.runs)
        for event in events:
            fields = dict(line.split(":", 1) for line in event.strip().split("\n"))
            assert event.count("\nUID:") + event.startswith("UID:") == 1
            assert fields["END"] == "VEVENT"
            times = [datetime.strptime(fields[key], "%Y%m%dT%H%M%SZ").replace(tzinfo=UTC) for key in ("DTSTAMP", "DTSTART", "DTEND")]
            assert times[0] == MADE_AT
            assert times[1] < times[2]
            assert all(TEXT.fullmatch(fields[key]) for key in ("SUMMARY", "LOCATION", "DESCRIPTION"))


def test_a_later_calendar_replaces_the_earlier_one_although_the_run_is_called_otherwise():
    """RFC 5545 section 3.8.4.7: the UID is what tells an event from others."""
    def uid(plan):
        return re.search(r"UID:(.*)\r", crew_calendar(a_day(), plan, DriverId("P1"), made_at=MADE_AT)).group(1)

    plan = a_plan()
    renamed = a_plan(runs=(plan.runs[1], plan.runs[0]))
    assert uid(plan) == uid(renamed) == "2026-03-17-P1@homeleg.invalid"


@pytest.mark.parametrize(("day", "run"), every_run())
def test_geojson_keeps_to_the_rules_of_its_standard(day, run):
    document = json.loads(json.dumps(run_geojson(day, run), allow_nan=False))
    jsonschema.Draft202012Validator(GEOJSON).validate(document)
    points = [one for one in document["features"] if one["geometry"]["type"] == "Point"]
    assert len(points) == len(run.itinerary.stops)


def test_the_rules_for_geojson_refuse_what_breaks_them():
    good = run_geojson(a_day(), a_plan().runs[0])
    short = {"type": "Feature", "properties": {}, "geometry": {"type": "LineString", "coordinates": [[0, 51]]}}
    swapped = {"type": "Feature", "properties": {}, "geometry": {"type": "Point", "coordinates": [51, -103]}}
    for broken in ({**good, "crs": {}}, {**good, "features": [short]}, {**good, "features": [swapped]}):
        assert not jsonschema.Draft202012Validator(GEOJSON).is_valid(broken)


@pytest.mark.parametrize(("day", "run"), every_run())
def test_gpx_has_its_elements_in_the_order_and_range_of_the_schema(day, run):
    """gpx.xsd 1.1: metadata, wpt, rte, trk in that order; wptType name before desc; latitudeType, longitudeType (below 180)."""
    root = ET.fromstring(run_gpx(day, run))
    tags = [child.tag.split("}")[1] for child in root]
    assert root.get("version") == "1.1"
    assert root.get("creator")
    assert tags == sorted(tags, key=["metadata", "wpt", "rte", "trk"].index)
    for point in (*root.iter("{http://www.topografix.com/GPX/1/1}wpt"), *root.iter("{http://www.topografix.com/GPX/1/1}trkpt")):
        assert -90 <= float(point.get("lat")) <= 90
        assert -180 <= float(point.get("lon")) < 180
        assert [child.tag.split("}")[1] for child in point] in ([], ["name", "desc"])


def test_the_table_of_visits_is_csv_of_equally_long_rows():
    """RFC 4180 section 2: CRLF after every record, the same number of fields in each, quotes doubled inside quotes."""
    day, plan = eleven_cars()
    text = visits_csv(day, plan)
    assert text.count("\n") == text.count("\r\n")
    rows = list(csv.reader(io.StringIO(text, newline=""), strict=True))
    assert {len(row) for row in rows} == {len(COLUMNS)}


def test_nobody_is_told_an_hour_of_a_hired_carrier():
    day, plan = a_day(), a_plan()
    hired = plan.runs[2]
    assert "10:00" not in run_gpx(day, hired)
    assert {one["properties"].get("start") for one in run_geojson(day, hired)["features"]} == {None}
    rows = list(csv.DictReader(io.StringIO(visits_csv(day, plan), newline="")))
    assert {row["kind"] for row in rows if not row["start"]} == {row["kind"] for row in rows if row["leg_minutes"] == ""} == {"hired carrier"}
    moves = list(csv.DictReader(io.StringIO(runs_csv(day, plan), newline="")))
    assert {row["carrier"] for row in moves if not row["handover"]} == {"HC"}
    assert all(row["start"] for row in moves if row["driver"])
    carried = replace(hired, itinerary=replace(plan.runs[1].itinerary, driver=None, transporter=None, carrier=hired.itinerary.carrier),
                         visits=plan.runs[1].visits)
    texts = buyer_texts(day, replace(plan, runs=(carried,)))
    assert [text.order for text in texts] == ["H-101", "H-103"]
    assert "expect to be with you" not in " ".join(text.says for text in texts)
    assert "expect to be with you at about 09:00" in buyer_texts(day, plan)[0].says
