"""The travel command: a journey told in words, and plain answers where a vehicle or a place does not allow one."""

import pytest

from maps.extract import import_extract
from tests.maps.make_extract import write_town

LOW_WAY = ("52.0001,-1.4999", "52.0001,-1.4401")  # along the road that passes the 3.5 m bridge


@pytest.fixture
def town(tmp_path, monkeypatch):
    """A small town whose only road from west to east has a bridge of 3.5 m."""
    write_town(tmp_path / "town.osm.pbf")
    import_extract(tmp_path / "town.osm.pbf", tmp_path / "town.npz")
    monkeypatch.setenv("HOMELEG_ROADS", str(tmp_path / "town.npz"))


@pytest.mark.usefixtures("town")
def test_a_car_too_tall_for_the_only_road_is_told_so(run):
    said = run("travel", *LOW_WAY, "--height", "3.6")
    assert said.returncode == 1
    assert "every way there has a sign that bars a vehicle 3.60 m high" in said.stderr


@pytest.mark.usefixtures("town")
def test_a_vehicle_under_the_bridge_passes(run):
    said = run("travel", *LOW_WAY, "--height", "3.4")
    assert said.returncode == 0, said.stderr
    assert "No sign bars the nearest way for a vehicle 3.40 m high." in said.stdout


def test_built_in_roads_own_up_to_knowing_no_heights(run):
    said = run("travel", "LS1 4DY", "YO1 7HH", "--height", "4.6", "--mass", "18", "--vehicle", "goods-heavy")
    assert said.returncode == 0, said.stderr
    assert "know of no limit of height or mass: check the bridges and signs" in said.stdout
    assert "nearest way" not in said.stdout


def test_sizes_are_refused_with_a_file_of_pairs(run, tmp_path):
    said = run("travel", "--pairs", str(tmp_path / "a.csv"), "--out", str(tmp_path / "b.csv"), "--height", "3")
    assert said.returncode == 2
    assert "one FROM and TO" in said.stderr


@pytest.mark.parametrize("said_too", [["--avoid-tolls"], ["--depart", "07:30"], ["--on", "2026-03-02"], ["--older"], ["--json"]])
def test_nothing_is_passed_over_in_silence_with_a_file_of_pairs(run, tmp_path, said_too):
    said = run("travel", "--pairs", str(tmp_path / "a.csv"), "--out", str(tmp_path / "b.csv"), *said_too)
    assert said.returncode == 2
    assert said_too[0] in said.stderr


def test_bad_pairs_are_named_by_the_row_they_have_in_a_spreadsheet(run, tmp_path):
    (tmp_path / "a.csv").write_text("from,to\nLeeds,York\n\nNowhereville,York\n", encoding="utf-8")
    said = run("travel", "--pairs", str(tmp_path / "a.csv"), "--out", str(tmp_path / "b.csv"))
    assert said.returncode == 1
    assert "a.csv, row 4, from:" in said.stderr


def test_a_file_of_pairs_that_is_no_table_or_a_folder_is_told_plainly(run, tmp_path):
    (tmp_path / "a.csv").write_text("from,to\n" + 200_000 * "a" + ",b\n", encoding="utf-8")
    for given, says in ((tmp_path / "a.csv", "is no table"), (tmp_path, "cannot be read")):
        said = run("travel", "--pairs", str(given), "--out", str(tmp_path / "b.csv"))
        assert said.returncode == 1
        assert says in said.stderr


def test_pairs_ask_the_routing_server_and_one_way_says_that_it_does_not(run, tmp_path, monkeypatch):
    monkeypatch.setenv("HOMELEG_ROADS", "http://127.0.0.1:9")
    (tmp_path / "a.csv").write_text("from,to\nLeeds,York\n", encoding="utf-8")
    said = run("travel", "--pairs", str(tmp_path / "a.csv"), "--out", str(tmp_path / "b.csv"))
    assert (said.returncode, (tmp_path / "b.csv").exists()) == (1, False)
    assert "cannot be reached" in said.stderr
    assert "By the built-in roads" in run("travel", "Leeds", "York").stderr


@pytest.mark.parametrize(("ends", "answer"), [
    # By the map: the North Sea, Calais, Lundy (a passenger ship only) and the middle of the Irish Sea.
    (("54.5,1.5", "LS1 4DY"), "lies in the sea, abroad, or far from any address"), (("LS1 4DY", "50.95,1.86"), "lies in the sea, abroad, or far from any address"),
    (("51.18,-4.67", "LS1 4DY"), "No way from"), (("53.8,-4.9", "LS1 4DY"), "lies in the sea, abroad, or far from any address"),
])
def test_places_without_a_road_get_a_plain_answer(run, ends, answer):
    said = run("travel", *ends)
    assert said.returncode == 1
    assert answer in said.stderr


@pytest.mark.parametrize(("ends", "older", "says"), [
    # Birmingham is class D (8 pounds for a car); nobody may pay to enter Glasgow's zone; Dartford is paid by the next midnight.
    (("B45 9AA", "B2 4QA"), True, "Birmingham clean air zone: £8.00, online by midnight of the sixth day after"),
    (("B45 9AA", "B2 4QA"), False, "Birmingham clean air zone: nothing to pay from petrol Euro 4 and diesel Euro 6 on"),
    (("PA1 1AA", "G1 1XX"), True, "Glasgow low emission zone: no entry for older vehicles, penalty only: cannot be paid"),
    (("Dartford", "Grays"), False, "Dartford Crossing: £3.50, online or by phone by midnight of the day after"),
])
def test_what_is_due_is_told_with_how_it_is_paid(run, ends, older, says):
    said = run("travel", *ends, "--on", "2026-03-02", *["--older"] * older)
    assert said.returncode == 0, said.stderr
    assert says in said.stdout
