"""What all parts of the compiled march share: pointers, counts, working rows, and where a slot's rows lie."""

from __future__ import annotations

from functools import reduce
from typing import Any

from llvmlite import ir

from backreef.models.mouths import POOLS, SLOT_TRAITS
from backreef.models.water import OBSERVED_NAMES, SEGMENT_NAMES
from backreef.simulation import tableau
from backreef.simulation.ir_blocks import DOUBLE, FLAG, POINTER, WHOLE, Blocks
from backreef.simulation.layout import FORCINGS, LIGHTS, REGISTERS, SLOT_KEPT, SLOT_MARCHED, Layout
from backreef.simulation.llvm_text import function_name
from backreef.simulation.programs import SLOT_ARRAYS, Kernel, KernelCode
from backreef.simulation.signature import ARGUMENTS, CONTROLS, COUNTS, REPORT, SEGMENT_COLUMNS

VECTORS = ("ft", "rhs", "rate", "point", "new", *(f"k{stage}" for stage in range(tableau.STAGES)))
"""Working vectors of all marched rows."""


class Frame:
    """The function `march` under construction, and everything in it that has a name."""

    def __init__(self, kernel: Kernel, code: KernelCode, lanes: int) -> None:
        self.kernel, self.code, self.programs, self.lanes = kernel, code, code.programs, lanes
        self.layout: Layout = kernel.layout
        self.module = ir.Module("backreef")
        kind = ir.FunctionType(WHOLE, [POINTER] * len(ARGUMENTS))
        function = ir.Function(self.module, kind, "march")
        function.attributes.add("nounwind")
        self.c = Blocks(function, lanes)
        self.p: dict[str, Any] = dict(zip(ARGUMENTS, function.args, strict=True))
        for name, argument in self.p.items():
            argument.name = name
        self._declare()
        self._divide()

    def _declare(self) -> None:
        self.functions = {}
        for name, program in self.programs.items():
            kind = ir.FunctionType(ir.VoidType(), [POINTER] * len(program.arrays))
            self.functions[name] = ir.Function(self.module, kind, function_name(program))

    def _divide(self) -> None:
        """Read the counts and controls, and give each working array its place in the scratch rows."""
        c, b = self.c, self.c.b
        self.count = {name: c.load(self.p["counts"], i, WHOLE) for i, name in enumerate(COUNTS)}
        self.control = {name: c.load(self.p["controls"], i) for i, name in enumerate(CONTROLS)}
        self.slots = self.count["slots"]
        self.state = self.p["state"]
        self.y = c.row_at(self.state, len(REGISTERS))
        self.marched = b.add(c.whole(self.layout.shared), b.mul(self.slots, c.whole(len(SLOT_MARCHED))))
        at: Any = c.whole(0)
        self.work: dict[str, Any] = {}
        sizes = [(name, c.whole(rows)) for name, rows in fixed_scratch(self)]
        sizes += [(name, self.marched) for name in VECTORS]
        sizes += [(name, b.mul(self.slots, c.whole(rows))) for name, rows in slot_arrays(self).items()]
        for name, rows in sizes:
            self.work[name] = c.row_at(self.p["scratch"], at)
            at = b.add(at, rows)
        self.f = self.work["scalars"]
        self.step = b.gep(self.f, [c.whole(8)], source_etype=DOUBLE)
        self.h = c.variable(DOUBLE)
        b.store(self.control["first_step_d"], self.h)
        self.light_moves = c.variable(FLAG)
        self.day = c.variable(WHOLE)
        b.store(c.whole(0), self.day)

    def call(self, name: str, **arrays: Any) -> None:
        """Call a program with the arrays it names."""
        program = self.programs[name]
        self.c.b.call(self.functions[name], [arrays[array] for array in program.arrays])

    def tally(self, name: str) -> None:
        """Count one more in the report."""
        index = REPORT.index(name)
        more = self.c.b.fadd(self.c.load(self.p["report"], index), self.c.number(1.0))
        self.c.store(more, self.p["report"], index)

    # -- slots ---------------------------------------------------------------------------------------------
    def slot_marched(self, base: Any, slot: Any) -> Any:
        """Rows of a slot in a marched vector."""
        b, c = self.c.b, self.c
        return c.row_at(base, b.add(c.whole(self.layout.shared), b.mul(slot, c.whole(len(SLOT_MARCHED)))))

    def slot_kept(self, slot: Any) -> Any:
        """Rows of a slot that are not marched."""
        b, c = self.c.b, self.c
        return c.row_at(self.y, b.add(self.marched, b.mul(slot, c.whole(len(SLOT_KEPT)))))

    def slot_block(self, base: Any, slot: Any, rows: int) -> Any:
        """Rows of a slot in an array of equal blocks."""
        return self.c.row_at(base, self.c.b.mul(slot, self.c.whole(rows)))

    def arrays(self, point: Any, slot: Any | None = None) -> dict[str, Any]:
        """Arrays that programs may name, at a marched vector and for a slot."""
        arrays = {
            "y": point,
            "r": self.state,
            "p": self.p["parameters"],
            "s": self.work["s"],
            "f": self.f,
            "seen": self.work["seen"],
            "step": self.step,
            "m": self.work["m"],
            "ml": self.work["ml"],
        }
        arrays |= {name: self.work[name] for name in self.code.rows if name not in SLOT_ARRAYS}
        if slot is not None:
            arrays["ys"] = self.slot_marched(point, slot)
            arrays["traits"] = self.slot_block(self.p["traits"], slot, len(SLOT_TRAITS))
            for name, rows in slot_arrays(self).items():
                arrays[name] = self.slot_block(self.work[name], slot, rows)
        return arrays

    # -- segments ------------------------------------------------------------------------------------------
    def segment_value(self, segment: Any, name: str) -> Any:
        """A column of the schedule's segments."""
        b, c = self.c.b, self.c
        at = b.mul(segment, c.whole(len(SEGMENT_COLUMNS)))
        return c.load(self.p["segments"], b.add(at, c.whole(SEGMENT_COLUMNS.index(name))))

    def note_whether_light_moves(self, segment: Any) -> None:
        """Remember whether lamps ramp up or down in this segment."""
        b, c = self.c.b, self.c
        moves = [
            b.fcmp_ordered("!=", self.segment_value(segment, slope), c.number(0.0))
            for slope in LIGHTS.values()
        ]
        b.store(reduce(b.or_, moves), self.light_moves)

    def light_at(self, segment: Any, time: Any) -> None:
        """Set the light, and what follows from it, for a time since the start of the segment."""
        b, c = self.c.b, self.c
        with b.if_then(b.load(self.light_moves, typ=FLAG)):
            for shape, slope in LIGHTS.items():
                rise = b.fmul(self.segment_value(segment, slope), time)
                c.store(b.fadd(self.segment_value(segment, shape), rise), self.f, FORCINGS.index(shape))
            self.call("lights", **self.arrays(self.y))


def fixed_scratch(frame: Frame) -> tuple[tuple[str, int], ...]:
    """Give working arrays whose size does not depend on the slots."""
    matrix = frame.kernel.step_matrix
    return (
        ("s", len(SEGMENT_NAMES)),
        ("seen", len(OBSERVED_NAMES)),
        ("m", len(matrix.pattern)),
        ("ml", max(1, len(matrix.ledgers))),
        ("scalars", 16),
        ("fallen", 1),
        ("mask", 1),
        *((name, rows) for name, rows in frame.code.rows.items() if name not in SLOT_ARRAYS),
    )


def slot_arrays(frame: Frame) -> dict[str, int]:
    """Give working arrays of which each slot has a block, and the rows of a block."""
    own = {name: rows for name, rows in frame.code.rows.items() if name in SLOT_ARRAYS}
    return own | {"store": frame.kernel.slot_store_rows, "ate": len(POOLS), "ate_before": len(POOLS)}


def slot_scratch_rows(frame: Frame, slots: int) -> int:
    """Give the rows of working arrays that depend on the slots."""
    marched = frame.layout.shared + slots * len(SLOT_MARCHED)
    return len(VECTORS) * marched + slots * sum(slot_arrays(frame).values())
