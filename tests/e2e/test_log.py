"""A keeper keeps a log at the command line."""

from __future__ import annotations

import json
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any

import jsonschema
import pytest
from click.testing import CliRunner

from backreef.cli.app import backreef
from backreef.usecases.documents import document_schema
from backreef.usecases.examples import example_plan
from backreef.usecases.log_desk import STORE_NAME
from tests.cli_world import Done, environment
from tests.e2e.conftest import Run

LINE = "no3 12 ppm, po4 0.08, fed double, 1 snail died"
Answer = Callable[..., Done]


@pytest.fixture(autouse=True)
def nobody_said_otherwise(monkeypatch: pytest.MonkeyPatch) -> None:
    for name in ("BACKREEF_LOG", "BACKREEF_WHO"):
        monkeypatch.delenv(name, raising=False)


@pytest.fixture
def room(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A folder with the reading room's plan and nothing else."""
    monkeypatch.chdir(tmp_path)
    (tmp_path / "reading_room.toml").write_bytes(example_plan().read_bytes())
    return tmp_path


@pytest.fixture
def answer(room: Path) -> Answer:
    """Runs a command and answers its question."""

    def invoke(said: str, *arguments: str) -> Done:
        result = CliRunner().invoke(backreef, list(arguments), input=said)
        return Done(code=result.exit_code, out=result.stdout, err=result.stderr)

    return invoke


def logged(run: Run, *arguments: str) -> list[dict[str, Any]]:
    done = run("log", "list", "--json", "-", *arguments)
    assert (done.code, done.err) == (0, "")
    document = json.loads(done.out)
    jsonschema.validate(document, document_schema("log"))
    return list(document["entries"])


def test_a_line_is_shown_and_saved_when_the_keeper_agrees(room: Path, answer: Answer, run: Run) -> None:
    done = answer("y\n", "log", LINE)
    assert done.code == 0
    for words in ("nitrate: 12 mg/L NO3", "phosphate: 0.08 mg/L PO4", "2 times the planned", "Cerith snail"):
        assert words in done.out
    assert "assumed: 'po4' without a unit was read as mg/L PO4" in done.out
    assert done.out.index("Save this?") > done.out.index("Cerith snail")
    assert "Saved: 4 entries." in done.out
    assert [entry["kind"] for entry in logged(run)] == ["reading", "reading", "feeding", "death"]
    assert (room / STORE_NAME).exists()


@pytest.mark.parametrize(("said", "code", "words"), [("n\n", 0, "Nothing was changed"), ("", 2, "add --yes")])
def test_nothing_is_saved_unless_the_keeper_agrees(
    said: str, code: int, words: str, room: Path, answer: Answer
) -> None:
    done = answer(said, "log", LINE)
    assert done.code == code
    assert words in done.out + done.err
    assert not (room / STORE_NAME).exists()


def test_a_line_need_not_be_quoted(room: Path, run: Run) -> None:
    assert run("log", "no3", "12", "ppm,", "fed", "double", "--yes").code == 0
    assert [entry["kind"] for entry in logged(run)] == ["reading", "feeding"]


def test_every_fault_of_a_line_is_told_and_nothing_saved(room: Path, run: Run) -> None:
    done = run("log", "no3 12, no4 5, glas 6 min", "--yes")
    assert (done.code, done.out) == (2, "")
    assert "'no3' (nitrate)" in done.err
    assert "did you mean 'glass'?" in done.err
    assert "2 faults." in done.err
    assert not (room / STORE_NAME).exists()


def test_what_was_logged_last_is_taken_back(room: Path, answer: Answer, run: Run) -> None:
    run("log", "no3 12 ppm", "--yes")
    run("log", "fed double, po4 0.1", "--yes")
    done = answer("y\n", "log", "--undo")
    assert "no longer counts: fed: 2 times" in done.out
    assert [entry["kind"] for entry in logged(run)] == ["reading"]
    assert run("log", "--undo", "--yes").code == 0
    done = run("log", "--undo", "--yes")
    assert (done.code, done.out) == (2, "")
    assert "left to take back" in done.err


def test_a_correction_keeps_what_stood_before(room: Path, run: Run) -> None:
    run("log", "no3 120 ppm", "--yes", "--who", "librarian")
    (entry,) = logged(run)
    done = run(
        "log", "correct", entry["id"][:8], "no3 12 ppm", "--why", "a slip", "--who", "caretaker", "--yes"
    )
    assert "nitrate: 12 mg/L NO3 instead of nitrate: 120 mg/L NO3" in " ".join(done.out.split())
    shown = " ".join(run("log", "show", entry["id"][:8]).out.split())
    assert "by librarian: nitrate: 120 mg/L NO3" in shown
    assert "by caretaker, a slip: nitrate: 12 mg/L NO3" in shown
    document = json.loads(run("log", "show", entry["id"], "--json", "-").out)
    jsonschema.validate(document, document_schema("log"))
    assert [one["revision"] for one in document["entries"]] == [1, 2]
    assert [one["shown"]["value"] for one in logged(run)] == [pytest.approx(12)]


def test_an_entry_is_withdrawn_and_can_be_brought_back(room: Path, run: Run) -> None:
    run("log", "urchin died", "--yes")
    ident = logged(run)[0]["id"]
    assert run("log", "correct", ident, "--withdraw", "--why", "it hid", "--yes").code == 0
    assert logged(run) == []
    assert "withdrawn already" in run("log", "correct", ident, "--withdraw", "--yes").err
    assert run("log", "--undo", "--yes").code == 0
    assert len(logged(run)) == 1


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (("log", "fed double", "--undo"), "not both"),
        (("log", "--yes"), "say what to log"),
        (("log", "fed double", "--at", "tomorrow", "--yes"), "is no moment"),
        (("log", "fed double", "--at", "2999-01-01", "--yes"), "lies in the future"),
        (("log", "list"), "there is no log at"),
        (("log", "verify"), "there is no log at"),
        (("log", "backup", "b.sqlite3"), "there is no log at"),
        (("log", "restore", "b.sqlite3", "--yes"), "is not there"),
        (("log", "show", "abc"), "there is no log"),
        (("log", "fed double", "--yes", "--store", "postgresql://127.0.0.1:9/x"), "server does not answer"),
        (("log", "fed double", "--yes", "--tank", "nowhere.toml"), "does not exist"),
        (
            ("log", "fed double", "--yes", "--tank", "Reading-room reef, Harbor Street library"),
            "did you mean",
        ),
    ],
)
def test_it_refuses_in_plain_words(arguments: tuple[str, ...], words: str, room: Path, run: Run) -> None:
    done = run(*arguments)
    assert done.code == 2
    assert words in done.err
    assert "Traceback" not in done.err


def test_entries_are_named_by_enough_of_their_id(room: Path, run: Run) -> None:
    run("log", "fed double", "--yes")
    ident = logged(run)[0]["id"]
    assert "is too short" in run("log", "show", ident[:2]).err
    assert "no entry begins with" in run("log", "show", "zzzzzz").err
    assert run("log", "show", ident[:6].upper()).code == 0


def test_it_asks_which_tank_where_there_are_several(room: Path, run: Run) -> None:
    (room / "hall.toml").write_text(
        'start_on = 2027-01-04\n[tank]\nname = "Hall"\ndisplay = "100 L"\n', "utf-8"
    )
    assert "say which tank: --tank with one of" in run("log", "fed double", "--yes").err
    assert run("log", "fed double", "--yes", "--tank", "hall").code == 0
    assert run("log", "fed half", "--yes", "--tank", "hall.toml").code == 0
    assert len(logged(run, "--tank", "Hall")) == 2
    assert "'Cistern'" not in run("log", "fed half", "--yes", "--tank", "Cistern").err
    assert len(logged(run, "--tank", "Cistern")) == 1


def test_a_list_is_narrowed(room: Path, run: Run) -> None:
    run("log", "no3 12 ppm, fed double", "--yes", "--at", "3 days ago")
    run("log", "no3 11 ppm", "--yes")
    assert len(logged(run, "--kind", "reading")) == 2
    assert len(logged(run, "--since", "yesterday")) == 1
    assert "'reeding' is no kind of entry" in run("log", "list", "--kind", "reeding").err
    page = run("log", "list").out
    assert page.index("2 times the planned") < page.index("11 mg/L NO3")


def test_a_backup_is_made_verified_and_put_back(room: Path, answer: Answer, run: Run) -> None:
    run("log", LINE, "--yes")
    assert "4 entries in 4 revisions are now in b.sqlite3 too." in run("log", "backup", "b.sqlite3").out
    run("log", "fed half", "--yes")
    assert "No faults: 5 entries in 5 revisions" in run("log", "verify").out
    done = answer("y\n", "log", "restore", "b.sqlite3")
    assert "Restored: 4 entries" in done.out
    assert len(logged(run)) == 4
    assert "before-restore" in done.out


def test_a_damaged_log_is_told(room: Path, run: Run) -> None:
    run("log", LINE, "--yes")
    (room / STORE_NAME).write_bytes(b"\0" * 5000)
    done = run("log", "verify")
    assert done.code == 2
    assert "restore a backup" in done.err


def test_a_table_is_brought_in_once_and_given_out(room: Path, run: Run) -> None:
    (room / "old.csv").write_text("Tag;NO3 (ppm)\n1.3.2024;12,5\n8.3.2024;11\n", "utf-8")
    arguments = ("log", "import", "old.csv", "--map", "Tag=date")
    done = run(*arguments, "--dry-run")
    assert "2 x reading" in done.out
    assert "Nothing was saved" in done.out
    assert not (room / STORE_NAME).exists()
    assert "Saved: 2 entries." in run(*arguments, "--yes").out
    assert "2 are in the log already" in run(*arguments, "--yes").out
    assert [one["shown"]["value"] for one in logged(run)] == [pytest.approx(12.5), pytest.approx(11)]
    done = run("log", "export", "new.csv")
    assert (done.code, done.err) == (0, "")
    assert "nothing new" in run("log", "import", "new.csv", "--yes").out
    assert run("log", "export", "-").out == (room / "new.csv").read_text("utf-8")


def test_a_table_with_faults_brings_nothing(room: Path, run: Run) -> None:
    (room / "old.csv").write_text("date,no3\n2/3/2024,5\n2024-03-01,lots\n", "utf-8")
    done = run("log", "import", "old.csv", "--yes")
    assert done.code == 2
    assert "old.csv:2" in done.err
    assert "old.csv:3" in done.err
    assert not (room / STORE_NAME).exists()


def test_a_photograph_is_kept_beside_the_log_and_looked_after(room: Path, run: Run) -> None:
    from PIL import Image

    Image.new("RGB", (40, 30), (20, 90, 160)).save(room / "urchin.jpg")
    done = run("log", "photo", "urchin.jpg", "--caption", "the urchin with a hat")
    assert (done.code, done.err) == (0, "")
    (picture,) = (room / "backreef-log-photographs").iterdir()
    (entry,) = logged(run)
    assert entry["what"]["sha256"] == picture.stem
    assert "photograph, 40 x 30: the urchin with a hat" in run("log", "list").out
    assert run("log", "verify").code == 0
    picture.unlink()
    assert "is missing or was changed" in run("log", "verify").err
    (room / "letter.jpg").write_text("no picture", "utf-8")
    done = run("log", "photo", "letter.jpg")
    assert (done.code, done.out) == (2, "")
    assert "save it as JPEG" in done.err
    assert len(logged(run)) == 1


def test_other_verbs_bring_in_no_database(room: Path) -> None:
    code = (
        "import atexit, sys\n"
        "bad = ('django', 'psycopg', 'sqlite3', 'backreef.logbook')\n"
        "atexit.register(lambda: sys.stderr.write(' '.join(m for m in bad if m in sys.modules)))\n"
        "from backreef.cli.main import main\n"
        "sys.exit(main())"
    )
    for arguments in (("check", "reading_room.toml"), ("catalogue", "cerith"), ("log", "--help")):
        command = [sys.executable, "-P", "-c", code, *arguments]
        done = subprocess.run(
            command, cwd=room, env=environment(), capture_output=True, check=False, text=True
        )
        assert (done.returncode, done.stderr) == (0, ""), arguments


def test_a_forecast_sets_the_logged_minutes_beside_the_assumed_ones(run: Run, folder: Path) -> None:
    saved = run("log", "glass 9 min, water change 10 % 40 min", "--yes", "--tank", "plan.toml")
    assert saved.code == 0, saved.err
    done = run("forecast", "plan.toml", "--json", "out.json", "--quiet")
    assert done.code == 0, done.err
    minutes = json.loads((folder / "out.json").read_text(encoding="utf-8"))["minutes"]
    assert {line["task"]: line["middle_min"] for line in minutes["logged"]} == {
        "glass_inner": 9.0,
        "wc_do": 40.0,
    }
    elsewhere = run("forecast", "plan.toml", "--json", "-", "--store", "nowhere.sqlite3")
    assert json.loads(elsewhere.out)["minutes"]["logged"] == []


def test_a_log_that_cannot_be_read_is_told_and_left_out(run: Run, folder: Path) -> None:
    (folder / STORE_NAME).write_bytes(b"no database")
    done = run("forecast", "plan.toml", "--json", "-")
    assert done.code == 0
    assert "The log is left out" in done.err
