"""Cases as data: what goes in, what was published to come out, how near, why so near, and who says it."""

from __future__ import annotations

import math
import tomllib
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import pytest

Functions = Mapping[str, Callable[..., Any]]
"""Name as the cases use it -> what to call."""
FOLDER = Path(__file__).with_name("cases")


@dataclass(frozen=True, slots=True, kw_only=True)
class Case:
    """One entry of a file of cases. One of `absolute`, `relative` and `factor` says how near is near."""

    id: str
    calls: str
    given: Mapping[str, Any]
    gives: float
    why: str
    source: str
    place: str
    absolute: float | None = None
    relative: float | None = None
    factor: float | None = None

    def holds(self, found: float) -> bool:
        """Whether the value is near enough."""
        if self.absolute is not None:
            return math.isclose(found, self.gives, rel_tol=0.0, abs_tol=self.absolute)
        if self.relative is not None:
            return math.isclose(found, self.gives, rel_tol=self.relative, abs_tol=0.0)
        assert self.factor is not None
        return found > 0.0 and abs(math.log(found / self.gives)) <= math.log(self.factor)

    def check(self, functions: Functions) -> None:
        """Call the function the case names and compare."""
        found = float(functions[self.calls](**self.given))
        assert self.holds(found), f"{self.id}: {self.calls} gave {found!r}, published {self.gives!r}"


def read(name: str) -> dict[str, Any]:
    """Give a file of cases as it stands."""
    return tomllib.loads((FOLDER / name).read_text(encoding="utf-8"))


def cases(name: str) -> list[Any]:
    """Give the cases of a file as parameters of a test, each known by its id."""
    return [pytest.param(Case(**entry), id=entry["id"]) for entry in read(name)["case"]]
