"""A march of members that goes on from a morning on which their states were kept.

What is kept of a morning is the state behind all that midnight brought. The days before it need not be
marched again where they would be the same: `days_before` says by a check sum what was marched.
"""

from __future__ import annotations

import hashlib
from collections.abc import Sequence
from dataclasses import replace

import numpy as np
import numpy.typing as npt

from backreef.simulation.block import BlockResult, Schedule
from backreef.simulation.days_kept import DaysKept, Single
from backreef.simulation.ensemble import Members
from backreef.simulation.events import BY_LUCK, OPERATIONS
from backreef.simulation.lived import Lived
from backreef.simulation.setting import Setting
from backreef.simulation.signature import EXTREMES

Array = npt.NDArray[np.float64]
WRITE, MIDNIGHT = OPERATIONS.index("write_day"), OPERATIONS.index("midnight")


class Morning:
    """Keeps the states of a block on the morning of a day of its march, as its days come."""

    def __init__(self, day: int, parameters: Array) -> None:
        self._at, self._seen = day - 1, 0
        self._state = np.zeros((0, parameters.shape[-1]))

    def look(self, days: Array) -> None:
        """Keep the state if its day is among these."""
        place = self._at - self._seen
        if 0 <= place < len(days):
            self._state = days[place].copy()
        self._seen += len(days)

    @property
    def found(self) -> Array:
        """The state, (rows, lanes); no rows if the march ended before."""
        return self._state

    @property
    def daily(self) -> Single:
        """Nothing is to be known of each day."""
        return np.zeros((0, self._seen, self._state.shape[1]), dtype=np.float32)


def mornings_of(members: Members) -> Array:
    """The states that `Morning` kept of members, (rows, members).

    Raises
    ------
    ValueError
        If these members were marched without it.
    """
    if members.audits is None:
        raise ValueError("these members were marched without keeping a morning")
    return members.audits


def days_before(lived: Lived, day: int) -> str:
    """A check sum of all that is done to the tank from the first day up to the morning of another.

    The days before the first are no part of it: they are the plan's, and repeat its first days as often as
    there is room.
    """
    timeline = lived.prepared.timeline
    schedule, first, segment = timeline.schedule, lived.day_starts[0], lived.day_starts[day]
    events = slice(schedule.event_from[first], _opened(schedule, segment))
    digest = hashlib.sha256(schedule.segments[first:segment].tobytes())
    for column in ("operations", "targets", "sources", "factors"):
        digest.update(getattr(schedule, column)[events].tobytes())
    extras = schedule.extras[events]
    by_luck = np.isin(schedule.operations[events], BY_LUCK)
    digest.update(repr([timeline.drawn[row] for row in extras[by_luck].tolist()]).encode())
    digest.update(extras[~by_luck].tobytes())
    return digest.hexdigest()


def _opened(schedule: Schedule, segment: int) -> int:
    """The first event of the segment with which a day begins that comes after midnight's."""
    first, until = schedule.event_from[segment], schedule.event_from[segment + 1]
    return int(first + np.flatnonzero(schedule.operations[first:until] == WRITE)[0] + 1)


def rest_of(lived: Lived, day: int) -> Lived:
    """The same life from the morning of a day on; of that midnight only the bodies take their size again."""
    timeline = lived.prepared.timeline
    old, segment = timeline.schedule, lived.day_starts[day]
    opened = _opened(old, segment)
    starts = old.event_from[segment:] - opened + 1
    starts[0] = 0

    def rest(column: npt.NDArray[np.int32], first: int) -> npt.NDArray[np.int32]:
        return np.concatenate([np.array([first], dtype=column.dtype), column[opened:]])

    schedule = replace(
        old,
        segments=np.ascontiguousarray(old.segments[segment:]),
        event_from=starts,
        operations=rest(old.operations, MIDNIGHT),
        targets=rest(old.targets, 0),
        sources=rest(old.sources, 0),
        extras=rest(old.extras, 0),
        factors=np.concatenate([[1.0], old.factors[opened:]]),
        days=old.days - day,
    )
    day_starts = tuple(start - segment for start in lived.day_starts[day:])
    prepared = replace(lived.prepared, timeline=replace(timeline, schedule=schedule))
    return replace(lived, prepared=prepared, day_starts=day_starts)


def begin_with(setting: Setting, morning: Array) -> None:
    """Let members begin with the states of a morning, (rows, members), and not with a first day."""
    setting.state = morning.copy()
    for name, (_, start) in EXTREMES.items():
        setting.state[setting.layout.address(name)] = start


def days_of(members: Members, rows: Sequence[int], until_day: int) -> Single:
    """Some rows of the first days of members, (rows, days, members)."""
    return np.stack([members.row(row)[:until_day].astype(np.float32) for row in rows])


def joined(before: Single, later: Members, rows: Sequence[int]) -> Members:
    """Days kept of members with those that followed.

    What the rows that were not kept were on the first day is unknown.
    """
    after = np.stack([later.row(row).astype(np.float32) for row in rows])
    days = np.ascontiguousarray(np.concatenate([before, after], axis=1))
    ends = np.concatenate([block.ends for block in later.blocks if block.ends is not None], axis=2)
    ends[0] = np.nan
    block = BlockResult(
        days=np.zeros((0, 0, later.count)),
        noted=later.noted,
        report={},
        rows={row: place for place, row in enumerate(rows)},
        laid=DaysKept(days.nbytes).put(days),
        ends=ends,
    )
    return Members(
        count=later.count, seed=later.seed, begun=later.begun, blocks=[block], numbers=later.numbers
    )
