"""Ctrl-C while machine code computes: it ends the program at once, not when the code next looks up."""

from __future__ import annotations

import os
import signal
import threading
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from types import FrameType

INTERRUPTED = 130
_WORDS = b"\nStopped.\n"
_STANDARD_ERROR = 2


@contextmanager
def leaving_at_once() -> Iterator[None]:
    """While this lasts nothing is written that could be left half done, so an interrupt may end the process.

    Where somebody else listens for interrupts, or this is not the main thread, nothing changes.
    """
    ours = threading.current_thread() is threading.main_thread()
    if not ours or signal.getsignal(signal.SIGINT) is not signal.default_int_handler:
        yield
        return
    signal.signal(signal.SIGINT, _leave)
    try:
        yield
    finally:
        signal.signal(signal.SIGINT, signal.default_int_handler)


def _leave(_: int, __: FrameType | None) -> None:
    with suppress(OSError):
        os.write(_STANDARD_ERROR, _WORDS)
    os._exit(INTERRUPTED)
