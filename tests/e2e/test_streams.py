"""What happens at the edges of a terminal: readers who leave, Ctrl-C, letters it lacks, progress."""

from __future__ import annotations

import json
import os
import signal
import subprocess
import time
from pathlib import Path

import pytest

from tests.cli_world import command, environment, process, start

posix = pytest.mark.skipif(os.name == "nt", reason="pipes and signals of POSIX")


def read_by_nobody(*arguments: str, folder: Path) -> tuple[int, bytes]:
    """The exit code of a command whose reader has left, and what it complains of."""
    reading, writing = os.pipe()
    os.close(reading)
    done = subprocess.run(
        command(*arguments),
        cwd=folder,
        env=environment(),
        stdout=writing,
        stderr=subprocess.PIPE,
        check=False,
    )
    os.close(writing)
    return done.returncode, done.stderr


@posix
@pytest.mark.parametrize(
    "arguments",
    [
        ("forecast", "breaks.toml", "--html", "kept.html"),
        ("forecast", "breaks.toml", "--json", "-", "--html", "kept.html"),
    ],
)
def test_a_reader_who_leaves_changes_neither_files_nor_the_exit_code(
    folder: Path, arguments: tuple[str, ...]
) -> None:
    assert read_by_nobody(*arguments, folder=folder) == (1, b"")
    assert (folder / "kept.html").is_file()


@posix
@pytest.mark.parametrize("arguments", [("--help",), ("catalogue", "--json", "-"), ("check", "plan.toml")])
def test_a_reader_who_leaves_is_no_failure(folder: Path, arguments: tuple[str, ...]) -> None:
    assert read_by_nobody(*arguments, folder=folder) == (0, b"")


@posix
def test_it_works_without_any_stream(folder: Path) -> None:
    shell = 'exec "$0" "$@" >&- 2>&-'
    done = subprocess.run(
        ["/bin/sh", "-c", shell, *command("forecast", "breaks.toml", "--html", "kept.html")],
        cwd=folder,
        env=environment(),
        check=False,
    )
    assert done.returncode == 1
    assert (folder / "kept.html").is_file()


@pytest.mark.skipif(not Path("/dev/full").exists(), reason="needs a disk that is always full")
@pytest.mark.parametrize("arguments", [("forecast", "plan.toml"), ("catalogue", "--json", "-")])
def test_a_full_disk_is_said_plainly(folder: Path, arguments: tuple[str, ...]) -> None:
    with Path("/dev/full").open("wb") as full:
        done = subprocess.run(
            command(*arguments),
            cwd=folder,
            env=environment(),
            stdout=full,
            stderr=subprocess.PIPE,
            check=False,
        )
    assert done.returncode == 2
    assert done.stderr == b"standard output cannot be written (No space left on device)\n"


@posix
def test_an_interrupt_ends_it_cleanly(folder: Path) -> None:
    started = start("forecast", "plan.toml", "--html", "never.html", folder=folder, judge="sleeper")
    assert started.stderr is not None
    assert started.stderr.readline() == b"at work\n"
    started.send_signal(signal.SIGINT)
    out, err = started.communicate(timeout=10)
    assert started.returncode == 130
    assert out == b""
    assert err == b"\nStopped.\n"
    assert sorted(path.name for path in folder.iterdir()) == ["bad.toml", "breaks.toml", "plan.toml"]


@posix
def test_an_interrupt_in_its_first_moment_shows_no_traceback(folder: Path) -> None:
    started = start("forecast", "plan.toml", folder=folder, judge="sleeper")
    time.sleep(0.05)
    started.send_signal(signal.SIGINT)
    _, err = started.communicate(timeout=10)
    # Before our first line runs, the interpreter itself answers; from then on it is ours.
    assert started.returncode in (130, -signal.SIGINT)
    if started.returncode == 130:
        assert b"Traceback" not in err


@pytest.mark.parametrize("encoding", ["ascii", "latin-1", "cp437", "utf-8"])
def test_a_page_shows_in_every_encoding(folder: Path, encoding: str) -> None:
    done = process("forecast", "breaks.toml", folder=folder, PYTHONIOENCODING=encoding, PYTHONUTF8="0")
    assert done.code == 1, done.err
    assert "The plan breaks on" in done.out
    assert done.out.isascii() == (encoding != "utf-8")


@pytest.mark.parametrize("encoding", ["ascii", "utf-8"])
def test_json_is_utf_8_in_every_encoding(folder: Path, encoding: str) -> None:
    plan = (folder / "plan.toml").read_text(encoding="utf-8").replace("Test tank", "Łódź 🐠")
    (folder / "plan.toml").write_text(plan, encoding="utf-8")
    done = process("forecast", "plan.toml", "--json", "-", folder=folder, PYTHONIOENCODING=encoding)
    assert json.loads(done.out)["plan"]["name"] == "Łódź 🐠"


def test_there_is_neither_colour_nor_progress_in_a_pipe(folder: Path) -> None:
    done = process("forecast", "plan.toml", folder=folder)
    assert "\x1b" not in done.out
    assert done.err == ""


@posix
@pytest.mark.parametrize(
    ("settings", "coloured"), [({}, True), ({"NO_COLOR": "1"}, False), ({"TERM": "dumb"}, False)]
)
def test_there_is_colour_in_a_terminal_unless_unwanted(
    folder: Path, settings: dict[str, str], coloured: bool
) -> None:
    import pty

    ours, theirs = pty.openpty()
    started = subprocess.Popen(
        command("forecast", "plan.toml"),
        cwd=folder,
        env=environment(**({"TERM": "xterm"} | settings)),
        stdout=theirs,
        stderr=subprocess.DEVNULL,
    )
    os.close(theirs)
    shown = b""
    while True:
        try:
            part = os.read(ours, 65536)
        except OSError:
            break
        if not part:
            break
        shown += part
    os.close(ours)
    assert started.wait(timeout=30) == 0
    assert (b"\x1b[1m" in shown) == coloured
