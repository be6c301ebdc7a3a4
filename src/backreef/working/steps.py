"""How a number came about: one step of arithmetic, a quantity with a name, or where it was read."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date
from typing import Literal

InItsUnit = float
"""A number in the unit that is said beside it."""
Kind = Literal["law", "plan", "assumed", "catalogue", "constant", "parameter", "drawn", "simulated", "log"]
LAW: Kind = "law"
"""Worked out by a function of ours; all other kinds are leaves."""
LITERAL, LEAF, NAMED = "literal", "leaf", "named"


@dataclass(frozen=True, slots=True, kw_only=True)
class About:
    """What is known of a quantity with a name."""

    symbol: str
    """As formulas call it: the last part of its key."""
    key: str
    """Where it belongs, with dots: `species.clown.adult_length_cm`, `tank.rock`, a function's full name."""
    kind: Kind
    what: str = ""
    unit: str = ""
    low: InItsUnit | None = None
    high: InItsUnit | None = None
    source: str = ""
    """Keys of sources, or words."""
    place: str = ""
    """Page or table of the source; of a plan line, file and line; of an entry of the log, its day and id;
    of a function, its module."""
    status: str = ""
    validity: str = ""
    given: Mapping[str, str] = field(default_factory=dict)
    """Of a law: the words and days that it was called with beside its inputs."""
    on: date | None = None
    """Of a state of the simulation, its day."""
    members: int | None = None
    """Of a state of the simulation: over how many members `low` and `high` are the 5 and 95 % points."""


@dataclass(frozen=True, slots=True, eq=False, weakref_slot=True)
class Step:
    """One step of a working; `args` are what it was made from."""

    op: str
    """`literal`, `leaf`, `named`, or an operation of `formula`."""
    value: InItsUnit
    args: tuple[Step, ...] = ()
    about: About | None = None
