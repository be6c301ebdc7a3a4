"""How much working space the march needs; worked out once from the kernel's patterns and kept with its code."""

from __future__ import annotations

from functools import cache

from backreef.models.matrix import packaged_matrix
from backreef.simulation.layout import packaged_layout


@cache
def _kernel_rows() -> tuple[int, int]:
    """Rows for no slot, and rows more for each slot."""
    from backreef.simulation.march import fixed_scratch, slot_scratch_rows
    from backreef.simulation.programs import Kernel

    kernel = Kernel(packaged_matrix(), packaged_layout())
    fixed = sum(count for _, count in fixed_scratch(kernel))
    none, one = slot_scratch_rows(kernel, 0), slot_scratch_rows(kernel, 1)
    return fixed + none, one - none


def scratch_rows(slots: int) -> int:
    """Give the rows of working space for so many slots."""
    base, more = _kernel_rows()
    return base + slots * more
