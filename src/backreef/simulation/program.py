"""A recorded straight-line program: it reads rows of named arrays and writes rows of named arrays."""

from __future__ import annotations

from dataclasses import dataclass, field

from backreef.models.mathops import Quantity
from backreef.models.symbols import Operation, Recorder, Symbol


@dataclass(slots=True)
class Store:
    """Write a recorded value to a row of an array, or add it there, or take it from there."""

    array: str
    index: int
    place: int
    add: bool = False
    take: bool = False


@dataclass(slots=True)
class Program:
    """Recorded operations and where their results go; nothing in it depends on a plan."""

    name: str
    recorder: Recorder = field(default_factory=Recorder)
    stores: list[Store] = field(default_factory=list)

    def read(self, array: str, index: int) -> Symbol:
        """Read a row of an array."""
        return self.recorder.input(array, index)

    def write(
        self, array: str, index: int, value: Quantity, *, add: bool = False, take: bool = False
    ) -> None:
        """Write a value to a row of an array, or add it to the row, or take it from there."""
        self.stores.append(Store(array, index, self.recorder.symbol(value).place, add, take))

    @property
    def arrays(self) -> tuple[str, ...]:
        """Names of all arrays it reads or writes, sorted."""
        names = {store.array for store in self.stores}
        names |= {str(op[1]) for op in self.recorder.operations if op[0] == "input"}
        return tuple(sorted(names))

    def used(self) -> list[int]:
        """Places whose value reaches a store, in the order of the list."""
        seen: set[int] = set()
        stack = [store.place for store in self.stores]
        while stack:
            place = stack.pop()
            if place not in seen:
                seen.add(place)
                stack.extend(operands(self.recorder.operations[place]))
        return sorted(seen)


def operands(operation: Operation) -> tuple[int, ...]:
    """Give the places whose values an operation needs; of a solved value only the value."""
    kind = operation[0]
    if kind in ("const", "input"):
        return ()
    return operation[1:2] if kind == "implicit" else operation[1:]  # type: ignore[return-value]
