import ast
import tomllib
from collections.abc import Iterator
from fnmatch import fnmatch
from functools import cache
from pathlib import Path
from typing import Any, cast

import pytest

from backreef.units import has_unit
from tests.house.repository import PACKAGE, python_files, syntax

EXCEPTIONS = Path(__file__).with_name("unit_exceptions.toml")
WHICH_OF_SEVERAL = {"p05", "p50", "p95", "low", "high", "start", "end"}
SAYS_THE_UNIT = {"unit", "token", "series"}
OF_THAT_UNIT = {"value", "bound", "low", "high", "lowest", "highest", "typical"}


def is_float(annotation: ast.expr | None) -> bool:
    """Whether the annotation is float, or float where it is given."""
    return annotation is not None and ast.unparse(annotation) in {"float", "float | None", "None | float"}


def floats(tree: ast.Module) -> Iterator[tuple[str, int]]:
    """Name and line of every parameter, field and variable annotated as a float without a unit beside."""
    classes = [node for node in ast.walk(tree) if isinstance(node, ast.ClassDef)]
    beside = {id(field) for entry in classes for field in with_a_unit_beside(entry)}
    for node in ast.walk(tree):
        if isinstance(node, ast.arg) and is_float(node.annotation):
            yield node.arg, node.lineno
        elif isinstance(node, ast.AnnAssign) and is_float(node.annotation) and id(node) not in beside:
            yield ast.unparse(node.target).removeprefix("self."), node.lineno


def with_a_unit_beside(entry: ast.ClassDef) -> list[ast.AnnAssign]:
    """The fields of an entry that hold `value`, `bound` or a range while another field says in which unit."""
    fields = [node for node in entry.body if isinstance(node, ast.AnnAssign)]
    names = {ast.unparse(field.target) for field in fields}
    if not names & SAYS_THE_UNIT:
        return []
    return [field for field in fields if ast.unparse(field.target).rsplit("_", 1)[-1] in OF_THAT_UNIT]


def carries_unit(name: str) -> bool:
    """Whether the name says its unit: last, or followed only by words that say which of several it is."""
    words = name.lower().split("_")
    while words[-1] in WHICH_OF_SEVERAL and len(words) > 1:
        words.pop()
    return has_unit("_".join(words)) or words[0] == "share"


@cache
def exceptions() -> list[dict[str, Any]]:
    """Names that need no unit: `file` (a pattern), `names` (patterns) and `why`."""
    return cast("list[dict[str, Any]]", tomllib.loads(EXCEPTIONS.read_text(encoding="utf-8"))["exception"])


def is_excepted(file: str, name: str) -> bool:
    """Whether an exception covers the name."""
    return any(
        fnmatch(file, exception["file"]) and any(fnmatch(name, pattern) for pattern in exception["names"])
        for exception in exceptions()
    )


def unitless(tree: ast.Module) -> list[tuple[str, int]]:
    """The floats of a file whose name does not say a unit, in the order of their lines."""
    return sorted({found for found in floats(tree) if not carries_unit(found[0])}, key=lambda found: found[1])


@cache
def everywhere() -> list[tuple[str, str, int]]:
    """File, name and line of every float of the program whose name does not say a unit."""
    return [
        (path.relative_to(PACKAGE).as_posix(), name, line)
        for path in python_files("src/")
        for name, line in unitless(syntax(path))
    ]


def test_every_number_carries_its_unit_in_its_name() -> None:
    found = [
        f"src/backreef/{file}:{line}: {name}"
        for file, name, line in everywhere()
        if not is_excepted(file, name)
    ]
    assert not found, "\n".join(found)


def test_every_exception_has_a_reason_and_is_still_needed() -> None:
    used = [
        (exception["file"], pattern, exception["why"].strip() != "")
        for exception in exceptions()
        for pattern in exception["names"]
        if any(fnmatch(file, exception["file"]) and fnmatch(name, pattern) for file, name, _ in everywhere())
    ]
    listed = [(one["file"], pattern, True) for one in exceptions() for pattern in one["names"]]
    assert [one for one in listed if one not in used] == []


@pytest.mark.parametrize(
    "source",
    [
        "def warm(temperature: float) -> None: ...",
        "class Tank:\n    volume: float | None = None",
        "volume: float = 3.0",
        "class Tank:\n    def __init__(self) -> None:\n        self.volume: float = 3.0",
        "class Reading:\n    value: float",
        "class Reading:\n    value_p50: float\n    unit: str",
    ],
)
def test_it_notices_a_number_without_a_unit(source: str) -> None:
    assert len(unitless(ast.parse(source))) == 1


@pytest.mark.parametrize(
    "source",
    [
        "def warm(temperature_c: float, minutes_per_month_p50: float) -> None: ...",
        "class Reading:\n    value: float\n    act_low: float\n    unit: str",
        "share_low: float = 0.9",
    ],
)
def test_it_accepts_a_number_that_says_its_unit(source: str) -> None:
    assert unitless(ast.parse(source)) == []


def test_it_knows_the_units_of_the_house() -> None:
    names = [
        "volume_l",
        "ration_g_per_d",
        "nitrate_mg_n_per_l",
        "alkalinity_dkh",
        "grazed_frac",
        "animal_count",
    ]
    assert [name for name in names if not has_unit(name)] == []
    assert not has_unit("volume")
