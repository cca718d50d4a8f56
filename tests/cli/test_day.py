"""``homeleg day`` as an office uses it through one afternoon, on the small day and its real roads."""

import csv
import errno
import json
import re
import shutil
import subprocess
import sys
import time
from datetime import datetime
from hashlib import sha256
from pathlib import Path
from types import SimpleNamespace

import pytest

from cli.app import main
from cli.day_desk import Desk, cut_off
from planner.desk.day_book.book import open_book

SMALL = Path(__file__).parents[2] / "demo_data" / "small_day"


@pytest.fixture
def run(capsys, monkeypatch, tmp_path):
    """Run ``homeleg day`` in this process on a book of its own."""
    monkeypatch.setenv("HOMELEG_BOOK", str(tmp_path / "book.db"))

    def run(*words, who="nell"):
        monkeypatch.setenv("HOMELEG_USER", who)
        monkeypatch.setattr(sys, "argv", ["homeleg", "day", *map(str, words)])
        capsys.readouterr()
        with pytest.raises(SystemExit) as ended:
            main()
        printed = capsys.readouterr()
        return SimpleNamespace(code=ended.value.code or 0, out=printed.out, err=printed.err)

    return run


@pytest.fixture
def folder(tmp_path):
    return Path(shutil.copytree(SMALL, tmp_path / "day"))


def rewrite(folder, change):
    path = folder / "orders.csv"
    rows = list(csv.DictReader(path.read_text().splitlines()))
    rows = change(rows)
    with path.open("w", newline="") as file:
        writer = csv.DictWriter(file, rows[0])
        writer.writeheader()
        writer.writerows(rows)


def test_an_afternoon_from_the_first_file_to_the_second_version(run, folder, tmp_path):
    assert "3 new, 0 changed, 0 withdrawn, 0 the same" in run("open", folder).out
    assert "0 new, 0 changed, 0 withdrawn, 3 the same" in run("open", folder).out
    assert run("hold", "S-1", "--gate", "funds", "--owner", "accounts", "--by", "16:30").code == 0
    assert re.search(r"held    S-1: funds, accounts by 2026-11-2[56] 16:30\.", run("show").out)
    planned = run("plan", "--out", tmp_path / "draft", "--seconds", "6")
    assert planned.code == 0, planned.err
    assert re.search(r"\(accounts, by (Wed )?16:30\)", planned.out)
    first = run("publish", tmp_path / "draft", "--out", tmp_path / "v1")
    runs = len(json.loads((tmp_path / "draft" / "plan.json").read_text())["runs"])
    assert runs > 0
    assert f"version 1 is published; {runs} new sheets" in first.out
    assert len(list((tmp_path / "v1" / "sheets").glob("*.pdf"))) == runs
    assert run("release", "S-1").code == 0
    late = run("publish", tmp_path / "draft", "--out", tmp_path / "v2")
    assert (late.code, "Since this plan was drawn up, S-1 changed" in late.err or "already" in late.err) == (1, True)
    story = run("story", "S-1").out
    assert [word for word in ("taken in", "held", "gates passed", "released") if word in story] == ["taken in", "held", "gates passed", "released"]
    assert "Inventham" not in story
    assert run("verify").out.endswith("nothing wrong.\n")


def test_two_routers_on_one_order(run, folder):
    run("open", folder)
    run("show")
    run("pin", "S-2", "--driver", "D1", who="omar")
    refused = run("hold", "S-2", "--gate", "keys", "--owner", "valet", "--by", "17:00")
    assert refused.code == 1
    assert "S-2 has been changed since you looked" in refused.err
    assert "omar: S-2 pinned (driver D1)" in refused.err
    run("show")
    assert run("hold", "S-2", "--gate", "keys", "--owner", "valet", "--by", "17:00").code == 0


def test_a_crew_that_the_folder_does_not_list_can_be_neither_pinned_nor_taken_off(run, folder):
    run("open", folder)
    before = run("show").out
    for words in (("pin", "S-1", "--driver", "D9"), ("pin", "S-1", "--transporter", "D1"), ("crew-off", "T9")):
        refused = run(*words)
        assert refused.code == 1
        assert "this is no" in refused.err
        assert "Use one of: " in refused.err or "Did you mean " in refused.err
    assert run("show").out == before
    assert "S-1 is pinned to D1 and T1." in run("pin", "S-1", "--driver", "d1", "--transporter", "t1").out


@pytest.mark.parametrize(("now", "by", "until"), [
    ("2026-11-25T15:00", "16:30", "2026-11-25 16:30"), ("2026-11-23T15:00", "16:30", "2026-11-25 16:30"),
    ("2026-11-26T00:10", "05:30", "2026-11-26 05:30"), ("2026-11-26T09:00", "2026-11-27 08:00", "2026-11-27 08:00"),
])
def test_a_cut_off_hour_is_of_the_afternoon_before_until_the_day_begins(now, by, until):
    desk = Desk(book=None, actor="nell", now=datetime.fromisoformat(f"{now}+00:00"), on="2026-11-26")
    assert cut_off(desk, by) == until


def test_a_cut_off_that_is_no_time_is_refused(run, folder):
    run("open", folder)
    refused = run("hold", "S-1", "--gate", "funds", "--owner", "accounts", "--by", "half four")
    assert (refused.code, "half four" in refused.err) == (2, True)


def test_a_faulty_file_is_told_whole_and_nothing_is_taken_in(run, folder):
    run("open", folder)
    rewrite(folder, lambda rows: [{**rows[0], "postcode": "XX1 1XX"}, {**rows[1], "mass_kg": "heavy"}, rows[2]])
    refused = run("open", folder)
    assert refused.code == 1
    assert "row 2, postcode" in refused.err
    assert "row 3, mass_kg" in refused.err
    assert "nothing was written" in refused.err
    assert "changed by its source" not in run("story", "S-1").out


def test_a_changed_file_and_a_map_of_headings(run, folder):
    run("open", folder)
    rewrite(folder, lambda rows: [{**rows[0], "charge": "59.00"}, rows[1]])
    text = (folder / "orders.csv").read_text().replace("registration,make_model", "Reg No.,make_model", 1)
    (folder / "orders.csv").write_text(text)
    (folder / "sources.toml").write_text('[sales.columns]\n"Reg No" = "registration"\n')
    told = run("open", folder).out
    assert "S-1: charge 49.00 -> 59.00" in told
    assert "S-3: withdrawn by sales" in told
    (folder / "sources.toml").write_text("[sales.columns\n")
    assert "sources.toml" in run("open", folder).err


def test_a_buyer_is_shown_and_erased_once_delivered(run, folder):
    run("open", folder)
    kept = json.loads(run("buyer", "--order", "S-1").out)
    assert kept["kept"][0]["data"]["buyer"] == "Cora Inventham"
    assert "still to be delivered" in run("buyer", "--order", "S-1", "--erase").err
    assert run("event", "S-1", "handed", "over", "--at", "10:05", "--rehearsal").code == 0
    assert "is delivered, so nothing more" in run("event", "S-1", "refused", "--at", "11:00", "--rehearsal").err
    assert "Erased: S-1" in run("buyer", "--phone", "07700 900301", "--erase").out
    assert json.loads(run("buyer", "--order", "S-1").out)["kept"][0]["data"] is None
    assert "nothing wrong" in run("verify").out


def test_an_auditor_can_work_the_seals_out_from_the_export_alone(run, folder, tmp_path):
    """SHA-256 as Python's hashlib has it; nothing of the book's own code is used."""
    run("open", folder)
    run("pin", "S-1", "--driver", "D1")
    assert "5 entries" in run("export", tmp_path / "out.csv", "--whole").out
    text = (tmp_path / "out.csv").read_text()
    assert "Inventham" not in text
    seal = "0" * 64
    for row in csv.DictReader(text.splitlines()):
        said = [int(row["id"]), int(row["change"]), *(row[name] or None for name in ("at", "actor", "kind", "day", "topic", "thing", "subject"))]
        said += [json.loads(row[name]) if row[name] else None for name in ("before", "after")]
        seal = sha256((seal + json.dumps(said, sort_keys=True, separators=(",", ":"), ensure_ascii=False)).encode()).hexdigest()
        assert row["seal"] == seal


def test_backup_restore_and_what_is_not_there(run, folder, tmp_path):
    assert "there is no day book here" in run("show").err
    run("open", folder)
    assert "has not been opened" in run("show", "--date", "2026-12-24").err
    assert run("backup", tmp_path / "kept").code == 0
    assert run("restore", tmp_path / "kept", "--book", tmp_path / "again.db").code == 0
    assert run("story", "S-1", "--book", tmp_path / "again.db").out == run("story", "S-1").out
    assert run("story", "S-99").code == 1
    assert run("crew-off", "D1", "--why", "ill").code == 0
    assert "off     D1: ill" in run("show").out
    assert run("crew-on", "D1").code == 0
    assert "D1 is not off on 2026-11-26" in run("crew-on", "D1").err
    assert run("pin", "S-1").code == 2
    assert run("pin", "S-1", "--driver", "D1").code == 0
    assert run("unpin", "S-1").code == 0
    assert run("clock-was-wrong").code == 0


@pytest.fixture
def on_the_road(run, folder, tmp_path):
    """The small day, published."""
    run("open", folder)
    assert run("plan", "--out", tmp_path / "draft", "--seconds", "6").code == 0
    assert run("publish", tmp_path / "draft", "--out", tmp_path / "v1").code == 0
    return run


def test_the_form_of_the_small_day_is_taken_once(on_the_road, folder, tmp_path):
    run = on_the_road
    assert "road.csv: 13 new, 0 known already" in run("event", folder / "road.csv", "--rehearsal").out
    assert "road.csv: 0 new, 13 known already" in run("event", folder / "road.csv", "--rehearsal").out
    assert "S-3 nobody home at 12:03" in run("story", "S-3").out
    assert "S-3 nobody home at 12:03" in run("story", "D2").out
    assert "again   S-3: failed 1 time, last nobody home; priority 2 when next planned" in run("show").out
    hours = run("hours").out
    assert "D2       1 day: driven" in hours
    assert "not told" not in hours, "the form has both ends of both shifts"
    told = run("outcomes", "--from", "2026-11-26", "--to", "2026-11-26").out
    assert "3 promised, 2 kept, 0 late, failed: 1 nobody home, 0 not told" in told
    assert "replan: £0.00" in told
    (tmp_path / "bad.csv").write_text("at,who,what\n25:00,S-1,left\n12:00,S-9,arrived\n12:00,D1,flew\n")
    refused = run("event", tmp_path / "bad.csv", "--rehearsal")
    assert refused.code == 1
    assert all(place in refused.err for place in ("row 2, at", "row 3, who", "row 4, what", "nothing was written"))
    assert "cannot be opened" in run("event", tmp_path / "none.csv").err
    assert run("event", "S-1").code == 2
    assert run("event", "S-1", "flew").code == 2
    assert run("event", "S-1", "left", "--at", "noon").code == 2


def test_a_report_tells_how_promises_ended_where_there_is_a_book(on_the_road, folder, tmp_path, monkeypatch):
    on_the_road("event", folder / "road.csv", "--rehearsal")
    words = ["report", "--from", "2026-11-26", "--to", "2026-11-26", "--folder", tmp_path / "v1", "--out", tmp_path / "report"]
    monkeypatch.setattr(sys, "argv", ["homeleg", *map(str, words)])
    with pytest.raises(SystemExit) as ended:
        main()
    assert not ended.value.code
    day, period = csv.DictReader((tmp_path / "report" / "outcomes.csv").read_text(encoding="utf-8-sig").splitlines())
    assert [day[name] for name in ("promised", "kept", "late", "failed", "not told")] == ["3", "2", "0", "1", "0"]
    assert {name: value for name, value in day.items() if name != "day"} == {name: period[name] for name in day if name != "day"}
    assert "Promises as they ended" in (tmp_path / "report" / "report.html").read_text(encoding="utf-8")


def test_a_dispatcher_on_the_telephone(on_the_road):
    run = on_the_road
    assert "T1: late by 40 minutes at 10:00." in run("event", "T1", "late", "by", "40", "min", "--at", "10:00", "--rehearsal").out
    assert "the book has it already" in run("event", "T1", "late", "40", "--at", "10:00", "--rehearsal").out
    number = run("story", "D2").out.splitlines()[-1].split()[0]
    assert "Taken back: " in run("take-back", number).out
    assert run("take-back", number).code == 1
    assert run("verify").out.endswith("nothing wrong.\n")


def test_publishing_that_is_killed_before_its_sheets_is_finished_by_the_same_command(run, folder, tmp_path):
    run("open", folder)
    assert run("plan", "--out", tmp_path / "draft", "--seconds", "6").code == 0
    words = ("publish", str(tmp_path / "draft"), "--out", str(tmp_path / "v1"))
    process = subprocess.Popen([sys.executable, "-m", "cli", "day", *words], cwd=SMALL.parents[1], stdout=subprocess.PIPE, stderr=subprocess.PIPE)
    where = str(tmp_path / "book.db")
    for _ in range(6000):
        with open_book(where) as book, book.reading() as reader:
            if reader.value("version", "2026-11-26"):
                break
        time.sleep(0.005)
    process.kill()  # SIGKILL, as soon as the version stands in the book
    process.communicate()
    assert process.returncode == -9
    before = {path.name for path in tmp_path.glob("v1/sheets/*.pdf")}
    assert "not all written" in run("show").out
    assert "version 1 is published" in run(*words).out
    after = {path.name for path in tmp_path.glob("v1/sheets/*.pdf")}
    assert before < after
    assert "not all written" not in run("show").out
    assert "is version 1 of" in run(*words).err or "already" in run(*words).err
    assert run("verify").out.endswith("nothing wrong.\n")


def test_a_full_disk_between_a_version_and_its_sheets_is_told_and_finished_later(run, folder, tmp_path, monkeypatch):
    run("open", folder)
    assert run("plan", "--out", tmp_path / "draft", "--seconds", "6").code == 0
    words = ("publish", tmp_path / "draft", "--out", tmp_path / "v1")

    def full(_handle):
        raise OSError(errno.ENOSPC, "No space left on device")

    with monkeypatch.context() as patch:
        patch.setattr("cli.atomic.os.fsync", full)
        refused = run(*words)
        assert (refused.code, len(refused.err.splitlines())) == (1, 1)
        assert "plan.json: this file cannot be written (the disk is full)" in refused.err
        assert run("export", tmp_path / "out.csv", "--whole").code == 1
    assert "not all written" in run("show").out
    assert "version 1 is published; 2 new sheets" in run(*words).out
    assert len(list((tmp_path / "v1" / "sheets").glob("*.pdf"))) == 2


def test_any_version_is_written_again(on_the_road, tmp_path):
    run = on_the_road
    assert "version 1 is in" in run("sheets", "1", "--out", tmp_path / "again", "--all").out
    assert (tmp_path / "again" / "plan.json").read_bytes() == (tmp_path / "draft" / "plan.json").read_bytes()
    assert (tmp_path / "again" / "board.html").exists()
    assert "has no version 7" in run("sheets", "7", "--out", tmp_path / "again").err


def test_expected_times_move_along_and_a_late_promise_names_whom_to_ring(on_the_road):
    run = on_the_road
    assert "(nothing heard)" in run("now", "--at", "08:00").out
    run("event", "D2", "on", "duty", "--at", "08:15", "--rehearsal")
    run("event", "S-1", "handed", "over", "--at", "09:46", "--rehearsal")
    assert "No promise is at risk." in run("now", "--at", "09:50").out
    run("event", "D2", "late", "240", "--at", "09:50", "--rehearsal")
    told = run("now", "--at", "09:50").out
    assert "S-3: late by" in told
    assert "ring Edie Trialby, 07700 900303" in told
    assert "1 promise at risk." in told


def test_far_from_the_planning_day_the_time_has_to_be_given(on_the_road, monkeypatch, tmp_path):
    run = on_the_road
    monkeypatch.setattr("cli.commands.day_road.minute_of", lambda _desk, _clock: -50 * 1440)
    for words in (("now",), ("event", "S-1", "handed", "over", "--rehearsal"), ("replan", "--out", tmp_path / "draft2")):
        refused = run(*words)
        assert refused.code == 1
        assert "not near the planning day 2026-11-26. Give a time of that day with --at" in refused.err


def test_nothing_is_under_way_before_it_is_published(run, folder):
    run("open", folder)
    assert "has no published plan" in run("now").err


def test_a_breakdown_is_replanned_published_and_shown(on_the_road, tmp_path):
    run = on_the_road
    run("event", "D2", "on", "duty", "--at", "08:15", "--rehearsal")
    run("event", "S-1", "handed", "over", "--at", "09:46", "--rehearsal")
    run("event", "T1", "breakdown", "--at", "09:50", "--rehearsal")
    assert "stopped: breakdown" in run("now", "--at", "09:55").out
    drawn = run("replan", "--out", tmp_path / "draft2", "--at", "10:00", "--seconds", "3")
    assert drawn.code == 0, drawn.err
    assert "S-3: no longer done today (it was D2 with T1 at" in drawn.out
    assert "so that the promise is broken" in drawn.out
    assert "against version 1" in drawn.out
    run("event", "D1", "on", "duty", "--at", "10:20", "--rehearsal", who="omar")
    second = run("publish", tmp_path / "draft2", "--out", tmp_path / "v2")
    assert "version 2 is published" in second.out, "a routine word of another desk does not make the draft stale"
    page = (tmp_path / "v2" / "board.html").read_text()
    assert page.index("no longer done today") < page.index('id="decide-title"')
    row = page[page.index('id="order-S-3"') :]
    assert "<mark>was D2 with T1, " in row[: row.index("</tr>")]
    written = sorted(path.name for path in (tmp_path / "v2" / "sheets").glob("*.pdf"))
    assert len(written) <= 1, "only the sheet of the crew whose run changed"
    kept = json.loads((tmp_path / "v2" / "plan.json").read_text())
    assert any(one.get("past") for one in kept["runs"])
    after = run("now", "--at", "10:30")
    assert "version 2" in after.out
    told = run("outcomes", "--from", "2026-11-26", "--to", "2026-11-26").out
    assert "3 promised, 1 kept" in told
    assert run("verify").out.endswith("nothing wrong.\n")


def test_a_breakdown_is_replanned_although_nothing_else_was_heard_of_any_crew(on_the_road, tmp_path):
    """By plan D2 has been in Rugby, has loaded S-3 in Daventry and is on the way to Oxford at 11:00; D1 has begun by 11:30."""
    run = on_the_road
    run("event", "T1", "breakdown", "--at", "11:00", "--rehearsal")
    told = run("now", "--at", "11:30").out
    assert "stopped: breakdown" in told
    assert "S-3: no crew comes until the day is planned anew, promised before 14:00; ring Edie Trialby" in told
    assert "1 promise at risk." in told
    drawn = run("replan", "--out", tmp_path / "draft2", "--at", "11:30", "--seconds", "2")
    assert drawn.code == 0, drawn.err
    assert "D2 with T1 cannot go on: held to stand at Daventry" in drawn.out
    assert "stays behind: S-3: " in drawn.out
    assert "D2 could do it alone" not in drawn.out, "its transporter has broken down, and S-3 has to be carried"
    assert "Nothing was heard of R02: held to be as planned." in drawn.out
    assert "S-2" not in drawn.out
    assert "first part" not in drawn.out
    second = run("publish", tmp_path / "draft2", "--out", tmp_path / "v2").out
    assert "1 new sheets" in second, "D1 goes on with the paper it has"
    assert [path.name for path in (tmp_path / "v2" / "sheets").glob("*.pdf")] == ["R01-D2.pdf"]


def test_what_the_office_says_after_publishing_counts_when_the_day_is_replanned(on_the_road, folder, tmp_path):
    """S-2 is withdrawn and S-3 held before anybody has loaded it; then D1, without work now, is taken off."""
    run = on_the_road
    rewrite(folder, lambda rows: [rows[0], rows[2]])
    assert "S-2: withdrawn" in run("open", folder).out
    assert run("hold", "S-3", "--gate", "funds", "--owner", "accounts", "--by", "16:30").code == 0
    assert run("crew-off", "D1", "--why", "ill").code == 0
    assert "stopped: D1 out" in run("now", "--at", "08:30").out
    drawn = run("replan", "--out", tmp_path / "draft2", "--at", "08:30", "--seconds", "2")
    assert drawn.code == 0, drawn.err
    assert "S-2: no longer done today" in drawn.out
    assert "S-3: no longer done today" in drawn.out
    rows = csv.DictReader((tmp_path / "draft2" / "runs.csv").read_text().splitlines())
    assert [(row["driver"], row["order"]) for row in rows] == [("D2", "S-1")]
    told = run("publish", tmp_path / "draft2", "--out", tmp_path / "v2").out
    assert "D1: the sheet of the version before is withdrawn; take it back." in told
    assert "S-2 no longer placed" in run("story", "S-2").out


def test_a_draft_is_stale_once_an_order_fails(on_the_road, tmp_path):
    run = on_the_road
    run("event", "D2", "on", "duty", "--at", "08:15", "--rehearsal")
    assert run("replan", "--out", tmp_path / "draft2", "--at", "09:00", "--seconds", "2").code == 0
    run("event", "S-1", "refused", "--at", "09:20", "--rehearsal")
    refused = run("publish", tmp_path / "draft2", "--out", tmp_path / "v2")
    assert refused.code == 1
    assert "S-1, T1 changed. Plan again" in refused.err
