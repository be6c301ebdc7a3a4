"""One Rosenbrock step of the slow reference engine, and by how much the next one may differ."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from backreef.simulation import tableau
from backreef.simulation.layout import LIGHTS
from backreef.simulation.oracle_system import Array, OracleSystem, Rates
from backreef.simulation.step_control import (
    BOUNDED,
    DUST,
    LEAST_FACTOR,
    SAFETY,
)

LEAST_ERROR = 1e-12


@dataclass(frozen=True, slots=True, kw_only=True)
class Attempt:
    """A step that was tried."""

    state: Array
    """New marched rows."""
    error: float
    """Worst error over its tolerance."""
    sound: bool
    """Whether all is a number and nothing bounded lies below 0."""
    seen: Mapping[str, Array]
    """What the water was like at the start of the step."""


@dataclass(frozen=True, slots=True, kw_only=True)
class StepWork:
    """What a step needs to know: the rates, the light of its segment, and how exact it has to be."""

    system: OracleSystem
    traits: Array
    scale: Array
    relative: float
    absolute_share: float
    forcings: Mapping[str, float]

    def lights(self, time_d: float) -> dict[str, float]:
        """Give the light at a time since the start of the segment."""
        return {name: self.forcings[name] + self.forcings[slope] * time_d for name, slope in LIGHTS.items()}


class _Solver:
    """The step matrix of one step; it holds for all its stages."""

    def __init__(self, work: StepWork, marched: Array, time_d: float, weight: float) -> None:
        slots = work.traits.shape[0]
        slopes = work.system.slopes(marched, work.traits, work.lights(time_d))
        self.in_time = slopes.in_time
        self.moving, self.summed = work.system.moving_rows(slots), work.system.summed_rows(slots)
        self.matrix = np.eye(len(self.moving)) / weight - slopes.moving
        self.summed_slopes, self.weight = slopes.summed, weight

    def solve(self, right: Array) -> Array:
        """Give the stage that a right-hand side leads to; collecting rows follow from the moving ones."""
        stage = np.zeros_like(right)
        found = np.linalg.solve(self.matrix, right[self.moving].T[:, :, None])
        stage[self.moving] = found[:, :, 0].T
        followed = np.matmul(self.summed_slopes, found)[:, :, 0].T
        stage[self.summed] = self.weight * (right[self.summed] + followed)
        return stage


def rosenbrock(work: StepWork, marched: Array, time_d: float, step_d: float) -> Attempt:
    """Try a step of order 4."""
    solver = _Solver(work, marched, time_d, tableau.GAMMA * step_d)
    first = work.system.rates(marched, work.traits, work.lights(time_d))
    rates, stages = first, list[Array]()
    for stage in range(tableau.STAGES):
        if stage:
            point = marched + _sum(tableau.A[stage], stages)
            rates = work.system.rates(point, work.traits, work.lights(time_d + tableau.ALPHA[stage] * step_d))
        right = rates.change + _sum(tableau.C[stage], stages) / step_d
        stages.append(solver.solve(right + tableau.GAMMA_TIME[stage] * step_d * solver.in_time))
    new = marched + _sum(tableau.WEIGHTS, stages)
    new = np.where(np.abs(new) < DUST, 0.0, new)
    return _attempt(work, new, stages[tableau.ERROR_STAGE], first)


def euler(work: StepWork, marched: Array, time_d: float, step_d: float) -> Attempt:
    """Make one linearly implicit step of order 1, which no error is asked of."""
    solver = _Solver(work, marched, time_d, step_d)
    rates = work.system.rates(marched, work.traits, work.lights(time_d))
    new = marched + solver.solve(rates.change + step_d * solver.in_time)
    return _attempt(work, new, np.zeros_like(new), rates)


def _sum(weights: tuple[float, ...], stages: list[Array]) -> Array:
    total = np.zeros_like(stages[0]) if stages else np.zeros(())
    for weight, stage in zip(weights, stages, strict=False):
        total = total + weight * stage
    return total


def _attempt(work: StepWork, new: Array, error: Array, first: Rates) -> Attempt:
    bounded = work.scale < BOUNDED
    wanted = work.relative * (work.absolute_share * work.scale[bounded, None] + new[bounded])
    ratio = np.abs(error[bounded]) / wanted
    finite = bool(np.isfinite(new).all())
    return Attempt(
        state=new,
        error=float(ratio[ratio > 0.0].max(initial=0.0)),
        sound=finite and bool((new[bounded] >= 0.0).all()),
        seen=first.seen,
    )


def factor_after(error: float, most: float) -> float:
    """Give by how much the next step may differ from one with this error above 0."""
    return float(min(max(SAFETY / error ** (1.0 / tableau.ORDER), LEAST_FACTOR), most))
