"""The slow reference engine: the compiled march in plain numpy, from the same tables, laws and schedules.

It serves where llvmlite cannot be had, and in tests it is what the compiled code is held to. It knows
nothing of recorded programs, of slots that are eliminated, or of machine code.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from backreef.models.matrix import Matrix
from backreef.models.midnight import midnight
from backreef.models.mouths import SLOT_TRAITS
from backreef.models.room import after
from backreef.simulation.block import (
    MINUTES_PER_DAY,
    Block,
    BlockResult,
    MarchFailed,
    Schedule,
    Tolerances,
    failure,
)
from backreef.simulation.events import MATTERS, OPERATIONS
from backreef.simulation.layout import NATURE, REGISTERS, SLOT_KEPT, SLOT_MARCHED, Layout
from backreef.simulation.oracle_step import LEAST_ERROR, Attempt, StepWork, euler, factor_after, rosenbrock
from backreef.simulation.oracle_system import Array, Known, OracleSystem, forcings_of, meal_sums
from backreef.simulation.signature import EXTREMES, REPORT, SEGMENT_COLUMNS
from backreef.simulation.step_control import (
    BOUNDED,
    FIRST_MOST_FACTOR,
    HABIT_MOST_FACTOR,
    LEAST_SHARE,
    MOST_FACTOR,
    TIMES_OF_DAY,
)

CHANGES = ("add", "add_drawn", "set", "read")
"""Operations that change a row."""
LEFT_OVER_D = 1e-12
SECONDS_PER_DAY = 86400.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Oracle:
    """The reference engine for a process matrix."""

    matrix: Matrix


def march_slowly(
    engine: Oracle, layout: Layout, schedule: Schedule, block: Block, tolerances: Tolerances
) -> BlockResult:
    """Carry a block through the schedule as `march_block` does."""
    march = March(engine.matrix, layout, schedule, block, tolerances)
    with np.errstate(all="ignore"):  # a try that leads nowhere is rejected, as the compiled march does
        for number in range(len(schedule.segments)):
            march.segment(number)
    report = march.report | {"days_written": float(march.day)}
    return BlockResult(days=march.output, noted=march.noted, report=report)


class March:
    """The state of a march under way."""

    def __init__(
        self, matrix: Matrix, layout: Layout, schedule: Schedule, block: Block, tolerances: Tolerances
    ) -> None:
        self.layout, self.schedule, self.block, self.tolerances = layout, schedule, block, tolerances
        self.system = OracleSystem(matrix, layout, block.parameters)
        self.slots = block.traits.shape[0]
        self.state, self.traits = block.state.copy(), block.traits.copy()
        self.marched_rows = layout.shared + self.slots * len(SLOT_MARCHED)
        lanes = block.state.shape[1]
        self.output = np.zeros((max(1, schedule.days), *block.state.shape))
        self.noted = np.zeros((max(1, schedule.notes), lanes))
        self.mask = np.ones(lanes)
        self.report = dict.fromkeys(REPORT, 0.0)
        self.day = 0
        self.habits = np.zeros((2, TIMES_OF_DAY))
        self._begin_short()

    def _begin_short(self) -> None:
        """Begin with a short step, of whose error nothing is known."""
        self.step_d, self.trend = self.tolerances.first_step_min / MINUTES_PER_DAY, 0.0

    # -- views ---------------------------------------------------------------------------------------------
    @property
    def registers(self) -> Array:
        """Rows that change at instants only."""
        return self.state[: len(REGISTERS)]

    @property
    def marched(self) -> Array:
        """Rows that the steps carry."""
        return self.state[len(REGISTERS) : len(REGISTERS) + self.marched_rows]

    @property
    def kept(self) -> Array:
        """Rows of the slots beside the marched ones, (slots, kept, lanes)."""
        return self.state[len(REGISTERS) + self.marched_rows :].reshape(
            self.slots, len(SLOT_KEPT), self.state.shape[1]
        )

    def segment(self, number: int) -> None:
        """Do what happens before a segment, step through it, and let the room act on the water."""
        first, last = self.schedule.event_from[number], self.schedule.event_from[number + 1]
        self.mask = np.ones_like(self.mask)
        forcings = forcings_of(self.schedule.segments[number])
        before = self.marched[: self.layout.active].copy()
        for event in range(first, last):
            self._event(event, forcings)
        jumped = number == 0 or self._jump(before) > MATTERS
        if jumped:
            self._begin_short()
        for name, amount in meal_sums(self.traits).items():
            self.registers[REGISTERS.index(name)] = amount
        self.system.begin(self.registers, forcings)
        time_of_day = int(self.schedule.segments[number, SEGMENT_COLUMNS.index("time_of_day")])
        self._steps(number, forcings, (int(jumped), time_of_day))
        known = self.system.known(self.registers, forcings)
        known |= dict(zip(self.layout.components, self.marched[: self.layout.shared], strict=True))
        for name, value in after(known, self.schedule.segments[number, 0]).items():
            self.registers[REGISTERS.index(name)] = value

    # -- events --------------------------------------------------------------------------------------------
    def _event(self, event: int, forcings: dict[str, float]) -> None:
        name = OPERATIONS[self.schedule.operations[event]]
        if name in CHANGES:
            self._change(name, event)
        elif name == "note":
            self.noted[self.schedule.extras[event]] = self.mask
        elif name == "midnight":
            self._midnight(forcings)
        elif name == "write_day":
            self._write_day()
        else:
            self._choose_lanes(name, event)

    def _jump(self, before: Array) -> float:
        """Give how much a shared row has moved, over what a step may err in it."""
        now, limits = self.marched[: self.layout.active], self.tolerances
        typical = limits.absolute_share * self.block.scale[: self.layout.active, None]
        return float(np.max(np.abs(now - before) / (limits.relative * (typical + now))))

    def _change(self, name: str, event: int) -> None:
        """Change a row in the lanes that are chosen."""
        table, state = self.schedule, self.state
        target = table.targets[event]
        moved = table.factors[event] * state[table.sources[event]]
        if name == "add":
            state[target] += moved * self.mask
        elif name == "add_drawn":
            state[target] += moved * self._drawn(event) * self.mask
        elif name == "set":
            state[target] += self.mask * (moved - state[target])
        else:
            seen = moved / state[self.layout.address("V")] * self._drawn(event)
            state[target] += self.mask * (seen - state[target])

    def _drawn(self, event: int) -> Array:
        """Give the drawn numbers that an event refers to."""
        return np.asarray(self.block.drawn[self.schedule.extras[event]])

    def _choose_lanes(self, name: str, event: int) -> None:
        """Open the choice to all lanes, or narrow it to those above or below a bound."""
        value, bound = self.state[self.schedule.sources[event]], self.schedule.factors[event]
        if name == "everyone":
            self.mask = np.ones_like(self.mask)
        else:
            chosen = value > bound if name == "where_above" else value < bound
            self.mask = np.where(chosen, self.mask, 0.0)

    def _midnight(self, forcings: dict[str, float]) -> None:
        """Let bodies grow and animals die; carcasses go to the bottom."""
        if self.slots == 0:
            return
        own = self.marched[self.layout.shared :].reshape(self.slots, len(SLOT_MARCHED), self.state.shape[1])
        slot: Known = dict(zip(SLOT_MARCHED, own.swapaxes(0, 1), strict=True))
        slot |= dict(zip(SLOT_KEPT, self.kept.swapaxes(0, 1), strict=True))
        nature: Known = dict(zip(NATURE, self.block.nature.swapaxes(0, 1), strict=True))
        fallen = (slot["hazard"][:, None] > self.block.thresholds).sum(axis=1).astype(float)
        known = self.system.known(self.registers, forcings)
        amounts, traits, given = midnight(slot, nature, known, fallen, self.system.body)
        for name, value in amounts.items():
            if name in SLOT_MARCHED:
                own[:, SLOT_MARCHED.index(name)] = value
            else:
                self.kept[:, SLOT_KEPT.index(name)] = value
        for name, value in traits.items():
            self.traits[:, SLOT_TRAITS.index(name)] = value
        for name, value in given.items():
            self.marched[self.layout.component(name)] += value.sum(axis=0)

    def _write_day(self) -> None:
        """Copy the whole state to the output of the day; begin the extremes of the next."""
        self.output[self.day] = self.state
        self.day += 1
        for name, (_, start) in EXTREMES.items():
            self.registers[REGISTERS.index(name)] = start

    # -- steps ---------------------------------------------------------------------------------------------
    def _steps(self, number: int, forcings: dict[str, float], kind: tuple[int, int]) -> None:
        work = StepWork(
            system=self.system,
            traits=self.traits,
            scale=self.block.scale,
            relative=self.tolerances.relative,
            absolute_share=self.tolerances.absolute_share,
            forcings=forcings,
        )
        time_d, left_d, growth = 0.0, float(self.schedule.segments[number, 0]), MOST_FACTOR
        shortest_d = self.tolerances.shortest_step_s / SECONDS_PER_DAY
        while left_d > LEFT_OVER_D:
            begins, unrefused, habit_d = time_d == 0.0, growth > 1.0, float(self.habits[kind])
            wanted_d = habit_d if begins and unrefused and habit_d else self.step_d
            last = wanted_d >= 0.999 * left_d
            step_d = left_d if last else min(wanted_d, 0.5 * left_d)
            if step_d < shortest_d and step_d < left_d:
                step_d = min(shortest_d, left_d)
                self._rescue(number, euler(work, self.marched, time_d, step_d))
            else:
                tried = rosenbrock(work, self.marched, time_d, step_d)
                self._note_extremes(tried)
                self.report["steps"] += 1.0
                if not self._judge(tried, step_d, wanted_d, last=last, most=growth):
                    growth = 1.0
                    continue
                if begins:
                    self.habits[kind] = self._habit(tried, step_d, wanted_d, last=last, unrefused=unrefused)
                growth = MOST_FACTOR
            time_d, left_d = time_d + step_d, left_d - step_d

    def _judge(self, tried: Attempt, step_d: float, wanted_d: float, *, last: bool, most: float) -> bool:
        """Take a step or not, and say how long the next may be."""
        size = tried.error + LEAST_ERROR
        trend = size / step_d**4
        share = min(max(trend / self.trend, LEAST_SHARE), 1.0) if self.trend else 1.0
        first = not self.trend and most > 1.0
        factor = factor_after(size * share, FIRST_MOST_FACTOR if first else most)
        proposed_d = step_d * factor
        if not (tried.sound and tried.error <= 1.0):
            self.report["rejected"] += 1.0
            self.step_d = min(proposed_d, 0.9 * step_d) if tried.sound else 0.25 * step_d
            return False
        self._take(tried)
        self.trend = trend
        following_d = max(wanted_d, proposed_d) if last and factor >= 1.0 else proposed_d
        self.step_d = min(following_d, self.tolerances.longest_step_min / MINUTES_PER_DAY)
        return True

    def _habit(self, tried: Attempt, step_d: float, wanted_d: float, *, last: bool, unrefused: bool) -> float:
        """How long a first step that was taken could have been; no longer if a try was refused before it."""
        factor = factor_after(tried.error + LEAST_ERROR, HABIT_MOST_FACTOR if unrefused else 1.0)
        possible_d = step_d * factor
        habit_d = max(wanted_d, possible_d) if last and factor >= 1.0 else possible_d
        return min(habit_d, self.tolerances.longest_step_min / MINUTES_PER_DAY)

    def _rescue(self, number: int, tried: Attempt) -> None:
        """Take a step of order 1 below the shortest step; if even that falls below 0, the run ends."""
        if not tried.sound:
            rows = [self._first_below(self.marched), self._first_below(tried.state), 0]
            at_fault = next(row for row in rows if row is not None)
            raise MarchFailed(failure(self.layout, self.schedule, number, at_fault))
        self.report["euler"] += 1.0
        self._take(tried)
        self._begin_short()

    def _first_below(self, marched: Array) -> int | None:
        """Give the first row that has to be, and in some lane is not, a number at or above 0."""
        bad = (self.block.scale < BOUNDED) & ~(marched >= 0.0).all(axis=1)
        return int(np.argmax(bad)) if bad.any() else None

    def _take(self, tried: Attempt) -> None:
        self.marched[:] = tried.state

    def _note_extremes(self, tried: Attempt) -> None:
        for name, (what, start) in EXTREMES.items():
            row = REGISTERS.index(name)
            keep = np.minimum if start > 0.0 else np.maximum
            self.registers[row] = keep(self.registers[row], tried.seen[what])
