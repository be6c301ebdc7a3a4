"""What stands on an away sheet, and the words it is made of."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from functools import cache
from importlib import resources
from typing import Any

from backreef.schedule.away import Absence

NOTHING_MORE = "Nothing more than each time."
"""Stands on a day that has no step of its own."""


@dataclass(frozen=True, slots=True, kw_only=True)
class SheetVisit:
    """What is to be done on some days, all alike."""

    days: tuple[date, ...]
    who: str
    steps: tuple[str, ...]
    only_if: tuple[str, ...]
    """Steps that are done only if the keeper has ticked them before leaving."""
    minutes: float
    """Of one such day."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Trouble:
    """Something that is not normal, and what to do."""

    sign: str
    do: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Sheet:
    """Everything that stands on the page, in the order of reading."""

    tank: str
    keeper: str
    absence: Absence
    visits: tuple[SheetVisit, ...]
    """In order of days; none where nobody needs to come."""
    looks: tuple[str, ...]
    """What to look at, each time."""
    each_time: tuple[str, ...]
    """Steps that all visits have in common; they do not stand in the visits again."""
    seen: tuple[str, ...]
    """Fish that live there, with their number."""
    leave: tuple[str, ...]
    normal: tuple[str, ...]
    troubles: tuple[Trouble, ...]
    calls: tuple[str, ...]
    """Whom to call; empty ones are lines to fill in."""
    cautions: tuple[str, ...]
    undone: tuple[str, ...]
    """Chores that fall due while nobody can do them: for the keeper, not for the sitter."""
    before: tuple[str, ...]
    """What the keeper does before leaving; not for the sitter."""


@cache
def sheet_words() -> Mapping[str, Any]:
    """The words of the sheet."""
    path = resources.files("backreef.usecases") / "data" / "sheet.toml"
    return tomllib.loads(path.read_text(encoding="utf-8"))


def sheet_number(name: str) -> float:
    """One of the sheet's own numbers."""
    return float(sheet_words()["numbers"][name]["value"])
