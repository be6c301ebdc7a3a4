from __future__ import annotations

import tempfile
from pathlib import Path

import pytest

from backreef.cli.failure import failure_text


def throw(error: Exception) -> None:
    raise error


def raised(error: Exception) -> Exception:
    """The error with the trace of having been raised."""
    with pytest.raises(type(error)) as caught:
        throw(error)
    return caught.value


def test_it_is_one_line_that_names_a_file_with_the_details(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(tempfile, "tempdir", str(tmp_path))
    text = failure_text(raised(ValueError("no\nsuch thing")), ["forecast", "plan.toml"], {})
    assert text.startswith(
        "backreef failed, not your plan: no such thing; please report it with the details in "
    )
    assert text.count("\n") == 1
    (path,) = tmp_path.iterdir()
    assert str(path) in text
    report = path.read_text(encoding="utf-8")
    assert "arguments: forecast plan.toml" in report
    assert "test_failure.py" in report


def test_an_error_without_words_is_called_by_its_kind() -> None:
    text = failure_text(raised(RecursionError()), [], {"BACKREEF_DEBUG": "0"})
    assert "RecursionError" in text
    Path(text.strip().rpartition(" ")[2]).unlink()


def test_it_says_how_to_see_the_details_where_they_cannot_be_kept(monkeypatch: pytest.MonkeyPatch) -> None:
    def full(**_: str) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(tempfile, "mkstemp", full)
    assert failure_text(raised(ValueError("x")), [], {}).endswith("set BACKREEF_DEBUG=1 to see the details\n")


def test_it_shows_all_to_those_who_ask() -> None:
    text = failure_text(raised(ValueError("x")), [], {"BACKREEF_DEBUG": "1"})
    assert text.startswith("Traceback")
    assert text.endswith("ValueError: x\n")
