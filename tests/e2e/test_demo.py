from __future__ import annotations

from pathlib import Path

import pytest

from backreef.cli.commands import demo
from backreef.cli.target import CannotWrite
from tests.cli_world import process
from tests.e2e.conftest import Run


def test_its_last_line_is_the_path_of_the_report_alone(run: Run, folder: Path) -> None:
    done = run("demo")
    assert done.code == 0, done.err
    last = done.out.split("\n")[-2]
    assert last == str(folder / "reading_room.html")
    assert Path(last).read_text(encoding="utf-8").startswith("<!doctype html>")
    assert "The plan holds" in done.out


def test_it_overwrites_the_report_of_an_earlier_run(run: Run, folder: Path) -> None:
    (folder / "reading_room.html").write_text("old", encoding="utf-8")
    run("demo")
    assert (folder / "reading_room.html").read_text(encoding="utf-8") != "old"


def test_it_writes_elsewhere_where_the_folder_is_closed(
    run: Run, folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def closed(path: Path) -> None:
        raise CannotWrite(path, "may not be written by this user")

    monkeypatch.setattr(demo, "check_target", closed)
    done = run("demo")
    assert done.code == 0
    last = Path(done.out.split("\n")[-2])
    assert last.name == "reading_room.html"
    assert last.parent != folder
    assert last.is_file()


def test_it_is_the_same_in_a_process_of_its_own(folder: Path) -> None:
    done = process("demo", folder=folder)
    assert (done.code, done.err) == (0, "")
    assert done.out.split("\n")[-2] == str(folder / "reading_room.html")


@pytest.mark.parametrize("encoding", ["ascii", "utf-8"])
def test_its_path_is_right_in_every_encoding(folder: Path, encoding: str) -> None:
    place = folder / "Łódź riff 🐠"
    place.mkdir()
    done = process("demo", folder=place, PYTHONIOENCODING=encoding)
    assert done.code == 0
    assert Path(done.out.split("\n")[-2]).samefile(place / "reading_room.html")
