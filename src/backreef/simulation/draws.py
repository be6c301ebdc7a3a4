"""Draws of uncertain numbers: the same for every plan, and for one machine or many.

A number's low and high are its 5 and 95 % points; between them lies a log-normal with the value as its
median and its own width on each side (a normal one, cut at 0, where low is 0). Which z a member has for a
name depends on seed, name and member only.
"""

from __future__ import annotations

import hashlib
import threading
from collections.abc import Callable
from typing import Any

import numpy as np
import numpy.typing as npt

from backreef.models.mathops import exp, log, maximum
from backreef.simulation.tables import InItsUnit, system_number
from backreef.working.number import Worked
from backreef.working.record import askable

Array = npt.NDArray[np.float64]
Z_95 = 1.6448536269514722
"""Standard normal deviate of the 95 % point."""
PASSED_MEMBERS = 64
"""The numbers of members before the first one asked for are drawn for so many at a time, and forgotten."""
ASSUMED_RATIO = system_number("assumed_spread_ratio")
"""Spread of a number without a range: times or divided by this; such numbers are listed as assumed."""


class _Begun(threading.local):
    """A thread's generator, set to the first number of whichever key is asked for.

    A new one would first fetch luck of its own from the operating system, only to be told the key.
    """

    def __init__(self) -> None:
        self._philox = np.random.Philox(key=0)
        self._first: Any = self._philox.state
        self._generator = np.random.Generator(self._philox)

    def at(self, key: bytes) -> np.random.Generator:
        """The generator of a key of 16 bytes; it serves until the next is asked for."""
        self._first["state"]["key"] = np.frombuffer(key, dtype="<u8").astype(np.uint64)
        self._philox.state = self._first
        return self._generator


_begun = _Begun()


class Draws:
    """Random numbers of an ensemble."""

    def __init__(self, seed: int, members: int, *, first: int = 0, nominal: bool = False) -> None:
        self.seed = seed
        self.members = members
        self.first = first
        """Number of the first member; those before it are left out."""
        self.numbers = np.arange(first, first + members)
        """Number of each member: what it draws hangs on that, not on who is drawn beside it."""
        self.certain = np.full(members, nominal)
        """Members that take the values themselves and draw no error: all in a nominal run, else the first of
        an ensemble, its deterministic run. [bool]"""
        self.certain[: max(0, 1 - first)] = True

    def some(self, first: int, members: int) -> Draws:
        """The draws of some of these members, from the one numbered `first` on."""
        few = Draws(self.seed, members, first=first)
        few.certain |= self.certain.all()
        return few

    def of_numbers(self, numbers: npt.NDArray[np.int64]) -> Draws:
        """The draws of the members with these numbers, in ascending order."""
        few = self.some(int(numbers[0]), len(numbers))
        few.numbers = numbers
        return few

    def _generator(self, name: str) -> np.random.Generator:
        digest = hashlib.blake2b(f"{self.seed} {name}".encode(), digest_size=16).digest()
        return _begun.at(digest)

    def _of(
        self, name: str, rows: int, draw: Callable[[np.random.Generator, int], Array], *, middle: InItsUnit
    ) -> Array:
        """Draw (rows, members), member after member: more members leave the first ones as they are."""
        generator, first = self._generator(name), int(self.numbers.min(initial=0))
        for start in range(0, first, PASSED_MEMBERS):
            draw(generator, min(PASSED_MEMBERS, first - start) * rows)
        drawn = draw(generator, (int(self.numbers.max(initial=-1)) + 1 - first) * rows).reshape(-1, rows)
        result = np.ascontiguousarray(drawn[self.numbers - first].T)
        result[:, self.certain] = middle
        return result

    def normal(self, name: str, rows: int = 1) -> Array:
        """Standard normal deviates, (rows, members); zeros where nothing is uncertain."""
        return self._of(name, rows, lambda generator, count: generator.standard_normal(count), middle=0.0)

    def uniform(self, name: str, rows: int = 1) -> Array:
        """Uniform numbers between 0 and 1, (rows, members); halves where nothing is uncertain."""
        return self._of(name, rows, lambda generator, count: generator.random(count), middle=0.5)

    def exponential(self, name: str, rows: int = 1) -> Array:
        """Exponential numbers of mean 1, (rows, members); ones where nothing is uncertain."""
        return self._of(
            name, rows, lambda generator, count: generator.standard_exponential(count), middle=1.0
        )

    def value(self, name: str, value: InItsUnit, low: InItsUnit | None, high: InItsUnit | None) -> Array:
        """Draw a number from its range, (members,)."""
        z = self.normal(name)[0]
        return np.asarray(spread(value, low, high, z))

    def around_nought(self, name: str, most: InItsUnit) -> Array:
        """Draw a number that may fall to either side of 0, (members,); `most` is its 95 % point."""
        return np.asarray(most / Z_95 * self.normal(name)[0])


@askable
def spread(value: InItsUnit, low: InItsUnit | None, high: InItsUnit | None, z: Any) -> Any:
    """Give the numbers at standard normal deviates z of a range whose ends are the 5 and 95 % points.

    Of a single z that knows how it was worked out the number knows it too.
    """
    if value == 0.0 and not high:
        return np.zeros_like(z)
    least = value / ASSUMED_RATIO if low is None else min(low, value)
    most = value * ASSUMED_RATIO if high is None else max(high, value)
    if least <= 0.0 or value <= 0.0:
        return maximum(value + _of_its_side(z, value - least, most - value) / Z_95 * z, 0.0)
    up, down = log(most / value) / Z_95, log(value / least) / Z_95
    return value * exp(z * _of_its_side(z, down, up))


def _of_its_side(z: Any, below: InItsUnit, above: InItsUnit) -> Any:
    if isinstance(z, Worked):
        return below if z < 0 else above
    return np.where(z < 0, below, above)
