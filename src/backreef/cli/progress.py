"""One line that says how far long work is, for whoever waits at a terminal."""

from __future__ import annotations

import time
from collections.abc import Callable

from backreef.cli.terminal import Terminal
from backreef.reports.text_layout import padded, seen_width

PATIENCE_S = 1.0
"""Shorter work says nothing."""
REDRAW_S = 0.1
_BAR_WIDTH = 24
_WHOLE_LINE = 79


class ProgressLine:
    """Shows phrase, bar and count on standard error once the work has lasted a moment; gone when it ends."""

    def __init__(
        self, terminal: Terminal, *, silent: bool = False, clock: Callable[[], float] = time.monotonic
    ) -> None:
        self._terminal = terminal
        self._silent = silent or not terminal.shows_progress
        self._clock = clock
        self._started = clock()
        self._drawn_at = float("-inf")
        self._drawn_width = 0
        self._phrase = ""

    def __enter__(self) -> ProgressLine:
        return self

    def __exit__(self, *_: object) -> None:
        self.clear()

    def __call__(self, phrase: str, done: int, total: int) -> None:
        """Take note of how far it is."""
        now = self._clock()
        if self._silent or now - self._started < PATIENCE_S:
            return
        if phrase == self._phrase and done < total and now - self._drawn_at < REDRAW_S:
            return
        self._phrase, self._drawn_at = phrase, now
        self._draw(self._line(phrase, done, total))

    def clear(self) -> None:
        """Take the line away again."""
        if self._drawn_width:
            self._draw("")
            self._terminal.tell("\r")
            self._drawn_width = 0

    def _line(self, phrase: str, done: int, total: int) -> str:
        style = self._terminal.err_style()
        text = style.plain(phrase)
        if total <= 0:
            return text[:_WHOLE_LINE]
        share = min(max(done / total, 0.0), 1.0)
        full, empty = ("#", ".") if style.ascii_only else ("━", "─")
        filled = round(share * _BAR_WIDTH)
        bar = style.paint(full * filled, "sea") + empty * (_BAR_WIDTH - filled)
        count = f"{done} of {total}"
        return f"{bar}  {count}  {text[: _WHOLE_LINE - _BAR_WIDTH - len(count) - 4]}"

    def _draw(self, line: str) -> None:
        width = seen_width(_without_colour(line))
        self._terminal.tell("\r" + padded(line, len(line) + max(0, self._drawn_width - width)))
        self._drawn_width = width


def _without_colour(line: str) -> str:
    """The line without the codes that colour it."""
    plain, _, rest = line.partition("\x1b[")
    while rest:
        _, _, rest = rest.partition("m")
        more, _, rest = rest.partition("\x1b[")
        plain += more
    return plain
