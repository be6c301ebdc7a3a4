"""Equations as people read them: what a function says of itself, and what it does, set as mathematics.

docs/equations.md is what this gives of the functions beside the matrix; a test keeps it current.
"""

from __future__ import annotations

import ast
import importlib
import inspect
import pkgutil
from collections.abc import Callable, Iterator
from types import ModuleType
from typing import Any

import backreef.models
from backreef.models.typeset import Untold, equations, statements, tree_of

WATER = (
    "seawater",
    "carbonate_constants",
    "carbonate",
    "ammonia",
    "water",
    "room",
    "closed_forms",
)
BODIES = (
    "feed_energy",
    "food_pools",
    "ration",
    "metabolism",
    "growth",
    "retention",
    "excretion",
    "invertebrates",
    "mouths",
    "midnight",
)
TOOLS = frozenset(
    (
        *("body_values", "constants", "laws", "mathops", "matrix", "render", "render_equations"),
        *("symbols", "tables", "typeset"),
    )
)
"""Modules that hold no equation of nature: they read tables, record code or write pages."""
HEAD = """\
# Equations beside the matrix

Made from the functions under `src/backreef/models` by `models/render_equations.py`; do not edit. After a
change of one: `BACKREEF_RECORD_MODEL=1 python3 go.py test tests/house/test_model_page.py`.

Components, processes, their laws and all parameters are in [the model](model.md). Here stands what these rest
on: sea water and its gases, the room around the tank, and the bodies of animals. Each function says what it
gives, in which unit, how far it may be used and where it comes from. What is a list, a loop or a choice by
name, and no equation, stands as the code that is run. `smin` is the smooth minimum; `TINY` keeps a divisor
from 0."""


def equations_page() -> str:
    """Give the page of all functions of nature beside the laws, as Markdown."""
    parts = [HEAD]
    for title, modules in (("Water and room", WATER), ("Food and bodies", BODIES)):
        parts.append(f"\n## {title}")
        for name in modules:
            parts += _module(importlib.import_module(f"backreef.models.{name}"))
    return "\n".join(parts).rstrip("\n") + "\n"


def modules_of_nature() -> set[str]:
    """Give the modules of which the page has to speak; the laws are on the model's own page."""
    names = {one.name for one in pkgutil.iter_modules(backreef.models.__path__)}
    return {name for name in names - TOOLS if not name.startswith("laws_")}


def functions_of(module: ModuleType) -> dict[str, Callable[..., Any]]:
    """Give the functions that a module defines itself, in their order."""
    found = {name: inspect.unwrap(one) for name, one in vars(module).items() if inspect.isroutine(one)}
    return {name: one for name, one in found.items() if one.__module__ == module.__name__}


def equation(law: Callable[..., Any]) -> Iterator[str]:
    """Give a function as what it is called with, what it says of itself, and its equations or code."""
    says = [" ".join(part.split()) for part in inspect.cleandoc(law.__doc__ or "").split("\n\n")]
    names = ", ".join(inspect.signature(law).parameters)
    yield f"#### `{law.__name__}`\n"
    yield f"of {names}: {says[0]}".removesuffix(": ")
    for part in says[1:]:
        head, ruled, words = part.partition(" ---")
        yield f"\n{head}: {words.lstrip('- ')}" if ruled else f"\n{part}"
    yield ""
    yield from displayed(law)
    if told := ", ".join(f"`{name}` = {value:.8g}" for name, value in constants_of(law).items()):
        yield f"with {told}\n"


def displayed(law: Callable[..., Any]) -> Iterator[str]:
    """Give what a function does as a block of mathematics, or as code where it is no equation."""
    try:
        lines = equations(law)
    except Untold:
        yield "```python"
        yield from (ast.unparse(one) for one in statements(law))
        yield "```\n"
    else:
        yield from math(lines)


def math(lines: list[str]) -> Iterator[str]:
    """Give lines of TeX as a block that sites and forges show as mathematics."""
    yield "```math"
    yield "\\begin{aligned}"
    yield " \\\\\n".join(lines)
    yield "\\end{aligned}"
    yield "```\n"


def constants_of(law: Callable[..., Any]) -> dict[str, float]:
    """Give the named numbers that a function uses, with their values.

    Validity
    --------
    Numbers of the function's own module, or imported there.

    Source
    ------
    The function's own text.
    """
    known = vars(inspect.getmodule(law))
    used = sorted({node.id for node in ast.walk(tree_of(law)) if isinstance(node, ast.Name)})
    return {name: known[name] for name in used if name.isupper() and isinstance(known.get(name), float)}


def _module(module: ModuleType) -> Iterator[str]:
    title, *more = inspect.cleandoc(module.__doc__ or "").split("\n\n")
    yield f"\n### {module.__name__.rpartition('.')[2].replace('_', ' ').capitalize()}\n"
    yield "\n\n".join([title, *more]) + "\n"
    for function in functions_of(module).values():
        yield from equation(function)
