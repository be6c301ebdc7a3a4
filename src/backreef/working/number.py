"""A number that remembers how it was worked out, and is else as any other float.

Where a plan, the catalogue and the tables are read for a question, their numbers are of this kind; the same
functions that otherwise compute with plain numbers then leave their working behind. Nothing else changes: it
compares, prints and rounds as a float, and arrays take it as one (and forget its working).
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable
from typing import Any, cast

from backreef.working.steps import LITERAL, InItsUnit, Step


def step_of(value: InItsUnit) -> Step:
    """Give how a number came about; a plain one is a literal."""
    found = getattr(value, "step", None)
    return found if isinstance(found, Step) else Step(LITERAL, float(value))


def worked(op: str, value: InItsUnit, *args: InItsUnit) -> Worked:
    """Give a number with the operation that made it."""
    return Worked(Step(op, float(value), tuple(step_of(arg) for arg in args)))


class _Chooser:
    """What laws call to choose between two of these numbers; see `models.mathops.select`."""

    @staticmethod
    def select(test: InItsUnit, positive: InItsUnit, otherwise: InItsUnit) -> Worked:
        """Give `positive` if test > 0, else `otherwise`; the test stays part of the working.

        Arrays forget the working of what they are chosen from.
        """
        if getattr(test, "shape", ()):
            import numpy as np

            return cast("Worked", np.where(np.asarray(test) > 0.0, positive, otherwise))
        return worked("select", positive if test > 0.0 else otherwise, test, positive, otherwise)


def _plain(other: object) -> bool:
    return isinstance(other, (float, int)) and not isinstance(other, bool)


class Worked(float):
    """A float with its working."""

    step: Step
    recorder = _Chooser()

    def __new__(cls, step: Step) -> Worked:
        """Make one from its last step."""
        made = super().__new__(cls, step.value)
        made.step = step
        return made

    def __reduce__(self) -> tuple[Any, ...]:
        """Copies and other processes get a plain number."""
        return float, (float(self),)

    def _with(self, op: str, other: object, rule: Callable[[float, float], float], *, turned: bool) -> Worked:
        if not _plain(other):
            return cast("Worked", NotImplemented)
        first, second = (other, self) if turned else (self, other)
        return worked(op, rule(float(first), float(second)), first, second)  # type: ignore[arg-type]

    def __add__(self, other: InItsUnit) -> Worked:
        return self if _is(other, 0.0) else self._with("+", other, lambda a, b: a + b, turned=False)

    def __radd__(self, other: InItsUnit) -> Worked:
        return self if _is(other, 0.0) else self._with("+", other, lambda a, b: a + b, turned=True)

    def __sub__(self, other: InItsUnit) -> Worked:
        return self if _is(other, 0.0) else self._with("-", other, lambda a, b: a - b, turned=False)

    def __rsub__(self, other: InItsUnit) -> Worked:
        return self._with("-", other, lambda a, b: a - b, turned=True)

    def __mul__(self, other: InItsUnit) -> Worked:
        return self if _is(other, 1.0) else self._with("*", other, lambda a, b: a * b, turned=False)

    def __rmul__(self, other: InItsUnit) -> Worked:
        return self if _is(other, 1.0) else self._with("*", other, lambda a, b: a * b, turned=True)

    def __truediv__(self, other: InItsUnit) -> Worked:
        return self if _is(other, 1.0) else self._with("/", other, lambda a, b: a / b, turned=False)

    def __rtruediv__(self, other: InItsUnit) -> Worked:
        return self._with("/", other, lambda a, b: a / b, turned=True)

    def __pow__(self, other: InItsUnit, _: None = None) -> Worked:
        return self._with("**", other, lambda a, b: a**b, turned=False)

    def __rpow__(self, other: InItsUnit, _: None = None) -> Worked:
        return self._with("**", other, lambda a, b: a**b, turned=True)

    def __neg__(self) -> Worked:
        return worked("-", -float(self), 0.0, self)

    def __pos__(self) -> Worked:
        return self

    def __abs__(self) -> Worked:
        return -self if self < 0.0 else self

    def __round__(self, digits: int | None = None) -> Any:  # type: ignore[override]  # noqa: ANN401  as float's
        whole = round(float(self), digits)
        return worked("round", whole, self) if digits is None else worked("round", whole, self, float(digits))

    def exp(self) -> Worked:
        """Give e to this power, to the bit as `models.mathops` has it."""
        import numpy as np

        return worked("exp", float(np.exp(float(self))), self)

    def log(self) -> Worked:
        """Give the natural logarithm, to the bit as `models.mathops` has it."""
        import numpy as np

        return worked("log", float(np.log(float(self))), self)

    def sqrt(self) -> Worked:
        """Give the square root."""
        return worked("sqrt", math.sqrt(self), self)


def _is(other: object, neutral: InItsUnit) -> bool:
    """Whether it is the plain number that changes nothing."""
    return _plain(other) and not isinstance(other, Worked) and other == neutral


def log_of(value: InItsUnit) -> InItsUnit:
    """Give the natural logarithm of a number, with its working if it has one."""
    return worked("log", math.log(value), value) if isinstance(value, Worked) else math.log(value)


def exp_of(value: InItsUnit) -> InItsUnit:
    """Give e to the power of a number, with its working if it has one."""
    return worked("exp", math.exp(value), value) if isinstance(value, Worked) else math.exp(value)


def to_power(value: InItsUnit, exponent: InItsUnit) -> InItsUnit:
    """Give a number of 0 or more to any power, with its working if it has one."""
    return value**exponent  # type: ignore[no-any-return]


def as_number(value: InItsUnit) -> InItsUnit:
    """Give a float of Python's own, or a number with its working as it is."""
    return value if isinstance(value, Worked) else float(value)


def total(values: Iterable[InItsUnit]) -> InItsUnit:
    """Give the sum; in its working, what stands there several times is counted."""
    each = list(values)
    if not any(isinstance(value, Worked) for value in each):
        return sum(each)
    counts: dict[int, list[Any]] = {}
    for value in each:
        step = step_of(value)
        counts.setdefault(id(step), [0, value])[0] += 1
    terms = [value if count == 1 else float(count) * value for count, value in counts.values()]
    return terms[0] if len(terms) == 1 else worked("sum", sum(float(value) for value in each), *terms)
