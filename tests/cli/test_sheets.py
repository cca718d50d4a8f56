"""``homeleg sheets``: a plan on disk becomes paper and files for other tools."""

import csv
import json
import os
import re
from datetime import UTC, datetime
from xml.etree import ElementTree as ET

import pytest
import typer

from cli.commands.sheets import sheets
from cli.pages import NoSuchSheet, write_board, write_sheets
from cli.plan_file import UnreadablePlan
from cli.plan_files import write_plan
from cli.plan_folder import read_folder
from planner.runs.plan_document import plan_to_document
from tests.sheet_days import a_day, a_plan


@pytest.fixture
def folder(tmp_path):
    (tmp_path / "plan.json").write_text(json.dumps(plan_to_document(a_day(), a_plan())), encoding="utf-8")
    os.utime(tmp_path / "plan.json", (1773682920, 1773682920))
    return tmp_path


def table(path):
    with path.open(newline="", encoding="utf-8") as file:
        return list(csv.DictReader(file))


def test_a_plan_folder_gets_packs_a_cover_and_files_for_others(folder, capsys):
    sheets(folder, language="cy")
    names = {str(path.relative_to(folder)) for path in folder.rglob("*") if path.is_file()}
    assert {"sheets/cover.pdf", "sheets/R1-P1.pdf", "sheets/R2-T1.pdf", "sheets/R3-HC.pdf", "sheets/R1-P1.html"} <= names
    assert {"routes/R1.gpx", "routes/R1.geojson", "shifts/P1.ics", "shifts/T1.ics", "visits.csv", "buyer_texts.csv"} <= names
    for name in names:
        if name.endswith(".pdf"):
            assert (folder / name).read_bytes().startswith(b"%PDF-")
    assert "planning aid" in capsys.readouterr().out


def test_the_stamp_is_the_same_for_the_same_plan_and_tells_its_time(folder):
    # 1773682920 s after 1970 is 16 March 2026 17:42 in London, winter time
    stamp = read_folder(folder).stamp
    assert stamp == read_folder(folder).stamp
    assert re.fullmatch("[0-9a-f]{8}", stamp.version)
    assert stamp.made_at == "Mon 16 Mar 2026 17:42"
    sheets(folder, crew="P1")
    assert stamp.version in (folder / "sheets" / "R1-P1.html").read_text(encoding="utf-8")


def test_one_crew_or_one_order_alone(folder):
    sheets(folder, crew="P1", web=False)
    assert [path.name for path in (folder / "sheets").iterdir()] == ["R1-P1.pdf"]
    sheets(folder, order="H-103", out=folder / "one", web=False)
    assert [path.name for path in (folder / "one" / "sheets").iterdir()] == ["H-103.pdf"]
    assert not (folder / "visits.csv").exists()


def test_what_an_earlier_plan_left_is_removed_and_nothing_of_others(folder):
    stale = ("sheets/R9-GONE.pdf", "sheets/R9-GONE.html", "routes/R9.gpx", "routes/R9.geojson", "shifts/GONE.ics")
    kept = ("sheets/letter.pdf", "sheets/H-101.pdf", "routes/own.gpx", "notes.ics")
    for name in (*stale, *kept):
        (folder / name).parent.mkdir(exist_ok=True)
        (folder / name).write_text("x")
    sheets(folder, crew="R1", web=False)
    assert all((folder / name).exists() for name in (*stale, *kept))  # only a whole pack says what is no more
    sheets(folder)
    assert [name for name in stale if (folder / name).exists()] == []
    assert [name for name in kept if not (folder / name).exists()] == []
    assert (folder / "sheets" / "R1-P1.pdf").exists()


def test_an_unknown_crew_or_order_is_told_what_there_is_and_nothing_is_written(folder):
    with pytest.raises(NoSuchSheet, match=r"'Nobody'.*P1"):
        sheets(folder, crew="Nobody")
    with pytest.raises(NoSuchSheet, match=r"'H-999'.*H-101"):
        sheets(folder, order="H-999")
    assert [path.name for path in folder.iterdir()] == ["plan.json"]


def test_a_folder_without_a_plan_and_a_damaged_plan_are_refused(folder, tmp_path):
    with pytest.raises(UnreadablePlan, match="homeleg plan"):
        sheets(tmp_path / "nowhere")
    (folder / "plan.json").write_text("{")
    with pytest.raises(UnreadablePlan, match="not JSON"):
        sheets(folder)


def test_pages_of_a_plan_are_the_board_and_the_packs(tmp_path):
    written = [write_board(a_day(), a_plan(), tmp_path), *write_sheets(a_day(), a_plan(), tmp_path)]
    assert [path.name for path in written] == ["board.html", "cover.pdf", "R1-P1.pdf", "R2-T1.pdf", "R3-HC.pdf"]


def test_without_sheets_a_plan_is_the_board_and_two_tables(tmp_path):
    written = write_plan(a_day(), a_plan(), tmp_path, made_at=datetime(2026, 6, 9, 16, tzinfo=UTC), sheets=False)
    assert [path.name for path in written] == ["board.html", "plan.json", "runs.csv"]


def test_gpx_is_well_formed_and_holds_a_segment_for_each_leg(folder):
    """GPX 1.1 schema: gpx holds wpt before trk; lat and lon are attributes (topografix.com/GPX/1/1)."""
    sheets(folder, web=False)
    root = ET.parse(folder / "routes" / "R2.gpx").getroot()
    space = {"g": "http://www.topografix.com/GPX/1/1"}
    assert root.tag == "{http://www.topografix.com/GPX/1/1}gpx"
    assert [child.tag.split("}")[1] for child in root] == ["metadata", "wpt", "wpt", "wpt", "trk"]
    assert len(root.findall(".//g:trkseg", space)) == 3
    assert {(point.get("lat"), point.get("lon")) for point in root.findall("g:wpt", space)} >= {("52.400000", "-0.720000")}


def test_geojson_puts_lng_first(folder):
    """RFC 7946 section 3.1.1: longitude, then latitude."""
    sheets(folder, web=False)
    document = json.loads((folder / "routes" / "R1.geojson").read_text())
    assert document["type"] == "FeatureCollection"
    points = [feature["geometry"]["coordinates"] for feature in document["features"] if feature["geometry"]["type"] == "Point"]
    assert points[1] == [-3.18, 51.48]


def test_a_shift_is_an_event_with_utc_times_and_folded_lines(folder):
    """RFC 5545: CRLF, at most 75 octets a line, UTC form; R1 runs 06:30 to 15:45 in winter time, so the same in UTC."""
    sheets(folder, web=False)
    raw = (folder / "shifts" / "P1.ics").read_bytes()
    assert b"\n" not in raw.replace(b"\r\n", b"")
    assert max(len(line) for line in raw.split(b"\r\n")) <= 75
    unfolded = raw.decode().replace("\r\n ", "")
    assert "DTSTART:20260317T063000Z" in unfolded
    assert "DTEND:20260317T154500Z" in unfolded
    assert "DTSTAMP:20260316T174200Z" in unfolded
    assert "Sample" not in unfolded  # nothing about buyers


def test_texts_for_buyers_say_when_and_never_what_it_cost(folder):
    sheets(folder, web=False)
    rows = table(folder / "buyer_texts.csv")
    assert [row["order"] for row in rows] == ["H-101", "H-102", "H-103"]
    assert "between 09:00 and 12:00" in rows[0]["text"]
    assert "We take OLD1PX with us" in rows[1]["text"]
    assert "199" not in " ".join(row["text"] for row in rows)


def test_the_table_of_runs_has_a_row_for_each_visit_with_times_in_iso_form(folder):
    sheets(folder, web=False)
    rows = table(folder / "visits.csv")
    assert len(rows) == 4 + 4 + 2
    assert datetime.fromisoformat(rows[1]["start"]) == datetime(2026, 3, 17, 11, 0, tzinfo=UTC)
    assert rows[0]["run_cost"] == "183.25"


def test_a_language_without_words_is_refused_with_those_that_there_are(folder):
    with pytest.raises(typer.BadParameter, match="cy, en"):
        sheets(folder, language="tlh")
    assert [path.name for path in folder.iterdir()] == ["plan.json"]
