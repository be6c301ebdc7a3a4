"""Steps of the compiled march: rates, step matrix, Rosenbrock stages, and whether a step is taken."""

from __future__ import annotations

from typing import Any

from llvmlite import ir

from backreef.models.mouths import SLOT_STATES, SLOT_TOTALS
from backreef.models.water import OBSERVED_NAMES
from backreef.simulation import tableau
from backreef.simulation.ir_blocks import DOUBLE, SHORT, WHOLE
from backreef.simulation.layout import SLOT_MARCHED
from backreef.simulation.march_frame import Frame
from backreef.simulation.march_update import write_slot_update
from backreef.simulation.shared_programs import LENGTH, SHIFT, SUM_TIME_WEIGHT, SUM_WEIGHT
from backreef.simulation.signature import EXTREMES, REPORT
from backreef.simulation.slot_programs import totals_of
from backreef.simulation.step_control import (
    BOUNDED,
    DUST,
    FIRST_MOST_FACTOR,
    HABIT_MOST_FACTOR,
    LEAST_FACTOR,
    LEAST_SHARE,
    MOST_FACTOR,
    SAFETY,
    TIMES_OF_DAY,
)

LEFT_OVER_D = 1e-12


class StepWriter:
    """Writes the steps of a segment."""

    def __init__(self, frame: Frame) -> None:
        self.frame, self.c, self.work = frame, frame.c, frame.work
        self.slot_update = write_slot_update(frame)

    def write(self, segment: Any) -> None:
        """Step through a segment."""
        c, b = self.c, self.c.b
        self.time, self.left, self.growth = (c.variable(DOUBLE) for _ in range(3))
        self.habit = self._habit_at(segment)
        b.store(c.number(0.0), self.time)
        b.store(self.frame.segment_value(segment, "length_d"), self.left)
        b.store(c.number(MOST_FACTOR), self.growth)
        with c.repeat() as done:
            go_on = c.function.append_basic_block("step")
            more = b.fcmp_ordered(">", b.load(self.left, typ=DOUBLE), c.number(LEFT_OVER_D))
            b.cbranch(more, go_on, done)
            b.position_at_end(go_on)
            self._one_step(segment)

    def _one_step(self, segment: Any) -> None:
        c, b = self.c, self.c.b
        wanted, left = self._wanted(), b.load(self.left, typ=DOUBLE)
        last = b.fcmp_ordered(">=", wanted, b.fmul(left, c.number(0.999)))
        half = b.fmul(left, c.number(0.5))
        h = b.select(last, left, b.select(b.fcmp_ordered(">", wanted, half), half, wanted))
        short = b.fcmp_ordered("<", h, self.frame.control["shortest_step_d"])
        rescue = b.and_(short, b.fcmp_ordered("<", h, left))
        with b.if_else(rescue) as (small, normal):
            with small:
                self._euler_step(segment)
            with normal:
                self._rosenbrock_step(segment, h, wanted, last)

    # -- how the segment began the day before --------------------------------------------------------------
    def _habit_at(self, segment: Any) -> Any:
        """Where the first step of segments like this one is remembered."""
        c, b = self.c, self.c.b
        time_of_day = b.fptosi(self.frame.segment_value(segment, "time_of_day"), WHOLE)
        jumped = b.load(self.frame.jumped, typ=WHOLE)
        place = b.add(time_of_day, b.mul(jumped, c.whole(TIMES_OF_DAY)))
        return b.gep(self.frame.p["habits"], [place], source_etype=DOUBLE)

    def _wanted(self) -> Any:
        """How long the next step is to be: the first as the day before, the others as the last one allows."""
        c, b = self.c, self.c.b
        habit = c.load(self.habit, 0)
        known = b.and_(self._begins(), b.fcmp_ordered(">", habit, c.number(0.0)))
        return b.select(b.and_(known, self._unrefused()), habit, b.load(self.frame.h, typ=DOUBLE))

    def _remember(self, h: Any, wanted: Any, size: Any, last: Any) -> None:
        """Keep how long the first step of the segment could have been; no longer if a try was refused."""
        c, b = self.c, self.c.b
        most = b.select(self._unrefused(), c.number(HABIT_MOST_FACTOR), c.number(1.0))
        factor = b.fdiv(c.number(SAFETY), self._fourth_root(size))
        factor = self._smaller(self._larger(factor, c.number(LEAST_FACTOR)), most)
        possible = b.fmul(h, factor)
        clipped = b.and_(last, b.fcmp_ordered(">=", factor, c.number(1.0)))
        habit = b.select(clipped, self._larger(wanted, possible), possible)
        with b.if_then(self._begins()):
            c.store(self._smaller(habit, self.frame.control["longest_step_d"]), self.habit, 0)

    def _begins(self) -> Any:
        """Whether no step of the segment was taken yet."""
        return self.c.b.fcmp_ordered("==", self.c.b.load(self.time, typ=DOUBLE), self.c.number(0.0))

    def _unrefused(self) -> Any:
        """Whether no try was refused since the last step that was taken."""
        return self.c.b.fcmp_ordered(">", self.c.b.load(self.growth, typ=DOUBLE), self.c.number(1.0))

    # -- pieces of a step ----------------------------------------------------------------------------------
    def _slopes(self, segment: Any, inverse: Any, time_weight: Any, weight: Any) -> None:
        """Rates at the start of the step and the eliminated, factored step matrix."""
        c, frame, work = self.c, self.frame, self.work
        for place, value in ((SHIFT, inverse), (SUM_TIME_WEIGHT, time_weight), (SUM_WEIGHT, weight)):
            c.store(value, frame.step, place)
        with c.counted(frame.summed_rows()) as row:
            c.store_row(c.constant_row(0.0), work["sums"], row)
        frame.light_at(segment, c.b.load(self.time, typ=DOUBLE))
        frame.call("acidity", **frame.arrays(work["start"]))
        self.rates(work["start"])
        frame.call("shared_slopes", **frame.arrays(work["start"]))
        frame.call("slot_water_slopes", **frame.arrays(work["start"]))
        with frame.each_living() as living:
            arrays = frame.arrays(work["start"], living) | {"fts": frame.own(work["ft"], living[0])}
            frame.call("slot_slopes", **arrays)
        c.b.call(self.slot_update, [work["m"], work["store"], c.b.load(frame.living, typ=WHOLE)])
        for name in frame.programs:
            if name.startswith("shared_factors"):
                frame.call(name, **frame.arrays(work["start"]))

    def rates(self, point: Any) -> None:
        """Rates at a point whose hydrogen ion is known, and their share in what collects."""
        frame, rate = self.frame, self.work["rate"]
        frame.call("shared_rates", **frame.arrays(point))
        frame.call("slot_water", **frame.arrays(point))
        with frame.each_living() as living:
            frame.call("slot_rates", **frame.arrays(point, living) | {"outs": frame.own(rate, living[0])})

    def _solve(self, stage: Any) -> None:
        """Solve the step matrix for the right-hand side in `rhs`."""
        frame, right = self.frame, self.work["rhs"]
        with frame.each_living() as living:
            arrays = frame.arrays(right, living) | {"b": right, "bs": frame.own(right, living[0])}
            frame.call("slot_forward", **arrays)
        frame.call("shared_solution", **frame.arrays(right) | {"b": right, "out": stage})
        with frame.each_living() as living:
            own = {"bs": frame.own(right, living[0]), "outs": frame.own(stage, living[0]), "k": stage}
            frame.call("slot_backward", **frame.arrays(right, living) | own)

    def _right_hand_side(self, weights: list[Any], time_weight: Any | None) -> None:
        """Rates plus weighted stages before plus, where it counts, the slope in time, into `rhs`."""
        c = self.c
        with c.counted(self.frame.moving_rows()) as row:
            value = c.load_row(self.work["rate"], row)
            for before, weight in enumerate(weights):
                value = c.fused(weight, c.load_row(self.work[f"k{before}"], row), value)
            if time_weight is not None:
                value = c.fused(time_weight, c.load_row(self.work["ft"], row), value)
            c.store_row(value, self.work["rhs"], row)

    def _sums(self, length: Any) -> None:
        """What the step adds to ledgers and totals, into `more`."""
        frame, mean = self.frame, self.work["mean"]
        self.c.store(length, frame.step, LENGTH)
        frame.call("shared_sums", **frame.arrays(mean))
        with frame.each_living() as living:
            frame.call("slot_sums", **frame.arrays(mean, living))

    # -- the step of order 4 -------------------------------------------------------------------------------
    def _rosenbrock_step(self, segment: Any, h: Any, wanted: Any, last: Any) -> None:
        c, b = self.c, self.c.b
        inverse = b.fdiv(c.number(1.0 / tableau.GAMMA), h)
        time_weight = b.fmul(h, c.number(tableau.SUM_TIME_WEIGHT))
        self._slopes(segment, inverse, time_weight, c.number(tableau.SUM_WEIGHTS[0]))
        self._note_extremes()
        per_h = b.fdiv(c.number(1.0), h)
        for stage in range(tableau.STAGES):
            if stage:
                self._move_to(segment, stage, h)
            time_weight = tableau.GAMMA_TIME[stage]
            self._right_hand_side(
                [c.lanes_of(b.fmul(per_h, c.number(one))) for one in tableau.C[stage]],
                c.lanes_of(b.fmul(h, c.number(time_weight))) if time_weight else None,
            )
            self._solve(self.work[f"k{stage}"])
        self._judge_step(h, wanted, last)

    def _move_to(self, segment: Any, stage: int, h: Any) -> None:
        """Go to the point of a stage and take the rates there."""
        c, b = self.c, self.c.b
        start, weights = self._shortest_way(stage)
        with c.counted(self.frame.moving_rows()) as row:
            value = c.load_row(start, row)
            for before, weight in weights:
                part = c.load_row(self.work[f"k{before}"], row)
                value = b.fadd(value, part) if weight == 1.0 else c.fused(c.constant_row(weight), part, value)
            c.store_row(value, self.work["point"], row)
        at = b.fadd(b.load(self.time, typ=DOUBLE), b.fmul(h, c.number(tableau.ALPHA[stage])))
        self.frame.light_at(segment, at)
        c.store(c.number(tableau.SUM_WEIGHTS[stage]), self.frame.step, SUM_WEIGHT)
        self.frame.call("acidity_near", **self.frame.arrays(self.work["point"]))
        self.rates(self.work["point"])

    def _shortest_way(self, stage: int) -> tuple[Any, list[tuple[int, float]]]:
        """From where, and by which stages, a point is reached: often the one before lacks only one."""
        own = tableau.A[stage]
        if stage > 1 and own[:-1] == tableau.A[stage - 1]:
            return self.work["point"], [(stage - 1, own[-1])]
        return self.work["start"], list(enumerate(own))

    def _note_extremes(self) -> None:
        c, state = self.c, self.frame.state
        for name, (seen, start) in EXTREMES.items():
            value = c.load_row(self.work["seen"], OBSERVED_NAMES.index(seen))
            row = self.frame.layout.address(name)
            keep = c.smaller if start > 0.0 else c.larger
            c.store_row(keep(c.load_row(state, row), value), state, row)

    # -- whether it is taken -------------------------------------------------------------------------------
    def _judge_step(self, h: Any, wanted: Any, last: Any) -> None:
        c, b = self.c, self.c.b
        error, sound = self._measure(h)
        fine = b.and_(b.fcmp_ordered("<=", error, c.number(1.0)), sound)
        size = b.fadd(error, c.number(1e-12))
        trend, share = self._trend(size, h)
        factor = b.fdiv(c.number(SAFETY), self._fourth_root(b.fmul(size, share)))
        factor = self._larger(factor, c.number(LEAST_FACTOR))
        factor = self._smaller(factor, self._most_factor())
        proposed = b.fmul(h, factor)
        self.frame.tally("steps")
        with b.if_else(fine) as (accept, reject):
            with accept:
                self._remember(h, wanted, size, last)
                self._accept(h)
                clipped = b.and_(last, b.fcmp_ordered(">=", factor, c.number(1.0)))
                following = b.select(clipped, self._larger(wanted, proposed), proposed)
                b.store(self._smaller(following, self.frame.control["longest_step_d"]), self.frame.h)
                b.store(c.number(MOST_FACTOR), self.growth)
                b.store(trend, self.frame.trend)
            with reject:
                self.frame.tally("rejected")
                smaller = self._smaller(proposed, b.fmul(h, c.number(0.9)))
                b.store(b.select(sound, smaller, b.fmul(h, c.number(0.25))), self.frame.h)
                b.store(c.number(1.0), self.growth)

    def _most_factor(self) -> Any:
        """By how much the next step may grow: more after the first that began short, none after a refusal."""
        c, b = self.c, self.c.b
        growth = b.load(self.growth, typ=DOUBLE)
        first = b.fcmp_ordered("==", b.load(self.frame.trend, typ=DOUBLE), c.number(0.0))
        free = b.and_(first, b.fcmp_ordered(">", growth, c.number(1.0)))
        return b.select(free, c.number(FIRST_MOST_FACTOR), growth)

    def _trend(self, size: Any, h: Any) -> tuple[Any, Any]:
        """Error per fourth power of the step, and what is left of it since the step before."""
        b, c = self.c.b, self.c
        square = b.fmul(h, h)
        trend = b.fdiv(size, b.fmul(square, square))
        share = b.fdiv(trend, b.load(self.frame.trend, typ=DOUBLE))
        return trend, self._smaller(self._larger(share, c.number(LEAST_SHARE)), c.number(1.0))

    def _larger(self, one: Any, other: Any) -> Any:
        return self.c.b.select(self.c.b.fcmp_ordered(">", one, other), one, other)

    def _smaller(self, one: Any, other: Any) -> Any:
        return self.c.b.select(self.c.b.fcmp_ordered("<", one, other), one, other)

    def _fourth_root(self, value: Any) -> Any:
        name, module = "llvm.sqrt.f64", self.frame.module
        root = module.globals.get(name) or ir.Function(module, ir.FunctionType(DOUBLE, [DOUBLE]), name)
        return self.c.b.call(root, [self.c.b.call(root, [value])])

    def _measure(self, h: Any) -> tuple[Any, Any]:
        """New state into `new`; its largest scaled error, and whether it is sound."""
        c, b, frame = self.c, self.c.b, self.frame
        worst, lowest, total = (c.zero_row() for _ in range(3))
        shares = [c.lanes_of(b.fmul(h, c.number(weight))) for weight in tableau.SUM_WEIGHTS]
        with c.counted(frame.moving_rows()) as row:
            stages = [c.load_row(self.work[f"k{stage}"], row) for stage in range(tableau.STAGES)]
            mean = b.fmul(shares[0], stages[0])
            for share, stage in zip(shares[1:], stages[1:], strict=True):
                mean = c.fused(share, stage, mean)
            c.store_row(mean, self.work["mean"], row)
            last = stages[tableau.ERROR_STAGE]
            value = self._without_dust(b.fadd(c.load_row(self.work["point"], row), last))
            c.store_row(value, self.work["new"], row)
            scale = c.load(self.work["scale"], row)
            yardstick = frame.yardstick(scale, value)
            size = c.larger(last, b.fneg(last))
            bounded = b.fcmp_ordered("<", scale, c.number(BOUNDED))
            ratio = b.select(bounded, b.fdiv(size, yardstick), c.constant_row(0.0))
            b.store(c.larger(ratio, b.load(worst, typ=c.row_type)), worst)
            self._look_at(value, bounded, lowest, total)
        self._sums(h)
        self._look_at_sums(total)
        return c.greatest(b.load(worst, typ=c.row_type)), self._sound(lowest, total)

    def _look_at_sums(self, total: Any) -> None:
        c, b = self.c, self.c.b
        with c.counted(self.frame.summed_rows()) as row:
            more = c.load_row(self.work["more"], row)
            b.store(b.fadd(b.load(total, typ=c.row_type), more), total)

    def _look_at(self, value: Any, bounded: Any, lowest: Any, total: Any) -> Any:
        """Take a row into the lowest bounded amount and into the sum that shows whether all are numbers."""
        c, b = self.c, self.c.b
        floor = b.select(bounded, value, c.constant_row(0.0))
        b.store(c.smaller(floor, b.load(lowest, typ=c.row_type)), lowest)
        b.store(b.fadd(b.load(total, typ=c.row_type), value), total)
        return floor

    def _sound(self, lowest: Any, total: Any) -> Any:
        """Whether nothing is below 0 and everything a number: 0 times anything else is not 0."""
        c, b = self.c, self.c.b
        nought = b.fmul(b.load(total, typ=c.row_type), c.constant_row(0.0))
        finite = b.fcmp_ordered("==", self._sum(nought), c.number(0.0))
        return b.and_(b.fcmp_ordered(">=", c.least(b.load(lowest, typ=c.row_type)), c.number(0.0)), finite)

    def _without_dust(self, value: Any) -> Any:
        c, b = self.c, self.c.b
        small = b.fcmp_ordered("<", c.larger(value, b.fneg(value)), c.constant_row(DUST))
        return b.select(small, c.constant_row(0.0), value)

    def _sum(self, row: Any) -> Any:
        if self.c.lanes == 1:
            return row
        total: Any = self.c.number(0.0)
        for lane in range(self.c.lanes):
            total = self.c.b.fadd(total, self.c.b.extract_element(row, ir.Constant(SHORT, lane)))
        return total

    def _accept(self, h: Any) -> None:
        c, b, frame, work = self.c, self.c.b, self.frame, self.work
        with c.counted(frame.moving_rows()) as row:
            c.store_row(c.load_row(work["new"], row), work["start"], row)
        with c.counted(c.whole(frame.ledgers)) as row:
            place = b.add(row, c.whole(frame.layout.active))
            c.store_row(b.fadd(c.load_row(frame.y, place), c.load_row(work["more"], row)), frame.y, place)
        with frame.each_living() as living:
            block, slot = frame.arrays(work["start"], living), living[1]
            for place in totals_of(frame.kernel.recording):
                more, row = c.load_row(block["own_more"], place), SLOT_MARCHED.index(SLOT_TOTALS[place])
                self._grow(frame.slot_state(slot), row, more)
        b.store(b.fadd(b.load(self.time, typ=DOUBLE), h), self.time)
        b.store(b.fsub(b.load(self.left, typ=DOUBLE), h), self.left)

    def _grow(self, rows: Any, place: int, more: Any) -> None:
        self.c.store_row(self.c.b.fadd(self.c.load_row(rows, place), more), rows, place)

    # -- the rescue ----------------------------------------------------------------------------------------
    def _euler_step(self, segment: Any) -> None:
        """Below the shortest step: one linearly implicit Euler step, counted; if it fails too, all ends."""
        c, b, frame = self.c, self.c.b, self.frame
        step = self._smaller(frame.control["shortest_step_d"], b.load(self.left, typ=DOUBLE))
        self._slopes(segment, b.fdiv(c.number(1.0), step), step, c.number(1.0))
        self._right_hand_side([], c.lanes_of(step))
        self._solve(self.work["k0"])
        lowest, total = c.zero_row(), c.zero_row()
        before, after = c.variable(DOUBLE), c.variable(DOUBLE)
        for failed in (before, after):
            b.store(c.number(-1.0), failed)
        with c.counted(frame.moving_rows()) as row:
            old, stage = c.load_row(self.work["start"], row), c.load_row(self.work["k0"], row)
            value = b.fadd(old, stage)
            c.store_row(value, self.work["new"], row)
            c.store_row(b.fmul(c.lanes_of(step), stage), self.work["mean"], row)
            bounded = b.fcmp_ordered("<", c.load(self.work["scale"], row), c.number(BOUNDED))
            floor = self._look_at(value, bounded, lowest, total)
            self._blame(row, b.select(bounded, old, c.constant_row(0.0)), before)
            self._blame(row, floor, after)
        self._sums(step)
        self._look_at_sums(total)
        with b.if_then(b.not_(self._sound(lowest, total))):
            report, already = frame.p["report"], b.load(before, typ=DOUBLE)
            at_fault = b.select(
                b.fcmp_ordered("<", already, c.number(0.0)), b.load(after, typ=DOUBLE), already
            )
            c.store(self._place_of(at_fault), report, REPORT.index("failed_row"))
            c.store(b.sitofp(segment, DOUBLE), report, REPORT.index("failed_segment"))
            b.ret(segment)
        frame.tally("euler")
        self._accept(step)
        frame.begin_short()

    def _blame(self, row: Any, value: Any, failed: Any) -> None:
        """Note the first row that is below 0, or no number, in some lane."""
        c, b = self.c, self.c.b
        one, nought = c.constant_row(1.0), c.constant_row(0.0)
        bad = b.select(b.fcmp_unordered("<", value, nought), one, nought)
        first = b.fcmp_ordered("<", b.load(failed, typ=DOUBLE), c.number(0.0))
        with b.if_then(b.and_(first, b.fcmp_ordered(">", c.greatest(bad), c.number(0.0)))):
            b.store(b.sitofp(row, DOUBLE), failed)

    def _place_of(self, row: Any) -> Any:
        """Row of the state that a row of the compact vectors stands for."""
        c, b, frame = self.c, self.c.b, self.frame
        beyond = b.sub(b.fptosi(row, WHOLE), c.whole(frame.active))
        slot = c.load(self.work["living"], b.sdiv(beyond, c.whole(len(SLOT_STATES))), WHOLE)
        within = b.srem(beyond, c.whole(len(SLOT_STATES)))
        place = b.add(c.whole(frame.layout.shared), b.mul(slot, c.whole(len(SLOT_MARCHED))))
        shared = b.fcmp_ordered("<", row, c.number(float(frame.active)))
        known: Any = row
        for first, _, start in frame.runs():
            moved = b.fadd(row, c.number(float(first - start)))
            known = b.select(b.fcmp_ordered(">=", row, c.number(float(start))), moved, known)
        return b.select(shared, known, b.sitofp(b.add(place, within), DOUBLE))
