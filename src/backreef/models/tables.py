"""The plain tables of the ecosystem model, read from `data/`: components, parameters, processes.

A new process is a row of `processes.csv`; its law, if it is new, a function of one of the modules that
`laws.py` gathers. Nothing else changes.
"""

from __future__ import annotations

import ast
import csv
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from types import CodeType
from typing import Literal

from backreef.errors import BackreefError
from backreef.models.body_values import plain_numbers
from backreef.models.food_pools import POOL_NAMES, food_pools
from backreef.models.mathops import Quantity

ELEMENTS = ("carbon", "nitrogen", "phosphorus", "oxygen_demand", "charge")
ComponentKind = Literal["active", "food", "ledger"]
_ALLOWED = (
    ast.Expression,
    ast.BinOp,
    ast.UnaryOp,
    ast.Name,
    ast.Load,
    ast.Constant,
    ast.Add,
    ast.Sub,
    ast.Mult,
    ast.Div,
    ast.USub,
)


_NOTHING: dict[str, object] = {"__builtins__": {}}


class TableError(BackreefError):
    """A table of the ecosystem model contradicts itself."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Component:
    """A state or ledger of the ecosystem: an amount in the whole system."""

    name: str
    meaning: str
    unit: str
    place: str
    composition: tuple[float, ...] | None
    """Content per unit of C, N, P, oxygen demand and charge; None for offered foods, whose label decides."""
    kind: ComponentKind
    typical: float | None
    """Typical amount per litre, m2 or kg, as `per` says; the yardstick of the step error."""
    per: str
    suspended: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class Parameter:
    """A rate constant with its range and where it comes from."""

    symbol: str
    value: float
    low: float
    high: float
    unit: str
    meaning: str
    source: str
    place: str
    status: str
    note: str


@dataclass(frozen=True, slots=True)
class Formula:
    """A small expression of names, numbers and + - * / from a table cell."""

    text: str
    code: CodeType
    names: frozenset[str]

    def __call__(self, known: Mapping[str, Quantity]) -> Quantity:
        """Give the value for what the names stand for."""
        return eval(self.code, _NOTHING, known)  # noqa: S307 - names and + - * / only


@dataclass(frozen=True, slots=True, kw_only=True)
class ProcessRow:
    """One row of the process table as written."""

    id: str
    tier: int
    group: str
    law: str
    arguments: dict[str, Formula]
    stoichiometry: dict[str, Formula]
    throttle: dict[str, Formula]
    closes: str
    about: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Tables:
    """All tables together."""

    components: tuple[Component, ...]
    parameters: dict[str, Parameter]
    rows: tuple[ProcessRow, ...]
    sources: dict[str, tuple[str, str]]
    macronutrients: dict[str, dict[str, float]]


@cache
def formula(text: str) -> Formula:
    """Compile the expression of a table cell; anything but names, numbers and + - * / is an error."""
    try:
        tree = ast.parse(text.strip(), mode="eval")
    except SyntaxError as error:
        raise TableError(f"'{text}' is not an expression: {error.msg}") from error
    for node in ast.walk(tree):
        if not isinstance(node, _ALLOWED):
            raise TableError(
                f"'{text}' uses {type(node).__name__}; only names, numbers and + - * / are allowed"
            )
    names = frozenset(node.id for node in ast.walk(tree) if isinstance(node, ast.Name))
    return Formula(text, compile(tree, text, "eval"), names)


def _read(name: str) -> list[dict[str, str]]:
    with (files("backreef.models") / "data" / name).open(encoding="utf-8") as stream:
        return list(csv.DictReader(stream))


def _pairs(cell: str, *, between: str, within: str) -> dict[str, Formula]:
    pairs: dict[str, Formula] = {}
    for part in cell.split(between):
        if part.strip():
            name, text = part.strip().split(within, 1)
            if name in pairs:
                raise TableError(f"'{name}' stands twice in '{cell}'")
            pairs[name] = formula(text)
    return pairs


def parameter_row(cells: Mapping[str, str]) -> Parameter:
    """Read one row of the table of parameters from its cells."""
    return Parameter(**{**cells, **{key: float(cells[key]) for key in ("value", "low", "high")}})  # type: ignore[arg-type]


def process_row(cells: Mapping[str, str]) -> ProcessRow:
    """Read one row of the process table from its cells."""
    return ProcessRow(
        id=cells["id"],
        tier=int(cells["tier"]),
        group=cells["group"],
        law=cells["law"],
        arguments=_pairs(cells["arguments"], between=";", within="="),
        stoichiometry=_pairs(cells["stoichiometry"], between=" ", within=":"),
        throttle=_pairs(cells["throttle"], between=" ", within="="),
        closes=cells["closes"],
        about=cells["about"],
    )


def _component(cells: Mapping[str, str], contents: Mapping[str, Mapping[str, float]]) -> Component:
    mixed = "mix" in (cells[element] for element in ELEMENTS)
    fields = {"nitrogen": "nitrogen_per_carbon", "oxygen_demand": "oxygen_demand_per_carbon"}
    composition: list[float] = []
    for element in ELEMENTS:
        cell = cells[element]
        if cell.startswith("="):
            composition.append(contents[cell[1:]][fields[element]])
        elif not mixed:
            composition.append(float(cell))
    return Component(
        name=cells["name"],
        meaning=cells["meaning"],
        unit=cells["unit"],
        place=cells["place"],
        composition=None if mixed else tuple(composition),
        kind=cells["kind"],  # type: ignore[arg-type]
        typical=float(cells["typical"]) if cells["typical"] else None,
        per=cells["per"],
        suspended=cells["suspended"] == "yes",
    )


def refuse_doubles(names: list[str], what: str) -> None:
    """Raise `TableError` if a name stands twice."""
    doubles = sorted({name for name in names if names.count(name) > 1})
    if doubles:
        raise TableError(f"{what} defined twice: {', '.join(doubles)}")


def _macronutrients() -> dict[str, dict[str, float]]:
    """What the three pools of food hold per carbon; phosphorus of protein is of the component table."""
    pools = food_pools(plain_numbers())
    in_protein = next(float(row["phosphorus"]) for row in _read("components.csv") if row["name"] == "X_FP")
    return {
        name: {
            "nitrogen_per_carbon": getattr(pools, name).nitrogen_ratio,
            "oxygen_demand_per_carbon": getattr(pools, name).oxygen_demand_ratio,
            "phosphorus_per_carbon": in_protein if name == "protein" else 0.0,
            "carbon_mmol_per_g": getattr(pools, name).carbon_mmol_c_per_g,
        }
        for name in POOL_NAMES
    }


@cache
def load_tables() -> Tables:
    """Read the packaged tables.

    Raises
    ------
    TableError
        If a name stands twice or a cell cannot be read.
    """
    contents = _macronutrients()
    components = tuple(_component(cells, contents) for cells in _read("components.csv"))
    parameters = [parameter_row(cells) for cells in _read("parameters.csv")]
    rows = tuple(process_row(cells) for cells in _read("processes.csv"))
    refuse_doubles([component.name for component in components], "component")
    refuse_doubles([parameter.symbol for parameter in parameters], "parameter")
    refuse_doubles([row.id for row in rows], "process")
    sources = {row["key"]: (row["status"], row["text"]) for row in _read("sources.csv")}
    return Tables(
        components=components,
        parameters={parameter.symbol: parameter for parameter in parameters},
        rows=rows,
        sources=sources,
        macronutrients=contents,
    )
