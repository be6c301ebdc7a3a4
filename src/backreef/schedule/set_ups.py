"""The least set-up minutes that meet all windows of a group: exact, since windows are stretches of days.

A set-up on a day serves the chores whose window holds that day and whose own set-up is no longer. Some best
choice has its set-ups on last days of windows: one that stands elsewhere can wait until the first of its
chores' windows ends. What is still open is known from the last set-up of each length, so that states repeat.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass

_NEVER = -1


@dataclass(frozen=True, slots=True, kw_only=True)
class Wish:
    """A chore that wants a set-up in a window, the first and the last day included."""

    first: int
    last: int
    setup_minutes: float


@dataclass(frozen=True, slots=True, kw_only=True)
class SetUp:
    """One set-up, as long as the longest that it serves wants it."""

    day: int
    minutes: float


@dataclass(frozen=True, slots=True, kw_only=True)
class _Way:
    """A way to have served all wishes that end before its last set-up."""

    minutes: float
    number: int
    last: SetUp | None
    before: _Way | None

    def then(self, day: int, minutes: float) -> _Way:
        """The way with one set-up more."""
        more = SetUp(day=day, minutes=minutes)
        return _Way(minutes=self.minutes + minutes, number=self.number + 1, last=more, before=self)

    def beats(self, other: _Way | None) -> bool:
        """Whether it takes fewer minutes or, of as many, fewer set-ups."""
        return other is None or (self.minutes, self.number) < (other.minutes, other.number)

    def set_ups(self) -> tuple[SetUp, ...]:
        """All of them, the first first."""
        found: list[SetUp] = []
        way: _Way | None = self
        while way is not None and way.last is not None:
            found.append(way.last)
            way = way.before
        return tuple(reversed(found))


def least_set_ups(wishes: Sequence[Wish]) -> tuple[SetUp, ...]:
    """The set-ups of the least minutes in all, and of as many minutes the fewest, in order of days.

    A wish is served by the first of them in its window that is long enough.
    """
    lengths = sorted({wish.setup_minutes for wish in wishes})
    ends = sorted({wish.last for wish in wishes})
    start = (_NEVER,) * len(lengths)
    ways: dict[int, dict[tuple[int, ...], _Way]] = defaultdict(dict)
    ways[_NEVER][start] = _Way(minutes=0.0, number=0, last=None, before=None)
    best: _Way | None = None
    for today in (_NEVER, *ends):
        for done, way in ways.pop(today, {}).items():
            latest = dict(zip(lengths, done, strict=True))
            still = [wish for wish in wishes if latest[wish.setup_minutes] < wish.first]
            if not still and way.beats(best):
                best = way
            soonest = min((wish.last for wish in still), default=_NEVER)
            for day in (end for end in reversed(ends) if today < end <= soonest):
                for minutes in sorted({wish.setup_minutes for wish in still if wish.first <= day}):
                    after = _after(done, lengths, day, minutes)
                    longer = way.then(day, minutes)
                    if longer.beats(ways[day].get(after)):
                        ways[day][after] = longer
    return () if best is None else best.set_ups()


def _after(done: Sequence[int], lengths: Sequence[float], day: int, minutes: float) -> tuple[int, ...]:
    """Last day of a set-up of each length or longer."""
    return tuple(day if length <= minutes else old for length, old in zip(lengths, done, strict=True))


def served_by(wish: Wish, set_ups: Sequence[SetUp]) -> SetUp:
    """The first set-up in the window of a wish that is long enough for it."""
    return next(
        each for each in set_ups if wish.first <= each.day <= wish.last and each.minutes >= wish.setup_minutes
    )
