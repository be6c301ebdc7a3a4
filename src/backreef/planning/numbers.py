"""The planner's own numbers and words, from its tables."""

from __future__ import annotations

import tomllib
from functools import cache
from importlib.resources import files
from typing import Any

from backreef.simulation.tables import InItsUnit


@cache
def table(name: str) -> dict[str, Any]:
    """A table of this room."""
    with (files("backreef.planning") / "data" / f"{name}.toml").open("rb") as file:
        return tomllib.load(file)


def number(name: str) -> InItsUnit:
    """A number of the planner, in the unit its row names."""
    return float(table("planning")["numbers"][name]["value"])


def count(name: str) -> int:
    """A number of the planner that counts something."""
    return round(number(name))
