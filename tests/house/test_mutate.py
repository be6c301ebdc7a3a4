"""What is put into the code to see whether tests notice, and to which tests it is shown."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests import mutate
from tests.mutate import Fault, Reached, faults_of

CODE = '''\
"""Words are left alone: 1 < 2."""
LEAST: int = 3


def law(depth: float, *, deep: bool = False) -> float:
    assert depth > 0
    if depth < LEAST and not deep:
        return min(depth, 0.5)
    return depth if deep else depth * 2.0
'''


@pytest.fixture
def faults(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> list[Fault]:
    monkeypatch.setattr(mutate, "ROOT", tmp_path)
    (tmp_path / "law.py").write_text(CODE, encoding="utf-8")
    return faults_of(tmp_path / "law.py")


def test_what_runs_is_changed_and_words_and_types_are_not(faults: list[Fault]) -> None:
    assert {f"{one.before} -> {one.after}" for one in faults} == {
        "3 -> (4)",
        "False -> (True)",
        "depth < LEAST and not deep -> (depth < LEAST or not deep)",
        "depth < LEAST -> (depth <= LEAST)",
        "not deep -> (deep)",
        "min(depth, 0.5) -> (max(depth, 0.5))",
        "0.5 -> (0.75)",
        "depth if deep else depth * 2.0 -> (depth * 2.0 if deep else depth)",
        "depth * 2.0 -> (depth / 2.0)",
        "2.0 -> (3.0)",
    }


def test_a_fault_replaces_its_own_letters(faults: list[Fault]) -> None:
    for one in faults:
        assert CODE.encode()[one.start : one.end].decode() == one.before
        assert CODE.split("\n")[one.line - 1].find(one.before.split("\n")[0]) >= 0


def test_a_fault_is_shown_first_to_the_quickest_test_that_reaches_its_line() -> None:
    reached = Reached(
        seconds={"slow": 2.0, "quick": 1.0, "other": 3.0},
        tests={"a.py:3": ["slow", "quick"], "a.py:5": ["other"]},
        at_once={"a.py:1"},
    )

    def told(line: int, before: str = "x") -> list[str]:
        return reached.told_of(Fault(path="a.py", line=line, start=0, end=1, before=before, after="y"))

    assert told(3) == ["quick", "slow"]
    assert told(4, before="one\ntwo") == ["other"]
    assert told(1) == ["slow", "quick", "other"], "what a file does when it is read, every test rests on"
    assert told(9) == []
