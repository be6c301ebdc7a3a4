"""The march as LLVM code: segments, events, midnights and error-controlled Rosenbrock steps of one block of lanes.

One compiled call carries a block over the whole horizon; nothing in it returns to Python. The straight-line work is in
the recorded programs; this module only strings them together.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from llvmlite import ir

from backreef.models.mouths import POOLS, SLOT_TRAITS
from backreef.models.water import OBSERVED_NAMES, SEGMENT_NAMES
from backreef.simulation import tableau
from backreef.simulation.events import OPERATIONS
from backreef.simulation.ir_blocks import DOUBLE, POINTER, SHORT, WHOLE, Blocks
from backreef.simulation.layout import FORCINGS, NATURE, REGISTERS, SLOT_KEPT, SLOT_MARCHED, Layout
from backreef.simulation.llvm_text import function_name
from backreef.simulation.programs import Kernel, Program
from backreef.simulation.signature import ARGUMENTS, CONTROLS, COUNTS, REPORT, SEGMENT_COLUMNS

TINY_D = 1e-12
DUST = 1e-200


@dataclass(frozen=True, slots=True)
class Scratch:
    """Places of the working rows, for so many slots at most."""

    names: tuple[tuple[str, int], ...]

    @property
    def rows(self) -> int:
        """Total rows."""
        return sum(count for _, count in self.names)


def fixed_scratch(kernel: Kernel) -> tuple[tuple[str, int], ...]:
    """Give working arrays whose size does not depend on the slots."""
    shared = kernel.layout.shared
    return (
        ("s", len(SEGMENT_NAMES)),
        ("seen", len(OBSERVED_NAMES)),
        ("m", len(kernel.pattern)),
        ("ml", max(1, len(kernel.ledger_pattern))),
        ("scalars", 16),
        ("fallen", 1),
        ("mask", 1),
        ("spare", shared),
    )


def slot_scratch_rows(kernel: Kernel, slots: int) -> int:
    """Give the rows of working arrays that depend on the slots."""
    marched = kernel.layout.shared + slots * len(SLOT_MARCHED)
    vectors = tableau.STAGES + 5
    return vectors * marched + slots * (kernel.slot_store_rows + 2 * len(POOLS))


class MarchWriter:
    """Writes the function `march` for a kernel."""

    def __init__(self, kernel: Kernel, programs: Mapping[str, Program], lanes: int) -> None:
        self.kernel, self.programs, self.lanes = kernel, programs, lanes
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

    def text(self) -> str:
        """Give the text of the function, without the programs' declarations."""
        self._prepare()
        with self.c.counted(self.count["segments"]) as segment:
            self._events(segment)
            self._segment_terms(segment)
            self._steps(segment)
            self._room_and_water(segment)
        self.c.b.ret(self.count["segments"])
        self._scratch_rows()
        lines = str(self.module).splitlines()
        known = ('declare void @"kernel_', *(('declare double @"llvm.sqrt.f64"',) if self.lanes == 1 else ()))
        kept = [line for line in lines if not line.startswith(known) and "target " not in line]
        return "\n".join(line.replace(") nounwind", ") #0") for line in kept)

    def _scratch_rows(self) -> None:
        """Write the function that says how many rows of working space so many slots need."""
        function = ir.Function(self.module, ir.FunctionType(WHOLE, [WHOLE]), "scratch_rows")
        builder = ir.IRBuilder(function.append_basic_block("entry"))
        none, one = (slot_scratch_rows(self.kernel, slots) for slots in (0, 1))
        fixed = sum(rows for _, rows in fixed_scratch(self.kernel)) + none
        more = builder.mul(function.args[0], ir.Constant(WHOLE, one - none))
        builder.ret(builder.add(more, ir.Constant(WHOLE, fixed)))

    # -- set-up --------------------------------------------------------------------------------------------
    def _declare(self) -> None:
        self.functions = {}
        for name, program in self.programs.items():
            kind = ir.FunctionType(ir.VoidType(), [POINTER] * len(program.arrays))
            self.functions[name] = ir.Function(self.module, kind, function_name(program))

    def call(self, name: str, **arrays: Any) -> None:
        """Call a program with the arrays it names."""
        program = self.programs[name]
        self.c.b.call(self.functions[name], [arrays[array] for array in program.arrays])

    def _prepare(self) -> None:
        c, b = self.c, self.c.b
        self.count = {name: c.load(self.p["counts"], i, WHOLE) for i, name in enumerate(COUNTS)}
        self.control = {name: c.load(self.p["controls"], i) for i, name in enumerate(CONTROLS)}
        self.slots = self.count["slots"]
        self.registers = self.p["state"]
        self.y = c.row_at(self.p["state"], len(REGISTERS))
        self.marched = b.add(c.whole(self.layout.shared), b.mul(self.slots, c.whole(len(SLOT_MARCHED))))
        self.kept_from = self.marched
        at: Any = c.whole(0)
        self.work: dict[str, Any] = {}
        for name, rows in fixed_scratch(self.kernel):
            self.work[name] = c.row_at(self.p["scratch"], at)
            at = b.add(at, c.whole(rows))
        for name in ("ft", "rhs", "rate", "point", "new", *(f"k{i}" for i in range(tableau.STAGES))):
            self.work[name] = c.row_at(self.p["scratch"], at)
            at = b.add(at, self.marched)
        self.work["store"] = c.row_at(self.p["scratch"], at)
        at = b.add(at, b.mul(self.slots, c.whole(self.kernel.slot_store_rows)))
        for name in ("ate", "ate_before"):
            self.work[name] = c.row_at(self.p["scratch"], at)
            at = b.add(at, b.mul(self.slots, c.whole(len(POOLS))))
        self.f = self.work["scalars"]
        self.step = c.b.gep(self.f, [c.whole(8)], source_etype=DOUBLE)
        self.h = c.variable(DOUBLE)
        b.store(self.control["first_step_d"], self.h)
        self.day = c.variable(WHOLE)
        b.store(c.whole(0), self.day)

    # -- slots ---------------------------------------------------------------------------------------------
    def slot_marched(self, base: Any, slot: Any) -> Any:
        """Rows of a slot in a marched vector."""
        b, c = self.c.b, self.c
        return c.row_at(base, b.add(c.whole(self.layout.shared), b.mul(slot, c.whole(len(SLOT_MARCHED)))))

    def slot_kept(self, slot: Any) -> Any:
        """Rows of a slot that are not marched."""
        b, c = self.c.b, self.c
        return c.row_at(self.y, b.add(self.kept_from, b.mul(slot, c.whole(len(SLOT_KEPT)))))

    def slot_block(self, base: Any, slot: Any, rows: int) -> Any:
        """Rows of a slot in an array of equal blocks."""
        return self.c.row_at(base, self.c.b.mul(slot, self.c.whole(rows)))

    def slot_traits(self, slot: Any) -> Any:
        """Traits of a slot."""
        return self.slot_block(self.p["traits"], slot, len(SLOT_TRAITS))

    def _arrays(self, point: Any, slot: Any | None = None) -> dict[str, Any]:
        arrays = {
            "y": point,
            "r": self.registers,
            "p": self.p["parameters"],
            "s": self.work["s"],
            "f": self.f,
            "seen": self.work["seen"],
            "step": self.step,
            "m": self.work["m"],
            "ml": self.work["ml"],
        }
        if slot is not None:
            arrays["ys"] = self.slot_marched(point, slot)
            arrays["traits"] = self.slot_traits(slot)
            arrays["store"] = self.slot_block(self.work["store"], slot, self.kernel.slot_store_rows)
            arrays["ate"] = self.slot_block(self.work["ate"], slot, len(POOLS))
        return arrays

    # -- events --------------------------------------------------------------------------------------------
    def _events(self, segment: Any) -> None:
        c, b = self.c, self.c.b
        first = c.load(self.p["event_from"], segment, WHOLE)
        last = c.load(self.p["event_from"], b.add(segment, c.whole(1)), WHOLE)
        some = b.icmp_signed("<", first, last)
        restart = c.b.select(some, self.control["first_step_d"], b.load(self.h, typ=DOUBLE))
        b.store(restart, self.h)
        c.store_row(c.constant_row(1.0), self.work["mask"], 0)
        with c.counted(last, first) as event:
            self._event(event)

    def _event(self, event: Any) -> None:
        c, b = self.c, self.c.b
        operation = c.load(self.p["operations"], event, SHORT)
        target = b.sext(c.load(self.p["targets"], event, SHORT), WHOLE)
        source = b.sext(c.load(self.p["sources"], event, SHORT), WHOLE)
        extra = b.sext(c.load(self.p["extras"], event, SHORT), WHOLE)
        factor = c.lanes_of(c.load(self.p["factors"], event))
        after = c.function.append_basic_block("next_event")
        choice = b.switch(operation, after)
        for number, name in enumerate(OPERATIONS):
            block = c.function.append_basic_block(name)
            choice.add_case(ir.Constant(SHORT, number), block)
            b.position_at_end(block)
            getattr(self, f"_event_{name}")(target, source, extra, factor)
            b.branch(after)
        b.position_at_end(after)

    def _event_add(self, target: Any, source: Any, extra: Any, factor: Any) -> None:
        c, b, state = self.c, self.c.b, self.p["state"]
        moved = b.fmul(b.fmul(factor, c.load_row(self.work["mask"], 0)), c.load_row(state, source))
        c.store_row(b.fadd(c.load_row(state, target), moved), state, target)

    def _event_add_drawn(self, target: Any, source: Any, extra: Any, factor: Any) -> None:
        drawn = self.c.b.fmul(factor, self.c.load_row(self.p["lane_table"], extra))
        self._event_add(target, source, extra, drawn)

    def _event_set(self, target: Any, source: Any, extra: Any, factor: Any) -> None:
        c, b, state = self.c, self.c.b, self.p["state"]
        old, mask = c.load_row(state, target), c.load_row(self.work["mask"], 0)
        new = b.fmul(factor, c.load_row(state, source))
        c.store_row(b.fadd(old, b.fmul(mask, b.fsub(new, old))), state, target)

    def _event_read(self, target: Any, source: Any, extra: Any, factor: Any) -> None:
        """A test: amount over volume, with the kit's error of this reading."""
        c, b, state = self.c, self.c.b, self.p["state"]
        old, mask = c.load_row(state, target), c.load_row(self.work["mask"], 0)
        volume = c.load_row(state, self.layout.address("V"))
        seen = b.fdiv(b.fmul(factor, c.load_row(state, source)), volume)
        seen = b.fmul(seen, c.load_row(self.p["lane_table"], extra))
        c.store_row(b.fadd(old, b.fmul(mask, b.fsub(seen, old))), state, target)

    def _event_everyone(self, target: Any, source: Any, extra: Any, factor: Any) -> None:
        self.c.store_row(self.c.constant_row(1.0), self.work["mask"], 0)

    def _narrow(self, comparison: str, source: Any, factor: Any) -> None:
        c, b = self.c, self.c.b
        test = b.fcmp_ordered(comparison, c.load_row(self.p["state"], source), factor)
        kept = b.select(test, c.load_row(self.work["mask"], 0), c.constant_row(0.0))
        c.store_row(kept, self.work["mask"], 0)

    def _event_where_above(self, target: Any, source: Any, extra: Any, factor: Any) -> None:
        self._narrow(">", source, factor)

    def _event_where_below(self, target: Any, source: Any, extra: Any, factor: Any) -> None:
        self._narrow("<", source, factor)

    def _event_note(self, target: Any, source: Any, extra: Any, factor: Any) -> None:
        self.c.store_row(self.c.load_row(self.work["mask"], 0), self.p["fired"], extra)

    def _event_midnight(self, target: Any, source: Any, extra: Any, factor: Any) -> None:
        c, b = self.c, self.c.b
        with c.counted(self.slots) as slot:
            own, kept = self.slot_marched(self.y, slot), self.slot_kept(slot)
            hazard = c.load_row(own, SLOT_MARCHED.index("hazard"))
            base = b.mul(slot, self.count["thresholds"])
            c.store_row(c.constant_row(0.0), self.work["fallen"], 0)
            with c.counted(self.count["thresholds"]) as number:
                limit = c.load_row(self.p["thresholds"], b.add(base, number))
                one = b.select(b.fcmp_ordered(">", hazard, limit), c.constant_row(1.0), c.constant_row(0.0))
                c.store_row(b.fadd(c.load_row(self.work["fallen"], 0), one), self.work["fallen"], 0)
            arrays = self._arrays(self.y, slot) | {"fallen": self.work["fallen"], "kept": kept, "out": self.y}
            arrays |= {"nature": self.slot_block(self.p["nature"], slot, len(NATURE))}
            self.call("midnight", **arrays)

    def _event_write_day(self, target: Any, source: Any, extra: Any, factor: Any) -> None:
        """Copy the whole state to the output of the day; begin the extremes of the next."""
        c, b = self.c, self.c.b
        day = b.load(self.day, typ=WHOLE)
        rows = self.count["rows"]
        base = b.mul(day, rows)
        with c.counted(rows) as row:
            c.store_row(c.load_row(self.p["state"], row), self.p["output"], b.add(base, row))
        b.store(b.add(day, c.whole(1)), self.day)
        for name, start in (("o2_least", 1e9), ("nh3_most", 0.0), ("ph_least", 99.0), ("ph_most", 0.0)):
            c.store_row(c.constant_row(start), self.p["state"], self.layout.address(name))

    # -- a segment -----------------------------------------------------------------------------------------
    def _segment_value(self, segment: Any, name: str) -> Any:
        b, c = self.c.b, self.c
        at = b.mul(segment, c.whole(len(SEGMENT_COLUMNS)))
        return c.load(self.p["segments"], b.add(at, c.whole(SEGMENT_COLUMNS.index(name))))

    def _light_at(self, segment: Any, time: Any) -> None:
        """Set the forcings for a time since the start of the segment."""
        b, c = self.c.b, self.c
        for shape, slope in (("day_shape", "day_slope"), ("refugium_shape", "refugium_slope")):
            rise = b.fmul(self._segment_value(segment, slope), time)
            c.store(b.fadd(self._segment_value(segment, shape), rise), self.f, FORCINGS.index(shape))

    def _segment_terms(self, segment: Any) -> None:
        for index, name in enumerate(FORCINGS):
            self.c.store(self._segment_value(segment, name), self.f, index)
        self.call("segment", **self._arrays(self.y), out=self.work["s"])

    def _room_and_water(self, segment: Any) -> None:
        self._light_at(segment, self.c.number(0.0))
        self.c.store(self._segment_value(segment, "length_d"), self.step, 0)
        self.call("room", **self._arrays(self.y))

    # -- steps ---------------------------------------------------------------------------------------------
    def _steps(self, segment: Any) -> None:
        c, b = self.c, self.c.b
        self.time, self.left, self.growth = (c.variable(DOUBLE) for _ in range(3))
        b.store(c.number(0.0), self.time)
        b.store(self._segment_value(segment, "length_d"), self.left)
        b.store(c.number(4.0), self.growth)
        with c.repeat() as done:
            go_on = c.function.append_basic_block("step")
            b.cbranch(b.fcmp_ordered(">", b.load(self.left, typ=DOUBLE), c.number(TINY_D)), go_on, done)
            b.position_at_end(go_on)
            self._one_step(segment)

    def _one_step(self, segment: Any) -> None:
        c, b = self.c, self.c.b
        wanted, left = b.load(self.h, typ=DOUBLE), b.load(self.left, typ=DOUBLE)
        last = b.fcmp_ordered(">=", wanted, b.fmul(left, c.number(0.999)))
        halves = b.fcmp_ordered(">", wanted, b.fmul(left, c.number(0.5)))
        h = b.select(last, left, b.select(halves, b.fmul(left, c.number(0.5)), wanted))
        short = b.fcmp_ordered("<", h, self.control["shortest_step_d"])
        rescue = b.and_(short, b.fcmp_ordered("<", h, left))
        with b.if_else(rescue) as (small, normal):
            with small:
                self._euler_step(segment, h)
            with normal:
                self._rosenbrock_step(segment, h, wanted, last)

    def _slopes(self, segment: Any, inverse: Any, weight: Any) -> None:
        """Rates at the start of the step and the eliminated, factored step matrix."""
        c = self.c
        c.store(inverse, self.step, 0)
        c.store(weight, self.step, 1)
        self._light_at(segment, c.b.load(self.time, typ=DOUBLE))
        self._rates(self.y)
        with c.counted(c.b.mul(self.slots, c.whole(len(POOLS)))) as row:
            c.store_row(c.load_row(self.work["ate"], row), self.work["ate_before"], row)
        self.call("shared_slopes", **self._arrays(self.y), ft=self.work["ft"])
        with c.counted(self.slots) as slot:
            arrays = self._arrays(self.y, slot) | {"ft": self.work["ft"]}
            self.call("slot_slopes", **arrays, fts=self.slot_marched(self.work["ft"], slot))
        for name in self.programs:
            if name.startswith("shared_factors"):
                self.call(name, **self._arrays(self.y))

    def _rates(self, point: Any) -> None:
        self.call("shared_rates", **self._arrays(point), out=self.work["rate"])
        with self.c.counted(self.slots) as slot:
            own = self.slot_marched(self.work["rate"], slot)
            self.call("slot_rates", **self._arrays(point, slot), out=self.work["rate"], outs=own)

    def _solve(self, stage: Any) -> None:
        """Solve the step matrix for the right-hand side in `rhs`."""
        with self.c.counted(self.slots) as slot:
            own = self.slot_marched(self.work["rhs"], slot)
            self.call("slot_forward", **self._arrays(self.y, slot), b=self.work["rhs"], bs=own)
        self.call("shared_solution", **self._arrays(self.y), b=self.work["rhs"], out=stage)
        with self.c.counted(self.slots) as slot:
            own, result = self.slot_marched(self.work["rhs"], slot), self.slot_marched(stage, slot)
            self.call("slot_backward", **self._arrays(self.y, slot), bs=own, k=stage, outs=result)

    def _rosenbrock_step(self, segment: Any, h: Any, wanted: Any, last: Any) -> None:
        c, b = self.c, self.c.b
        weight = b.fmul(h, c.number(tableau.GAMMA))
        self._slopes(segment, b.fdiv(c.number(1.0), weight), weight)
        per_h = b.fdiv(c.number(1.0), h)
        self._note_extremes()
        self._stage_zero(h)
        for stage in range(1, tableau.STAGES):
            self._stage(segment, stage, h, per_h)
        self._judge_step(h, wanted, last)

    def _stage_zero(self, h: Any) -> None:
        c, b = self.c, self.c.b
        time_weight = c.lanes_of(b.fmul(h, c.number(tableau.GAMMA_TIME[0])))
        with c.counted(self.marched) as row:
            slope = b.fmul(time_weight, c.load_row(self.work["ft"], row))
            c.store_row(b.fadd(c.load_row(self.work["rate"], row), slope), self.work["rhs"], row)
        self._solve(self.work["k0"])

    def _stage(self, segment: Any, stage: int, h: Any, per_h: Any) -> None:
        c, b = self.c, self.c.b
        with c.counted(self.marched) as row:
            value = c.load_row(self.y, row)
            for before, weight in enumerate(tableau.A[stage]):
                value = b.fadd(value, b.fmul(c.constant_row(weight), c.load_row(self.work[f"k{before}"], row)))
            c.store_row(value, self.work["point"], row)
        at = b.fadd(b.load(self.time, typ=DOUBLE), b.fmul(h, c.number(tableau.ALPHA[stage])))
        self._light_at(segment, at)
        self._rates(self.work["point"])
        time_weight = c.lanes_of(b.fmul(h, c.number(tableau.GAMMA_TIME[stage])))
        factors = [c.lanes_of(b.fmul(per_h, c.number(weight))) for weight in tableau.C[stage]]
        with c.counted(self.marched) as row:
            value = c.load_row(self.work["rate"], row)
            for before, factor in enumerate(factors):
                value = b.fadd(value, b.fmul(factor, c.load_row(self.work[f"k{before}"], row)))
            if tableau.GAMMA_TIME[stage]:
                value = b.fadd(value, b.fmul(time_weight, c.load_row(self.work["ft"], row)))
            c.store_row(value, self.work["rhs"], row)
        self._solve(self.work[f"k{stage}"])

    def _note_extremes(self) -> None:
        c, b, state = self.c, self.c.b, self.p["state"]
        for name, seen, least in (
            ("o2_least", "O2", True),
            ("nh3_most", "nh3", False),
            ("ph_least", "ph", True),
            ("ph_most", "ph", False),
        ):
            value = c.load_row(self.work["seen"], OBSERVED_NAMES.index(seen))
            old = c.load_row(state, self.layout.address(name))
            new = c.smaller(old, value) if least else c.larger(old, value)
            c.store_row(new, state, self.layout.address(name))

    def _judge_step(self, h: Any, wanted: Any, last: Any) -> None:
        c, b = self.c, self.c.b
        error, lowest, sound = self._measure()
        enough = b.and_(b.fcmp_ordered(">=", lowest, c.number(0.0)), sound)
        fine = b.and_(b.fcmp_ordered("<=", error, c.number(1.0)), enough)
        root = self._fourth_root(b.fadd(error, c.number(1e-12)))
        factor = b.fdiv(c.number(0.9), root)
        most = b.load(self.growth, typ=DOUBLE)
        factor = b.select(b.fcmp_ordered("<", factor, c.number(0.2)), c.number(0.2), factor)
        factor = b.select(b.fcmp_ordered(">", factor, most), most, factor)
        proposed = b.fmul(h, factor)
        self._tally("steps")
        with b.if_else(fine) as (accept, reject):
            with accept:
                self._accept(h)
                longest = self.control["longest_step_d"]
                kept = b.select(b.fcmp_ordered(">", wanted, proposed), wanted, proposed)
                clipped = b.and_(last, b.fcmp_ordered(">=", factor, c.number(1.0)))
                following = b.select(clipped, kept, proposed)
                following = b.select(b.fcmp_ordered(">", following, longest), longest, following)
                b.store(following, self.h)
                b.store(c.number(4.0), self.growth)
            with reject:
                self._tally("rejected")
                smaller = b.select(
                    b.fcmp_ordered("<", proposed, b.fmul(h, c.number(0.9))), proposed, b.fmul(h, c.number(0.9))
                )
                b.store(b.select(enough, smaller, b.fmul(h, c.number(0.25))), self.h)
                b.store(c.number(1.0), self.growth)

    def _fourth_root(self, value: Any) -> Any:
        name = "llvm.sqrt.f64"
        root = self.module.globals.get(name) or ir.Function(self.module, ir.FunctionType(DOUBLE, [DOUBLE]), name)
        return self.c.b.call(root, [self.c.b.call(root, [value])])

    def _measure(self) -> tuple[Any, Any, Any]:
        """New state into `new`; its largest scaled error, its lowest bounded amount, whether all is a number."""
        c, b = self.c, self.c.b
        worst, lowest, total = (c.variable(c.row_type) for _ in range(3))
        b.store(c.constant_row(0.0), worst)
        b.store(c.constant_row(0.0), lowest)
        b.store(c.constant_row(0.0), total)
        relative = c.lanes_of(self.control["relative"])
        absolute = b.fmul(self.control["relative"], self.control["absolute_share"])
        with c.counted(self.marched) as row:
            value = c.load_row(self.y, row)
            for stage, weight in enumerate(tableau.WEIGHTS):
                value = b.fadd(value, b.fmul(c.constant_row(weight), c.load_row(self.work[f"k{stage}"], row)))
            value = self._without_dust(value)
            c.store_row(value, self.work["new"], row)
            error = c.load_row(self.work[f"k{tableau.ERROR_STAGE}"], row)
            scale = c.load(self.p["scale"], row)
            yardstick = b.fadd(c.lanes_of(b.fmul(absolute, scale)), b.fmul(relative, value))
            size = c.larger(error, b.fneg(error))
            bounded = b.fcmp_ordered("<", scale, c.number(1e200))
            ratio = b.select(bounded, b.fdiv(size, yardstick), c.constant_row(0.0))
            b.store(c.larger(ratio, b.load(worst, typ=c.row_type)), worst)
            floor = b.select(bounded, value, c.constant_row(0.0))
            b.store(c.smaller(floor, b.load(lowest, typ=c.row_type)), lowest)
            b.store(b.fadd(b.load(total, typ=c.row_type), value), total)
        summed = c.variable(DOUBLE)
        b.store(c.number(0.0), summed)
        whole = b.load(total, typ=c.row_type)
        spread = b.fmul(whole, c.constant_row(0.0))
        finite = b.fcmp_ordered("==", c.least(spread), c.number(0.0))
        finite = b.and_(finite, b.fcmp_ordered("==", self._sum(spread), c.number(0.0)))
        return c.greatest(b.load(worst, typ=c.row_type)), c.least(b.load(lowest, typ=c.row_type)), finite

    def _without_dust(self, value: Any) -> Any:
        """Amounts under 1e-200 become 0: they mean nothing, and processors are slow at denormal numbers."""
        c, b = self.c, self.c.b
        small = b.fcmp_ordered("<", c.larger(value, b.fneg(value)), c.constant_row(DUST))
        return b.select(small, c.constant_row(0.0), value)

    def _sum(self, row: Any) -> Any:
        if self.lanes == 1:
            return row
        c, b = self.c, self.c.b
        total: Any = c.number(0.0)
        for lane in range(self.lanes):
            total = b.fadd(total, b.extract_element(row, ir.Constant(SHORT, lane)))
        return total

    def _accept(self, h: Any) -> None:
        c, b = self.c, self.c.b
        with c.counted(self.marched) as row:
            c.store_row(c.load_row(self.work["new"], row), self.y, row)
        wide = c.lanes_of(b.fmul(h, c.number(0.5)))
        first = SLOT_KEPT.index(f"ate_{POOLS[0]}")
        with c.counted(self.slots) as slot:
            kept = self.slot_kept(slot)
            ate, before = (self.slot_block(self.work[name], slot, len(POOLS)) for name in ("ate", "ate_before"))
            for pool in range(len(POOLS)):
                more = b.fmul(wide, b.fadd(c.load_row(ate, pool), c.load_row(before, pool)))
                c.store_row(b.fadd(c.load_row(kept, first + pool), more), kept, first + pool)
        b.store(b.fadd(b.load(self.time, typ=DOUBLE), h), self.time)
        b.store(b.fsub(b.load(self.left, typ=DOUBLE), h), self.left)

    def _tally(self, name: str) -> None:
        index = REPORT.index(name)
        self.c.store(self.c.b.fadd(self.c.load(self.p["report"], index), self.c.number(1.0)), self.p["report"], index)

    def _euler_step(self, segment: Any, h: Any) -> None:
        """Below the shortest step: one linearly implicit Euler step, counted; if it still fails, the run ends."""
        c, b = self.c, self.c.b
        shortest = self.control["shortest_step_d"]
        left = b.load(self.left, typ=DOUBLE)
        step = b.select(b.fcmp_ordered("<", shortest, left), shortest, left)
        self._slopes(segment, b.fdiv(c.number(1.0), step), step)
        with c.counted(self.marched) as row:
            slope = b.fmul(c.lanes_of(step), c.load_row(self.work["ft"], row))
            c.store_row(b.fadd(c.load_row(self.work["rate"], row), slope), self.work["rhs"], row)
        self._solve(self.work["k0"])
        lowest = c.variable(c.row_type)
        b.store(c.constant_row(0.0), lowest)
        with c.counted(self.marched) as row:
            value = b.fadd(c.load_row(self.y, row), c.load_row(self.work["k0"], row))
            c.store_row(value, self.work["new"], row)
            bounded = b.fcmp_ordered("<", c.load(self.p["scale"], row), c.number(1e200))
            floor = b.select(bounded, value, c.constant_row(0.0))
            low = b.load(lowest, typ=c.row_type)
            below = b.fcmp_unordered("<", floor, low)
            b.store(b.select(below, floor, low), lowest)
            with b.if_then(b.fcmp_unordered("<", c.least(floor), c.number(0.0))):
                c.store(b.sitofp(row, DOUBLE), self.p["report"], REPORT.index("failed_row"))
        with b.if_then(b.fcmp_unordered("<", c.least(b.load(lowest, typ=c.row_type)), c.number(0.0))):
            c.store(b.sitofp(segment, DOUBLE), self.p["report"], REPORT.index("failed_segment"))
            b.ret(segment)
        self._tally("euler")
        self._accept(step)
        b.store(self.control["first_step_d"], self.h)
