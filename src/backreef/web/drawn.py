"""Pieces of pages, drawn once for each content: by the worker that found an answer, or when first asked.

A piece is named after the job that found its answer, what else it shows, and the code that draws it; so no
piece ever has to go because it is stale, only because nobody looks at it any more.
"""

from __future__ import annotations

import contextlib
import hashlib
import os
from collections import OrderedDict
from collections.abc import Callable, Iterable
from functools import cache
from importlib import resources
from threading import Lock
from typing import TYPE_CHECKING

from backreef.plots.markup import Safe
from backreef.tongue.door import language
from backreef.web import bootstrap

if TYPE_CHECKING:
    from collections.abc import Sequence
    from importlib.resources.abc import Traversable
    from pathlib import Path

    from backreef.plots.figure import Reading
    from backreef.web.models import Job

_DRAWING = ("backreef.plots", "backreef.reports", "backreef.tongue", "backreef.web")
_LETTERS = 20
_MOST_IN_HAND_BYTES = 24_000_000
_LOCK = Lock()
_IN_HAND: OrderedDict[str, str] = OrderedDict()


def drawn(job: Job, part: str, shows: Iterable[str], draw: Callable[[], str]) -> Safe:
    """A piece of a page about what a job has found; `shows` is all else that it depends on."""
    path = _place(job, part, shows)
    text = _kept(path)
    if text is None:
        text = draw()
        _keep(path, text)
    return Safe(text)


def shown_readings(readings: Sequence[Reading]) -> str:
    """A word for readings that a piece shows."""
    return "|".join(f"{one.series}:{one.on.isoformat()}:{one.value!r}" for one in readings)


def let_go() -> None:
    """Keep nothing in hand; what was drawn stands in files."""
    with _LOCK:
        _IN_HAND.clear()


def forget(job_pk: int, folder: Path) -> None:
    """Throw away what was drawn of an answer."""
    for path in folder.glob(f"{job_pk}-*.html"):
        path.unlink(missing_ok=True)


def _place(job: Job, part: str, shows: Iterable[str]) -> Path:
    words = "\n".join((_code(), language(), str(job.ended_at), part, *shows))
    told = hashlib.sha256(words.encode("utf-8")).hexdigest()
    return bootstrap.served().drawn / f"{job.pk}-{part}-{told[:_LETTERS]}.html"


def _kept(path: Path) -> str | None:
    key = str(path)
    with _LOCK:
        if key in _IN_HAND:
            _IN_HAND.move_to_end(key)
            return _IN_HAND[key]
    try:
        text = path.read_text(encoding="utf-8")
    except (OSError, UnicodeDecodeError):
        return None
    _take_in_hand(key, text)
    return text


def _keep(path: Path, text: str) -> None:
    """Write a piece whole or not at all; where it cannot be written, it is drawn again next time."""
    _take_in_hand(str(path), text)
    unfinished = path.with_suffix(f".{os.getpid()}.part")
    with contextlib.suppress(OSError):
        unfinished.write_text(text, encoding="utf-8")
        unfinished.replace(path)


def _take_in_hand(key: str, text: str) -> None:
    with _LOCK:
        _IN_HAND[key] = text
        _IN_HAND.move_to_end(key)
        held_bytes = sum(map(len, _IN_HAND.values()))
        while held_bytes > _MOST_IN_HAND_BYTES and len(_IN_HAND) > 1:
            _, oldest = _IN_HAND.popitem(last=False)
            held_bytes -= len(oldest)


@cache
def _code() -> str:
    """A word for the code that draws."""
    digest = hashlib.sha256()
    for room in _DRAWING:
        for file in sorted(_files(resources.files(room)), key=lambda one: one.name):
            digest.update(file.name.encode("utf-8") + b"\0" + file.read_bytes())
    return digest.hexdigest()[:_LETTERS]


def _files(folder: Traversable) -> Iterable[Traversable]:
    for one in folder.iterdir():
        if one.is_dir() and one.name != "__pycache__":
            yield from _files(one)
        elif one.name.endswith((".py", ".html", ".mo")):
            yield one
