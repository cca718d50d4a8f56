"""``homeleg hours``: the exit code, the JSON and the words; limits from Reg. (EC) 561/2006 art. 7."""

import json
import subprocess
import sys

import pytest


def homeleg(*arguments: str, text: str = ""):
    command = [sys.executable, "-m", "cli", "hours", *arguments]
    return subprocess.run(command, input=text, capture_output=True, text=True, check=False)


def test_a_legal_day_exits_0_and_an_illegal_one_1_with_its_line(tmp_path):
    week = tmp_path / "week.txt"
    week.write_text("start Mon 06:00\ndrive 270\nbreak 45\ndrive 270\n", encoding="utf-8")
    legal = homeleg(str(week), "--json")
    assert (legal.returncode, json.loads(legal.stdout)["legal"], json.loads(legal.stdout)["first_breach"]) == (0, True, None)
    broken = homeleg("-", "--book", "over-3500", "--json", text="drive 240\nbreak 40\ndrive 60\n")
    found = json.loads(broken.stdout)
    assert (broken.returncode, found["legal"], found["first_breach"]["line"]) == (1, False, 3)
    assert {key: found["first_breach"][key] for key in ("limit", "value", "source")} == {
        "limit": 270, "value": 300, "source": "Reg. (EC) 561/2006 art. 7"}  # fmt: skip
    assert all(item["slack"] == item["limit"] - item["used"] for item in found["counters"])
    words = homeleg("-", "--book", "plates", text="drive 121\n")
    assert (words.returncode, "Planning aid" in words.stdout, "Line 1, drive 121" in words.stdout) == (1, True, True)


@pytest.mark.parametrize(("arguments", "text", "code"), [
    (["-"], "", 1), (["-"], "dirve 270\n", 1), (["no-such-file.txt"], "", 1), (["-", "--book", "bikes"], "drive 1\n", 2), ([], "", 2),
])
def test_bad_input_is_told_and_nothing_else(arguments, text, code):
    done = homeleg(*arguments, "--json", text=text)
    assert (done.returncode, done.stdout, "Traceback" in done.stderr) == (code, "", False)
    assert done.stderr
