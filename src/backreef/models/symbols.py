"""Recorded arithmetic: laws called with symbols leave a list of operations to differentiate and compile.

Every operation is stored once (common subexpressions are shared), constants are folded, and the list is in
the order of evaluation. `Recorder.gradients` adds the operations of exact derivatives, carried forward as
sparse sums.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass

from backreef.models.mathops import Quantity

Operation = tuple[object, ...]
_COMMUTATIVE = ("add", "mul")
_FOLD: dict[str, Callable[..., float]] = {
    "add": lambda a, b: a + b,
    "sub": lambda a, b: a - b,
    "mul": lambda a, b: a * b,
    "div": lambda a, b: a / b,
    "exp": math.exp,
    "log": math.log,
    "sqrt": math.sqrt,
}


@dataclass(frozen=True, slots=True, eq=False)
class Symbol:
    """One recorded value: its recorder and its place in the list."""

    recorder: Recorder
    place: int

    def __add__(self, other: Quantity) -> Symbol:
        return self.recorder.binary("add", self, other)

    def __radd__(self, other: Quantity) -> Symbol:
        return self.recorder.binary("add", other, self)

    def __sub__(self, other: Quantity) -> Symbol:
        return self.recorder.binary("sub", self, other)

    def __rsub__(self, other: Quantity) -> Symbol:
        return self.recorder.binary("sub", other, self)

    def __mul__(self, other: Quantity) -> Symbol:
        return self.recorder.binary("mul", self, other)

    def __rmul__(self, other: Quantity) -> Symbol:
        return self.recorder.binary("mul", other, self)

    def __truediv__(self, other: Quantity) -> Symbol:
        return self.recorder.binary("div", self, other)

    def __rtruediv__(self, other: Quantity) -> Symbol:
        return self.recorder.binary("div", other, self)

    def __neg__(self) -> Symbol:
        return self.recorder.binary("sub", 0.0, self)

    def __pos__(self) -> Symbol:
        return self

    def exp(self) -> Symbol:
        """Record e to this power."""
        return self.recorder.unary("exp", self)

    def log(self) -> Symbol:
        """Record the natural logarithm."""
        return self.recorder.unary("log", self)

    def sqrt(self) -> Symbol:
        """Record the square root."""
        return self.recorder.unary("sqrt", self)


class Recorder:
    """The list of operations of one kernel.

    Operations are tuples: ("const", value), ("input", array, index), ("add" | "sub" | "mul" | "div", a, b),
    ("exp" | "log" | "sqrt", a), ("select", test, positive, otherwise) and ("implicit", value, inputs,
    partials), where letters are places in the list.
    """

    def __init__(self) -> None:
        self.operations: list[Operation] = []
        self._places: dict[Operation, int] = {}

    def _record(self, operation: Operation) -> Symbol:
        place = self._places.get(operation)
        if place is None:
            place = len(self.operations)
            self.operations.append(operation)
            self._places[operation] = place
        return Symbol(self, place)

    def constant(self, value: float) -> Symbol:
        """Record a number."""
        return self._record(("const", float(value)))

    def input(self, array: str, index: int) -> Symbol:
        """Record a value that the caller of the kernel supplies."""
        return self._record(("input", array, index))

    def symbol(self, value: Quantity) -> Symbol:
        """Give the value as a symbol of this list; numbers become constants."""
        if isinstance(value, Symbol):
            return value
        return self.constant(float(value))

    def value_of(self, symbol: Symbol) -> float | None:
        """Give the number behind a constant symbol, or None."""
        operation = self.operations[symbol.place]
        return operation[1] if operation[0] == "const" else None  # type: ignore[return-value]

    def binary(self, kind: str, left: Quantity, right: Quantity) -> Symbol:
        """Record left (kind) right, folding constants and neutral elements."""
        a, b = self.symbol(left), self.symbol(right)
        x, y = self.value_of(a), self.value_of(b)
        if x is not None and y is not None:
            return self.constant(_FOLD[kind](x, y))
        if kind == "add" and x == 0.0:
            return b
        if kind in ("add", "sub") and y == 0.0:
            return a
        if kind == "mul" and (x == 0.0 or y == 0.0):
            return self.constant(0.0)
        if kind == "mul" and x == 1.0:
            return b
        if kind in ("mul", "div") and y == 1.0:
            return a
        if kind == "div" and x == 0.0:
            return self.constant(0.0)
        first, second = a.place, b.place
        if kind in _COMMUTATIVE and first > second:
            first, second = second, first
        return self._record((kind, first, second))

    def unary(self, kind: str, value: Symbol) -> Symbol:
        """Record exp, log or sqrt."""
        number = self.value_of(value)
        return self.constant(_FOLD[kind](number)) if number is not None else self._record((kind, value.place))

    def select(self, test: Quantity, positive: Quantity, otherwise: Quantity) -> Symbol:
        """Record `positive` where test > 0, else `otherwise`."""
        t, a, b = self.symbol(test), self.symbol(positive), self.symbol(otherwise)
        number = self.value_of(t)
        if number is not None:
            return a if number > 0.0 else b
        return a if a.place == b.place else self._record(("select", t.place, a.place, b.place))

    def implicit(self, value: Symbol, partials: Mapping[Symbol, Symbol]) -> Symbol:
        """Record a solved value whose derivatives are given, not followed through the solver's steps."""
        inputs = tuple(symbol.place for symbol in partials)
        return self._record(("implicit", value.place, inputs, tuple(p.place for p in partials.values())))

    def total(self, terms: Iterable[Quantity]) -> Symbol:
        """Record a sum, 0 when there are no terms."""
        result = self.constant(0.0)
        for term in terms:
            result = result + term
        return result

    def arguments(self, place: int) -> tuple[int, ...]:
        """Give the places an operation reads for its derivative."""
        operation = self.operations[place]
        if operation[0] in ("const", "input"):
            return ()
        if operation[0] == "implicit":
            return operation[2]  # type: ignore[return-value]
        return operation[1:]  # type: ignore[return-value]

    def gradients(self, outputs: Sequence[Symbol], wanted: Sequence[Symbol]) -> list[dict[int, Symbol]]:
        """Record the derivatives of each output by place of the wanted values, absent where they are 0.

        A wanted value may stand in the middle of the list: what lies before it is then not looked at
        through it. Derivatives are carried forward, each operation's once for all outputs, as sparse sums.
        """
        targets = {symbol.place for symbol in wanted}
        slopes: dict[int, dict[int, Symbol]] = {}
        for place in self._reachable([output.place for output in outputs], targets):
            if place in targets:
                slopes[place] = {place: self.constant(1.0)}
                continue
            total: dict[int, Symbol] = {}
            for argument, partial in self._partials(place, slopes):
                for target, slope in slopes[argument].items():
                    term = slope * partial
                    total[target] = total[target] + term if target in total else term
            slopes[place] = total
        return [slopes[output.place] for output in outputs]

    def gradient(self, output: Symbol, wanted: Sequence[Symbol]) -> dict[int, Symbol]:
        """Record the derivatives of one output, as `gradients` does."""
        return self.gradients([output], wanted)[0]

    def _reachable(self, places: Sequence[int], stops: set[int]) -> list[int]:
        seen: set[int] = set()
        stack = list(places)
        while stack:
            current = stack.pop()
            if current not in seen:
                seen.add(current)
                if current not in stops:
                    stack.extend(self.arguments(current))
        return sorted(seen)

    def _partials(self, place: int, slopes: Mapping[int, Mapping[int, Symbol]]) -> list[tuple[int, Quantity]]:
        """Derivatives of an operation by those of its arguments that have slopes themselves."""
        arguments = self.arguments(place)
        if not any(slopes[argument] for argument in arguments):
            return []
        return [(a, partial) for a, partial in self._all_partials(place) if slopes[a]]

    def _all_partials(self, place: int) -> list[tuple[int, Quantity]]:
        operation = self.operations[place]
        kind = operation[0]
        here = Symbol(self, place)
        at = [Symbol(self, argument) for argument in self.arguments(place)]
        if kind == "add":
            return [(at[0].place, 1.0), (at[1].place, 1.0)]
        if kind == "sub":
            return [(at[0].place, 1.0), (at[1].place, -1.0)]
        if kind == "mul":
            return [(at[0].place, at[1]), (at[1].place, at[0])]
        if kind == "div":
            inverse = 1.0 / at[1]
            return [(at[0].place, inverse), (at[1].place, -(here * inverse))]
        if kind == "exp":
            return [(at[0].place, here)]
        if kind == "log":
            return [(at[0].place, 1.0 / at[0])]
        if kind == "sqrt":
            return [(at[0].place, 0.5 / here)]
        if kind == "select":
            one, nought = self.constant(1.0), self.constant(0.0)
            return [
                (at[1].place, self.select(at[0], one, nought)),
                (at[2].place, self.select(at[0], nought, one)),
            ]
        partials: tuple[int, ...] = operation[3]  # type: ignore[assignment]
        return [
            (argument.place, Symbol(self, partial)) for argument, partial in zip(at, partials, strict=True)
        ]
