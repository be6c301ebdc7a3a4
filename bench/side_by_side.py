"""One table of one run: our march against other integrators and against C, with the error of each.

`python -m bench.side_by_side` needs requirements-bench.txt and gcc. All march the reading-room example, its
events included, from the same first day. Times are processor time, of one member on one thread, scaled to
three years. Errors are those of the amounts at midnight, against LSODA with a tolerance of 1e-10, over the
larger of the amount and a thousandth of the row's largest. Times differ between machines: the ratios are what
may be quoted.
"""

from __future__ import annotations

import argparse
import os
import platform
import resource
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from pathlib import Path

import llvmlite.binding as llvm
import numpy as np

from backreef.models.matrix import packaged_matrix
from backreef.simulation.block import CHECKING, FORECAST, Block, Tolerances, march_block
from backreef.simulation.draws import Draws
from backreef.simulation.engine import Engine, build_engine, kernel_foods, load_engine
from backreef.simulation.layout import LANES, REGISTERS, packaged_layout
from backreef.simulation.prepared import Prepared
from backreef.simulation.setting import Setting
from bench.as_c import c_engine
from bench.engine import prepared_example
from bench.rivals import Array, CompiledRates, Integrate, RivalMarch, cvode, lsoda

YEARS_D = 1095.0
REFERENCE = 1e-10
SMALL_SHARE = 1e-3
HEADS = ("ms", "ratio", "median", "p99.9", "most", "least")
"""Time, its ratio to ours, relative errors, and the lowest amount that was ever written."""
WHOLE_COURSE = """
import sys
sys.path.insert(0, {root!r})
from bench.engine import prepared_example
from backreef.judgement.course import course_of
from backreef.simulation.draws import Draws
course_of(prepared_example({days}), Draws(1, {members}))
print(next(int(line.split()[1]) / 1024 for line in open("/proc/self/status") if line.startswith("VmHWM")))
"""
"""A march with all its judgement, and the most memory it had; what `resource` says would hold what
this process had when it started the other."""
LOAD = "from backreef.simulation.engine import load_engine; load_engine(8, 2)"


@dataclass(frozen=True, slots=True)
class Line:
    """A row of the table."""

    what: str
    taken_ms: float
    """Of one member, scaled to three years."""
    days: Array


def main() -> int:
    """Run everything and print the table."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0] if __doc__ else "")
    parser.add_argument("--days", type=int, default=365, help="days of the example that are marched")
    parser.add_argument("--repeats", type=int, default=5, help="runs of which the shortest counts")
    parser.add_argument("--by-state", action="store_true", help="the error of each amount, and nothing else")
    asked = parser.parse_args()
    prepared = prepared_example(asked.days)
    if asked.by_state:
        for text in _by_state(prepared):
            print(text)
        return 0
    lines = list(_marches(prepared, asked.repeats))
    *shown, reference = lines
    print(
        f"{platform.machine()}, {llvm.get_host_cpu_name()}, AVX-512: {_has_wide_lanes()}; {asked.days} days"
    )
    print(f"{'one member, three years':62s}" + "".join(f"{head:>9s}" for head in HEADS))
    for line in shown:
        errors = _errors(prepared, line.days, reference.days)
        least = line.days[:, _moving(prepared)].min()
        numbers = [np.median(errors), np.percentile(errors, 99.9), errors.max(), least]
        times = f"{line.taken_ms:9.1f}{line.taken_ms / shown[0].taken_ms:9.2f}"
        print(f"{line.what:62s}{times}" + "".join(f"{number:9.1e}" for number in numbers))
    for what, value in _starts():
        print(f"{what:62s} {value}")
    return 0


def _has_wide_lanes() -> bool:
    return bool(dict(llvm.get_host_cpu_features()).get("avx512f"))


def _moving(prepared: Prepared) -> list[int]:
    """Rows of the state that steps carry and errors are taken of; food adrift is gone by midnight."""
    layout, slots = prepared.layout, len(prepared.cohorts)
    own = [layout.slot_address(slot, name, slots) for slot in range(slots) for name in ("gut", "reserve")]
    names = layout.components[: layout.active]
    return [len(REGISTERS) + row for row, name in enumerate(names) if not name.startswith("Q_")] + own


def _errors(prepared: Prepared, days: Array, reference: Array) -> Array:
    rows = _moving(prepared)
    right = reference[:, rows, 0]
    size = np.maximum(np.abs(right), SMALL_SHARE * np.abs(right).max(axis=0, keepdims=True) + 1e-12)
    return np.abs(days[:, rows, 0] - right) / size


def _by_state(prepared: Prepared) -> Iterator[str]:
    """Of each amount, median and largest error over the days, against CVODE at 1e-10."""
    schedule, foods = prepared.timeline.schedule, kernel_foods(len(prepared.foods))
    one, engine = _one_lane(Setting(prepared, Draws(1, LANES)).block(0)), load_engine(1, foods)
    marches = {
        name: march_block(engine, prepared.layout, schedule, one, tolerances).days
        for name, tolerances in (("forecast", FORECAST), ("checking", CHECKING))
    }
    rates = CompiledRates(foods)
    reference, other = (_rival(rates, prepared, one, kind) for kind in (cvode, lsoda))
    marches["LSODA 1e-10"] = other
    names = _names(prepared)
    errors = {name: _errors(prepared, days, reference) for name, days in marches.items()}
    yield f"{'amount':24s}" + "".join(
        f"{name + what:>24s}" for name in errors for what in (", median", ", most")
    )
    for row, name in enumerate(names):
        parts = [
            number for each in errors.values() for number in (np.median(each[:, row]), each[:, row].max())
        ]
        yield f"{name:24s}" + "".join(f"{part:24.1e}" for part in parts)


def _names(prepared: Prepared) -> list[str]:
    """What the rows of `_moving` are."""
    layout = prepared.layout
    shared = [name for name in layout.components[: layout.active] if not name.startswith("Q_")]
    animals = [cohort.entry.id for cohort in prepared.cohorts]
    return shared + [f"{what} of {animal}" for animal in animals for what in ("gut", "reserve")]


def _rival(
    rates: CompiledRates, prepared: Prepared, one: Block, kind: Callable[[float, Array], Integrate]
) -> Array:
    """Daily states by another integrator as exactly as it can."""
    march = RivalMarch(rates, prepared.timeline.schedule, one, lambda _rates, start, _length: start)
    march.integrate = kind(REFERENCE, march.scale)
    return np.asarray(march.run())


def _one_lane(block: Block) -> Block:
    """The first member of a block."""
    return replace(
        block,
        state=block.state[:, :1].copy(),
        parameters=block.parameters[:, :1].copy(),
        traits=block.traits[:, :, :1].copy(),
        nature=block.nature[:, :, :1].copy(),
        thresholds=block.thresholds[:, :, :1].copy(),
        drawn=block.drawn[:, :1].copy(),
    )


def _marches(prepared: Prepared, repeats: int) -> Iterator[Line]:
    schedule, foods = prepared.timeline.schedule, kernel_foods(len(prepared.foods))
    block = Setting(prepared, Draws(1, LANES)).block(0)
    one, scaled = _one_lane(block), YEARS_D / float(schedule.segments[:, 0].sum()) * 1000.0
    wide, single, by_gcc = load_engine(LANES, foods), load_engine(1, foods), c_engine(foods)
    ours: list[tuple[str, Engine, Block, Tolerances]] = [
        ("ours, 8 members side by side, forecast", wide, block, FORECAST),
        ("the same, checking", wide, block, CHECKING),
        ("ours, one run alone, forecast", single, one, FORECAST),
    ]
    if by_gcc is not None:
        ours.append(("C of the same programs, gcc -O3, 8 members", by_gcc, block, FORECAST))
    taken, days = [1e9] * len(ours), [np.zeros(0)] * len(ours)
    for _ in range(repeats):
        for number, (_, engine, start, tolerances) in enumerate(ours):
            begun = time.process_time()
            days[number] = march_block(engine, prepared.layout, schedule, start, tolerances).days
            taken[number] = min(taken[number], time.process_time() - begun)
    for (what, engine, _, _), seconds, found in zip(ours, taken, days, strict=True):
        yield Line(what, seconds * scaled / engine.lanes, found)
    rates = CompiledRates(foods)
    kinds: list[tuple[str, Callable[[float, Array], Integrate], float]] = [
        ("SciPy LSODA", lsoda, 1e-4),
        ("SciPy LSODA", lsoda, 1e-6),
        ("SUNDIALS CVODE (scikit-sundae)", cvode, 1e-4),
        ("SUNDIALS CVODE (scikit-sundae)", cvode, 1e-6),
        ("reference", lsoda, REFERENCE),
    ]
    for what, kind, exactness in kinds:
        march = RivalMarch(rates, schedule, one, lambda _rates, start, _length: start)
        march.integrate = kind(exactness, march.scale)
        found = march.run()
        yield Line(f"{what}, {exactness:.0e}, the same compiled rates", march.taken_s * scaled, found)
        alone_ms = march.calls * march.rates_alone_s() * scaled
        yield Line(f"   its {march.calls} rates alone, as machine code calling machine code", alone_ms, found)


def _starts() -> Iterator[tuple[str, str]]:
    """Processes of their own: what a start costs with and without kept code, memory, a new row."""
    with tempfile.TemporaryDirectory() as empty:
        for what in ("cold", "warm"):
            yield f"python to loaded engine, {what} (whole process)", f"{_process_s(LOAD, empty)[0]:.2f} s"
    root = str(Path(__file__).parents[1])
    for days, members in ((1095, 8), (1095, 64), (1095, 256), (1095, 1000)):
        code = WHOLE_COURSE.format(root=root, days=days, members=members)
        taken, said = _process_s(code, None)
        yield (
            f"fresh process to {members} judged members, 3 years",
            f"{taken:.2f} s, {float(said):.0f} MB",
        )
    matrix, layout = packaged_matrix(), packaged_layout()
    begun = time.process_time()
    build_engine(matrix, layout, foods=2)
    yield "a changed table to running code (record, compile, link)", f"{time.process_time() - begun:.2f} s"


def _process_s(code: str, cache: str | None) -> tuple[float, str]:
    """Processor seconds of a Python process with all its threads, and what it printed."""
    world = dict(os.environ) | ({"BACKREEF_CACHE": cache} if cache else {})
    before = resource.getrusage(resource.RUSAGE_CHILDREN)
    done = subprocess.run([sys.executable, "-c", code], env=world, check=True, capture_output=True, text=True)
    after = resource.getrusage(resource.RUSAGE_CHILDREN)
    taken_s = after.ru_utime - before.ru_utime + after.ru_stime - before.ru_stime
    return taken_s, done.stdout.strip()


if __name__ == "__main__":
    sys.exit(main())
