"""The march as LLVM code: segments, events, midnights and error-controlled Rosenbrock steps of a block.

One compiled call carries a block of lanes over the whole horizon; nothing in it returns to Python. The
straight-line work is in the recorded programs; these modules only string them together.
"""

from __future__ import annotations

from typing import Any

from llvmlite import ir

from backreef.simulation.ir_blocks import DOUBLE, WHOLE
from backreef.simulation.layout import FORCINGS
from backreef.simulation.march_events import EventWriter
from backreef.simulation.march_frame import Frame, fixed_scratch, slot_scratch_rows
from backreef.simulation.march_steps import StepWriter
from backreef.simulation.programs import Kernel, KernelCode
from backreef.simulation.signature import REPORT


def march_text(kernel: Kernel, code: KernelCode, lanes: int) -> str:
    """Give the functions `march` and `scratch_rows`, without the programs' declarations."""
    frame = Frame(kernel, code, lanes)
    events, steps = EventWriter(frame), StepWriter(frame)
    with frame.c.counted(frame.count["segments"]) as segment:
        events.write(segment)
        _segment_terms(frame, segment)
        steps.write(segment)
        _room_and_water(frame, segment)
    written = frame.c.b.sitofp(frame.c.b.load(frame.day, typ=WHOLE), DOUBLE)
    frame.c.store(written, frame.p["report"], REPORT.index("days_written"))
    frame.c.b.ret(frame.count["segments"])
    _scratch_rows(frame)
    return _without_what_others_declare(str(frame.module), lanes)


def _without_what_others_declare(text: str, lanes: int) -> str:
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


def _segment_terms(frame: Frame, segment: Any) -> None:
    for index, name in enumerate(FORCINGS):
        frame.c.store(frame.segment_value(segment, name), frame.f, index)
    frame.call("segment", **frame.arrays(frame.y), out=frame.work["s"])
    frame.call("constants", **frame.arrays(frame.y))
    frame.call("lights", **frame.arrays(frame.y))
    frame.note_whether_light_moves(segment)
    with frame.c.counted(frame.slots) as slot:
        frame.call("slot_constants", **frame.arrays(frame.y, slot))


def _room_and_water(frame: Frame, segment: Any) -> None:
    frame.light_at(segment, frame.c.number(0.0))
    frame.c.store(frame.segment_value(segment, "length_d"), frame.step, 0)
    frame.call("room", **frame.arrays(frame.y))


def _scratch_rows(frame: Frame) -> None:
    """Write the function that says how many rows of working space so many slots need."""
    function = ir.Function(frame.module, ir.FunctionType(WHOLE, [WHOLE]), "scratch_rows")
    builder = ir.IRBuilder(function.append_basic_block("entry"))
    none, one = (slot_scratch_rows(frame, slots) for slots in (0, 1))
    fixed = sum(rows for _, rows in fixed_scratch(frame)) + none
    more = builder.mul(function.args[0], ir.Constant(WHOLE, one - none))
    builder.ret(builder.add(more, ir.Constant(WHOLE, fixed)))
