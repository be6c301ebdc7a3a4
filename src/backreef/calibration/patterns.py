"""Causes as patterns over all readings at once: looked for one by one, where each alone shows too little.

A cause from a day on adds to every reading what runs with it and without it differ by, and the runs differ
among themselves in that. How much likelier it makes what came is asked of each pattern, and the best is held
against what the best is in tanks like this one in which nothing happens.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
import numpy.typing as npt

from backreef.calibration.alarms import (
    DRIFT,
    STEP,
    UNIT,
    Change,
    Field,
    Signature,
    added_by,
    apart_of,
    likeness,
)
from backreef.calibration.tables import Cause, number, slips_of
from backreef.simulation.tables import InItsUnit

Array = npt.NDArray[np.float64]
MOST_LIKE = 40
"""So many members, those most like the tank, say what luck gives; numerical."""
READ_ANEW = 8


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Pattern:
    """What a cause from a day on adds to the readings."""

    cause: Cause
    since_day: int
    added: Array
    """(readings,)"""
    apart: Array
    """How the runs differ in that, over the root of their number, (readings, runs); none: it is known."""


def days_to_try(last_day: int) -> list[int]:
    """Days from which causes are tried: every so many, within reach of the last reading."""
    step, reach = int(number("pattern_every_d")), int(number("pattern_reach_d"))
    return [day for day in range(step, last_day - step // 2 + 1, step) if day > last_day - reach]


def patterns_of(field: Field, causes: Sequence[Cause], signature: Signature) -> tuple[Pattern, ...]:
    """The patterns of all causes that happen to the tank and not to its kits."""
    days = days_to_try(int(field.taken[-1].at_d))
    return tuple(
        Pattern(cause=cause, since_day=day, added=shape.mean(axis=1), apart=apart_of(shape))
        for (cause, day), shape in added_by(causes, days, signature)
    )


def patterns_of_units(field: Field, causes: Sequence[Cause]) -> tuple[Pattern, ...]:
    """The patterns of units that were mistaken from a day on."""
    days = days_to_try(int(field.taken[-1].at_d))
    return tuple(one for cause in causes if cause.does == UNIT for one in _units_mistaken(field, cause, days))


def _units_mistaken(field: Field, cause: Cause, days: Sequence[int]) -> Iterator[Pattern]:
    """Readings of a series that are of another unit from a day on: each as much off as its own value says."""
    when = np.array([one.at_d for one in field.taken])
    known = np.zeros((len(field.taken), 0))
    for one in {one.series.series: one for one in field.taken}.values():
        for slip in slips_of(one.series.word):
            if slip.series == "any":
                continue
            shifts = field.shift(one, slip.factor)
            for day in days:
                added = np.where(when >= day, shifts, 0.0)
                if np.any(added != 0.0):
                    yield Pattern(cause=cause, since_day=day, added=added, apart=known)


def ratios(covariance: Array, missed: Array, patterns: Sequence[Pattern]) -> Array:
    """Twice the logarithm of how much likelier each pattern makes each draw, (patterns, draws).

    All is put into units in which the covariance is even, at once; what a pattern's runs add to that is of no
    more directions than there are runs.
    """
    root, draws = np.linalg.cholesky(covariance), missed.shape[1]
    parts = [missed, *(one.added[:, None] for one in patterns), *(one.apart for one in patterns)]
    even = np.linalg.solve(root, np.concatenate(parts, axis=1))
    edges = np.cumsum([draws + len(patterns), *(one.apart.shape[1] for one in patterns)])
    plain = (even[:, :draws] ** 2).sum(axis=0)
    return np.array(
        [
            plain - _misfit(even[:, :draws] - even[:, draws + place, None], even[:, first:until])
            for place, (first, until) in enumerate(pairwise(edges.tolist()))
        ]
    )


def _misfit(left: Array, apart: Array) -> Array:
    """Minus twice the logarithm of the likelihood of draws in even units, but for a constant, (draws,).

    Their covariance is even but for directions in which there is more; the inverse of such a sum is known
    (Woodbury 1950), and so is its determinant.
    """
    root = np.linalg.cholesky(np.eye(apart.shape[1]) + apart.T @ apart)
    taken = np.linalg.solve(root, apart.T @ left)
    return np.asarray((left**2).sum(axis=0) - (taken**2).sum(axis=0) + 2.0 * np.log(np.diag(root)).sum())


def by_luck(field: Field, patterns: Sequence[Pattern], *, seed: int) -> InItsUnit:
    """The ratio that the best pattern seldom passes in tanks like this one in which nothing happens."""
    rng = np.random.default_rng(np.random.Philox(key=seed))
    root = np.linalg.cholesky(field.errors)
    count = field.apart.shape[1]
    likes = likeness(np.linalg.solve(root, field.missed[:, None] - field.apart * np.sqrt(count - 1)))
    tops: list[float] = []
    shares: list[float] = []
    for member in np.argsort(-likes)[:MOST_LIKE].tolist():
        own = field.apart[:, member]
        noise = root @ rng.standard_normal((len(own), READ_ANEW))
        missed = own[:, None] * count / np.sqrt(count - 1) + noise
        tops += ratios(field.covariance - np.outer(own, own), missed, patterns).max(axis=0).tolist()
        shares += [float(likes[member])] * READ_ANEW
    order = np.argsort(tops)
    passed = np.cumsum(np.array(shares)[order])
    place = int(np.searchsorted(passed, (1.0 - number("alarm_luck_frac")) * passed[-1]))
    return float(np.array(tops)[order][min(place, len(tops) - 1)])


def best_pattern(field: Field, patterns: Sequence[Pattern], *, seed: int) -> Change | None:
    """The change that the best pattern means, if it is more than kits and luck give."""
    if not patterns:
        return None
    found = ratios(field.covariance, field.missed[:, None], patterns)[:, 0]
    best = int(found.argmax())
    if found[best] < number("pattern_ratio") or found[best] < by_luck(field, patterns, seed=seed):
        return None
    pattern = patterns[best]
    shown = pattern.added / np.sqrt(np.diag(field.errors))
    names = [one.series.series for one in field.taken]
    weight = {name: sum(v for v, n in zip(shown.tolist(), names, strict=True) if n == name) for name in names}
    series = max(weight, key=lambda name: abs(weight[name]))
    return Change(
        series=series,
        since_d=float(pattern.since_day),
        kind=DRIFT if pattern.cause.drift else STEP,
        ratio=float(found[best]),
        amplitude=weight[series],
    )
