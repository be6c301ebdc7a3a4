"""Other integrators on the same system: our rates as compiled code for one member, called from Python.

The schedule, its events, midnights and the room are the slow engine's; only the steps within a segment are a
rival's. What is timed is the rival's integration alone.
"""

from __future__ import annotations

import ctypes
import time
from collections.abc import Callable
from typing import Any

import llvmlite.binding as llvm
import numpy as np
import numpy.typing as npt

from backreef.models.matrix import packaged_matrix
from backreef.models.mouths import SLOT_STATES, SLOT_TOTALS
from backreef.simulation.block import FORECAST, Block, Schedule
from backreef.simulation.ir_blocks import WHOLE
from backreef.simulation.layout import REGISTERS, SLOT_MARCHED, Layout, packaged_layout
from backreef.simulation.llvm_text import ATTRIBUTES, mathematics_text, program_text
from backreef.simulation.march import find_living, gather, segment_terms, without_what_others_declare
from backreef.simulation.march_frame import Frame, working_arrays
from backreef.simulation.march_steps import StepWriter
from backreef.simulation.oracle import March
from backreef.simulation.programs import Kernel, kernel_code
from backreef.simulation.shared_programs import SUM_WEIGHT
from backreef.simulation.signature import ARGUMENT_COUNT, ARGUMENTS, REPORT
from backreef.simulation.step_control import BOUNDED

Array = npt.NDArray[np.float64]
Integrate = Callable[[Callable[[float, Array], Array], Array, float], Array]
"""Takes rates, the start and a length in days; gives the end."""


class CompiledRates:
    """The rates of all marched rows of one member, as machine code from the same programs as the march."""

    def __init__(self, foods: int) -> None:
        kernel = Kernel(packaged_matrix(), packaged_layout(), foods)
        code = kernel_code(kernel)
        frame = Frame(kernel, code, 1)
        _write_rates(frame)
        text = [mathematics_text(1), *(program_text(program, 1) for program in code.programs.values())]
        text += [without_what_others_declare(str(frame.module), 1), ATTRIBUTES]
        llvm.initialize_native_target()
        llvm.initialize_native_asmprinter()
        cpu, features = llvm.get_host_cpu_name(), llvm.get_host_cpu_features().flatten()
        target = llvm.Target.from_default_triple()
        machine = target.create_target_machine(cpu=cpu, features=features, opt=2, jit=True)
        self.keep = llvm.create_mcjit_compiler(llvm.parse_assembly("\n".join(text)), machine)
        self.keep.finalize_object()
        kind = ctypes.CFUNCTYPE(ctypes.c_int64, *[ctypes.c_void_p] * ARGUMENT_COUNT)
        self.call = kind(self.keep.get_function_address("march"))
        sizes = working_arrays(frame)
        self.fixed_rows = sum(rows for _, rows, _ in sizes)
        self.slot_rows = sum(rows for _, _, rows in sizes)


def _write_rates(frame: Frame) -> None:
    """Write rates at the state into `output`; `counts` holds the segment, and whether it has just begun."""
    c, b, segment = frame.c, frame.c.b, frame.count["segments"]
    find_living(frame)
    gather(frame)
    with b.if_then(b.icmp_signed("!=", frame.count["thresholds"], c.whole(0))):
        segment_terms(frame, segment)
    frame.note_whether_light_moves(segment)
    frame.light_at(segment, frame.control["first_step_d"])
    with c.counted(frame.summed_rows()) as row:
        c.store_row(c.constant_row(0.0), frame.work["sums"], row)
    c.store(c.number(1.0), frame.step, SUM_WEIGHT)
    frame.call("acidity", **frame.arrays(frame.work["start"]))
    StepWriter(frame).rates(frame.work["start"])
    output = frame.p["output"]
    for first, end, place in frame.runs():
        with c.counted(c.whole(end), first) as row:
            c.store_row(c.load_row(frame.work["rate"], b.add(row, c.whole(place - first))), output, row)
    with c.counted(c.whole(frame.ledgers)) as row:
        c.store_row(c.load_row(frame.work["sums"], row), output, b.add(row, c.whole(frame.layout.active)))
    with frame.each_living() as (position, slot):
        first = b.add(c.whole(frame.layout.shared), b.mul(slot, c.whole(len(SLOT_MARCHED))))
        for place in range(len(SLOT_STATES)):
            value = c.load_row(frame.own(frame.work["rate"], position), place)
            c.store_row(value, output, b.add(first, c.whole(place)))
        for place in range(len(SLOT_TOTALS)):
            value = c.load_row(frame.own_sums(frame.work["sums"], position), place)
            c.store_row(value, output, b.add(first, c.whole(len(SLOT_STATES) + place)))
    b.ret(b.load(frame.living, typ=WHOLE))


class RivalMarch(March):
    """The slow engine's march of one member, whose steps are a rival's."""

    def __init__(self, rates: CompiledRates, schedule: Schedule, block: Block, integrate: Integrate) -> None:
        layout: Layout = packaged_layout()
        super().__init__(packaged_matrix(), layout, schedule, block, FORECAST)
        self.integrate, self.rates, self.taken_s, self.calls = integrate, rates, 0.0, 0
        self.state, self.traits = np.ascontiguousarray(self.state), np.ascontiguousarray(self.traits)
        self.change = np.zeros((self.marched_rows, 1))
        scratch = np.zeros((rates.fixed_rows + self.slots * rates.slot_rows, 1))
        self.counts = np.array([0, self.slots, 1, self.state.shape[0], 0], dtype=np.int64)
        self.controls = np.array([0.02, 0.3, 0.0, 0.125, 1e-5])
        arrays: dict[str, npt.NDArray[Any]] = dict.fromkeys(ARGUMENTS, scratch)
        arrays |= {"state": self.state, "traits": self.traits, "output": self.change, "scratch": scratch}
        arrays |= {"parameters": np.ascontiguousarray(block.parameters), "scale": block.scale}
        arrays |= {"segments": schedule.segments, "counts": self.counts, "controls": self.controls}
        arrays["report"] = np.zeros(len(REPORT))
        self.arrays, self.pointers = arrays, [arrays[name].ctypes.data for name in ARGUMENTS]
        self.scale = np.where(block.scale < BOUNDED, block.scale, 1.0)

    def _steps(self, number: int, forcings: dict[str, float], kind: tuple[int, int]) -> None:
        del forcings, kind
        self.counts[0], self.counts[2] = number, 1
        rows = self.state[len(REGISTERS) : len(REGISTERS) + self.marched_rows, 0]

        def rates(time_d: float, point: Array) -> Array:
            rows[:] = point
            self.controls[2] = time_d
            self.rates.call(*self.pointers)
            self.counts[2] = 0
            self.calls += 1
            return self.change[:, 0].copy()

        start = rows.copy()
        begun = time.process_time()
        end = self.integrate(rates, start, float(self.schedule.segments[number, 0]))
        self.taken_s += time.process_time() - begun
        rows[:] = end

    def rates_alone_s(self, calls: int = 20_000) -> float:
        """Processor time of one evaluation of the rates, less what calling it from Python takes."""
        nothing = ctypes.CFUNCTYPE(ctypes.c_int64, *[ctypes.c_void_p] * ARGUMENT_COUNT)(
            ("labs", ctypes.CDLL(None))
        )
        taken = []
        for call in (self.rates.call, nothing):
            begun = time.process_time()
            for _ in range(calls):
                call(*self.pointers)
            taken.append(time.process_time() - begun)
        return (taken[0] - taken[1]) / calls

    def run(self) -> Array:
        """March through the schedule and give the daily states."""
        with np.errstate(all="ignore"):
            for number in range(len(self.schedule.segments)):
                self.segment(number)
        return self.output


def lsoda(exactness: float, scale: Array) -> Integrate:
    """ODEPACK's LSODA by way of SciPy."""
    from scipy.integrate import odeint

    def integrate(rates: Callable[[float, Array], Array], start: Array, length_d: float) -> Array:
        limits = {"rtol": exactness, "atol": exactness * scale, "mxstep": 100_000}
        return np.asarray(odeint(rates, start, [0.0, length_d], tfirst=True, **limits)[-1])

    return integrate


def cvode(exactness: float, scale: Array) -> Integrate:
    """SUNDIALS' CVODE (BDF) by way of scikit-sundae; it takes its Jacobian from differences of the rates."""
    from sksundae.cvode import CVODE

    def integrate(rates: Callable[[float, Array], Array], start: Array, length_d: float) -> Array:
        def right_hand_side(time_d: float, point: Array, change: Array) -> None:
            change[:] = rates(time_d, np.asarray(point))

        solver = CVODE(right_hand_side, rtol=exactness, atol=exactness * scale, max_num_steps=100_000)
        return np.asarray(solver.solve(np.array([0.0, length_d]), start).y[-1])

    return integrate
