"""The model as a page to read: components, processes, laws, parameters and sources, from the tables.

docs/model.md is what this gives; a test keeps it current.
"""

from __future__ import annotations

import ast
import csv
import inspect
from collections.abc import Callable, Iterable, Iterator
from importlib.resources import files
from itertools import groupby

from backreef.models import mathops
from backreef.models.mathops import Quantity
from backreef.models.matrix import Matrix, Process
from backreef.models.render_equations import equation, math
from backreef.models.tables import Component
from backreef.models.typeset import Untold, name_tex, put_in, tree_of

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
tables: their rates, and the chemistry of the water, are in [the equations beside the matrix](equations.md).
`backreef forecast PLAN --explain-kernel` prints all that is compiled, with every name put in."""
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
    yield "Each group has its part of the matrix: what a unit of a process makes of a component or takes."
    yield "Below stand the law of each and what it is called with; `smin` is the smooth minimum of the laws."
    for group, members in groupby(matrix.processes, key=lambda one: one.row.group):
        yield from _group(group, list(members))


def _group(name: str, processes: list[Process]) -> Iterator[str]:
    yield f"\n### {name.capitalize()}\n"
    changed = list(dict.fromkeys(one for process in processes for one in _changes(process)))
    rows = ((f"**{one.row.id}**", *(_changes(one).get(part, "") for part in changed)) for one in processes)
    yield from _table(("process", *(f"`{one}`" for one in changed)), rows)
    yield ""
    for process in processes:
        yield f"**{process.row.id}**: {process.row.about}. Rate: {_rate(process)}\n"
        yield from _rate_in_symbols(process)


def _rate(process: Process) -> str:
    law, _, called_with = process.rate_words.partition("(")
    return f"[{law}](#{law}) `({called_with}`"


def _rate_in_symbols(process: Process) -> Iterator[str]:
    """The rate with everything put in, where its law is a single line."""
    try:
        rate = put_in(process.law, {name: one.text for name, one in process.row.arguments.items()})
    except Untold:
        return
    slowed = "".join(
        f" \\cdot \\frac{{{held}}}{{{name_tex(half.text)} + {held}}}"
        for component, half in process.row.throttle.items()
        for held in (name_tex(component.removeprefix("S_")),)
    )
    sum_ = " + " in rate or " - " in rate
    yield from math([f"\\rho &= {f'({rate})' if slowed and sum_ else rate}{slowed}"])


def _changes(process: Process) -> dict[str, str]:
    """What a unit of a process does to each component it touches."""
    numbers = {name: _number(coefficient) for name, coefficient in process.coefficients.items()}
    return numbers | {name: f"`{formula.text}`" for name, formula in process.food_coefficients.items()}


def _laws(matrix: Matrix) -> Iterator[str]:
    yield "\n## Laws\n"
    yield "### What they are written with\n"
    yield "These forms are smooth, so that every rate has a derivative.\n"
    for form in SHARED_FORMS:
        yield from equation(form)
    yield "### One by one\n"
    yield "Named by the processes above, with what they share.\n"
    laws = {process.row.law: process.law for process in matrix.processes}
    shared = {name: part for law in laws.values() for name, part in _parts(law).items()}
    for _, law in sorted((laws | shared).items(), key=lambda item: (item[0].strip("_"), item[0])):
        yield from equation(law)


def _parts(law: Callable[..., Quantity]) -> dict[str, Callable[..., Quantity]]:
    """Functions of its own module that a law calls, and those that they call."""
    known = vars(inspect.getmodule(law))
    called = {node.id for node in ast.walk(tree_of(law)) if isinstance(node, ast.Name)}
    own = {
        name: known[name] for name in called if name.startswith("_") and inspect.isfunction(known.get(name))
    }
    return own | {name: part for one in own.values() for name, part in _parts(one).items()}


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
