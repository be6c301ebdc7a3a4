"""One block of lanes through the compiled march: plain arrays in, daily states out."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from itertools import chain, pairwise
from typing import Any

import numpy as np
import numpy.typing as npt

from backreef.errors import BackreefError
from backreef.simulation.days_kept import Laid
from backreef.simulation.engine import Engine, aligned
from backreef.simulation.events import OPERATIONS, EventProgram
from backreef.simulation.layout import SLOT_MARCHED, Layout
from backreef.simulation.signature import ARGUMENTS, COUNTS, REPORT, SEGMENT_COLUMNS, STEP
from backreef.simulation.step_control import TIMES_OF_DAY

Array = npt.NDArray[np.float64]
MINUTES_PER_DAY = 1440.0
_OPERATION = np.dtype(
    [("operation", "i4"), ("target", "i4"), ("source", "i4"), ("extra", "i4"), ("factor", "f8")]
)
SAME_TIME = 1e-3
"""Of a quarter hour, by which sums of lengths may fall short of it."""


Take = Callable[[Array], None]
"""Is handed days of a block, (days, rows, lanes); their place is used again afterwards."""
PIECE_DAYS = 64
"""So many days stay within a processor's second cache, or near it."""


class MarchFailed(BackreefError):
    """A step stayed negative at the shortest step; the message names the segment and the row."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Tolerances:
    """How exactly to integrate. There are no defaults: name a purpose, or say the numbers."""

    relative: float
    """Error of a step over the amount, worst lane and component. [-]"""
    absolute_share: float
    """Amounts below this share of their typical size count as that size. [-]"""
    first_step_min: float
    longest_step_min: float
    shortest_step_s: float


FORECAST = Tolerances(
    relative=0.02, absolute_share=0.3, first_step_min=2.0, longest_step_min=180.0, shortest_step_s=1.0
)
"""For users. Measured: see bench/ and docs/adr/0013."""
CHECKING = Tolerances(
    relative=0.003, absolute_share=0.3, first_step_min=2.0, longest_step_min=180.0, shortest_step_s=1.0
)


@dataclass(slots=True, kw_only=True)
class Schedule:
    """The segments of a horizon and what happens before each; the same for every block."""

    segments: Array
    """(n, len(SEGMENT_COLUMNS))"""
    event_from: npt.NDArray[np.int64]
    operations: npt.NDArray[np.int32]
    targets: npt.NDArray[np.int32]
    sources: npt.NDArray[np.int32]
    extras: npt.NDArray[np.int32]
    factors: Array
    notes: int
    """How many masks are noted."""
    days: int
    """How many days are written."""


@dataclass(slots=True, kw_only=True)
class Block:
    """What the lanes of a block start from and are made of; the first axis is rows, the last lanes."""

    state: Array
    parameters: Array
    traits: Array
    """(slots, traits, lanes)"""
    nature: Array
    """(slots, natures, lanes)"""
    thresholds: Array
    """(slots, deaths, lanes) cumulated hazards at which animals die."""
    scale: Array
    """(marched rows,) typical sizes; 1e300 for rows without error control."""
    drawn: Array
    """(rows, lanes) drawn numbers that events use."""


@dataclass(slots=True, kw_only=True)
class BlockResult:
    """Daily states of a block."""

    days: Array
    """(days, rows, lanes)"""
    noted: Array
    """(notes, lanes) masks as 0 or 1."""
    report: dict[str, float]
    rows: dict[int, int] | None = None
    """Row of the state -> its place in `laid`; None: all rows are in `days`, where they are."""
    laid: Laid | None = None
    """The rows that were kept; behind them those that an audit found day by day."""
    ends: Array | None = None
    """(2, rows, lanes) all rows of the first and of the last day, where `days` has not got them."""
    audit: Array | None = None
    """(what was looked at, lanes)"""

    def row(self, place: int) -> npt.NDArray[Any]:
        """Daily values of a state row, (days, lanes); raises `KeyError` if it was not kept."""
        if self.rows is None or self.laid is None:
            return np.asarray(self.days[:, place])
        return self.laid.row(self.rows[place])


def make_schedule(
    segments: Sequence[Sequence[float]], events: Sequence[EventProgram], *, notes: int, days: int
) -> Schedule:
    """Pack segments and the events before each into arrays."""
    starts = np.zeros(len(segments) + 1, dtype=np.int64)
    starts[1:] = np.cumsum([len(program.operations) for program in events])
    every = chain.from_iterable(program.operations for program in events)
    table = np.fromiter(every, dtype=_OPERATION, count=int(starts[-1]))
    whole = [np.ascontiguousarray(table[column]) for column in ("operation", "target", "source", "extra")]
    return Schedule(
        segments=_with_time_of_day(segments),
        event_from=starts,
        operations=whole[0],
        targets=whole[1],
        sources=whole[2],
        extras=whole[3],
        factors=np.ascontiguousarray(table["factor"]),
        notes=notes,
        days=days,
    )


def _with_time_of_day(segments: Sequence[Sequence[float]]) -> Array:
    """Segments of length and forcings with the quarter hour in which each begins."""
    plain = np.asarray(segments, dtype=np.float64).reshape(-1, len(SEGMENT_COLUMNS) - 1)
    starts_d = np.cumsum(plain[:, 0]) - plain[:, 0]
    times = np.floor(starts_d % 1.0 * TIMES_OF_DAY + SAME_TIME) % TIMES_OF_DAY
    return np.ascontiguousarray(np.column_stack([plain, times]))


class BlockMarch:
    """A block under way: its arrays, and the engine that carries them from segment to segment."""

    def __init__(
        self, engine: Engine, layout: Layout, schedule: Schedule, block: Block, tolerances: Tolerances
    ) -> None:
        slots = block.traits.shape[0]
        rows, lanes = block.state.shape
        self.layout, self.schedule, self._engine = layout, schedule, engine
        arrays = _arrays(schedule, block, lanes, engine.scratch_rows(slots))
        self._counts = np.array([0, slots, block.thresholds.shape[1], rows, 0], dtype=np.int64)
        arrays["counts"] = self._counts
        arrays["controls"] = np.array(
            [
                tolerances.relative,
                tolerances.absolute_share,
                tolerances.first_step_min / MINUTES_PER_DAY,
                tolerances.longest_step_min / MINUTES_PER_DAY,
                tolerances.shortest_step_s / 86400.0,
            ]
        )
        arrays["report"] = np.zeros(len(REPORT) + len(STEP))
        arrays["habits"] = np.zeros(2 * TIMES_OF_DAY)
        self.arrays = arrays

    def go(self, first: int, until: int, output: Array) -> int:
        """March from a segment up to another one; give how many days were written into the output.

        Raises
        ------
        MarchFailed
            With day and amount, if no step can be made.
        """
        report = self.arrays["report"]
        self._counts[[COUNTS.index("segments"), COUNTS.index("first")]] = until, first
        reached = self._engine.march(*((self.arrays | {"output": output})[n].ctypes.data for n in ARGUMENTS))
        if reached != until:
            failed = int(report[REPORT.index("failed_row")])
            raise MarchFailed(failure(self.layout, self.schedule, reached, failed))
        return int(report[_WRITTEN])

    def result(self, days: Array, days_written: int) -> BlockResult:
        """What came of the block."""
        report = self.arrays["report"]
        report[_WRITTEN] = days_written
        tally = dict(zip(REPORT, report[: len(REPORT)].tolist(), strict=True))
        return BlockResult(days=days, noted=self.arrays["fired"], report=tally)


_WRITTEN = REPORT.index("days_written")


def march_block(
    engine: Engine,
    layout: Layout,
    schedule: Schedule,
    block: Block,
    tolerances: Tolerances,
    take: Take | None = None,
) -> BlockResult:
    """Carry a block through the schedule; raises `MarchFailed` with day and amount if no step can be made.

    With `take`, days are handed to it in pieces of some weeks, each to be used at once, and none come back.
    """
    under_way = BlockMarch(engine, layout, schedule, block, tolerances)
    rows, lanes = block.state.shape
    most_days = schedule.days if take is None else min(PIECE_DAYS, schedule.days)
    output = aligned((max(1, most_days), rows, lanes))
    in_all = 0
    for first, until in pairwise(pieces(schedule, most_days)):
        written = under_way.go(first, until, output)
        in_all += written
        if take is not None:
            take(output[:written])
    days = output if take is None else np.zeros((0, rows, lanes))  # a view would keep the pieces alive
    return under_way.result(days, in_all)


def pieces(schedule: Schedule, most_days: int) -> list[int]:
    """Give the first segment of each stretch in which no more than so many days are written, and the end."""
    if most_days >= schedule.days:
        return [0, len(schedule.segments)]
    writes = np.flatnonzero(schedule.operations == OPERATIONS.index("write_day"))
    segment_of = np.searchsorted(schedule.event_from, writes, side="right") - 1
    return [0, *segment_of[most_days::most_days].tolist(), len(schedule.segments)]


def _arrays(schedule: Schedule, block: Block, lanes: int, scratch_rows: int) -> dict[str, npt.NDArray[Any]]:
    def copied(values: Array) -> Array:
        result = aligned(values.shape if values.size else (*values.shape[:-1][:0], 1, lanes))
        if values.size:
            result[...] = values
        return result

    return {
        "state": copied(block.state),
        "parameters": copied(block.parameters),
        "traits": copied(block.traits),
        "nature": copied(block.nature),
        "thresholds": copied(block.thresholds),
        "scale": np.ascontiguousarray(block.scale),
        "segments": schedule.segments,
        "event_from": schedule.event_from,
        "operations": schedule.operations,
        "targets": schedule.targets,
        "sources": schedule.sources,
        "extras": schedule.extras,
        "factors": schedule.factors,
        "lane_table": copied(block.drawn),
        "fired": aligned((max(1, schedule.notes), lanes)),
        "scratch": aligned((scratch_rows, lanes)),
    }


def failure(layout: Layout, schedule: Schedule, segment: int, row: int) -> str:
    """Say which amount could not be kept at or above nought, and when."""
    day = float(schedule.segments[:segment, 0].sum())
    slot, place = divmod(row - layout.shared, len(SLOT_MARCHED))
    name = layout.components[row] if row < layout.shared else f"{SLOT_MARCHED[place]} of animals {slot + 1}"
    return f"day {day:.2f} (segment {segment}): {name} falls below zero even at the shortest step"
