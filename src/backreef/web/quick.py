"""Short work in a process of its own that stays warm: looks at a change, and workings that need no ensemble.

A page asks for it in a fragment of its own and never waits for it before it shows itself. One piece of work
is done at a time; a process that does not answer in time is ended, and a new one is started for the next.
"""

from __future__ import annotations

import atexit
import json
import subprocess
import sys
import threading
from collections import OrderedDict
from collections.abc import Callable
from queue import Empty, Queue
from typing import IO, Any

from backreef.errors import BackreefError
from backreef.web import quick_work

_PATIENCE_S = 60.0
_KEPT = 60


class TooSlow(BackreefError):
    """The work took too long, or its process ended."""

    def __init__(self) -> None:
        super().__init__(
            "this took too long just now, perhaps because a forecast is being made; try it again"
        )


class _Quick:
    """The process and the answers it gave."""

    def __init__(self) -> None:
        self.serves = False
        self._lock = threading.Lock()
        self._process: subprocess.Popen[str] | None = None
        self._lines: Queue[str] = Queue()
        self._known: OrderedDict[str, dict[str, Any]] = OrderedDict()

    def ask(self, asked: dict[str, Any]) -> dict[str, Any]:
        """What the work found; at once where the very same was asked before."""
        key = json.dumps(asked, sort_keys=True)
        with self._lock:
            if key in self._known:
                self._known.move_to_end(key)
                return self._known[key]
            found = self._answer(key)
            self._known[key] = found
            while len(self._known) > _KEPT:
                self._known.popitem(last=False)
            return found

    def leave(self) -> None:
        """End the process."""
        process, self._process = self._process, None
        if process is not None:
            process.kill()
            process.wait()
            for stream in (process.stdin, process.stdout):
                if stream is not None:
                    stream.close()

    def _answer(self, line: str) -> dict[str, Any]:
        process = self._running()
        assert process.stdin is not None  # noqa: S101  asked for
        try:
            process.stdin.write(f"{line}\n")
            process.stdin.flush()
            found: dict[str, Any] = json.loads(self._lines.get(timeout=_PATIENCE_S))
        except (Empty, OSError, ValueError):
            self.leave()
            raise TooSlow from None
        return found

    def _running(self) -> subprocess.Popen[str]:
        if self._process is None or self._process.poll() is not None:
            self.leave()
            self._lines = Queue()
            self._process = subprocess.Popen(
                [sys.executable, "-P", "-m", "backreef.web.quick_work"],
                stdin=subprocess.PIPE,
                stdout=subprocess.PIPE,
                text=True,
                encoding="utf-8",
            )
            threading.Thread(
                target=_read, args=(self._process.stdout, self._lines), daemon=True, name="quick"
            ).start()
        return self._process


def _read(out: IO[str], lines: Queue[str]) -> None:
    with_end = False
    while not with_end:
        line = out.readline()
        with_end = not line
        lines.put(line)


_QUICK = _Quick()
atexit.register(_QUICK.leave)


def ask(asked: dict[str, Any]) -> dict[str, Any]:
    """What a piece of short work found: `html`, or `faults` in words.

    Raises
    ------
    TooSlow
        If it took too long.
    """
    return _QUICK.ask(asked)


def leave() -> None:
    """End the process, if there is one."""
    _QUICK.leave()


def serve() -> None:
    """Let pages get the process ready beforehand; only a server that goes on is worth it."""
    _QUICK.serves = True


def wake(ready: Callable[[], dict[str, Any] | None] = dict) -> None:
    """Get the process ready, so that the first look does not wait for it; `ready` says for which plan.

    It is asked beside the page, which does not wait for it either; None: for no plan after all.
    """
    if _QUICK.serves:
        threading.Thread(target=_wake, args=(ready,), daemon=True, name="wake").start()


def _wake(ready: Callable[[], dict[str, Any] | None]) -> None:
    try:
        more = ready()
        if more is not None:
            _QUICK.ask({"do": quick_work.WAKE, **more})
    except (BackreefError, OSError):
        return
