"""Plain words for daily series and parts of the tank that no table of bounds names."""

from __future__ import annotations

import tomllib
from functools import cache
from importlib.resources import files
from typing import Literal


@cache
def figure_names(group: Literal["series", "tank"]) -> dict[str, tuple[str, str]]:
    """Words and unit, by the name that the program uses."""
    with (files("backreef.usecases") / "data" / "figure_names.toml").open("rb") as file:
        return {name: (str(words), str(unit)) for name, (words, unit) in tomllib.load(file)[group].items()}
