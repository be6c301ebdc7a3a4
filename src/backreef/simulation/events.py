"""What can happen at an instant, as a small program of row operations that the march carries out.

An operation has a target row, a source row, an extra (a row of the table of drawn numbers or of the noted
masks) and a factor. A mask says in which lanes it applies: `everyone` opens it, `where_above` and
`where_below` narrow it, so that upkeep which depends on the last test is decided in each member apart.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field

OPERATIONS = (
    "add",
    "add_drawn",
    "set",
    "read",
    "everyone",
    "where_above",
    "where_below",
    "note",
    "midnight",
    "write_day",
)
"""add: target += factor source; add_drawn: the same times a drawn number; set: target = factor source;
read: target = factor source / volume times a drawn error; note: keep the mask; midnight: bodies grow and die;
write_day: output."""
BY_LUCK = tuple(OPERATIONS.index(name) for name in ("add_drawn", "read"))
"""Operations whose extra is a row of drawn numbers."""

MATTERS = 5.0
"""What moves a shared amount at a stroke by more than this, against what a step may err in it, makes steps
begin short again; see docs/adr/0013."""

_NUMBERS = {name: number for number, name in enumerate(OPERATIONS)}

InItsUnit = float
"""A number in the unit of the rows it works on."""


@dataclass(slots=True)
class EventProgram:
    """The operations before one segment, in order."""

    operations: list[tuple[int, int, int, int, float]] = field(default_factory=list)

    def put(
        self, name: str, *, target: int = 0, source: int = 0, extra: int = 0, factor: InItsUnit = 1.0
    ) -> None:
        """Append one operation."""
        self.operations.append((_NUMBERS[name], target, source, extra, factor))

    def put_all(
        self, name: str, amounts: Iterable[tuple[int, InItsUnit]], *, source: int, extra: int
    ) -> None:
        """Append one operation on many targets, each with its factor."""
        number = _NUMBERS[name]
        self.operations += [(number, target, source, extra, factor) for target, factor in amounts]

    def follow(self, other: EventProgram) -> None:
        """Append all operations of another program."""
        self.operations += other.operations


@dataclass(slots=True)
class Drawn:
    """A list of drawn numbers that events ask for: names of rows, in order."""

    rows: list[tuple[str, ...]] = field(default_factory=list)

    def row(self, *what: str) -> int:
        """Give the number of the row for something drawn."""
        self.rows.append(what)
        return len(self.rows) - 1
