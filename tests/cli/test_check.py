"""``homeleg check``: exits 0 for a legal plan, 1 with every breach, and 1 with one sentence for a file that is no plan."""

import json
import random
import subprocess
import sys
from pathlib import Path

import pytest

from planner.runs.plan_document import plan_to_document
from tests.planner.runs.refereed import damage, legal_day, legal_plan

ROOT = Path(__file__).parents[2]


def run(capsys, *arguments: str) -> tuple[int, str, str]:
    """Run the command in this process; return exit code, output and error output."""
    from cli.app import app
    from cli.told_plainly import told_plainly

    with pytest.raises(SystemExit) as stopped, told_plainly():
        app(["check", *arguments], standalone_mode=True)
    printed = capsys.readouterr()
    return int(stopped.value.code or 0), printed.out, printed.err


@pytest.fixture
def document():
    return json.loads(json.dumps(plan_to_document(legal_day(), legal_plan())))


@pytest.fixture
def file(tmp_path, document):
    path = tmp_path / "plan.json"
    path.write_text(json.dumps(document), encoding="utf-8")
    return path


def test_a_legal_plan_passes(file, capsys):
    code, out, err = run(capsys, str(file))
    assert (code, err) == (0, "")
    assert "nothing wrong. 3 runs do 5 moves, 1 stay behind, £2,041.63 in all." in out
    assert "planning aid" in out


def test_every_breach_is_listed(file, document, capsys):
    document["runs"][0]["visits"][1]["leg_metres"] = 1
    document["runs"][1]["costs"][0]["pence"] = 1
    file.write_text(json.dumps(document), encoding="utf-8")
    code, out, _ = run(capsys, str(file))
    assert code == 1
    assert "run R1, visit 2 at door-a: metres of the leg differ [leg as stated]. Expected 80000, found 1." in out
    assert "run R2, wages: pence differ from the rates [cost lines]. Expected 5200, found 1." in out
    assert "cost_pence: it differs from what its parts make" in out


def test_breaches_as_json(file, document, capsys):
    document["runs"][1]["book"] = "over-3500"
    file.write_text(json.dumps(document), encoding="utf-8")
    code, out, _ = run(capsys, str(file), "--json")
    answer = json.loads(out)
    assert code == 1
    assert answer["passes"] is False
    assert answer["breaches"] == [{
        "rule": "book of hours rules", "run": "R2", "where": "", "says": "another book of rules governs this vehicle",
        "expected": "plates", "found": "over-3500",
    }]  # fmt: skip


@pytest.mark.parametrize(("content", "says"), [
    (b"", "it is not JSON"),
    (b"not json", "it is not JSON"),
    (b"[" * 100_000, "it is not JSON"),
    (b"\xff\xfe\x00\x01", "no text"),
    (b"[]", "JSON but no plan"),
    (b"{}", "schema_version"),
    (b'{"schema_version": 99}', "schema_version is 99"),
    (b'{"schema_version": 1}', "day"),
])  # fmt: skip
def test_a_file_that_is_no_plan_is_one_sentence(tmp_path, capsys, content, says):
    path = tmp_path / "plan.json"
    path.write_bytes(content)
    code, out, err = run(capsys, str(path))
    assert (code, out) == (1, "")
    assert says in err
    assert err.startswith(f"{path}: ")
    assert err.count("\n") == 1


def test_a_missing_file_and_a_folder(tmp_path, capsys):
    assert "no such file" in run(capsys, str(tmp_path / "plan.json"))[2]
    assert "this is a folder" in run(capsys, str(tmp_path))[2]


def test_no_damage_is_a_fault_of_ours(file, document, capsys):
    """100 files with one to three values damaged at random: each is a breach or a sentence, none a traceback (exit 3)."""
    rng = random.Random(7)
    codes = set()
    for _ in range(100):
        broken = json.loads(json.dumps(document))
        for _ in range(rng.randint(1, 3)):
            damage(broken, rng)
        file.write_text(json.dumps(broken), encoding="utf-8")
        code, _, err = run(capsys, str(file))
        assert code in (0, 1), err
        codes.add(code)
    assert codes >= {1}


def test_a_number_beyond_the_calendar_is_damage(file, document, capsys):
    document["day"]["moves"][0]["destination_window"]["closes_min"] = 10**15
    file.write_text(json.dumps(document), encoding="utf-8")
    code, _, err = run(capsys, str(file))
    assert code == 1
    assert "a number that no plan has" in err


def test_the_command_as_installed(file):
    answer = subprocess.run([sys.executable, "-m", "cli", "check", str(file)], cwd=ROOT, capture_output=True, text=True, check=False)
    assert answer.returncode == 0, answer.stderr
