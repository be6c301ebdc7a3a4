from __future__ import annotations

import io
import re

from backreef.cli.progress import ProgressLine
from backreef.cli.terminal import Terminal


class Watched(io.StringIO):
    """A terminal that somebody watches."""

    encoding = "utf-8"

    def isatty(self) -> bool:
        return True


class Clock:
    """A clock that is set by hand."""

    now = 0.0

    def __call__(self) -> float:
        return self.now


def on_screen(text: str) -> str:
    """What one line shows in the end, each carriage return writing over it."""
    line = ""
    for part in re.sub(r"\x1b\[[0-9;]*m", "", text).split("\r"):
        line = part + line[len(part) :]
    return line


def test_short_work_says_nothing() -> None:
    err, clock = Watched(), Clock()
    with ProgressLine(Terminal(out=io.StringIO(), err=err), clock=clock) as progress:
        for done in range(10):
            clock.now = done / 10
            progress("marching", done, 10)
    assert err.getvalue() == ""


def test_long_work_says_how_far_it_is() -> None:
    err, clock = Watched(), Clock()
    progress = ProgressLine(Terminal(out=io.StringIO(), err=err), clock=clock)
    clock.now = 2.0
    progress("marching the members", 3, 8)
    shown = on_screen(err.getvalue())
    assert shown == f"{'━' * 9}{'─' * 15}  3 of 8  marching the members"


def test_it_leaves_nothing_behind() -> None:
    err, clock = Watched(), Clock()
    with ProgressLine(Terminal(out=io.StringIO(), err=err), clock=clock) as progress:
        for phrase, at in (("a long phrase about it", 2.0), ("short", 3.0)):
            clock.now = at
            progress(phrase, 1, 2)
    assert on_screen(err.getvalue()).strip() == ""
    assert "\n" not in err.getvalue()


def test_it_draws_no_oftener_than_eyes_follow() -> None:
    err, clock = Watched(), Clock()
    progress = ProgressLine(Terminal(out=io.StringIO(), err=err), clock=clock)
    for step in range(1000):
        clock.now = 2.0 + step / 1000
        progress("marching", step, 2000)
    assert err.getvalue().count("\r") <= 11


def test_it_is_silent_where_nobody_watches_or_wants_it() -> None:
    for err, silent in ((io.StringIO(), False), (Watched(), True)):
        clock = Clock()
        with ProgressLine(Terminal(out=io.StringIO(), err=err), silent=silent, clock=clock) as progress:
            clock.now = 5.0
            progress("marching", 1, 2)
        assert err.getvalue() == ""


def test_it_bears_counts_that_make_no_sense() -> None:
    err, clock = Watched(), Clock()
    progress = ProgressLine(Terminal(out=io.StringIO(), err=err), clock=clock)
    clock.now = 2.0
    progress("getting ready", 0, 0)
    assert on_screen(err.getvalue()) == "getting ready"
    clock.now = 3.0
    progress("over", 9, 8)
    assert on_screen(err.getvalue()).startswith("━" * 24 + "  9 of 8")


def test_it_stays_on_one_line() -> None:
    err, clock = Watched(), Clock()
    progress = ProgressLine(Terminal(out=io.StringIO(), err=err), clock=clock)
    clock.now = 2.0
    progress("word " * 50 + "\nand another line", 1, 2)
    assert len(on_screen(err.getvalue())) <= 79
