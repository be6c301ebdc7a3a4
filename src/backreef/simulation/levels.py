"""Moves what seldom changes out of the programs that run often, and puts the rest in a good order.

A value belongs to a level by the inputs it hangs on: those that hold for a segment, those that follow
the light, those that all slots share. Each level has a program of its own, run when its inputs change,
that leaves its values in an array from which the other programs read. What remains is written down in
the order in which it is needed, which keeps few values alive at a time, and divisions are shared: one
reciprocal of a product in place of several (processors divide ten times slower than they multiply).
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field

from backreef.models.mathops import Quantity
from backreef.models.symbols import Operation, Symbol
from backreef.simulation.layout import FORCINGS, LIGHTS
from backreef.simulation.program import Program, operands

KINDS = {
    "p": "segment",
    "r": "segment",
    "s": "segment",
    "traits": "trait",
    "y": "water",
    "seen": "water",
    "acidity": "water",
}
"""What kind of input an array is; all that is not here belongs to the program itself."""
OWN = "own"


def kind_of_input(array: str, index: int) -> str:
    """Give what makes an input change: segment, light, trait, water, or the program's own affairs."""
    if array == "f":
        return "light" if FORCINGS[index] in LIGHTS else "segment"
    return KINDS.get(array, OWN)


@dataclass(slots=True)
class Level:
    """Values that change together."""

    array: str
    covers: frozenset[str]
    """Kinds of inputs it may hang on."""
    program: Program
    rows: dict[int, int] = field(default_factory=dict)
    """Place in its program's list -> row of its array."""

    def row_of(self, symbol: Symbol) -> int:
        """Give the row in which a value is kept."""
        if symbol.place not in self.rows:
            self.rows[symbol.place] = len(self.rows)
            self.program.write(self.array, self.rows[symbol.place], symbol)
        return self.rows[symbol.place]


def level(name: str, array: str, *covers: str) -> Level:
    """Make an empty level."""
    return Level(array, frozenset(covers), Program(name))


def reshaped(program: Program, levels: Sequence[Level], *, together: int = 1) -> Program:
    """Give a program that reads what the levels keep; so many divisions share one reciprocal."""
    return _Reshaping(program, levels, together).result()


class _Reshaping:
    """The work on one program. Targets are numbered: the levels in order, then the new program itself."""

    def __init__(self, program: Program, levels: Sequence[Level], together: int) -> None:
        self.source, self.levels = program, levels
        self.operations = program.recorder.operations
        self.new = Program(program.name)
        self.programs = [*(one.program for one in levels), self.new]
        self.made: list[dict[int, Symbol]] = [{} for _ in self.programs]
        self.levels_of = self._find_levels()
        self.groups = self._find_groups(together) if together > 1 else {}
        self.reciprocals: dict[int, Symbol] = {}

    def result(self) -> Program:
        """Build every store of the program."""
        top = len(self.levels)
        for store in self.source.stores:
            value = self._build(top, store.place)
            self.new.write(store.array, store.index, value, add=store.add, take=store.take)
        return self.new

    def _find_levels(self) -> list[int]:
        """Per operation, the first level that covers all it hangs on."""
        kinds: list[frozenset[str]] = []
        found: list[int] = []
        for operation in self.operations:
            if operation[0] == "input":
                kind = kind_of_input(str(operation[1]), int(operation[2]))  # type: ignore[call-overload]
                own = frozenset((kind,))
            else:
                own = frozenset().union(*(kinds[place] for place in operands(operation)))
            kinds.append(own)
            fitting = (number for number, one in enumerate(self.levels) if own <= one.covers)
            found.append(next(fitting, len(self.levels)))
        return found

    # -- divisions that share a reciprocal -----------------------------------------------------------------
    def _find_groups(self, together: int) -> dict[int, tuple[int, ...]]:
        """Put denominators together that lie equally many divisions deep, so that none waits for another."""
        top, depth = len(self.levels), [0] * len(self.operations)
        waiting: dict[int, list[int]] = {}
        groups: dict[int, tuple[int, ...]] = {}
        for place in self.source.used():
            operation = self.operations[place]
            depth[place] = max((depth[one] for one in operands(operation)), default=0)
            if operation[0] != "div" or self.levels_of[operation[2]] != top:  # type: ignore[call-overload]
                continue
            denominator, deep = operation[2], depth[operation[2]]  # type: ignore[call-overload]
            depth[place] = max(depth[place], deep + 1)
            members = waiting.setdefault(deep, [])
            if denominator in groups or denominator in members:
                continue
            members.append(denominator)  # type: ignore[arg-type]
            if len(members) == together:
                groups |= dict.fromkeys(members, tuple(members))
                waiting[deep] = []
        for members in waiting.values():
            groups |= dict.fromkeys(members, tuple(members))
        return groups

    def _reciprocal(self, denominator: int) -> Symbol:
        """Give one over a value; made for its whole group at once."""
        if denominator not in self.reciprocals:
            group, made = self.groups[denominator], self.made[-1]
            products = [made[group[0]]]
            for place in group[1:]:
                products.append(products[-1] * made[place])
            inverse = 1.0 / products[-1]
            for number in range(len(group) - 1, 0, -1):
                self.reciprocals[group[number]] = inverse * products[number - 1]
                inverse = inverse * made[group[number]]
            self.reciprocals[group[0]] = inverse
        return self.reciprocals[denominator]

    # -- building ------------------------------------------------------------------------------------------
    def _build(self, target: int, root: int) -> Symbol:
        """Give a value of the source in a target's list, with all it needs before it."""
        made = self.made[target]
        stack = [root]
        while stack:
            place = stack[-1]
            if place in made:
                stack.pop()
                continue
            missing = [one for one in self._needs(target, place) if one not in made]
            if missing:
                stack.extend(reversed(missing))
            else:
                made[place] = self._make(target, place)
                stack.pop()
        return made[root]

    def _is_elsewhere(self, target: int, place: int) -> bool:
        """Whether a value is worked out on a lower level; numbers and plain inputs are at home everywhere."""
        return self.levels_of[place] < target and self.operations[place][0] not in ("const", "input")

    def _needs(self, target: int, place: int) -> tuple[int, ...]:
        operation = self.operations[place]
        if self._is_elsewhere(target, place):
            return ()
        if operation[0] == "div":
            return tuple(self._needs_of_division(target, operation))
        return operands(operation)

    def _needs_of_division(self, target: int, operation: Operation) -> Iterator[int]:
        _, numerator, denominator = operation
        yield numerator  # type: ignore[misc]
        if self._number(denominator) is None and not self._lies_lower(target, denominator):
            grouped = self.groups if target == len(self.levels) else {}
            yield from grouped.get(denominator, (denominator,))  # type: ignore[call-overload]

    def _number(self, place: object) -> float | None:
        operation = self.operations[place]  # type: ignore[call-overload]
        return operation[1] if operation[0] == "const" else None

    def _lies_lower(self, target: int, place: object) -> bool:
        return self.levels_of[place] < target  # type: ignore[call-overload,no-any-return]

    def _make(self, target: int, place: int) -> Symbol:
        operation, recorder = self.operations[place], self.programs[target].recorder
        kind = operation[0]
        if kind == "const":
            return recorder.constant(operation[1])  # type: ignore[arg-type]
        if kind == "input":
            return recorder.input(str(operation[1]), int(operation[2]))  # type: ignore[call-overload]
        if self._is_elsewhere(target, place):
            lower = self.levels_of[place]
            return self._read(target, lower, self._build(lower, place))
        made = self.made[target]
        if kind == "implicit":
            return made[operation[1]]  # type: ignore[index]
        if kind == "div":
            return self._divide(target, operation)
        arguments = [made[one] for one in operands(operation)]
        if kind == "select":
            return recorder.select(*arguments)
        if len(arguments) == 1:
            return recorder.unary(str(kind), arguments[0])
        return recorder.binary(str(kind), arguments[0], arguments[1])

    def _read(self, target: int, lower: int, value: Symbol) -> Symbol:
        one = self.levels[lower]
        return self.programs[target].read(one.array, one.row_of(value))

    def _divide(self, target: int, operation: Operation) -> Symbol:
        """Divide by multiplying with what is known of the denominator."""
        numerator: Symbol = self.made[target][operation[1]]  # type: ignore[index]
        denominator: int = operation[2]  # type: ignore[assignment]
        number = self._number(denominator)
        if number is not None:
            return _times(numerator, 1.0 / number)
        if self._lies_lower(target, denominator):
            lower = self.levels_of[denominator]
            inverse = 1.0 / self._build(lower, denominator)
            return _times(numerator, self._read(target, lower, inverse))
        if target == len(self.levels) and denominator in self.groups:
            return _times(numerator, self._reciprocal(denominator))
        return numerator / self.made[target][denominator]


def _times(value: Symbol, factor: Quantity) -> Symbol:
    return value * factor  # type: ignore[no-any-return]
