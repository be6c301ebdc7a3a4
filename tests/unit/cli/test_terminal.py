from __future__ import annotations

import io
from typing import IO

import pytest

from backreef.cli.terminal import CannotSay, Terminal


class Screen(io.TextIOWrapper):
    """A terminal of some encoding that keeps what is written to it."""

    def __init__(self, encoding: str = "utf-8", *, watched: bool = False) -> None:
        super().__init__(io.BytesIO(), encoding=encoding, newline="\n")
        self.watched = watched

    def isatty(self) -> bool:
        return self.watched

    @property
    def shown(self) -> bytes:
        self.flush()
        written: bytes = self.buffer.getvalue()  # type: ignore[attr-defined]
        return written


class Gone(io.StringIO):
    """A pipe that nobody reads."""

    def write(self, _: str, /) -> int:
        raise BrokenPipeError

    def fileno(self) -> int:
        raise ValueError("no file")


class Full(io.StringIO):
    """A file on a full disk."""

    def write(self, _: str, /) -> int:
        raise OSError(28, "No space left on device")


def terminal(out: IO[str], err: IO[str] | None = None, environment: dict[str, str] | None = None) -> Terminal:
    return Terminal(out=out, err=err or io.StringIO(), environment=environment or {})


@pytest.mark.parametrize(
    ("encoding", "shown"),
    [("utf-8", "Łódź – 25 °C".encode()), ("ascii", b"?odz - 25 deg C"), ("latin-1", b"?odz - 25 deg C")],
)
def test_it_spells_what_an_encoding_lacks(encoding: str, shown: bytes) -> None:
    screen = Screen(encoding)
    terminal(screen).say("Łódź – 25 °C")
    assert screen.shown == shown


def test_a_command_is_quoted_as_it_is_typed_here() -> None:
    out, err = Screen(), Screen()
    here = terminal(out, err)
    here.called = "python3 go.py"
    here.say("'backreef why PLAN' says it; backreef is its name")
    here.tell("log it with 'backreef\nlog'")
    assert out.shown == b"'python3 go.py why PLAN' says it; backreef is its name"
    assert err.shown == b"log it with 'python3 go.py\nlog'"


def test_a_document_is_utf_8_on_every_screen() -> None:
    screen = Screen("ascii")
    terminal(screen).document('"Łódź"\n')
    assert screen.shown == '"Łódź"\n'.encode()


def test_a_document_writes_bytes_that_are_no_text_as_json_does() -> None:
    screen = Screen()
    terminal(screen).document('"\udcff"')
    assert screen.shown == b'"\\udcff"'


def test_it_is_silent_once_its_reader_has_left() -> None:
    silent = terminal(Gone())
    silent.say("a")
    silent.document("b")
    silent.tell("c")
    assert silent.reader_left


def test_it_says_that_nothing_more_can_be_written() -> None:
    with pytest.raises(CannotSay, match="No space left on device"):
        terminal(Full()).say("a")


def test_nobody_has_to_listen_to_what_it_tells() -> None:
    terminal(io.StringIO(), Gone()).tell("a")


def test_its_page_has_80_columns_where_nobody_watches(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("COLUMNS", "200")
    assert terminal(Screen()).width == 80


@pytest.mark.parametrize(("columns", "width"), [("20", 60), ("80", 79), ("90", 89), ("300", 100)])
def test_its_page_fits_the_screen_within_reason(
    monkeypatch: pytest.MonkeyPatch, columns: str, width: int
) -> None:
    monkeypatch.setenv("COLUMNS", columns)
    assert terminal(Screen(watched=True)).width == width


@pytest.mark.parametrize(
    ("watched", "environment", "colour"),
    [
        (True, {}, True),
        (False, {}, False),
        (True, {"NO_COLOR": "1"}, False),
        (True, {"NO_COLOR": ""}, True),
        (True, {"TERM": "dumb"}, False),
    ],
)
def test_it_is_coloured_where_somebody_watches(
    watched: bool, environment: dict[str, str], colour: bool
) -> None:
    assert terminal(Screen(watched=watched), environment=environment).style().colour == colour


@pytest.mark.parametrize(("encoding", "ascii_only"), [("utf-8", False), ("cp1252", True), ("ascii", True)])
def test_its_pages_use_ascii_where_the_signs_are_missing(encoding: str, ascii_only: bool) -> None:
    assert terminal(Screen(encoding)).style().ascii_only == ascii_only
