"""Readings that do not go with the others: which to question, and what they would be if they had slipped.

Each reading is held against what all the others and the ensemble say of it (the leave-one-out prediction of a
Gaussian field, in closed form). One that is far off is set aside, the worst first, and the rest is looked at
again. Nothing is mended by itself: what a reading would be if a digit or a unit had slipped is only said.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from backreef.calibration.smoother import Evidence
from backreef.simulation.tables import InItsUnit

Array = npt.NDArray[np.float64]
BoolArray = npt.NDArray[np.bool_]


@dataclass(frozen=True, slots=True, kw_only=True)
class Doubt:
    """A reading set aside."""

    place: int
    """Which of the readings."""
    off_sd: InItsUnit
    """How many standard deviations it is from what the others say."""
    others_say: InItsUnit
    """In the even units of the evidence."""
    others_sd: InItsUnit


def leave_one_out(foretold: Array, evidence: Evidence) -> tuple[Array, Array]:
    """What all other readings say of each one: mean and standard deviation, the reading's error included."""
    middle = foretold.mean(axis=1)
    apart = (foretold - middle[:, None]) / np.sqrt(foretold.shape[1] - 1)
    inverse = np.linalg.inv(apart @ apart.T + evidence.errors)
    diagonal = np.diag(inverse)
    missed = inverse @ (evidence.seen - middle) / diagonal
    return evidence.seen - missed, np.asarray(1.0 / np.sqrt(diagonal))


def questioned(
    foretold: Array, evidence: Evidence, *, bounded: BoolArray, limit_sd: InItsUnit, most_frac: float
) -> list[Doubt]:
    """The readings to set aside, the worst first; `bounded` ones (below what a kit can tell) are believed."""
    kept = np.ones(len(evidence.seen), dtype=bool)
    found: list[Doubt] = []
    while kept.sum() > 1 and len(found) < most_frac * len(kept):
        places = np.flatnonzero(kept)
        say, spread = leave_one_out(foretold[kept], evidence.some(kept))
        off = (evidence.seen[kept] - say) / spread
        off[bounded[kept]] = 0.0
        worst = int(np.abs(off).argmax())
        if abs(off[worst]) < limit_sd:
            break
        place = int(places[worst])
        kept[place] = False
        found.append(
            Doubt(
                place=place,
                off_sd=float(off[worst]),
                others_say=float(say[worst]),
                others_sd=float(spread[worst]),
            )
        )
    return found


def likely_slip(doubt: Doubt, *, slipped: Sequence[float], limit_sd: InItsUnit) -> int | None:
    """Which of the values that it would be if slipped goes with the others; None if none does.

    The nearest is taken, if it is well within the limit.
    """
    off = [abs(value - doubt.others_say) / doubt.others_sd for value in slipped]
    best = min(range(len(off)), key=off.__getitem__, default=None)
    return best if best is not None and off[best] < limit_sd / 2 else None
