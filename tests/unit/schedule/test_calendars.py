from __future__ import annotations

import builtins
from datetime import date
from pathlib import Path
from typing import Any

import pytest

from backreef.schedule import calendars
from backreef.schedule.calendars import public_holidays

ASKED = ("DE", "NW", 2027, 2028)


@pytest.fixture
def cache(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """An empty folder of caches."""
    monkeypatch.setenv("BACKREEF_CACHE", str(tmp_path / "cache"))
    public_holidays.cache_clear()
    return tmp_path / "cache"


def without_the_library(monkeypatch: pytest.MonkeyPatch) -> None:
    """Forget what was asked, and let nobody import the library."""
    usual = builtins.__import__

    def guarded(name: str, *rest: Any) -> Any:
        assert name != "holidays"
        return usual(name, *rest)

    public_holidays.cache_clear()
    monkeypatch.setattr(builtins, "__import__", guarded)


def test_what_was_told_is_kept_for_the_next_process(cache: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    told = public_holidays(*ASKED)
    assert (date(2027, 3, 26), "Good Friday") in told
    assert len(list(cache.iterdir())) == 1
    without_the_library(monkeypatch)
    assert public_holidays(*ASKED) == told


@pytest.mark.parametrize("damage", ["", "[1]", "{}", '[["2027-13-40", "no day"]]', "[[1, 2]]", "nothing"])
def test_what_was_damaged_is_asked_anew(cache: Path, damage: str) -> None:
    told = public_holidays(*ASKED)
    (kept,) = cache.iterdir()
    kept.write_text(damage, encoding="utf-8")
    public_holidays.cache_clear()
    assert public_holidays(*ASKED) == told
    public_holidays.cache_clear()
    assert calendars._kept(kept) == told  # noqa: SLF001  it was put in order


def test_another_version_of_the_library_is_asked_anew(cache: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    told = public_holidays(*ASKED)
    usual = Path.read_bytes
    monkeypatch.setattr(Path, "read_bytes", lambda path: usual(path) + b"other" * (path.name == "version.py"))
    public_holidays.cache_clear()
    assert public_holidays(*ASKED) == told
    assert len(list(cache.iterdir())) == 2


def test_a_folder_that_cannot_be_written_to_does_no_harm(cache: Path) -> None:
    cache.write_text("a file where the folder would be", encoding="utf-8")
    assert public_holidays(*ASKED)
