"""Time and memory of a fleet against its size, and the same tanks on a cluster of processes, in one run.

    python -m bench.fleet [SIZE ...]

Each size is done in a process of its own, so that its peak of memory is its own. The tanks are small and
their plans short (eight weeks, eight members): what grows with the size is what is looked at, and that is the
same for tanks of any length. Time is of the processor, as other work on the machine would show in seconds.
"""

from __future__ import annotations

import json
import resource
import subprocess
import sys
import time

from backreef.planning.rounds import Job, rounds_of
from backreef.simulation.workers import Cores, Workers
from backreef.usecases.fleet_tank import TankWeek, tank_week
from tests.fleet_world import orders

SIZES = (1, 10, 100, 1000)
ON_CLUSTER = 20
MEGABYTES = 1 / 1024


def weeks(count: int, workers: Workers) -> list[TankWeek]:
    """So many tanks looked at."""
    return list(workers.each(tank_week, orders(count)))


def one_size(count: int) -> dict[str, float]:
    """Processor seconds, peak memory and the rounds of so many tanks; the first tank warms up unmeasured."""
    weeks(1, Cores())
    started, begun = time.process_time(), time.perf_counter()
    found = weeks(count, Cores())
    cpu_s, wall_s = time.process_time() - started, time.perf_counter() - begun
    jobs = [
        Job(
            tank=week.tank,
            what=one.what,
            minutes=one.minutes,
            setup_group=one.setup_group,
            setup_minutes=one.setup_minutes,
            days=one.days,
        )
        for week in found[:100]
        for one in week.jobs
    ]
    begun = time.perf_counter()
    proven = rounds_of(jobs).proven
    return {
        "cpu_s": cpu_s,
        "wall_s": wall_s,
        "peak_mb": resource.getrusage(resource.RUSAGE_SELF).ru_maxrss * MEGABYTES,
        "rounds_s": time.perf_counter() - begun,
        "rounds_jobs": len(jobs),
        "proven": proven,
    }


def on_cluster(count: int) -> tuple[float, float, bool]:
    """Seconds of so many tanks here and on two worker processes, and whether the answers are the same."""
    from distributed import LocalCluster

    from backreef.usecases.machines import Machines

    weeks(1, Cores())
    begun = time.perf_counter()
    here = weeks(count, Cores())
    here_s = time.perf_counter() - begun
    with (
        LocalCluster(  # type: ignore[no-untyped-call]
            n_workers=2, threads_per_worker=1, processes=True, dashboard_address=None, host="127.0.0.1"
        ) as cluster,
        Machines(cluster.scheduler_address) as machines,
    ):
        weeks(2, machines)
        begun = time.perf_counter()
        there = weeks(count, machines)
        return here_s, time.perf_counter() - begun, here == there


def main() -> None:
    """Measure every size and print."""
    sizes = [int(text) for text in sys.argv[1:]] or list(SIZES)
    print("tanks   cpu s/tank   wall s/tank   peak MB   rounds s (jobs)")
    first = 0.0
    for count in sizes:
        code = f"import json; from bench.fleet import one_size; print(json.dumps(one_size({count})))"
        done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
        told = json.loads(done.stdout)
        each = told["cpu_s"] / count
        first = first or each
        print(
            f"{count:5}   {each:10.3f}   {told['wall_s'] / count:11.3f}   {told['peak_mb']:7.0f}   "
            f"{told['rounds_s']:.2f} ({told['rounds_jobs']}, {'proven' if told['proven'] else 'cut off'})   "
            f"x {each / first:.2f}"
        )
    here_s, there_s, same = on_cluster(ON_CLUSTER)
    assert same
    print(
        f"{ON_CLUSTER} tanks on two worker processes take {there_s / here_s:.2f} of the time here; same bits"
    )


if __name__ == "__main__":
    main()
