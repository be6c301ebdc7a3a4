"""An integer programme as plain data, before any solver: variables, rows named by their rule, an aim."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from typing import Literal

from backreef.simulation.tables import InItsUnit

Terms = Mapping[str, InItsUnit]
Status = Literal["optimal", "feasible", "infeasible", "unsolved"]
WHOLE = 1e-6
"""How far a whole number of the solver may be off."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Variable:
    """Something to be decided."""

    name: str
    low: InItsUnit = 0.0
    high: InItsUnit = 1.0
    whole: bool = True


@dataclass(frozen=True, slots=True, kw_only=True)
class Row:
    """What one rule says about some of the variables: low <= sum of terms <= high."""

    rule: str
    about: str
    """Whom or what it concerns, so that it can be told."""
    terms: Terms
    low: InItsUnit = -math.inf
    high: InItsUnit = math.inf

    @property
    def name(self) -> str:
        """The rule and whom it concerns."""
        return f"{self.rule}.{self.about}"


@dataclass(frozen=True, slots=True, kw_only=True)
class Programme:
    """Variables, rows and what is to be as large as possible."""

    variables: tuple[Variable, ...]
    rows: tuple[Row, ...]
    aim: Terms = field(default_factory=dict)

    def aiming(self, aim: Terms, *rows: Row) -> Programme:
        """The same programme with another aim and more rows."""
        return replace(self, aim=aim, rows=(*self.rows, *rows))


@dataclass(frozen=True, slots=True, kw_only=True)
class Solved:
    """What a solver found, and how sure it is."""

    status: Status
    value: InItsUnit
    """Of the aim; nan where nothing was found."""
    bound: InItsUnit
    """No choice reaches more than this."""
    chosen: Mapping[str, InItsUnit]

    @property
    def found(self) -> bool:
        """Whether there is anything to look at."""
        return bool(self.chosen)

    @property
    def gap(self) -> InItsUnit:
        """How far the bound lies above what was found, over the bound; 0 where it is proved."""
        if not self.found:
            return math.nan
        return max(0.0, (self.bound - self.value) / max(abs(self.bound), WHOLE))

    def count(self, name: str) -> int:
        """A whole number that was chosen; 0 where it is no variable."""
        return round(self.chosen.get(name, 0.0))


def violated(programme: Programme, chosen: Mapping[str, InItsUnit]) -> list[Row]:
    """The rows that a choice breaks, found without a solver."""
    broken = []
    for row in programme.rows:
        total = sum(coefficient * chosen.get(name, 0.0) for name, coefficient in row.terms.items())
        slack = WHOLE * max(1.0, *(abs(coefficient) for coefficient in row.terms.values()), abs(total))
        if total < row.low - slack or total > row.high + slack:
            broken.append(row)
    return broken
