"""What the compiled march saves against the same march in numpy, and what exactness costs; ratios of one run.

`python bench/engine.py` marches the example for some weeks, one block of eight members, on one thread. Both
engines take the same tables, laws, schedules and tolerances, and their answers are compared before anything
is printed. Times on their own say little on another machine; the ratios are what docs/trust.md may quote.
"""

from __future__ import annotations

import argparse
import resource
import statistics
import sys
import time
from collections.abc import Callable
from dataclasses import replace
from datetime import timedelta
from pathlib import Path

import numpy as np
import numpy.typing as npt

from backreef.aquarium.load import load_plan
from backreef.catalogue.load import load_catalogue
from backreef.models.matrix import packaged_matrix
from backreef.simulation.block import CHECKING, FORECAST, BlockResult, Tolerances, march_block
from backreef.simulation.draws import Draws
from backreef.simulation.engine import load_engine
from backreef.simulation.ensemble import march_members
from backreef.simulation.layout import LANES
from backreef.simulation.oracle import Oracle, march_slowly
from backreef.simulation.prepared import Prepared, prepare
from backreef.simulation.setting import Setting

PLAN = Path(__file__).parents[1] / "examples" / "reading_room.toml"
MOST_APART = 0.02
"""Of the larger of an amount and its median: rounding makes the engines choose other steps now and then."""


def main() -> int:
    """Run the comparisons and print a table."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0] if __doc__ else "")
    parser.add_argument("--weeks", type=int, default=1, help="length of the march that both engines make")
    parser.add_argument("--repeats", type=int, default=3, help="runs of which the median counts")
    asked = parser.parse_args()
    prepared = prepared_example(7 * asked.weeks)
    rows = [*_engines(prepared, asked.repeats), *_exactness(asked.repeats), *_members()]
    for what, ratio, note in rows:
        print(f"{what:54s} {ratio:8.2f}   {note}")
    return 0


def prepared_example(days: int) -> Prepared:
    """The example, cut after some days."""
    catalogue = load_catalogue()
    plan = load_plan(PLAN, catalogue)
    last = plan.start_on + timedelta(days=days - 1)
    there = tuple(one for one in plan.animals if one.arrives_on is None or one.arrives_on <= last)
    plan = replace(plan, animals=there, horizon_days=days)
    return prepare(plan, catalogue)


def _median(run: Callable[[], BlockResult], repeats: int) -> tuple[float, BlockResult]:
    """Median seconds of the runs, and the answer of the last."""
    taken = []
    for _ in range(repeats):
        begun = time.perf_counter()
        result = run()
        taken.append(time.perf_counter() - begun)
    return statistics.median(taken), result


def _apart(one: npt.NDArray[np.float64], other: npt.NDArray[np.float64]) -> float:
    """Largest difference of daily states against the larger of their size and the median of their row."""
    size = np.maximum(np.abs(other), np.median(np.abs(other), axis=(0, 2), keepdims=True))
    return float(np.nanmax(np.abs(one - other) / np.maximum(size, 1e-9)))


def _engines(prepared: Prepared, repeats: int) -> list[tuple[str, float, str]]:
    setting, schedule = Setting(prepared, Draws(1, LANES)), prepared.timeline.schedule
    compiled, plain = load_engine(), Oracle(matrix=packaged_matrix())
    fast_s, fast = _median(
        lambda: march_block(compiled, prepared.layout, schedule, setting.block(0), FORECAST), repeats
    )
    slow_s, slow = _median(
        lambda: march_slowly(plain, prepared.layout, schedule, setting.block(0), FORECAST), 1
    )
    apart = _apart(fast.days, slow.days)
    if apart > MOST_APART:
        sys.exit(f"the engines differ by {apart:.3g}; no ratio is worth printing")
    return [
        ("numpy over compiled, time of a march", slow_s / fast_s, f"{fast_s:.3f} s; apart by {apart:.1e}")
    ]


def _exactness(repeats: int) -> list[tuple[str, float, str]]:
    prepared = prepared_example(365)
    engine, setting = load_engine(), Setting(prepared, Draws(1, LANES))

    def run(tolerances: Tolerances) -> tuple[float, BlockResult]:
        return _median(
            lambda: march_block(
                engine, prepared.layout, prepared.timeline.schedule, setting.block(0), tolerances
            ),
            repeats,
        )

    usual_s, usual = run(FORECAST)
    taken_s, result = run(CHECKING)
    steps = result.report["steps"] / usual.report["steps"]
    return [("checking over forecast tolerances, time of a year", taken_s / usual_s, f"steps {steps:.2f}")]


def _members() -> list[tuple[str, float, str]]:
    """What a second core gives, and what the members cost in memory."""
    prepared = prepared_example(365)
    taken = {}
    for threads in (1, 2):
        begun = time.perf_counter()
        march_members(prepared, Draws(1, 4 * LANES), FORECAST, threads=threads)
        taken[threads] = time.perf_counter() - begun
    peak_mb = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024.0
    return [
        ("one thread over two, 32 members of a year", taken[1] / taken[2], f"peak memory {peak_mb:.0f} MB")
    ]


if __name__ == "__main__":
    sys.exit(main())
