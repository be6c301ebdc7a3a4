"""How far property tests search: the same examples on every run; with `--long` twenty times as many new ones.

A search of `--long` ends after some seconds of processor time of its own. How many examples it tried by then
is told at the end of the run, so that a search which hardly began is not taken for one that found nothing.
"""

from __future__ import annotations

import functools
import time
import unittest
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from math import inf
from typing import Any

import hypothesis
from hypothesis.errors import UnsatisfiedAssumption

IN_THE_SUITE, WITH_LONG = 100, 2000
LONGEST_S = 30.0
"""A search of `--long` ends after so much work, where its test does not say `@pytest.mark.search_s(...)`."""
SLOWEST_RATIO = 4.0
"""However little a busy machine gets done, it ends after so many times as long by the clock."""


class Enough(unittest.SkipTest):
    """The time of a search is over; hypothesis ends a search at once where a test asks to be skipped."""


@dataclass(slots=True)
class Tried:
    """How far a search came."""

    count: int = 0
    took_s: float = 0.0
    cut_short: bool = False

    def words(self) -> str:
        """For the end of a run."""
        ended = ", ended by the clock" if self.cut_short else ""
        return f"{self.count} examples in {self.took_s:.0f} s{ended}"


ended: list[Tried] = []
"""The searches that the test that runs now has made."""


def spent_s() -> Callable[[], float]:
    """A clock that begins now: processor time, or a part of the clock's on a machine with much else to do."""
    worked_s, began_s = time.process_time(), time.monotonic()
    return lambda: max(time.process_time() - worked_s, (time.monotonic() - began_s) / SLOWEST_RATIO)


def tries(count: int, **more: Any) -> hypothesis.settings:
    """So many examples in the suite, and with `--long` as many times more as all other searches."""
    return hypothesis.settings(max_examples=max(1, count * _most() // IN_THE_SUITE), **more)


def _most() -> int:
    profile = hypothesis.settings.default
    return profile.max_examples if profile else IN_THE_SUITE


@contextmanager
def bounded(
    search: Any, longest_s: float | None = None, *, clock: Callable[[], float] | None = None
) -> Iterator[Tried]:
    """While this lasts, a search ends well once its time is over, unless it has found something by then.

    Where no time is said, one of `--long` has that of all others, and one of the suite as long as it takes.
    """
    if longest_s is None:
        longest_s = LONGEST_S if _most() == WITH_LONG else inf
    tried, asked = Tried(), search.hypothesis.inner_test
    taken_s, found = clock or spent_s(), False

    @functools.wraps(asked)
    def counted(*given: Any, **named: Any) -> None:
        nonlocal found
        if taken_s() >= longest_s and not found:
            tried.cut_short = True
            raise Enough("its time is over")
        tried.count += 1
        try:
            asked(*given, **named)
        except UnsatisfiedAssumption:
            raise
        except Exception:
            found = True
            raise

    search.hypothesis.inner_test = counted
    try:
        yield tried
    except Enough:
        pass
    finally:
        search.hypothesis.inner_test = asked
        tried.took_s = taken_s()
        ended.append(tried)
