"""A plan marched for all members: blocks of eight lanes on threads, reduced to daily series as they come."""

from __future__ import annotations

import os
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from backreef.simulation.block import BlockResult, Tolerances, march_block
from backreef.simulation.draws import Draws
from backreef.simulation.engine import kernel_foods, load_engine
from backreef.simulation.layout import LANES
from backreef.simulation.prepared import Prepared
from backreef.simulation.setting import Setting

Array = npt.NDArray[np.float64]
Progress = Callable[[int, int], None]
"""Called with blocks done and blocks in all."""


@dataclass(slots=True, kw_only=True)
class Members:
    """What was drawn for the members and what came of them; the last axis is members."""

    count: int
    seed: int
    natures: list[Array]
    parameters: Array
    blocks: list[BlockResult]
    drawn: Array

    def row(self, place: int) -> Array:
        """Daily values of a state row, (days, members)."""
        return np.concatenate([block.days[:, place, :] for block in self.blocks], axis=1)[:, : self.count]

    @property
    def noted(self) -> Array:
        """Masks of conditional chores, (notes, members)."""
        return np.concatenate([block.noted for block in self.blocks], axis=1)[:, : self.count]


def march_members(
    prepared: Prepared,
    draws: Draws,
    tolerances: Tolerances,
    *,
    threads: int | None = None,
    progress: Progress | None = None,
) -> Members:
    """March all members; the same seed gives the same bits on any number of threads."""
    engine = load_engine(LANES, kernel_foods(len(prepared.foods)))
    padded = Draws(draws.seed, -(-draws.members // LANES) * LANES, nominal=draws.nominal)
    setting = Setting(prepared, padded)
    count = padded.members // LANES

    def run(number: int) -> BlockResult:
        block = setting.block(number)
        return march_block(engine, prepared.layout, prepared.timeline.schedule, block, tolerances)

    results: list[BlockResult] = []
    with ThreadPoolExecutor(threads or os.cpu_count() or 1) as pool:
        for result in pool.map(run, range(count)):
            results.append(result)
            if progress is not None:
                progress(len(results), count)
    return Members(
        count=draws.members,
        seed=draws.seed,
        natures=[arrays.nature[:, : draws.members] for arrays in setting.bodies],
        parameters=setting.parameters[:, : draws.members],
        blocks=results,
        drawn=setting.drawn[:, : draws.members],
    )
