"""All programs of the kernel, recorded from the process table and the laws."""

from __future__ import annotations

from collections.abc import Callable
from functools import cached_property

from backreef.models.matrix import Matrix
from backreef.simulation import shared_programs, slot_programs, step_matrix
from backreef.simulation.layout import Layout
from backreef.simulation.program import Program, Store
from backreef.simulation.recording import Recording
from backreef.simulation.step_matrix import StepMatrix

__all__ = ["Kernel", "Program", "Store", "all_programs"]


class Kernel:
    """The programs for one process matrix; nothing in them depends on a plan."""

    def __init__(self, matrix: Matrix, layout: Layout) -> None:
        self.matrix, self.layout = matrix, layout
        self.recording = Recording(matrix, layout)

    @cached_property
    def step_matrix(self) -> StepMatrix:
        """Pattern of the shared step matrix."""
        return step_matrix.step_matrix(self.recording, slot_programs.coupled(self.recording))

    @cached_property
    def slot_store_rows(self) -> int:
        """Rows of the store that keeps a slot's eliminated block."""
        return slot_programs.StoreAt.totals + len(slot_programs.total_entries(self.recording))

    def segment(self) -> Program:
        """Terms that hold for a segment."""
        return shared_programs.segment(self.recording)

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
        return step_matrix.shared_solution(self.recording, self.step_matrix)

    def slot_rates(self) -> Program:
        """What the animals of a slot do."""
        return slot_programs.slot_rates(self.recording)

    def slot_slopes(self) -> Program:
        """How a slot leaves the step matrix."""
        return slot_programs.slot_slopes(self.recording, self.step_matrix)

    def slot_forward(self) -> Program:
        """How its right-hand side enters the shared one."""
        return slot_programs.slot_forward(self.recording)

    def slot_backward(self) -> Program:
        """How its solution follows from the shared one."""
        return slot_programs.slot_backward(self.recording)

    def room(self) -> Program:
        """Temperature, volume and salinity after a segment."""
        return shared_programs.room(self.recording)

    def midnight(self) -> Program:
        """Deaths and growth."""
        return shared_programs.midnights(self.recording)


SINGLE_PROGRAMS: tuple[Callable[[Kernel], Program], ...] = (
    Kernel.segment,
    Kernel.shared_rates,
    Kernel.shared_slopes,
    Kernel.shared_solution,
    Kernel.slot_rates,
    Kernel.slot_slopes,
    Kernel.slot_forward,
    Kernel.slot_backward,
    Kernel.room,
    Kernel.midnight,
)


def all_programs(kernel: Kernel) -> dict[str, Program]:
    """Record every program of a kernel, by name."""
    programs = [make(kernel) for make in SINGLE_PROGRAMS]
    return {program.name: program for program in (*programs, *kernel.shared_factors())}
