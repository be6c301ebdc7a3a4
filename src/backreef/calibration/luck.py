"""Draws of an ensemble of which some are known better: deviates by name, kept and moved by the smoother."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np
import numpy.typing as npt

from backreef.simulation.draws import Draws
from backreef.simulation.layout import LANES

Array = npt.NDArray[np.float64]


class LearnedDraws(Draws):
    """Draws whose lasting numbers (one for each member) can be read, and given anew.

    The nominal member is left out: every member is drawn.
    """

    def __init__(self, seed: int, members: int, learned: Mapping[str, Array] | None = None) -> None:
        super().__init__(seed, members, first=LANES)
        self.learned: dict[str, Array] = dict(learned or {})
        """Name -> standard normal deviates, (members,)."""

    def some(self, first: int, members: int) -> LearnedDraws:
        """All of these members; the smoother fills whole blocks and takes no part of them."""
        if (first, members) != (self.first, self.members):
            raise ValueError("members that have been learned about are marched together")
        return self

    def normal(self, name: str, rows: int = 1) -> Array:
        """Standard normal deviates, (rows, members); a lasting one is remembered under its name."""
        if rows != 1:
            return super().normal(name, rows)
        if name not in self.learned:
            self.learned[name] = super().normal(name)[0]
        return self.learned[name][None, :]
