"""Ensemble smoother with multiple data assimilation: deviates are moved towards what was read, in steps.

The readings are taken in several times, each time with their errors made larger, and the model is marched
anew between the steps, so that its bends are followed (Emerick and Reynolds 2013, Computers & Geosciences
55:3-15). Links that are there by chance alone make a small ensemble too sure; numbers that have nothing to do
with the readings show by how much, and the deviates are spread again by that (Evensen 2009, IEEE Control
Systems Magazine 29(3):83-104).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from backreef.simulation.tables import InItsUnit

Array = npt.NDArray[np.float64]
KEPT_ENERGY = 0.9999
"""Share of the spread of what the members foretell that a step makes use of; numerical."""
IDLE_COUNT = 200
"""Numbers without any link to the readings, to see what chance links do; numerical."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Evidence:
    """What was read, in units in which errors are even: (readings,) and (readings, readings)."""

    seen: Array
    errors: Array
    """Covariance of the errors."""

    def some(self, kept: npt.NDArray[np.bool_]) -> Evidence:
        """Only some of the readings."""
        return Evidence(seen=self.seen[kept], errors=self.errors[np.ix_(kept, kept)])


def assimilate(
    deviates: Array, foretold: Array, evidence: Evidence, *, inflation: InItsUnit, rng: np.random.Generator
) -> Array:
    """Give deviates moved by one step.

    Parameters
    ----------
    deviates : (numbers, members)
    foretold : (readings, members)
        What each member says of each reading; where a reading is only a bound and a member keeps it, the
        bound itself.
    inflation : float
        The errors of this step are so many times the true ones; over all steps the inverses sum up to 1.
    """
    transform = transform_of(foretold, evidence, inflation=inflation, rng=rng)
    return transform.of(deviates)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Transform:
    """What a step does to the members, whatever is asked of them."""

    gain: Array
    """(members, members): what each takes of how far all are from their middle."""
    shrunk_ratio: float
    """By how much links that are there by chance alone narrow the members."""

    def of(self, values: Array) -> Array:
        """Values of the members after the step, (..., members)."""
        moved = values + _centred(values) @ self.gain
        middle = moved.mean(axis=-1, keepdims=True)
        return np.asarray(middle + (moved - middle) / min(1.0, self.shrunk_ratio))


def transform_of(
    foretold: Array, evidence: Evidence, *, inflation: InItsUnit, rng: np.random.Generator
) -> Transform:
    """What one step does to the members; arguments as those of `assimilate`."""
    members = foretold.shape[1]
    root = np.linalg.cholesky(evidence.errors)
    apart = _centred(foretold) / np.sqrt(members - 1)
    left, size, right = np.linalg.svd(np.linalg.solve(root, apart), full_matrices=False)
    kept = int(np.searchsorted(np.cumsum(size**2), KEPT_ENERGY * (size**2).sum())) + 1
    left, size, right = left[:, :kept], size[:kept], right[:kept]
    noise = _centred(rng.standard_normal(foretold.shape))
    noise *= np.sqrt(members / (members - 1.0))
    missing = np.linalg.solve(root, evidence.seen[:, None] - foretold) + np.sqrt(inflation) * noise
    gain = (right.T * (size / (size**2 + inflation))) @ (left.T @ missing) / np.sqrt(members - 1)
    idle = rng.standard_normal((IDLE_COUNT, members))
    idle = _centred(idle) / idle.std(axis=1, keepdims=True)
    return Transform(gain=gain, shrunk_ratio=float((idle + idle @ gain).std(axis=1).mean()))


def _centred(values: Array) -> Array:
    return np.asarray(values - values.mean(axis=-1, keepdims=True))
