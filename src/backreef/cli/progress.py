"""One line that says how far long work is, for whoever waits at a terminal."""

from __future__ import annotations

import threading
import time
from collections.abc import Callable

from backreef.cli.terminal import Terminal
from backreef.reports.text_layout import padded, seen_width

PATIENCE_S = 1.0
"""Shorter work says nothing."""
REDRAW_S = 0.25
_BAR_WIDTH = 24
_WHOLE_LINE = 79
_FIRST_PHRASE = "getting ready"


class ProgressLine:
    """Shows how far it is and how long it took on standard error, once the work has lasted a moment.

    The line is drawn beside the work, so that it lives while the work is silent, and is gone when it ends.
    """

    def __init__(
        self, terminal: Terminal, *, silent: bool = False, clock: Callable[[], float] = time.monotonic
    ) -> None:
        self._terminal = terminal
        self._silent = silent or not terminal.shows_progress
        self._clock = clock
        self._started = clock()
        self._state = (_FIRST_PHRASE, 0, 0)
        self._drawn_width = 0
        self._done = threading.Event()
        self._drawer = threading.Thread(target=self._keep_drawing, daemon=True)

    def __enter__(self) -> ProgressLine:
        if not self._silent:
            self._drawer.start()
        return self

    def __exit__(self, *_: object) -> None:
        self._done.set()
        if self._drawer.is_alive():
            self._drawer.join()
        if self._drawn_width:
            self._draw("")
            self._terminal.tell("\r")
            self._drawn_width = 0

    def __call__(self, phrase: str, done: int, total: int) -> None:
        """Take note of how far it is."""
        self._state = (phrase, done, total)

    def tick(self) -> None:
        """Draw the line as things stand, if it is time for that."""
        lasted_s = self._clock() - self._started
        if not self._silent and lasted_s >= PATIENCE_S:
            self._draw(self._line(*self._state, lasted_s))

    def _keep_drawing(self) -> None:
        while not self._done.wait(REDRAW_S):
            self.tick()

    def _line(self, phrase: str, done: int, total: int, lasted_s: float) -> str:
        style = self._terminal.err_style()
        share = min(max(done / total, 0.0), 1.0) if total > 0 else 0.0
        full, empty = ("#", ".") if style.ascii_only else ("━", "─")
        filled = round(share * _BAR_WIDTH)
        bar = style.paint(full * filled, "sea") + empty * (_BAR_WIDTH - filled)
        counts = f"{f'{done} of {total}  ' if total > 0 else ''}{lasted_s:.0f} s"
        return f"{bar}  {counts}  {style.plain(phrase)[: _WHOLE_LINE - _BAR_WIDTH - len(counts) - 4]}"

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
