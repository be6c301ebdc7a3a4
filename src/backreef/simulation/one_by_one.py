"""Every uncertain number moved alone: members that differ from the middle run in one number each.

A block of lanes marches with common steps, so what sets a lane apart from the first, which is the middle run,
is that number's doing and not the method's: the differences are derivatives of the march itself.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import numpy.typing as npt

from backreef.simulation.draws import Draws
from backreef.simulation.layout import LANES
from backreef.simulation.prepared import Prepared
from backreef.simulation.setting import Setting
from backreef.simulation.tables import InItsUnit, Range

Array = npt.NDArray[np.float64]
STEP_RATIO = 1.01
"""By which a number is moved. Numerical: far above rounding, far below where responses bend."""
MOVED_IN_A_BLOCK = LANES - 1


class Listening(Draws):
    """A middle run that takes note of the numbers it is asked for."""

    def __init__(self, members: int = LANES) -> None:
        super().__init__(0, members, nominal=True)
        self.asked: dict[str, Range] = {}

    def value(self, name: str, value: InItsUnit, low: InItsUnit | None, high: InItsUnit | None) -> Array:
        """The value itself, noted if it is uncertain and can be moved by a ratio."""
        if value and not low == value == high:
            self.asked[name] = Range(value=value, low=low, high=high)
        return super().value(name, value, low, high)


class OneByOne(Draws):
    """A middle run in the first lane of each block, and one number moved in each of the others."""

    def __init__(self, names: Sequence[str], *, first: int = 0, members: int | None = None) -> None:
        blocks = -(-len(names) // MOVED_IN_A_BLOCK)
        super().__init__(0, LANES * blocks if members is None else members, first=first, nominal=True)
        self.names = tuple(names)
        self.member = {name: moved_member(place) for place, name in enumerate(self.names)}

    def some(self, first: int, members: int) -> OneByOne:
        """The draws of some of these members."""
        return OneByOne(self.names, first=first, members=members)

    def value(self, name: str, value: InItsUnit, low: InItsUnit | None, high: InItsUnit | None) -> Array:
        """The value itself, but for the one member in which it is moved."""
        values = super().value(name, value, low, high)
        place = self.member.get(name, -1) - self.first
        if 0 <= place < self.members:
            values[place] *= STEP_RATIO
        return values


def moved_member(place: int) -> int:
    """The member in which the number at a place of the list is moved."""
    block, lane = divmod(place, MOVED_IN_A_BLOCK)
    return block * LANES + lane + 1


def uncertain(prepared: Prepared) -> dict[str, Range]:
    """Every uncertain number of a plan with its range, by the name under which it is drawn."""
    draws = Listening()
    Setting(prepared, draws)
    return draws.asked
