"""Stretches with nobody there: those that come round with the weeks, and those that are longer."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from datetime import date
from typing import Protocol, TypeVar

from backreef.units import DAYS_PER_YEAR

_FEW_PER_YEAR = 12


class Stretch(Protocol):
    """Days in a row on which nobody is there."""

    @property
    def first_on(self) -> date:
        """The first of them."""

    @property
    def last_on(self) -> date:
        """The last of them."""


S = TypeVar("S", bound=Stretch)


def length_days(away: Stretch) -> int:
    """Give the days of a stretch, the first and the last included."""
    return (away.last_on - away.first_on).days + 1


def usual_days(away: Sequence[Stretch], days: int) -> int:
    """Give the length of the stretch that comes round all the time; 0 where stretches are few."""
    if len(away) <= _FEW_PER_YEAR * max(1.0, days / DAYS_PER_YEAR):
        return 0
    counts = Counter(length_days(one) for one in away)
    return max(counts, key=lambda length: (counts[length], length))


def longer_than_usual(away: Sequence[S], days: int) -> tuple[S, ...]:
    """Give the stretches that are longer than the usual one."""
    usual = usual_days(away, days)
    return tuple(one for one in away if length_days(one) > usual)
