"""Ensemble smoother with multiple data assimilation: deviates are moved towards what was read, in steps.

The readings are taken in several times, each time with their errors made larger, and the model is marched
anew between the steps, so that its bends are followed (Emerick and Reynolds 2013, Computers & Geosciences
55:3-15). Links that are there by chance alone make a small ensemble too sure; numbers that have nothing to do
with the readings show by how much, and the deviates are spread again by that (Evensen 2009, IEEE Control
Systems Magazine 29(3):83-104).
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Any

import numpy as np
import numpy.typing as npt

from backreef.simulation.tables import InItsUnit

Array = npt.NDArray[np.float64]
Number = Any
"""An array, or a number that knows how it was worked out: both are moved by the same functions."""
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


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Transform:
    """What a step does to the members, whatever is asked of them."""

    weights: Array
    """(members, readings): how much of each reading's miss falls to how far a member is from the middle."""
    seen: Array
    """(readings,)"""
    foretold: Array
    """(readings, members)"""
    drawn: Array
    """(readings, members): errors of the kits, drawn for each member."""
    shrunk_ratio: float
    """By how much links that are there by chance alone narrow the members."""

    @property
    def missed(self) -> Array:
        """By how much each member foretold less than was read, (readings, members)."""
        return np.asarray(missed(self.seen[:, None], self.drawn, self.foretold))

    def pulls(self, values: Array) -> Array:
        """How far a miss of one pulls values of the members, (..., readings)."""
        return np.asarray(_centred(values) @ self.weights)

    def moved(self, values: Array) -> Array:
        """Values of the members, (..., members), as the readings pull them."""
        return np.asarray(values + self.pulls(values) @ self.missed)

    @property
    def widening(self) -> float:
        """What the members are then spread apart by."""
        return 1.0 / min(1.0, self.shrunk_ratio)

    def of(self, values: Array) -> Array:
        """Values of the members after the step, (..., members)."""
        moved = self.moved(values)
        return np.asarray(widened(moved, moved.mean(axis=-1, keepdims=True), self.widening))


def missed(seen: Number, drawn: Number, foretold: Number) -> Number:
    """By how much less was foretold than was read, read with an error of the kit that was drawn."""
    return seen + drawn - foretold


def widened(moved: Number, middle: Number, widening: Number) -> Number:
    """Spread apart from the middle of all members."""
    return middle + (moved - middle) * widening


def transform_of(
    foretold: Array, evidence: Evidence, *, inflation: InItsUnit, rng: np.random.Generator
) -> Transform:
    """What one step does to the members.

    Parameters
    ----------
    foretold : (readings, members)
        What each member says of each reading; where a reading is only a bound and a member keeps it, the
        bound itself.
    inflation : float
        The errors of this step are so many times the true ones; over all steps the inverses sum up to 1.
    """
    members = foretold.shape[1]
    root = np.linalg.cholesky(evidence.errors)
    apart = _centred(foretold) / np.sqrt(members - 1)
    left, size, right = np.linalg.svd(np.linalg.solve(root, apart), full_matrices=False)
    kept = int(np.searchsorted(np.cumsum(size**2), KEPT_ENERGY * (size**2).sum())) + 1
    left, size, right = left[:, :kept], size[:kept], right[:kept]
    noise = _centred(rng.standard_normal(foretold.shape))
    noise *= np.sqrt(members / (members - 1.0))
    even = (right.T * (size / (size**2 + inflation))) @ left.T / np.sqrt(members - 1)
    idle = rng.standard_normal((IDLE_COUNT, members))
    idle = _centred(idle) / idle.std(axis=1, keepdims=True)
    step = Transform(
        weights=np.linalg.solve(root.T, even.T).T,
        seen=evidence.seen,
        foretold=foretold,
        drawn=np.sqrt(inflation) * root @ noise,
        shrunk_ratio=1.0,
    )
    return replace(step, shrunk_ratio=float(step.moved(idle).std(axis=1).mean()))


def _centred(values: Array) -> Array:
    return np.asarray(values - values.mean(axis=-1, keepdims=True))
