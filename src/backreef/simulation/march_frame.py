"""What all parts of the compiled march share: pointers, counts, working rows, and where a slot's rows lie.

A step works on compact vectors: the active components, then gut and reserve of each slot that lives (in which
some lane has an animal). What only collects, ledgers and the totals of slots, is kept apart and summed once a
step.
"""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from functools import reduce
from typing import Any

from llvmlite import ir

from backreef.models.mouths import SLOT_STATES, SLOT_TOTALS, SLOT_TRAITS
from backreef.models.water import OBSERVED_NAMES, SEGMENT_NAMES
from backreef.simulation import tableau
from backreef.simulation.ir_blocks import DOUBLE, FLAG, POINTER, WHOLE, Blocks
from backreef.simulation.layout import FORCINGS, LIGHTS, REGISTERS, SLOT_KEPT, SLOT_MARCHED, Layout
from backreef.simulation.llvm_text import function_name
from backreef.simulation.programs import SLOT_ARRAYS, Kernel, KernelCode
from backreef.simulation.signature import ARGUMENTS, CONTROLS, COUNTS, REPORT, SEGMENT_COLUMNS, STEP

MOVING = ("start", "point", "rate", "rhs", "ft", "mean", "new", *(f"k{i}" for i in range(tableau.STAGES)))
"""Working vectors of the rows that rates depend on."""
SUMMED = ("sums", "more")
"""Working vectors of the rows that only collect: their weighted rates, and what a step adds to them."""


class Frame:
    """The function `march` under construction, and everything in it that has a name."""

    def __init__(self, kernel: Kernel, code: KernelCode, lanes: int) -> None:
        self.kernel, self.code, self.programs, self.lanes = kernel, code, code.programs, lanes
        self.layout: Layout = kernel.layout
        self.active = kernel.recording.layout.active
        self.ledgers = self.layout.shared - self.layout.active
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
        self.state = self.p["state"]
        self.y = c.row_at(self.state, len(REGISTERS))
        slots, at = self.count["slots"], c.whole(0)
        self.work: dict[str, Any] = {}
        for name, rows, each in working_arrays(self):
            self.work[name] = c.row_at(self.p["scratch"], at)
            at = b.add(at, b.add(c.whole(rows), b.mul(slots, c.whole(each))))
        self.f = self.work["scalars"]
        self.step = b.gep(self.f, [c.whole(STEP_AT)], source_etype=DOUBLE)
        self.h, self.trend, self.light_moves = c.variable(DOUBLE), c.variable(DOUBLE), c.variable(FLAG)
        self.jumped = c.variable(WHOLE)
        self._go_on()
        self.day, self.living = c.variable(WHOLE), c.variable(WHOLE)
        b.store(c.whole(0), self.day)

    def _go_on(self) -> None:
        """Begin, or take up the step that the march before stopped with."""
        b, report = self.c.b, self.p["report"]
        again = b.icmp_signed(">", self.count["first"], self.c.whole(0))
        with b.if_else(again) as (going_on, beginning):
            with going_on:
                b.store(self.c.load(report, step_at("next_step_d")), self.h)
                b.store(self.c.load(report, step_at("trend")), self.trend)
            with beginning:
                self.begin_short()

    def remember_step(self) -> None:
        """Leave the next step and the trend of its error for a march that goes on."""
        b, report = self.c.b, self.p["report"]
        self.c.store(b.load(self.h, typ=DOUBLE), report, step_at("next_step_d"))
        self.c.store(b.load(self.trend, typ=DOUBLE), report, step_at("trend"))

    def begin_short(self) -> None:
        """Begin with a short step, of whose error nothing is known."""
        self.c.b.store(self.control["first_step_d"], self.h)
        self.c.b.store(self.c.number(0.0), self.trend)

    def call(self, name: str, **arrays: Any) -> None:
        """Call a program with the arrays it names."""
        program = self.programs[name]
        self.c.b.call(self.functions[name], [arrays[array] for array in program.arrays])

    def tally(self, name: str) -> None:
        """Count one more in the report."""
        index = REPORT.index(name)
        more = self.c.b.fadd(self.c.load(self.p["report"], index), self.c.number(1.0))
        self.c.store(more, self.p["report"], index)

    def yardstick(self, scale: Any, value: Any) -> Any:
        """How far a row may err in a step, from its typical size and its value."""
        c, b = self.c, self.c.b
        relative = self.control["relative"]
        absolute = b.fmul(b.fmul(relative, self.control["absolute_share"]), scale)
        return b.fadd(c.lanes_of(absolute), b.fmul(c.lanes_of(relative), value))

    # -- slots of the state --------------------------------------------------------------------------------
    def slot_state(self, slot: Any) -> Any:
        """Rows of a slot in the state that the march carries."""
        b, c = self.c.b, self.c
        return c.row_at(self.y, b.add(c.whole(self.layout.shared), b.mul(slot, c.whole(len(SLOT_MARCHED)))))

    def slot_kept(self, slot: Any) -> Any:
        """The other rows of a slot in the state."""
        b, c = self.c.b, self.c
        first = b.add(c.whole(self.layout.shared), b.mul(self.count["slots"], c.whole(len(SLOT_MARCHED))))
        return c.row_at(self.y, b.add(first, b.mul(slot, c.whole(len(SLOT_KEPT)))))

    def slot_traits(self, slot: Any) -> Any:
        """Traits of a slot."""
        return self.block(self.p["traits"], slot, len(SLOT_TRAITS))

    def block(self, base: Any, number: Any, rows: int) -> Any:
        """Rows of one of many equal blocks."""
        return self.c.row_at(base, self.c.b.mul(number, self.c.whole(rows)))

    def runs(self) -> list[tuple[int, int, int]]:
        """Give runs of rows that move: first and one past the last in the state, first in the vectors."""
        names = self.kernel.recording.active
        runs: list[tuple[int, int, int]] = []
        for place, name in enumerate(names):
            row = self.layout.component(name)
            if runs and runs[-1][1] == row:
                runs[-1] = (runs[-1][0], row + 1, runs[-1][2])
            else:
                runs.append((row, row + 1, place))
        return runs

    # -- living slots --------------------------------------------------------------------------------------
    @contextmanager
    def each_living(self) -> Iterator[tuple[Any, Any]]:
        """Loop over the slots that live: position among them, and slot."""
        c = self.c
        with c.counted(c.b.load(self.living, typ=WHOLE)) as position:
            yield position, c.load(self.work["living"], position, WHOLE)

    def own(self, vector: Any, position: Any) -> Any:
        """Gut and reserve of a living slot in a compact vector."""
        b, c = self.c.b, self.c
        return c.row_at(vector, b.add(c.whole(self.active), b.mul(position, c.whole(len(SLOT_STATES)))))

    def own_sums(self, vector: Any, position: Any) -> Any:
        """Totals of a living slot in a vector of what collects."""
        b, c = self.c.b, self.c
        return c.row_at(vector, b.add(c.whole(self.ledgers), b.mul(position, c.whole(len(SLOT_TOTALS)))))

    def moving_rows(self) -> Any:
        """Number of rows in a compact vector."""
        b, c = self.c.b, self.c
        return b.add(c.whole(self.active), b.mul(b.load(self.living, typ=WHOLE), c.whole(len(SLOT_STATES))))

    def summed_rows(self) -> Any:
        """Number of rows that collect."""
        b, c = self.c.b, self.c
        return b.add(c.whole(self.ledgers), b.mul(b.load(self.living, typ=WHOLE), c.whole(len(SLOT_TOTALS))))

    def arrays(self, point: Any, living: tuple[Any, Any] | None = None) -> dict[str, Any]:
        """Arrays that programs may name, at a compact vector and for a living slot."""
        arrays = {
            "y": point,
            "r": self.state,
            "p": self.p["parameters"],
            "f": self.f,
            "step": self.step,
            "out": self.work["rate"],
        }
        arrays |= {name: self.work[name] for name in (*SHARED_ARRAYS, *self.code.rows)}
        if living is not None:
            position, slot = living
            arrays |= {
                "ys": self.own(point, position),
                "traits": self.slot_traits(slot),
                "own_sums": self.own_sums(self.work["sums"], position),
                "own_more": self.own_sums(self.work["more"], position),
                "own_mean": self.own(self.work["mean"], position),
            }
            for name, rows in slot_blocks(self).items():
                arrays[name] = self.block(self.work[name], position, rows)
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
            self.call("lights", **self.arrays(self.work["start"]))


ROW = 8
"""Numbers that the forcings and the numbers of a step begin at a multiple of."""
STEP_AT = -(-len(FORCINGS) // ROW) * ROW
"""Place of the numbers of a step behind the forcings."""
SHARED_ARRAYS = ("s", "seen", "acidity", "m", "ml", "ft", "sums", "more", "mean")
"""Working arrays that programs know by their own names."""


def step_at(name: str) -> int:
    """Give the place of a number of the next step behind the report."""
    return len(REPORT) + STEP.index(name)


def slot_blocks(frame: Frame) -> dict[str, int]:
    """Give working arrays of which each living slot has a block, and the rows of a block."""
    own = {name: rows for name, rows in frame.code.rows.items() if name in SLOT_ARRAYS}
    return own | {"store": frame.kernel.slot_store_rows}


def working_arrays(frame: Frame) -> list[tuple[str, int, int]]:
    """Give name, fixed rows, and rows for each slot of all working arrays."""
    matrix = frame.kernel.step_matrix
    return [
        ("s", len(SEGMENT_NAMES), 0),
        ("seen", len(OBSERVED_NAMES), 0),
        ("acidity", 2, 0),
        ("m", len(matrix.pattern), 0),
        ("ml", max(1, len(matrix.ledgers)), 0),
        ("scalars", STEP_AT + ROW, 0),
        ("fallen", 1, 0),
        ("mask", 1, 0),
        ("living", 1, 1),
        ("scale", frame.active, len(SLOT_STATES)),
        *((name, frame.active, len(SLOT_STATES)) for name in MOVING),
        *((name, frame.ledgers, len(SLOT_TOTALS)) for name in SUMMED),
        *((name, rows, 0) for name, rows in frame.code.rows.items() if name not in SLOT_ARRAYS),
        *((name, 0, rows) for name, rows in slot_blocks(frame).items()),
    ]
