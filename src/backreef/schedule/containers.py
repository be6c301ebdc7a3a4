"""A container that is drawn from and refilled by hand: a hopper, a box of top-off water, a dosing bottle.

All amounts are shares of a full container. It is full on the first day.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import NamedTuple

_ENOUGH = 1e-9
"""Shares smaller than this are rounding, not food."""


class Draw(NamedTuple):
    """Something is taken from the container; a tuple, because there are thousands."""

    day: int
    hour: float
    share_frac: float


@dataclass(frozen=True, slots=True, kw_only=True)
class DrySpell:
    """The container was empty when something was wanted, until it was refilled."""

    from_day: int
    refilled_day: int | None
    """None: not within the horizon."""


@dataclass(frozen=True, slots=True, kw_only=True)
class ContainerRun:
    """What became of every draw, and when the container was refilled."""

    before_frac: tuple[float, ...]
    """For each draw how full the container was."""
    came_frac: tuple[float, ...]
    """For each draw the share of it that came; where the content did not suffice, what was left."""
    refill_days: tuple[int, ...]
    refill_share_frac: tuple[float, ...]
    """How much of a full container went in on each of them."""
    dry_spells: tuple[DrySpell, ...]


def run_container(
    draws: Sequence[Draw],
    *,
    visit_hours: Sequence[float | None],
    longest_days: float,
    refill_on: frozenset[int] | None = None,
) -> ContainerRun:
    """Draw from the container through the horizon and refill it on visits.

    Parameters
    ----------
    draws : sequence of Draw
        In order of day and hour.
    visit_hours : (days,) sequence
        Hour at which somebody who can refill it is there; None for nobody.
    longest_days : float
        The content is renewed after this many days at the latest. [d]
    refill_on : frozenset of int, optional
        Refill on these days only. Without them it is refilled on the last visit from which the content would
        not last, or not stay fresh, until the next one.
    """
    needs = _needs_until_next_visit(draws, visit_hours)
    next_visit = _next_visits(visit_hours)
    state = _State()
    at = 0
    for day, hour in enumerate(visit_hours):
        while at < len(draws) and draws[at].day == day and (hour is None or draws[at].hour < hour):
            state.draw(draws[at])
            at += 1
        if hour is not None:
            need = needs[day]
            stale = next_visit[day] - state.filled_day > longest_days
            due = state.level + _ENOUGH < need or (need > 0 and stale)
            if day in refill_on if refill_on is not None else due:
                state.refill(day)
        while at < len(draws) and draws[at].day == day:
            state.draw(draws[at])
            at += 1
    return state.result()


def _needs_until_next_visit(draws: Sequence[Draw], visit_hours: Sequence[float | None]) -> list[float]:
    """For each day what is drawn from its visit to the next one, or to the end; 0 without a visit."""
    needs = [0.0] * len(visit_hours)
    total = 0.0
    at = len(draws) - 1
    for day in range(len(visit_hours) - 1, -1, -1):
        hour = visit_hours[day]
        while at >= 0 and draws[at].day == day and (hour is None or draws[at].hour >= hour):
            total += draws[at].share_frac
            at -= 1
        if hour is not None:
            needs[day], total = total, 0.0
        while at >= 0 and draws[at].day == day:
            total += draws[at].share_frac
            at -= 1
    return needs


def _next_visits(visit_hours: Sequence[float | None]) -> list[int]:
    """For each day the next later day with a visit; the number of days for none."""
    result = [0] * len(visit_hours)
    following = len(visit_hours)
    for day in range(len(visit_hours) - 1, -1, -1):
        result[day] = following
        if visit_hours[day] is not None:
            following = day
    return result


class _State:
    """The container while it is drawn from."""

    __slots__ = (
        "_before",
        "_came_frac",
        "_dry_from",
        "_refills",
        "_shares",
        "_spells",
        "filled_day",
        "level",
    )

    def __init__(self) -> None:
        self.level = 1.0
        self.filled_day = 0
        self._before: list[float] = []
        self._came_frac: list[float] = []
        self._refills: list[int] = []
        self._shares: list[float] = []
        self._spells: list[DrySpell] = []
        self._dry_from: int | None = None

    def draw(self, draw: Draw) -> None:
        enough = self.level + _ENOUGH >= draw.share_frac
        self._before.append(self.level)
        short = not enough and self.level > _ENOUGH
        self._came_frac.append(1.0 if enough else self.level / draw.share_frac if short else 0.0)
        self.level = max(0.0, self.level - draw.share_frac)
        if not enough and self._dry_from is None:
            self._dry_from = draw.day

    def refill(self, day: int) -> None:
        if self.level >= 1.0:
            return
        self._refills.append(day)
        self._shares.append(1.0 - self.level)
        self._close(day)
        self.level, self.filled_day = 1.0, day

    def _close(self, day: int | None) -> None:
        if self._dry_from is not None:
            self._spells.append(DrySpell(from_day=self._dry_from, refilled_day=day))
            self._dry_from = None

    def result(self) -> ContainerRun:
        self._close(None)
        return ContainerRun(
            before_frac=tuple(self._before),
            came_frac=tuple(self._came_frac),
            refill_days=tuple(self._refills),
            refill_share_frac=tuple(self._shares),
            dry_spells=tuple(self._spells),
        )
