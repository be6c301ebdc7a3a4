"""The march as LLVM code: segments, events, midnights and error-controlled Rosenbrock steps of a block.

One compiled call carries a block of lanes over the whole horizon; nothing in it returns to Python. The
straight-line work is in the recorded programs; these modules only string them together.
"""

from __future__ import annotations

from typing import Any

from llvmlite import ir

from backreef.models.mouths import MEAL_SUMS, SLOT_STATES, SLOT_TRAITS
from backreef.simulation.events import MATTERS
from backreef.simulation.ir_blocks import DOUBLE, WHOLE
from backreef.simulation.layout import FORCINGS, SLOT_MARCHED
from backreef.simulation.march_events import EventWriter
from backreef.simulation.march_frame import Frame, working_arrays
from backreef.simulation.march_steps import StepWriter
from backreef.simulation.programs import Kernel, KernelCode
from backreef.simulation.shared_programs import SHIFT
from backreef.simulation.signature import REPORT


def march_text(kernel: Kernel, code: KernelCode, lanes: int) -> str:
    """Give the functions `march` and `scratch_rows`, without the programs' declarations."""
    frame = Frame(kernel, code, lanes)
    events, steps = EventWriter(frame), StepWriter(frame)
    with frame.c.counted(frame.count["segments"], frame.count["first"]) as segment:
        events.write(segment)
        find_living(frame)
        gather(frame)
        segment_terms(frame, segment)
        steps.write(segment)
        _scatter(frame)
        _room_and_water(frame, segment)
    written = frame.c.b.sitofp(frame.c.b.load(frame.day, typ=WHOLE), DOUBLE)
    frame.c.store(written, frame.p["report"], REPORT.index("days_written"))
    frame.remember_step()
    frame.c.b.ret(frame.count["segments"])
    _scratch_rows(frame)
    return without_what_others_declare(str(frame.module), lanes)


def without_what_others_declare(text: str, lanes: int) -> str:
    """Leave out the programs and those intrinsics that the text of the mathematics declares."""
    suffix = "f64" if lanes == 1 else f"v{lanes}f64"
    declared = ('@"kernel_', f'@"llvm.sqrt.{suffix}"', f'@"llvm.fma.{suffix}"')
    kept = [
        line
        for line in text.splitlines()
        if "target " not in line
        and not (line.startswith("declare") and any(name in line for name in declared))
    ]
    return "\n".join(line.replace(") nounwind", ") #0") for line in kept)


def find_living(frame: Frame) -> None:
    """List the slots in which some lane has an animal, and sum up who comes to a meal.

    An empty slot does nothing to anything.
    """
    c, b = frame.c, frame.c.b
    b.store(c.whole(0), frame.living)
    for name in MEAL_SUMS:
        c.store_row(c.constant_row(0.0), frame.state, frame.layout.address(name))
    with c.counted(frame.count["slots"]) as slot:
        own = frame.slot_traits(slot)
        count = c.load_row(own, SLOT_TRAITS.index("count"))
        for name, traits in MEAL_SUMS.items():
            row, amount = frame.layout.address(name), count
            for trait in traits:
                amount = b.fmul(amount, c.load_row(own, SLOT_TRAITS.index(trait)))
            c.store_row(b.fadd(c.load_row(frame.state, row), amount), frame.state, row)
        with b.if_then(b.fcmp_ordered(">", c.greatest(count), c.number(0.0))):
            found = b.load(frame.living, typ=WHOLE)
            c.store(slot, frame.work["living"], found, WHOLE)
            b.store(b.add(found, c.whole(1)), frame.living)


def gather(frame: Frame) -> None:
    """Take the rows that move, and their typical sizes, into the compact vectors.

    They still hold what the last segment left: where a shared row has moved at a stroke since then, by more
    than matters against what a step may err in it, steps begin short again.
    """
    c, b = frame.c, frame.c.b
    start, scale = frame.work["start"], frame.work["scale"]
    jump = c.zero_row()
    b.store(c.constant_row(0.0), jump)
    for first_row, end, place in frame.runs():
        with c.counted(c.whole(end), first_row) as row:
            target = b.add(row, c.whole(place - first_row))
            typical, value = c.load(frame.p["scale"], row), c.load_row(frame.y, row)
            moved = b.fsub(value, c.load_row(start, target))
            size = b.fdiv(c.larger(moved, b.fneg(moved)), frame.yardstick(typical, value))
            b.store(c.larger(size, b.load(jump, typ=c.row_type)), jump)
            c.store_row(value, start, target)
            c.store(typical, scale, target)
    jumped = b.fcmp_ordered(">", c.greatest(b.load(jump, typ=c.row_type)), c.number(MATTERS))
    b.store(b.select(jumped, c.whole(1), c.whole(0)), frame.jumped)
    with b.if_then(jumped):
        frame.begin_short()
    with frame.each_living() as (position, slot):
        own, state = frame.own(start, position), frame.slot_state(slot)
        first = b.add(c.whole(frame.layout.shared), b.mul(slot, c.whole(len(SLOT_MARCHED))))
        target = b.add(c.whole(frame.active), b.mul(position, c.whole(len(SLOT_STATES))))
        for place in range(len(SLOT_STATES)):
            c.store_row(c.load_row(state, place), own, place)
            typical = c.load(frame.p["scale"], b.add(first, c.whole(place)))
            c.store(typical, scale, b.add(target, c.whole(place)))


def _scatter(frame: Frame) -> None:
    """Put the rows that moved back into the state."""
    c, b = frame.c, frame.c.b
    start = frame.work["start"]
    for first_row, end, place in frame.runs():
        with c.counted(c.whole(end), first_row) as row:
            c.store_row(c.load_row(start, b.add(row, c.whole(place - first_row))), frame.y, row)
    with frame.each_living() as (position, slot):
        own, state = frame.own(start, position), frame.slot_state(slot)
        for place in range(len(SLOT_STATES)):
            c.store_row(c.load_row(own, place), state, place)


def segment_terms(frame: Frame, segment: Any) -> None:
    """Work out what holds for a segment, and how its light begins."""
    start = frame.work["start"]
    for index, name in enumerate(FORCINGS):
        frame.c.store(frame.segment_value(segment, name), frame.f, index)
    frame.call("segment", **frame.arrays(start) | {"out": frame.work["s"]})
    frame.call("constants", **frame.arrays(start))
    frame.call("lights", **frame.arrays(start))
    frame.note_whether_light_moves(segment)
    with frame.each_living() as living:
        frame.call("slot_constants", **frame.arrays(start, living))


def _room_and_water(frame: Frame, segment: Any) -> None:
    frame.light_at(segment, frame.c.number(0.0))
    frame.c.store(frame.segment_value(segment, "length_d"), frame.step, SHIFT)
    frame.call("room", **frame.arrays(frame.work["start"]))


def _scratch_rows(frame: Frame) -> None:
    """Write the function that says how many rows of working space so many slots need."""
    function = ir.Function(frame.module, ir.FunctionType(WHOLE, [WHOLE]), "scratch_rows")
    builder = ir.IRBuilder(function.append_basic_block("entry"))
    sizes = working_arrays(frame)
    fixed, each = sum(rows for _, rows, _ in sizes), sum(rows for _, _, rows in sizes)
    more = builder.mul(function.args[0], ir.Constant(WHOLE, each))
    builder.ret(builder.add(more, ir.Constant(WHOLE, fixed)))
