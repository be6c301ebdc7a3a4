"""One whole search for proposals: members marched, user CPU seconds, and when the first plan held.

`python -m bench.search examples/reading_room.toml` searches as `backreef propose` does, 64 members a plan.
User seconds of the process say what that costs on a machine that is busy with other things too; two idle
cores take half of them, and what Python does alone on top.
"""

from __future__ import annotations

import argparse
import resource
import threading
import time

from backreef.planning.outlook import frontier
from backreef.simulation import ensemble
from backreef.simulation.block import Block, BlockResult, Take, Tolerances
from backreef.simulation.ensemble import MarchBlock
from backreef.simulation.layout import LANES
from backreef.simulation.prepared import Prepared
from backreef.usecases.propose import propose_plans


def user_s() -> float:
    """Seconds that this process has computed, on all cores."""
    return resource.getrusage(resource.RUSAGE_SELF).ru_utime


class Counter:
    """Counts the blocks that are marched."""

    def __init__(self) -> None:
        self.blocks, self._lock, self._marcher = 0, threading.Lock(), ensemble.marcher

    def marcher(self, prepared: Prepared, tolerances: Tolerances) -> MarchBlock:
        """What marches a block, counted."""
        march = self._marcher(prepared, tolerances)

        def counted(block: Block, take: Take | None = None) -> BlockResult:
            with self._lock:
                self.blocks += 1
            return march(block, take)

        return counted


def main() -> None:
    """Print what a search takes and what it found."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("plan")
    parser.add_argument("--members", type=int, default=64)
    parser.add_argument("--seed", type=int, default=1)
    asked = parser.parse_args()
    counter, started, begun_s = Counter(), time.perf_counter(), user_s()
    ensemble.marcher = counter.marcher
    first: list[tuple[float, float, int]] = []

    def told(phrase: str, _done: int, _total: int) -> None:
        if "a plan holds" in phrase and not first:
            first.append((time.perf_counter() - started, user_s() - begun_s, counter.blocks))

    found = propose_plans(asked.plan, members=asked.members, seed=asked.seed, progress=told)
    wall_s, spent_s = time.perf_counter() - started, user_s() - begun_s
    for wall, user, blocks in first:
        print(f"first plan holds after {wall:.1f} s, {user:.1f} user s, {blocks} blocks of {LANES}")
    print(f"finished after {wall_s:.1f} s, {spent_s:.1f} user s, {counter.blocks} blocks of {LANES}")
    print(f"{counter.blocks * LANES / spent_s:.1f} members for each user second")
    for one in found.proposals:
        holding = round(one.forecast.share_holding * one.forecast.members)
        words = ", ".join(f"{each.count} {each.candidate.id}" for each in one.picked.coming)
        minutes = one.forecast.minutes.per_month_p50
        print(f"{one.aim}: {words}; {holding} of {one.forecast.members}, {minutes:.0f} minutes")
    print(f"{len(found.tries)} tried and not taken")
    if found.facts is not None:
        begun_s = time.process_time()
        points = frontier(found.facts, asked.seed)
        lasted_s, proved = time.process_time() - begun_s, sum(one.proved for one in points)
        print(f"frontier: {len(points)} points, {proved} proved, in {lasted_s:.2f} processor seconds")


if __name__ == "__main__":
    main()
