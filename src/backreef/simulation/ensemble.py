"""A plan marched for all members: blocks of eight lanes on threads, reduced to daily series as they come."""

from __future__ import annotations

import threading
from collections.abc import Callable, Iterator, Mapping
from contextlib import closing
from dataclasses import dataclass
from functools import partial
from typing import Any, Protocol

import numpy as np
import numpy.typing as npt

from backreef.models.matrix import packaged_matrix
from backreef.simulation.allocator import give_back_large_pieces
from backreef.simulation.block import Block, BlockResult, Take, Tolerances, march_block
from backreef.simulation.days_kept import SINGLE_BYTES, DaysKept, Single
from backreef.simulation.draws import Draws
from backreef.simulation.engine import kernel_foods, load_engine, why_unavailable
from backreef.simulation.layout import LANES
from backreef.simulation.prepared import Prepared
from backreef.simulation.setting import Beginning, Begun, InTurn, together
from backreef.simulation.workers import Cores

Array = npt.NDArray[np.float64]
IntArray = npt.NDArray[np.int64]
Progress = Callable[[int, int], None]
"""Called with blocks done and blocks in all."""


class Audit(Protocol):
    """Looks at the days of a block as they come."""

    def look(self, days: Array) -> None:
        """Look at days, (days, rows, lanes), that follow those looked at before."""

    @property
    def found(self) -> Array:
        """What is to be known of each lane, (what, lanes)."""

    @property
    def daily(self) -> Single:
        """What is to be known of each day, (what, days, lanes)."""


@dataclass(frozen=True, slots=True)
class Keep:
    """What is kept of a block's days; the rest is looked at once and forgotten."""

    rows: frozenset[int]
    """Rows of the state that are kept day by day, in single precision."""
    audit: Callable[[Array], Audit] | None = None
    """Takes the parameters of a block, and gives what looks at its days."""
    give_up: Callable[[Members], bool] | None = None
    """Is told the members of each block but the last, while others are marched; true: the rest is not."""
    ahead: tuple[int, ...] = ()
    """Numbers of blocks that are marched before the others; what comes of a block does not hang on that."""
    meanwhile: Callable[[], None] | None = None
    """Is done once, beside the march, as soon as every core has a block."""
    by: MarchBlock | None = None
    """Marches each block in place of what usually does."""


class Abandoned(Exception):
    """Nobody waits for this block any more."""


class _Kept:
    """What is kept of a block, as its days come."""

    def __init__(self, keep: Keep, block: Block, days: int) -> None:
        self.rows, self.day = sorted(keep.rows), 0
        self.audit = keep.audit(block.parameters) if keep.audit else None
        rows, lanes = block.state.shape
        self.days: Single = np.zeros((len(self.rows), days, lanes), dtype=np.float32)
        self.ends = np.zeros((2, rows, lanes))

    def take(self, days: Array) -> None:
        """Keep the next days."""
        if not len(days):
            return
        if not self.day:
            self.ends[0] = days[0]
        self.ends[1] = days[-1]
        self.days[:, self.day : self.day + len(days)] = days[:, self.rows].swapaxes(0, 1)
        self.day += len(days)
        if self.audit is not None:
            self.audit.look(days)

    def result(self, marched: BlockResult, days_kept: DaysKept) -> BlockResult:
        """Give the block's result with what was kept."""
        kept = self.days if self.audit is None else np.concatenate([self.days, self.audit.daily])
        return BlockResult(
            days=marched.days,
            noted=marched.noted.astype(np.int8),
            report=marched.report,
            rows={row: place for place, row in enumerate(self.rows)},
            laid=days_kept.put(kept),
            ends=self.ends,
            audit=self.audit.found if self.audit else None,
        )


@dataclass(slots=True, kw_only=True)
class Members:
    """What was drawn for the members and what came of them; the last axis is members."""

    count: int
    seed: int
    begun: Begun
    blocks: list[BlockResult]
    numbers: IntArray
    """Number of each member among those that were asked for."""

    @property
    def natures(self) -> list[Array]:
        """Of each cohort, (natures, members)."""
        return self.begun.natures

    @property
    def parameters(self) -> Array:
        """(parameters, members)"""
        return self.begun.parameters

    def row(self, place: int) -> Array:
        """Daily values of a state row, (days, members); raises `KeyError` if it was not kept."""
        if any(block.rows is not None and place not in block.rows for block in self.blocks):
            raise KeyError(f"row {place} of the state was not kept; trajectories.py says which are")
        return self._beside(lambda block: block.row(place))

    def daily(self, place: int) -> Array:
        """What the audit found of each day, (days, members); raises `KeyError` without an audit of days."""

        def found(block: BlockResult) -> npt.NDArray[Any]:
            if block.laid is None or block.rows is None:
                raise KeyError("these members were marched without an audit of their days")
            return block.laid.row(len(block.rows) + place)

        return self._beside(found)

    def _beside(self, of_block: Callable[[BlockResult], npt.NDArray[Any]]) -> Array:
        """Put what blocks have, (days, lanes), side by side."""
        found = np.zeros((0, 0))
        for number, block in enumerate(self.blocks):
            part = of_block(block)
            lanes = part.shape[1]
            if not number:
                found = np.empty((len(part), lanes * len(self.blocks)))
            found[:, number * lanes : (number + 1) * lanes] = part
        return found[:, : self.count]

    def ends(self, place: int) -> Array:
        """Values of a state row on the first and the last day, (2, members)."""
        kept = [
            block.days[[0, -1], place] if block.ends is None else block.ends[:, place]
            for block in self.blocks
        ]
        return np.concatenate(kept, axis=1)[:, : self.count]

    def some(self, count: int) -> Members:
        """The first of these members."""
        return Members(
            count=min(count, self.count),
            seed=self.seed,
            begun=self.begun.lanes(slice(0, count)),
            blocks=self.blocks,
            numbers=self.numbers[:count],
        )

    def parts(self, most: int) -> Iterator[Members]:
        """These members, no more than so many at a time, in whole blocks."""
        lanes = self.blocks[0].noted.shape[1] if self.blocks else LANES
        together = max(1, most // lanes)
        for place in range(0, len(self.blocks), together):
            first = place * lanes
            here = slice(first, min(first + together * lanes, self.count))
            if here.start < here.stop:
                yield Members(
                    count=here.stop - here.start,
                    seed=self.seed,
                    begun=self.begun.lanes(here),
                    blocks=self.blocks[place : place + together],
                    numbers=self.numbers[here],
                )

    @property
    def audits(self) -> Array | None:
        """What was looked at in each member, (what, members); None if nothing was."""
        found = [block.audit for block in self.blocks if block.audit is not None]
        return np.concatenate(found, axis=1)[:, : self.count] if found else None

    @property
    def noted(self) -> Array:
        """Masks of conditional chores, (notes, members)."""
        return np.concatenate([block.noted for block in self.blocks], axis=1)[:, : self.count]


@dataclass(frozen=True, slots=True)
class _Marched:
    """A block before and after its march."""

    begun: Begun
    result: BlockResult


def _members(marched: Mapping[int, _Marched], seed: int) -> Members:
    """The members of the blocks that were marched, in the order of the blocks' numbers."""
    numbers = sorted(marched)
    lanes = np.asarray(numbers, dtype=np.int64)[:, np.newaxis] * LANES + np.arange(LANES)
    return Members(
        count=lanes.size,
        seed=seed,
        begun=together([marched[number].begun for number in numbers]),
        blocks=[marched[number].result for number in numbers],
        numbers=lanes.ravel(),
    )


def engine_name() -> str:
    """Give the engine that marches here: compiled, or numpy where llvmlite cannot be had."""
    return "numpy" if why_unavailable() else "compiled"


class MarchBlock(Protocol):
    """Marches a block of a plan; with `take`, days are handed on as they come and none come back."""

    def __call__(self, block: Block, take: Take | None = None) -> BlockResult:
        """March the block."""
        ...


def marcher(prepared: Prepared, tolerances: Tolerances) -> MarchBlock:
    """Give what marches a block of a plan: the compiled engine, or the slow one where there is none."""
    layout, schedule = prepared.layout, prepared.timeline.schedule
    if why_unavailable():
        return partial(_march_slowly, prepared, tolerances)
    engine = load_engine(LANES, kernel_foods(len(prepared.foods)))
    return lambda block, take=None: march_block(engine, layout, schedule, block, tolerances, take)


def _march_slowly(
    prepared: Prepared, tolerances: Tolerances, block: Block, take: Take | None = None
) -> BlockResult:
    from backreef.simulation.oracle import Oracle, march_slowly

    oracle = Oracle(matrix=packaged_matrix())
    result = march_slowly(oracle, prepared.layout, prepared.timeline.schedule, block, tolerances)
    if take is not None:
        take(result.days)
    return result


def march_members(
    prepared: Prepared,
    draws: Draws,
    tolerances: Tolerances,
    *,
    threads: int | None = None,
    progress: Progress | None = None,
    keep: Keep | None = None,
) -> Members:
    """March all members; the same seed gives the same bits on any number of threads.

    All days are kept, unless it is said what to keep. A member's bits depend on its block of eight too, so
    the first member is the first of a block. Where it is said when to give up there may be fewer members
    than were asked for.

    Raises
    ------
    ValueError
        If the first member is within a block.
    """
    if draws.first % LANES:
        raise ValueError(f"the first member is {draws.first}, but blocks begin at multiples of {LANES}")
    padded = draws.some(draws.first, -(-draws.members // LANES) * LANES)
    company = InTurn(prepared, padded)
    marched = march_setting(company, tolerances, threads=threads, progress=progress, keep=keep)
    return marched.some(int((marched.numbers < draws.members).sum()))


def march_setting(
    setting: Beginning,
    tolerances: Tolerances,
    *,
    threads: int | None = None,
    progress: Progress | None = None,
    keep: Keep | None = None,
) -> Members:
    """March all members of a first day; they fill whole blocks."""
    give_back_large_pieces()
    march = keep.by if keep is not None and keep.by is not None else marcher(setting.prepared, tolerances)
    count, seed = setting.draws.members // LANES, setting.draws.seed
    horizon_days = setting.prepared.timeline.schedule.days
    days_kept = DaysKept(
        0 if keep is None else len(keep.rows) * horizon_days * setting.draws.members * SINGLE_BYTES
    )
    ended = threading.Event()
    """Nobody waits any more: blocks that are under way stop after their next days."""

    def run(number: int) -> _Marched:
        block, begun = setting.take(number)
        if keep is None:
            return _Marched(begun, march(block))
        kept = _Kept(keep, block, horizon_days)

        def take(days: Array) -> None:
            if ended.is_set():
                raise Abandoned
            kept.take(days)

        return _Marched(begun, kept.result(march(block, take), days_kept))

    order = () if keep is None else tuple(number for number in keep.ahead if number < count)
    order += tuple(number for number in range(count) if number not in order)
    results: dict[int, _Marched] = {}
    cores = Cores(threads, spare=1)
    with closing(cores.each(run, _handed_out(order, keep, cores.count))) as marched:
        try:
            for number, result in zip(order, marched, strict=False):
                results[number] = result
                if progress is not None:
                    progress(len(results), count)
                if keep is None or keep.give_up is None or len(results) == count:
                    continue
                if keep.give_up(_members({number: result}, seed)):
                    break
        finally:
            ended.set()
    return _members(results, seed)


def _handed_out(order: tuple[int, ...], keep: Keep | None, cores: int) -> Iterator[int]:
    """The blocks in their order; what is to be done meanwhile is done once all cores have one."""
    meanwhile = None if keep is None else keep.meanwhile
    for place, number in enumerate(order):
        if meanwhile is not None and place == cores:
            meanwhile()
            meanwhile = None
        yield number
    if meanwhile is not None:
        meanwhile()
