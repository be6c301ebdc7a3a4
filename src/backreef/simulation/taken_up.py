"""A march that takes up another one: where two plans are the same up to a day, that time is marched once.

What a block was marched through is remembered, with all that its march stood in on every few days: the state,
the sizes of bodies, the step and its habits. A plan that is changed late is laid out anew, and compared with
the one before segment by segment: the same lengths and forcings, the same operations with the same drawn
numbers on the same rows. Its march then begins with the last of those days before the first difference, and
gives the same bits as a march from its first day. Animals that come or go with the change have no row there
yet, or one with nothing in it; so that the rows of both plans lie alike, each march has room for some more.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from itertools import pairwise

import numpy as np
import numpy.typing as npt

from backreef.simulation.block import PIECE_DAYS, Block, BlockMarch, BlockResult, Schedule, Take, Tolerances
from backreef.simulation.block import pieces as pieces_of
from backreef.simulation.engine import aligned, kernel_foods, load_engine
from backreef.simulation.events import BY_LUCK, OPERATIONS
from backreef.simulation.layout import LANES, REGISTERS, SLOT_KEPT, SLOT_MARCHED, Layout
from backreef.simulation.prepared import Prepared

Array = npt.NDArray[np.float64]
Rows = npt.NDArray[np.int64]
MARK_DAYS = 28
"""Days between two places at which a march can be taken up."""
ROOM = 2
"""So many cohorts more than the plan has."""
NOWHERE = -1
CARRIED = ("state", "traits", "fired", "scratch", "report", "habits")
"""Arrays that a march changes as it goes."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Mark:
    """All that a march stood in before a segment."""

    segment: int
    days: int
    """How many were written before; the day that ends with this segment's midnight is written next."""
    arrays: Mapping[str, Array]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Memory:
    """What a block was marched through."""

    entry_ids: tuple[str, ...]
    """Entry of the plan behind each cohort."""
    layout: Layout
    schedule: Schedule
    block: Block
    """As it began."""
    tolerances: Tolerances
    kernel: int
    """Which engine marched it."""
    slots: int
    """Cohorts for which there was room."""
    days: Array
    """(days, rows, lanes)"""
    marks: tuple[Mark, ...]

    @property
    def rows(self) -> Rows:
        """Where each row of the state stood in the march, which had room for more."""
        return _places(self.layout, list(range(len(self.entry_ids))), self.slots)


class Taking:
    """Marches the one block of a plan from as late a day as memories of other plans allow; remembers it."""

    def __init__(self, prepared: Prepared, tolerances: Tolerances, memories: tuple[Memory, ...] = ()) -> None:
        self._prepared, self._tolerances, self._memories = prepared, tolerances, memories
        self.memory: Memory | None = None
        """Once it was marched."""
        self.first_day = 0
        """The first that was marched; those before were taken over."""

    def __call__(self, block: Block, take: Take | None = None) -> BlockResult:
        """March the block."""
        begun = self._begun(block)
        old = [found for memory in self._memories if (found := _taken_over(memory, begun)) is not None]
        if old:
            begun = max(old, key=lambda each: each.marks[-1].days)
        return self._marched(begun, take)

    def _begun(self, block: Block) -> Memory:
        cohorts, foods = self._prepared.cohorts, len(self._prepared.foods)
        return Memory(
            entry_ids=tuple(cohort.entry.id for cohort in cohorts),
            layout=self._prepared.layout,
            schedule=self._prepared.timeline.schedule,
            block=block,
            tolerances=self._tolerances,
            kernel=kernel_foods(foods),
            slots=len(cohorts) + (ROOM if cohorts else 0),
            days=np.zeros((0, *block.state.shape)),
            marks=(),
        )

    def _marched(self, begun: Memory, take: Take | None) -> BlockResult:
        schedule, rows = begun.schedule, begun.rows
        march = BlockMarch(
            load_engine(LANES, begun.kernel),
            begun.layout,
            replace(
                schedule,
                targets=rows[schedule.targets].astype(np.int32),
                sources=rows[schedule.sources].astype(np.int32),
            ),
            _with_room(begun, rows),
            begun.tolerances,
        )
        days = np.zeros((schedule.days, *begun.block.state.shape))
        taken, since = len(begun.days), 0
        days[:taken] = begun.days
        if begun.marks:
            since = begun.marks[-1].segment
            for name, values in begun.marks[-1].arrays.items():
                many = min(len(march.arrays[name]), len(values))  # notes of later days may differ in number
                march.arrays[name][:many] = values[:many]
        self.first_day, marks = taken, list(begun.marks)
        output = aligned((MARK_DAYS, march.arrays["state"].shape[0], LANES))
        for first, until in pairwise([at for at in pieces_of(schedule, MARK_DAYS) if at >= since]):
            if first > since:
                arrays = {name: march.arrays[name].copy() for name in CARRIED}
                marks.append(Mark(segment=first, days=taken, arrays=arrays))
            written = march.go(first, until, output)
            days[taken : taken + written] = output[:written, rows]
            taken += written
        self.memory = replace(begun, days=days, marks=tuple(marks))
        if take is None:
            return march.result(days, taken)
        for start in range(0, taken, PIECE_DAYS):
            take(days[start : start + PIECE_DAYS])
        return march.result(np.zeros((0, *begun.block.state.shape)), taken)


def _places(layout: Layout, slots: list[int], room: int) -> Rows:
    """Where the rows of a state stand in one with room for so many cohorts, whose cohorts stand there."""
    shared = len(REGISTERS) + layout.shared
    result = np.full(layout.rows(len(slots)), NOWHERE, dtype=np.int64)
    result[:shared] = np.arange(shared)
    for slot, place in enumerate(slots):
        for name in (*SLOT_MARCHED, *SLOT_KEPT) if place != NOWHERE else ():
            at = layout.slot_address(slot, name, len(slots))
            result[at] = layout.slot_address(place, name, room)
    return result


def _with_room(begun: Memory, rows: Rows) -> Block:
    """The block as it began, with places for cohorts in which there never is any animal."""
    block, more = begun.block, begun.slots - len(begun.entry_ids)
    state = np.zeros((begun.layout.rows(begun.slots), block.state.shape[1]))
    state[rows] = block.state
    marched = begun.layout.shared + len(begun.entry_ids) * len(SLOT_MARCHED)
    scale = np.ones(begun.layout.shared + begun.slots * len(SLOT_MARCHED))
    scale[:marched] = block.scale

    def again(values: Array) -> Array:
        return np.concatenate([values, np.repeat(values[:1], more, axis=0)])

    return replace(
        block,
        state=state,
        traits=again(block.traits),
        nature=again(block.nature),
        thresholds=again(block.thresholds),
        scale=scale,
    )


def _taken_over(old: Memory, new: Memory) -> Memory | None:
    """What a plan can take over from another one: its days and marks before the first difference."""
    if (
        not (old.entry_ids and new.entry_ids)
        or old.tolerances != new.tolerances
        or old.kernel != new.kernel
        or len(new.entry_ids) > old.slots
        or not np.array_equal(old.block.parameters, new.block.parameters)
    ):
        return None
    pairs = _pairs(old, new)
    rows = _places(old.layout, pairs, len(old.entry_ids))  # of the new plan -> of the old one
    if not _begin_alike(old, new, rows):
        return None
    alike = _segments_alike(old, new, rows)
    gone = [slot for slot in range(len(old.entry_ids)) if slot not in pairs]
    marks = [mark for mark in old.marks if mark.segment <= alike and _empty(old, mark, gone)]
    if not marks:
        return None
    known = rows != NOWHERE
    days = np.zeros((marks[-1].days, len(rows), LANES))
    days[:, known] = old.days[: marks[-1].days, rows[known]]
    wide = replace(new, slots=old.slots)
    fresh = _with_room(wide, wide.rows)
    return replace(wide, days=days, marks=tuple(_moved(mark, old, fresh, pairs) for mark in marks))


def _pairs(old: Memory, new: Memory) -> list[int]:
    """For each cohort of the new plan the same one of the old plan; nowhere if it is another one."""
    result = []
    for slot, ident in enumerate(new.entry_ids):
        before = old.entry_ids.index(ident) if ident in old.entry_ids else NOWHERE
        if before != NOWHERE and not _same_animals(old, before, new, slot):
            before = NOWHERE
        result.append(before)
    return result


def _same_animals(old: Memory, before: int, new: Memory, slot: int) -> bool:
    first, second = old.block, new.block
    deaths = min(first.thresholds.shape[1], second.thresholds.shape[1])
    return (
        np.array_equal(first.traits[before], second.traits[slot])
        and np.array_equal(first.nature[before], second.nature[slot])
        and np.array_equal(first.thresholds[before, :deaths], second.thresholds[slot, :deaths])
        and bool(np.isinf(first.thresholds[before, deaths:]).all())
        and bool(np.isinf(second.thresholds[slot, deaths:]).all())
    )


def _begin_alike(old: Memory, new: Memory, rows: Rows) -> bool:
    """Whether the first day is the same but for who is not in both; and what steps may err in it."""
    known = rows != NOWHERE
    missing = np.setdiff1d(np.arange(len(old.block.state)), rows)
    first = len(REGISTERS)
    marched = np.arange(first, first + len(new.block.scale))
    both = marched[known[marched]]
    return (
        np.array_equal(old.block.state[rows[known]], new.block.state[known])
        and not old.block.state[missing].any()
        and not new.block.state[~known].any()
        and np.array_equal(old.block.scale[rows[both] - first], new.block.scale[both - first])
    )


def _segments_alike(old: Memory, new: Memory, rows: Rows) -> int:
    """How many segments are the same from the first on, with all that happens before each."""
    there = np.zeros(len(old.block.state), dtype=bool)
    there[rows[rows != NOWHERE]] = True
    first, second = _that_matters(old.schedule, there), _that_matters(new.schedule, rows != NOWHERE)
    count = min(len(first.segments), len(second.segments))
    same = (first.segments[:count] == second.segments[:count]).all(axis=1)
    same &= first.event_from[1 : count + 1] == second.event_from[1 : count + 1]
    events = min(len(first.operations), len(second.operations))
    kind = second.operations[:events]
    alike = first.operations[:events] == kind
    alike &= first.factors[:events] == second.factors[:events]
    for one, other in ((first.targets, second.targets), (first.sources, second.sources)):
        alike &= one[:events] == rows[other[:events]]
    drawn = np.isin(kind, BY_LUCK) & alike
    one, other = first.extras[:events], second.extras[:events]
    alike[~drawn] &= one[~drawn] == other[~drawn]
    alike[drawn] = (old.block.drawn[one[drawn]] == new.block.drawn[other[drawn]]).all(axis=1)
    differ = events if alike.all() else int(np.argmin(alike))
    same &= second.event_from[1 : count + 1] <= differ
    return count if same.all() else int(np.argmin(same))


def _that_matters(schedule: Schedule, there: npt.NDArray[np.bool_]) -> Schedule:
    """A schedule without what sets rows to nothing that only one of two plans has."""
    sets = schedule.operations == OPERATIONS.index("set")
    kept = ~(sets & (schedule.factors == 0.0) & ~there[schedule.targets])
    before = np.concatenate([[0], np.cumsum(kept)])
    return replace(
        schedule,
        event_from=before[schedule.event_from],
        operations=schedule.operations[kept],
        targets=schedule.targets[kept],
        sources=schedule.sources[kept],
        extras=schedule.extras[kept],
        factors=schedule.factors[kept],
    )


def _empty(old: Memory, mark: Mark, slots: list[int]) -> bool:
    """Whether nothing of some cohorts is there yet."""
    names = (*SLOT_MARCHED, *SLOT_KEPT)
    rows = [old.layout.slot_address(slot, name, old.slots) for slot in slots for name in names]
    return not mark.arrays["state"][rows].any()


def _moved(mark: Mark, old: Memory, fresh: Block, pairs: list[int]) -> Mark:
    """A mark with the cohorts where the new plan has them; `fresh` is how that begins."""
    places = [*pairs, *([NOWHERE] * (old.slots - len(pairs)))]
    rows = _places(old.layout, places, old.slots)
    known = rows != NOWHERE
    state, traits = np.zeros_like(fresh.state), fresh.traits.copy()
    state[known] = mark.arrays["state"][rows[known]]
    for slot, before in enumerate(pairs):
        if before != NOWHERE:
            traits[slot] = mark.arrays["traits"][before]
    return replace(mark, arrays={**mark.arrays, "state": state, "traits": traits})
