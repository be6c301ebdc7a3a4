"""The model as a page to read: components, processes, laws, parameters and sources, from the tables.

docs/model.md is what this gives; a test keeps it current.
"""

from __future__ import annotations

import ast
import csv
import inspect
import textwrap
from collections.abc import Callable, Iterable, Iterator
from importlib.resources import files

from backreef.models import mathops
from backreef.models.mathops import Quantity
from backreef.models.matrix import Matrix, Process
from backreef.models.tables import Component

SHARED_FORMS = (
    mathops.saturation,
    mathops.smooth_minimum,
    mathops.ramp,
    mathops.power,
)
"""Functions that laws are written with, beside + - * /, exp, log, sqrt and select (test > 0, then, else)."""
HEAD = """\
# The model

Made from the tables under `src/backreef/models/data` by `models/render.py`; do not edit. After a change of a
table or a law: `BACKREEF_RECORD_MODEL=1 python3 go.py test tests/house/test_model_page.py`.

All amounts are of the whole system. A process has a rate in mmol per day and changes each component by its
rate times a coefficient; what a row of the table leaves open is closed by the closure rule (ADR 0006), so
that carbon, nitrogen, phosphorus, oxygen demand and charge of every row sum to 0. Animals are not in these
tables: their rates are in `models/mouths.py`, and `backreef forecast --explain-kernel` prints them with all
else that is compiled."""
InItsUnit = float
"""A number in the unit that its row names."""


def model_page(matrix: Matrix) -> str:
    """Give the whole page as Markdown, ending with a line break."""
    parts = [
        HEAD,
        *_components(matrix.components),
        *_processes(matrix),
        *_laws(matrix),
        *_parameters(matrix),
        *_sources(),
    ]
    return "\n".join(parts) + "\n"


def _table(heads: Iterable[str], rows: Iterable[Iterable[str]]) -> Iterator[str]:
    heads = list(heads)
    yield "| " + " | ".join(heads) + " |"
    yield "|" + " --- |" * len(heads)
    for row in rows:
        yield "| " + " | ".join(cell.replace("|", r"\|") for cell in row) + " |"


def _number(value: InItsUnit) -> str:
    return f"{value:.6g}"


def _components(components: Iterable[Component]) -> Iterator[str]:
    yield "\n## Components\n"
    yield "C, N, P, oxygen demand and charge are per unit; `mix` is what a food's label says. The typical"
    yield "size is the yardstick of the step error.\n"
    heads = ("component", "meaning", "unit", "where", "C", "N", "P", "O2 demand", "charge", "typical")
    yield from _table(heads, (_component(one) for one in components))


def _component(one: Component) -> Iterator[str]:
    yield from (f"`{one.name}`", one.meaning, one.unit, one.place)
    yield from ["mix"] * 5 if one.composition is None else (_number(part) for part in one.composition)
    yield "" if one.typical is None else f"{_number(one.typical)} per {one.per}"


def _processes(matrix: Matrix) -> Iterator[str]:
    yield "\n## Processes\n"
    group = ""
    for process in matrix.processes:
        if process.row.group != group:
            group = process.row.group
            yield f"\n### {group.capitalize()}\n"
        yield f"- **{process.row.id}**: {process.row.about}"
        yield f"  - rate: `{process.rate_words}`"
        yield f"  - per unit of it: {', '.join(_changes(process))}"


def _changes(process: Process) -> Iterator[str]:
    for name, coefficient in process.coefficients.items():
        yield f"{_number(coefficient)} `{name}`"
    for name, formula in process.food_coefficients.items():
        yield f"({formula.text}) `{name}`"


def _laws(matrix: Matrix) -> Iterator[str]:
    yield "\n## Laws\n"
    yield "Written with these forms, which are smooth so that every rate has a derivative:\n"
    for form in SHARED_FORMS:
        yield from _equation(form)
    yield "and named by the processes above, with what they share:\n"
    laws = {process.row.law: process.law for process in matrix.processes}
    shared = {name: part for law in laws.values() for name, part in _parts(law).items()}
    for _, law in sorted((laws | shared).items(), key=lambda item: (item[0].strip("_"), item[0])):
        yield from _equation(law)


def _parts(law: Callable[..., Quantity]) -> dict[str, Callable[..., Quantity]]:
    """Functions of its own module that a law calls, and those that they call."""
    known = vars(inspect.getmodule(law))
    called = {node.id for node in ast.walk(_tree(law)) if isinstance(node, ast.Name)}
    own = {
        name: known[name] for name in called if name.startswith("_") and inspect.isfunction(known.get(name))
    }
    return own | {name: part for one in own.values() for name, part in _parts(one).items()}


def _tree(law: Callable[..., Quantity]) -> ast.FunctionDef:
    tree = ast.parse(textwrap.dedent(inspect.getsource(law))).body[0]
    if not isinstance(tree, ast.FunctionDef):
        raise TypeError(f"{law.__name__} is no function")
    return tree


def _equation(law: Callable[..., Quantity]) -> Iterator[str]:
    """A function as what it is called with, what it says of itself, and its lines without that."""
    says = [" ".join(part.split()) for part in inspect.cleandoc(law.__doc__ or "").split("\n\n")]
    names = ", ".join(inspect.signature(law).parameters)
    yield f"**{law.__name__}**({names}): {says[0]}".removesuffix(": ")
    for part in says[1:]:
        head, ruled, words = part.partition(" ---")
        yield f"\n{head}: {words.lstrip('- ')}" if ruled else f"\n{part}"
    yield "\n```python"
    yield from _lines(law)
    yield "```\n"


def _lines(law: Callable[..., Quantity]) -> Iterator[str]:
    """The statements of a function, its docstring left out."""
    for statement in _tree(law).body:
        told = isinstance(statement, ast.Expr) and isinstance(statement.value, ast.Constant)
        if not told:
            yield ast.unparse(statement)


def _parameters(matrix: Matrix) -> Iterator[str]:
    yield "\n## Parameters\n"
    yield "Low and high are the 5 and 95 % points from which members are drawn.\n"
    heads = ("symbol", "value", "low", "high", "unit", "meaning", "source", "status", "note")
    rows = (
        (
            f"`{one.symbol}`",
            *(_number(value) for value in (one.value, one.low, one.high)),
            one.unit,
            one.meaning,
            " ".join(part for part in (one.source, one.place) if part),
            one.status,
            one.note,
        )
        for one in matrix.tables.parameters.values()
    )
    yield from _table(heads, rows)


def _sources() -> Iterator[str]:
    yield "\n## Sources\n"
    text = (files("backreef.models") / "data" / "sources.csv").read_text(encoding="utf-8")
    rows = list(csv.DictReader(text.splitlines()))
    yield from _table(("key", "status", "source"), ((row["key"], row["status"], row["text"]) for row in rows))
