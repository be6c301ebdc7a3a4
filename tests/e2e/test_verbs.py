from __future__ import annotations

import subprocess
import sys
import tomllib
from pathlib import Path

import pytest

import backreef
from backreef.cli.app import VERBS, program_name
from tests.cli_world import ROOT, environment, process
from tests.e2e.conftest import Run

HEAVY = (
    *("numpy", "pydantic", "llvmlite", "holidays", "rich", "pandas", "django", "sqlite3", "highspy", "PIL"),
    *("icalendar", "backreef.simulation", "backreef.judgement", "backreef.planning", "backreef.reports.html"),
)


def test_it_says_its_version(run: Run) -> None:
    project = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]
    assert run("--version").out == f"backreef {project['version']}\n"
    assert backreef.__version__ == project["version"]


@pytest.mark.parametrize("arguments", [(), ("--help",), ("-h",)])
def test_it_helps_without_a_verb(run: Run, arguments: tuple[str, ...]) -> None:
    done = run(*arguments)
    assert (done.code, done.err) == (0, "")
    assert all(f"  {verb} " in done.out for verb in VERBS)
    assert "Exit codes" in done.out


@pytest.mark.parametrize("verb", VERBS)
def test_its_list_of_verbs_says_what_each_says_itself(run: Run, verb: str) -> None:
    done = run(verb, "--help")
    assert done.code == 0
    assert VERBS[verb] in " ".join(done.out.split())
    assert max(len(line) for line in done.out.splitlines()) <= 80


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (("forcast", "plan.toml"), "'forcast' is no verb of backreef; did you mean 'forecast'?"),
        (("plan.toml",), "'plan.toml' is a file, not a verb; did you mean 'backreef forecast plan.toml'?"),
        (("xyz",), f"'xyz' is no verb of backreef; there are {', '.join(VERBS)}"),
        (("--verzion",), "there is no option --verzion; did you mean --version?"),
        (("check", "plan.toml", "--jsn", "-"), "there is no option --jsn; did you mean --json?"),
        (("check",), "name a plan file, or --schema"),
        (("demo", "more"), "more"),
        (("compare", "plan.toml"), "name 2 to 6 plan files"),
    ],
)
def test_it_says_what_was_probably_meant(run: Run, arguments: tuple[str, ...], words: str) -> None:
    done = run(*arguments)
    assert (done.code, done.out) == (2, "")
    assert words in done.err
    assert "--help' shows what it takes." in done.err


@pytest.mark.parametrize(
    ("argv", "name"),
    [
        ("python3 go.py", "python3 go.py"),
        ("/usr/bin/backreef", "backreef"),
        ("python3 -m backreef", "python3 -m backreef"),
    ],
)
def test_it_calls_itself_what_people_type(monkeypatch: pytest.MonkeyPatch, argv: str, name: str) -> None:
    monkeypatch.setattr(sys, "argv", [argv])
    assert program_name() == name


def test_it_runs_as_a_module_and_calls_itself_so() -> None:
    done = subprocess.run(
        [sys.executable, "-P", "-m", "backreef", "chekc"],
        env=environment(),
        capture_output=True,
        check=False,
        text=True,
    )
    assert (done.returncode, done.stdout) == (2, "")
    assert "did you mean 'check'?" in done.stderr
    assert f"'{Path(sys.executable).name} -m backreef --help' shows what it takes." in done.stderr


def imported(*arguments: str, folder: Path) -> set[str]:
    """The heavy libraries that a command brings in."""
    code = (
        "import atexit, sys\n"
        f"atexit.register(lambda: sys.stderr.write(' '.join(m for m in {HEAVY!r} if m in sys.modules)))\n"
        "import runpy\n"
        "runpy.run_module('backreef', run_name='__main__')"
    )
    done = subprocess.run(
        [sys.executable, "-P", "-c", code, *arguments],
        cwd=folder,
        env=environment(),
        capture_output=True,
        check=False,
        text=True,
    )
    assert done.returncode == 0, done.stderr
    return set(done.stderr.split())


def test_help_brings_in_nothing_heavy() -> None:
    asked = [["--help"], ["--version"], *([verb, "--help"] for verb in VERBS)]
    code = (
        "import sys\n"
        "from backreef.cli.app import run\n"
        f"for asked in {asked!r}:\n"
        "    assert run(asked) == 0, asked\n"
        f"    heavy = [one for one in {HEAVY!r} if one in sys.modules]\n"
        "    assert not heavy, (asked, heavy)\n"
        "print('all were asked')"
    )
    done = subprocess.run(
        [sys.executable, "-P", "-c", code], env=environment(), capture_output=True, check=False, text=True
    )
    assert done.returncode == 0, done.stderr
    assert done.stdout.endswith("all were asked\n")


def test_a_check_brings_in_no_simulation(folder: Path) -> None:
    assert imported("check", "plan.toml", folder=folder) <= {"pydantic"}


def test_starting_as_a_module_brings_in_nothing_heavy(folder: Path) -> None:
    assert imported("--version", folder=folder) == set()


def test_importing_it_is_free(folder: Path) -> None:
    code = "import sys, backreef; print(sorted(m for m in sys.modules if m.startswith('backreef')))"
    done = subprocess.run(
        [sys.executable, "-c", code], env=environment(), capture_output=True, check=True, text=True
    )
    assert done.stdout.strip() == "['backreef']"


def test_it_fails_calmly(folder: Path) -> None:
    done = process("forecast", "plan.toml", folder=folder, judge="failing")
    assert (done.code, done.out) == (3, "")
    assert done.err.count("\n") == 1
    assert done.err.startswith("backreef failed, not your plan: the tank has no volume at all;")
    details = Path(done.err.strip().rpartition(" ")[2])
    assert "ZeroDivisionError" in details.read_text(encoding="utf-8")
    details.unlink()


def test_it_shows_its_failure_to_those_who_ask(folder: Path) -> None:
    done = process("forecast", "plan.toml", folder=folder, judge="failing", BACKREEF_DEBUG="1")
    assert done.code == 3
    assert "Traceback" in done.err
    assert "ZeroDivisionError: the tank has no volume" in done.err
