"""Runs of days and shares of members, and how sure a share is."""

from __future__ import annotations

import math
from collections.abc import Iterator

import numpy as np
import numpy.typing as npt

from backreef.models.mathops import maximum, minimum, sqrt
from backreef.working.members import Seen, share_of
from backreef.working.number import as_number
from backreef.working.record import askable, told_constant
from backreef.working.steps import InItsUnit

BoolArray = npt.NDArray[np.bool_]
IntArray = npt.NDArray[np.int64]
Z_95_TWO_SIDED = 1.959963984540054
MEMBERS_AT_ONCE = 64
"""So many members are looked at together where looking needs arrays of its own, so that these stay small."""


def first_run_end(outside: BoolArray, days: int) -> IntArray:
    """Give, per member, the first day that ends `days` days in a row outside; -1 for none.

    `outside` is (days, members).
    """
    result = np.full(outside.shape[1], -1, dtype=np.int64)
    if not outside.any():
        return result
    number = np.arange(len(outside))[:, None]
    for some in in_turn(outside.shape[1]):
        out = outside[:, some]
        inside_so_far = np.maximum.accumulate(np.where(out, -1, number), axis=0)
        result[some] = first_day(out & (number - inside_so_far >= days))
    return result


def in_turn(members: int) -> Iterator[slice]:
    """Give all members, some at a time."""
    for first in range(0, members, MEMBERS_AT_ONCE):
        yield slice(first, min(first + MEMBERS_AT_ONCE, members))


def first_day(outside: BoolArray) -> IntArray:
    """Give, per member, the first day outside; -1 for none."""
    return np.where(outside.any(axis=0), outside.argmax(axis=0), -1)


def share(hit: BoolArray) -> float:
    """Give the share of members that are hit."""
    return share_of(hit, Seen(symbol="members", what="in which it happens"))


def earliest(days: list[IntArray], members: int) -> IntArray:
    """Give, per member, the earliest of several first days; -1 where all are -1."""
    result = np.full(members, -1, dtype=np.int64)
    for each in days:
        sooner = (each >= 0) & ((result < 0) | (each < result))
        result = np.where(sooner, each, result)
    return result


def day_when_share_passed(first: IntArray, allowed_frac: float) -> int | None:
    """Give the first day by which more than the allowed share of members is hit; None: that never happens."""
    hit = np.sort(first[first >= 0])
    need = hits_allowed(len(first), allowed_frac) + 1
    return int(hit[need - 1]) if len(hit) >= need else None


def hits_allowed(members: int, allowed_frac: float) -> int:
    """Give the most members that may be hit of so many."""
    return math.floor(allowed_frac * members + 1e-9)


def wilson_interval(hits: InItsUnit, members: int) -> tuple[float, float]:
    """Give the 95 % interval of a share (Wilson EB 1927, J Am Stat Assoc 22:209)."""
    if members == 0:
        return 0.0, 1.0
    p = hits / members
    z = told_constant(Z_95_TWO_SIDED, "Z_95_TWO_SIDED", __name__)
    return (
        as_number(maximum(wilson_bound(p, members, -z), 0.0)),
        as_number(minimum(wilson_bound(p, members, z), 1.0)),
    )


@askable
def wilson_bound(share_frac: float, members: int, z: InItsUnit) -> float:
    """An end of the interval of a share that was seen in so many members; `z` says which and how sure. [-]

    Validity
    --------
    Any share, also none and all.

    Source
    ------
    Wilson EB 1927, J Am Stat Assoc 22:209.
    """
    z2 = z**2
    middle = (share_frac + z2 / (2 * members)) / (1 + z2 / members)
    root = sqrt(share_frac * (1 - share_frac) / members + z2 / (4 * members**2))
    return as_number(middle + z / (1 + z2 / members) * root)
