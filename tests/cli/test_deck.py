"""``homeleg deck`` shows the plan, or the limit that binds, and never half of a bad file's faults."""

import json
import subprocess
import sys
import xml.etree.ElementTree as ET
from pathlib import Path

import pytest
import typer

from cli.commands.deck import deck
from planner.desk.load_file import CAR_NEEDS, read_load
from planner.faults import BadFiles

ROOT = Path(__file__).parent.parent.parent

LOAD = """
deck = "four-car-rigid"
route_height_mm = 4200
[cars.AB12CDE]
make_model = "Corvid 4"
mass_kg = 1380
length_mm = 4210
height_mm = 1470
[cars.XY21ZZZ]
mass_kg = 1900
length_mm = 4700
height_mm = 1700
[cars.PX09OLD]
mass_kg = 1100
length_mm = 3900
height_mm = 1500
ground_clearance_mm = 130
[[stages]]
says = "Swindon compound"
on = ["AB12CDE", "XY21ZZZ"]
[[stages]]
says = "1 High Street"
off = ["AB12CDE"]
on = ["PX09OLD"]
[[stages]]
says = "2 Mill Lane"
off = ["XY21ZZZ"]
"""


def run(folder, text, capsys, **options):
    """Run the command in this process; return its exit code and what it printed."""
    (folder / "load.toml").write_text(text, encoding="utf-8")
    try:
        deck(folder / "load.toml", **options)
    except typer.Exit as left:
        return left.exit_code, capsys.readouterr().out
    return 0, capsys.readouterr().out


def test_a_load_that_fits_prints_the_plan_and_draws_it(tmp_path, capsys):
    code, said = run(tmp_path, LOAD, capsys, picture=tmp_path / "deck.svg")
    assert code == 0
    assert said.startswith("four-car-rigid: fits. ")
    assert "1. Swindon compound" in said
    assert "drive off           AB12CDE" in said
    assert "Planning aid" in said
    picture = ET.parse(tmp_path / "deck.svg").getroot()
    assert len(picture.findall("{http://www.w3.org/2000/svg}svg")) == 3


def test_a_car_that_comes_on_at_no_stop_is_told(tmp_path, capsys):
    text = LOAD.replace('on = ["PX09OLD"]\n', "")
    code, said = run(tmp_path, text, capsys)
    assert code == 0
    assert "Loaded at no stop: PX09OLD." in said
    assert "Loaded at no stop" not in run(tmp_path, LOAD, capsys)[1]


def test_json_says_the_same(tmp_path, capsys):
    """By hand: unladen 18,000 - 8,400 = 9,600, and 1,380 + 1,900 of cars."""
    told = json.loads(run(tmp_path, LOAD, capsys, as_json=True)[1])
    assert told["fits"] is True
    assert told["stages"][0]["gross_kg"] == 9600 + 3280
    assert {row["key"] for row in told["stages"][1]["placed"]} == {"XY21ZZZ", "PX09OLD"}
    assert told["reshuffles"] == told["reshuffles_at_least"] == sum(len(stage["moved"]) for stage in told["stages"])


def test_a_load_above_the_route_limit_is_warned_of(tmp_path, capsys):
    """By hand: 2,700 over the cab and 1,700 of car are 4,400 at most; two on the lower deck stand 2,650, less than 2,950 empty."""
    low = run(tmp_path, LOAD.replace("4200", "2900"), capsys)[1]
    assert "Do not leave: load lower cars on top." in low
    below = run(tmp_path, LOAD.replace("4200", "3000"), capsys)[1]
    assert "Warning" not in below
    assert "12,880 kg of 18,000 kg, 2.95 m tall" in below
    assert "Warning" not in run(tmp_path, LOAD.replace("4200", "4400"), capsys)[1]


def test_a_car_too_heavy_is_refused_with_the_figures(tmp_path, capsys):
    text = 'deck = "one-car-3500"\n[cars.EV70BIG]\nmass_kg = 2450\nlength_mm = 4900\nheight_mm = 1680\n'
    sentence = "Does not fit: EV70BIG weighs 2,450 kg; one-car-3500 may carry 1,400 kg (payload). That is 1,050 kg too much.\n"
    sentence += "No picture: there is no load to draw.\n"
    assert run(tmp_path, text, capsys, picture=tmp_path / "deck.svg") == (1, sentence)
    assert not (tmp_path / "deck.svg").exists()
    code, said = run(tmp_path, text, capsys, as_json=True)
    told = json.loads(said)
    assert (code, told["fits"], told["limit"], told["short_by"], told["unit"]) == (1, False, "payload", 1050, "kg")


def test_every_fault_comes_at_once_and_nothing_is_written(tmp_path):
    bad = LOAD.replace("mass_kg = 1380\n", "").replace('off = ["XY21ZZZ"]', 'off = ["QQ"]\nwhen = 3').replace("four-car", "forty-car")
    (tmp_path / "load.toml").write_text(bad, encoding="utf-8")
    done = subprocess.run([sys.executable, "-m", "cli", "deck", str(tmp_path / "load.toml"), "--picture", str(tmp_path / "deck.svg")], cwd=ROOT,
                          capture_output=True, text=True, check=False, encoding="utf-8")  # fmt: skip
    assert done.returncode == 1
    assert done.stderr.startswith("4 problems to put right; nothing was written.")
    for words in ("cars.AB12CDE.mass_kg: is missing", "stages[3].off: is no car of this file ('QQ')", "stages[3].when: is no field", "deck: is no deck we know"):
        assert words in done.stderr
    assert not (tmp_path / "deck.svg").exists()


def test_a_file_that_is_not_there_is_told(tmp_path):
    with pytest.raises(BadFiles, match="cannot be read"):
        deck(tmp_path / "none.toml")


OWN = """
reshuffle_min = 0
payload_kg = 2000
[deck]
name = "ours"
says = "Ours"
gross_kg = 7500
payload_kg = 3000
height_mm = 4000
empty_height_mm = 2600
length_mm = 8000
slots = [ { name = "1", level = "bed", x_mm = 2000, base_mm = 900, length_mm = 5000, width_mm = 2100, height_mm = 2000, mass_kg = 2500 } ]
[cars.a]
mass_kg = 1500
length_mm = 4000
height_mm = 1500
"""


def test_a_deck_of_your_own_and_no_stages_is_loaded_and_emptied():
    load = read_load(OWN, "load.toml")
    assert (load.deck.name, load.deck.payload_kg, load.reshuffle_min, load.route_height_mm) == ("ours", 2000, 0, None)
    assert [[key for key, _ in stage.on] for stage in load.stages] == [["a"], []]
    assert load.stages[1].off == ("a",)


@pytest.mark.parametrize(("text", "words"), [
    ("deck = [", "is not valid TOML"),
    ("", "deck: is missing"),
    ("", "cars: are missing"),
    (LOAD + "\n[[stages]]\non = ['PX09OLD']\n", "comes on twice"),
    (LOAD + "\n[[stages]]\noff = ['AB12CDE']\n", "goes off without being aboard"),
    (LOAD + "\n[[stages]]\noff = 'AB12CDE'\n", "is no list of registrations"),
    (LOAD.split("[[stages]]", maxsplit=1)[0].replace("deck =", "stages = 3\ndeck ="), "stages: are no list of tables"),
    (LOAD.replace("deck =", "colour = 1\ndeck ="), "colour: is no field we know"),
    (LOAD.replace("deck =", "payload_kg = 18000\ndeck ="), "payload_kg: is not below the gross mass"),
    (LOAD.replace("mass_kg = 1380", "mass_kg = true"), "cars.AB12CDE.mass_kg: is no whole number we can use (True)"),
    (LOAD.replace("length_mm = 4210", "length_mm = 421"), "cars.AB12CDE.length_mm: is no whole number we can use (421). Give a whole number from 2,000 to 8,000."),
    (LOAD.replace("mass_kg = 1380", "mass_kg = 1380\nspeed = 3"), "cars.AB12CDE.speed: is no field"),
    ('deck = "one-car-3500"\n[cars]\na = 3\n', "cars.a: is no table"),
    (OWN.replace("gross_kg = 7500\n", ""), "ours.gross_kg: is missing"),
])  # fmt: skip
def test_faults_are_told_with_place_and_remedy(text, words):
    with pytest.raises(BadFiles) as caught:
        read_load(text, "load.toml")
    said = "\n".join(str(problem) for problem in caught.value.problems).replace("'", "")
    assert words in said


def test_the_help_names_what_a_file_must_have():
    for word in (*CAR_NEEDS, "[deck]", "[[stages]]", "says", "off", "on"):
        assert word in (deck.__doc__ or "")


def test_the_licence_that_the_mass_needs_is_told(tmp_path, capsys):
    """Of 18,000 kg without a trailer: C (gov.uk, driving licence categories)."""
    assert "Driving licence: C\n" in run(tmp_path, LOAD, capsys)[1]
    assert json.loads(run(tmp_path, LOAD, capsys, as_json=True)[1])["licence"] == "C"
