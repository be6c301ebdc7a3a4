"""Who does independent pieces of work: the cores of this machine here, other machines elsewhere.

Everything that can be cut into pieces is handed to one of these: blocks of members, trials of remedies, whole
tanks. A compiled march lets go of Python's lock, so threads use all cores without copying anything.
"""

from __future__ import annotations

import os
from collections import deque
from collections.abc import Callable, Generator, Iterable, Iterator
from concurrent.futures import ThreadPoolExecutor
from typing import Protocol, TypeVar

Item = TypeVar("Item")
Result = TypeVar("Result")
Done_co = TypeVar("Done_co", covariant=True)
AHEAD = 4
"""Pieces handed out ahead for each worker, so that none waits."""


class Workers(Protocol):
    """Whoever does pieces of work that know nothing of each other."""

    def each(self, work: Callable[[Item], Result], items: Iterable[Item]) -> Iterator[Result]:
        """The results in the order of the items, each as soon as it and those before it are done."""
        ...


class Cores:
    """The cores of this machine, one piece each, and some pieces to spare where no count is given.

    With one to spare the last pieces end nearly together, and a core has work while a thread waits for
    Python's lock.
    """

    def __init__(self, count: int | None = None, *, spare: int = 0) -> None:
        self.count = count or (os.cpu_count() or 1) + spare

    def each(self, work: Callable[[Item], Result], items: Iterable[Item]) -> Generator[Result, None, None]:
        """The results in the order of the items, each as soon as it and those before it are done.

        Once it is closed, what is not yet begun is left undone.
        """
        pool = ThreadPoolExecutor(self.count)
        try:
            yield from in_order(lambda item: pool.submit(work, item), items, ahead=AHEAD * self.count)
        finally:
            pool.shutdown(wait=True, cancel_futures=True)


class Piece(Protocol[Done_co]):
    """Work that was handed out."""

    def result(self) -> Done_co:
        """What came of it, once it is done."""
        ...


def in_order(
    hand_out: Callable[[Item], Piece[Result]], items: Iterable[Item], *, ahead: int
) -> Iterator[Result]:
    """Hand out items as results are taken, so many ahead, and give the results in the order of the items.

    However many items there are, only those are held that were handed out and not yet taken.
    """
    waiting: deque[Piece[Result]] = deque()
    for item in items:
        waiting.append(hand_out(item))
        if len(waiting) >= ahead:
            yield waiting.popleft().result()
    while waiting:
        yield waiting.popleft().result()
