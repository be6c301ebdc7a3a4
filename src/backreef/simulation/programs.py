"""All programs of the kernel, recorded from the process table and the laws."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

from backreef.models.matrix import FOOD_COUNT, Matrix
from backreef.simulation import shared_programs, slot_programs, step_matrix
from backreef.simulation.layout import Layout, without_foods
from backreef.simulation.levels import level, reshaped
from backreef.simulation.program import Program
from backreef.simulation.recording import Recording
from backreef.simulation.slot_programs import SlotPattern
from backreef.simulation.step_matrix import StepMatrix

__all__ = ["Kernel", "KernelCode", "Program", "kernel_code"]


class Kernel:
    """The programs for one process matrix and a number of foods; nothing else in them depends on a plan."""

    def __init__(self, matrix: Matrix, layout: Layout, foods: int = FOOD_COUNT) -> None:
        self.matrix, self.layout = matrix, layout
        self.recording = Recording(matrix, without_foods(layout, foods))

    @cached_property
    def step_matrix(self) -> StepMatrix:
        """Pattern of the shared step matrix."""
        return step_matrix.step_matrix(self.recording, slot_programs.coupled(self.recording))

    @cached_property
    def slot_pattern(self) -> SlotPattern:
        """Which derivatives of a slot are not 0."""
        return slot_programs.slot_pattern(self.recording)

    @property
    def slot_store_rows(self) -> int:
        """Rows of the store that keeps a slot's eliminated block."""
        return self.slot_pattern.store_rows

    def segment(self) -> Program:
        """Terms that hold for a segment."""
        return shared_programs.segment(self.recording)

    def acidity(self) -> Program:
        """The hydrogen ion and the pH at the start of a step."""
        return shared_programs.acidity(self.recording)

    def acidity_near(self) -> Program:
        """The hydrogen ion within a step."""
        return shared_programs.acidity_near(self.recording)

    def shared_rates(self) -> Program:
        """Change of every component by the table."""
        return shared_programs.shared_rates(self.recording)

    def shared_slopes(self) -> Program:
        """The step matrix of the shared system before elimination."""
        return step_matrix.shared_slopes(self.recording, self.step_matrix)

    def shared_factors(self) -> list[Program]:
        """Its elimination."""
        return step_matrix.shared_factors(self.step_matrix)

    def shared_solution(self) -> Program:
        """Its solution for a right-hand side."""
        return step_matrix.shared_solution(self.step_matrix)

    def shared_sums(self) -> Program:
        """What a step adds to the ledgers."""
        return step_matrix.shared_sums(self.recording, self.step_matrix)

    def slot_sums(self) -> Program:
        """What a step adds to a slot's totals."""
        return slot_programs.slot_sums(self.recording, self.slot_pattern)

    def slot_rates(self) -> Program:
        """What the animals of a slot do."""
        return slot_programs.slot_rates(self.recording)

    def slot_slopes(self) -> Program:
        """How a slot leaves the step matrix."""
        return slot_programs.slot_slopes(self.recording, self.step_matrix, self.slot_pattern)

    def slot_forward(self) -> Program:
        """How its right-hand side enters the shared one."""
        return slot_programs.slot_forward(self.recording, self.slot_pattern)

    def slot_backward(self) -> Program:
        """How its solution follows from the shared one."""
        return slot_programs.slot_backward(self.recording)

    def room(self) -> Program:
        """Temperature, volume and salinity after a segment."""
        return shared_programs.room(self.recording)

    def midnight(self) -> Program:
        """Deaths and growth."""
        return shared_programs.midnights(Recording(self.matrix, self.layout))


@dataclass(frozen=True, slots=True, kw_only=True)
class KernelCode:
    """Programs as they are compiled, by name, and the rows of the arrays that pass values between them."""

    programs: dict[str, Program]
    rows: dict[str, int]
    """Array -> rows; those of `SLOT_ARRAYS` for each slot."""


SLOT_ARRAYS = ("cs",)
SHARED_DIVISIONS = 4
"""Divisions of the shared system that share one reciprocal; chosen by measurement."""


def kernel_code(kernel: Kernel) -> KernelCode:
    """Record every program of a kernel, with what seldom changes taken out of those that run often."""
    constants, lights = level("constants", "c", "segment"), level("lights", "l", "segment", "light")
    slot = level("slot_constants", "cs", "segment", "trait")
    water = level("slot_water", "w", "segment", "light", "water")
    water_slopes = level("slot_water_slopes", "v", "segment", "light", "water")
    shared, levels = (constants, lights), (constants, lights, slot, water, water_slopes)
    often = (
        reshaped(kernel.acidity(), (constants,), together=SHARED_DIVISIONS),
        reshaped(kernel.acidity_near(), (constants,), together=SHARED_DIVISIONS),
        reshaped(kernel.shared_rates(), shared, together=SHARED_DIVISIONS),
        reshaped(kernel.shared_slopes(), shared, together=SHARED_DIVISIONS),
        reshaped(kernel.slot_rates(), (constants, slot, water)),
        reshaped(kernel.slot_slopes(), (constants, slot, water_slopes)),
    )
    plain = (
        kernel.segment(),
        *kernel.shared_factors(),
        kernel.shared_solution(),
        kernel.slot_forward(),
        kernel.slot_backward(),
        kernel.shared_sums(),
        kernel.slot_sums(),
        kernel.room(),
        kernel.midnight(),
    )
    programs = (*often, *plain, *(one.program for one in levels))
    return KernelCode(
        programs={program.name: program for program in programs},
        rows={one.array: max(1, len(one.rows)) for one in levels},
    )
