from __future__ import annotations

from pathlib import Path

import pytest

from backreef.cli.fault_lines import fault_lines, faults_text
from backreef.errors import Fault
from backreef.reports.text_layout import Style


def fault(file: Path | str, line: int | None, key: str = "", message: str = "is wrong") -> Fault:
    return Fault(file=str(file), line=line, key=key, message=message)


def written(folder: Path, text: str, name: str = "plan.toml") -> Path:
    path = folder / name
    path.write_bytes(text.encode("utf-8", errors="surrogateescape"))
    return path


def test_it_points_to_the_key(tmp_path: Path) -> None:
    path = written(tmp_path, '[tank]\nlid = "glas"  # the lid\n')
    assert fault_lines([fault(path, 2, "tank.lid")], Style()) == [
        f"{path}:2: tank.lid: is wrong",
        '     2 | lid = "glas"  # the lid',
        "       | ^^^",
    ]


@pytest.mark.parametrize(
    ("line", "key", "message", "pointer"),
    [
        ('  species = "x"', "animals[3].species", "", "  ^^^^^^^"),
        ("display = { length = 3 }", "tank.display.length", "", "            ^^^^^^"),
        ("lid_clean = 1", "lid", "", "^^^^^^^^^^^^^"),
        ("display = 300 L", "", "is no TOML, column 15; quote it", " " * 14 + "^"),
        ("short", "", "column 900", "     ^"),
        ("  whole line", "", "no place", "  ^^^^^^^^^^"),
        ("\tkey = 1", "key", "", " ^^^"),
    ],
)
def test_it_finds_the_place_in_the_line(
    tmp_path: Path, line: str, key: str, message: str, pointer: str
) -> None:
    lines = fault_lines([fault(written(tmp_path, line), 1, key, message or "is wrong")], Style())
    assert lines[2] == f"       | {pointer}"


def test_it_shows_the_part_of_a_long_line_that_matters(tmp_path: Path) -> None:
    line = "a = [" + "1, " * 100 + '{ wrong = "x" }, ' + "2, " * 100 + "]"
    _, shown, pointer = fault_lines([fault(written(tmp_path, line), 1, "a[100].wrong")], Style())
    assert len(shown) <= 81
    at = pointer.index("^")
    assert shown[at : at + 5] == "wrong"
    assert pointer.count("^") == 5


@pytest.mark.parametrize("line", [None, 0, 3, 99])
def test_it_quotes_nothing_where_there_is_no_line(tmp_path: Path, line: int | None) -> None:
    assert len(fault_lines([fault(written(tmp_path, "a = 1\n"), line, "a")], Style())) == 1


@pytest.mark.parametrize("name", ["missing.toml", ".", "zero\0byte"])
def test_it_quotes_nothing_from_what_cannot_be_read(tmp_path: Path, name: str) -> None:
    assert len(fault_lines([fault(f"{tmp_path}/{name}", 1)], Style())) == 1


def test_it_quotes_what_is_no_utf_8(tmp_path: Path) -> None:
    path = written(tmp_path, "name = \udcff\n")
    assert fault_lines([fault(path, 1, "name")], Style())[1] == "     1 | name = \N{REPLACEMENT CHARACTER}"


def test_it_lets_no_control_character_through(tmp_path: Path) -> None:
    path = written(tmp_path, "name = '\x1b[31m\x07'\n")
    text = faults_text([fault(path, 1, "name", "is \x1b[2J wrong")], Style())
    assert "\x1b" not in text
    assert "\x07" not in text


def test_it_counts_faults_and_files(tmp_path: Path) -> None:
    one, other = written(tmp_path, "a = 1\nb = 2\n"), written(tmp_path, "c = 3\n", "other.toml")
    single = faults_text([fault(one, 1, "a")], Style())
    assert not single.endswith("1 fault.\n")
    assert faults_text([fault(one, 1, "a"), fault(one, 2, "b")], Style()).endswith("\n\n2 faults.\n")
    text = faults_text([fault(one, 1, "a"), fault(other, 1, "c")], Style())
    assert text.endswith("\n\n2 faults in 2 files.\n")
