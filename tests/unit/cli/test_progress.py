from __future__ import annotations

import io
import re
import time

import pytest

from backreef.cli import progress as module
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
    return line.rstrip()


def line_on(err: io.StringIO, clock: Clock, *, silent: bool = False) -> ProgressLine:
    return ProgressLine(Terminal(out=io.StringIO(), err=err), silent=silent, clock=clock)


def test_short_work_says_nothing() -> None:
    err, clock = Watched(), Clock()
    progress = line_on(err, clock)
    for done in range(10):
        clock.now = done / 10
        progress("marching", done, 10)
        progress.tick()
    assert err.getvalue() == ""


def test_long_work_says_how_far_it_is() -> None:
    err, clock = Watched(), Clock()
    progress = line_on(err, clock)
    clock.now = 2.0
    progress("marching the members", 3, 8)
    progress.tick()
    assert on_screen(err.getvalue()) == f"{'━' * 9}{'─' * 15}  3 of 8  2 s  marching the members"


def test_it_tells_the_time_while_the_work_is_silent() -> None:
    err, clock = Watched(), Clock()
    progress = line_on(err, clock)
    clock.now = 5.0
    progress.tick()
    assert on_screen(err.getvalue()) == f"{'─' * 24}  5 s  getting ready"


def test_a_shorter_line_leaves_nothing_of_the_longer_one() -> None:
    err, clock = Watched(), Clock()
    progress = line_on(err, clock)
    for phrase, at in (("a long phrase about it", 2.0), ("short", 3.0)):
        clock.now = at
        progress(phrase, 1, 2)
        progress.tick()
    assert on_screen(err.getvalue()).endswith("  1 of 2  3 s  short")


def test_it_draws_beside_the_work_and_leaves_nothing_behind(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(module, "PATIENCE_S", 0.02)
    monkeypatch.setattr(module, "REDRAW_S", 0.01)
    err = Watched()
    with ProgressLine(Terminal(out=io.StringIO(), err=err)) as progress:
        progress("marching", 1, 2)
        deadline = time.monotonic() + 10
        while "marching" not in err.getvalue():
            assert time.monotonic() < deadline
            time.sleep(0.01)
    assert on_screen(err.getvalue()) == ""
    assert "\n" not in err.getvalue()
    drawn = err.getvalue()
    time.sleep(0.05)
    assert err.getvalue() == drawn


@pytest.mark.parametrize(("err", "silent"), [(io.StringIO(), False), (Watched(), True)])
def test_it_is_silent_where_nobody_watches_or_wants_it(err: io.StringIO, silent: bool) -> None:
    clock = Clock()
    with line_on(err, clock, silent=silent) as progress:
        clock.now = 5.0
        progress("marching", 1, 2)
        progress.tick()
    assert err.getvalue() == ""


def test_it_bears_counts_that_make_no_sense() -> None:
    err, clock = Watched(), Clock()
    progress = line_on(err, clock)
    clock.now = 2.0
    progress("over", 9, 8)
    progress.tick()
    assert on_screen(err.getvalue()) == f"{'━' * 24}  9 of 8  2 s  over"


def test_it_stays_on_one_line() -> None:
    err, clock = Watched(), Clock()
    progress = line_on(err, clock)
    clock.now = 2.0
    progress("word " * 50 + "\nand another line", 1, 2)
    progress.tick()
    assert len(on_screen(err.getvalue())) <= 79
    assert "\n" not in err.getvalue()
