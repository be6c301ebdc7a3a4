"""The process matrix: rows of the tables with their coefficients closed, checked and ready to be evaluated.

The closure rule: a row states only the organic part (and NO2, NO3, N2, Ca where involved); inorganic carbon
is then set from C, ammonium (or nitrate) from N, phosphate from P, oxygen from the oxygen demand and
alkalinity from charge. A row whose content does not vanish is an error, always.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from functools import cache

import numpy as np

from backreef.models import laws
from backreef.models.mathops import Quantity, saturation
from backreef.models.tables import (
    ELEMENTS,
    Component,
    Formula,
    ProcessRow,
    TableError,
    Tables,
    load_tables,
    refuse_doubles,
)

CLOSURES: dict[str, tuple[tuple[str, int], ...]] = {
    "water": (("S_DIC", 0), ("S_NH", 1), ("S_PO4", 2), ("S_O2", 3), ("S_ALK", 4)),
    "nitrate": (("S_DIC", 0), ("S_NO3", 1), ("S_PO4", 2), ("S_O2", 3), ("S_ALK", 4)),
    "skimmate": (("B_SKC", 0), ("B_SKN", 1), ("B_SKP", 2), ("B_SKO", 3)),
    "seeding": (("B_SDC", 0), ("B_SDN", 1), ("B_SDP", 2), ("B_SDO", 3)),
    "B_GO2": (("B_GO2", 3),),
    "B_GC": (("B_GC", 0),),
    "": (),
}
"""Which components close which elements (by place in `ELEMENTS`), in the order in which they are solved."""

CLOSURE_TOLERANCE = 1e-12
FOOD_COUNT = 6
MACRONUTRIENTS = ("protein", "lipid", "carbohydrate")


@dataclass(frozen=True, slots=True, kw_only=True)
class Process:
    """A closed row: its law, its arguments and its coefficients."""

    row: ProcessRow
    law: Callable[..., Quantity]
    coefficients: dict[str, float]
    food_coefficients: dict[str, Formula]
    """Coefficients that depend on what a food is made of; they close by construction."""

    def rate(self, known: Mapping[str, Quantity]) -> Quantity:
        """Give the rate of the process. [mmol/d]"""
        arguments = {name: argument(known) for name, argument in self.row.arguments.items()}
        rate = self.law(**arguments)
        for component, half in self.row.throttle.items():
            rate = rate * saturation(known[component.removeprefix("S_")], half(known))
        return rate

    @property
    def rate_words(self) -> str:
        """Give the rate as it is written in the tables: the law with its arguments, and what throttles it."""
        arguments = ", ".join(f"{name}={argument.text}" for name, argument in self.row.arguments.items())
        throttles = (
            f"saturation({component.removeprefix('S_')}, {half.text})"
            for component, half in self.row.throttle.items()
        )
        return " * ".join([f"{self.row.law}({arguments})", *throttles])

    def coefficient(self, component: str, known: Mapping[str, Quantity]) -> Quantity:
        """Give the amount of the component made per unit of the rate."""
        if component in self.food_coefficients:
            return self.food_coefficients[component](known)
        return self.coefficients[component]

    @property
    def changes(self) -> tuple[str, ...]:
        """Give the components this process changes."""
        return (*self.coefficients, *self.food_coefficients)


@dataclass(frozen=True, slots=True, kw_only=True)
class Matrix:
    """Components and closed processes."""

    tables: Tables
    components: tuple[Component, ...]
    processes: tuple[Process, ...]

    @property
    def active(self) -> tuple[str, ...]:
        """Give the names of the components that rates depend on, foods included, in order."""
        return tuple(c.name for c in self.components if c.kind != "ledger")

    @property
    def ledgers(self) -> tuple[str, ...]:
        """Give the names of the ledgers, in order."""
        return tuple(c.name for c in self.components if c.kind == "ledger")

    def rates(self, known: dict[str, Quantity]) -> dict[str, Quantity]:
        """Give all rates; a row may use the rates of rows above it. [mmol/d]"""
        for process in self.processes:
            known[process.row.id] = process.rate(known)
        return {process.row.id: known[process.row.id] for process in self.processes}

    def derivatives(self, known: dict[str, Quantity]) -> dict[str, Quantity]:
        """Give the change of every component. [mmol/d]"""
        rates = self.rates(known)
        change: dict[str, Quantity] = {component.name: 0.0 for component in self.components}
        for process in self.processes:
            for component in process.changes:
                change[component] = (
                    change[component] + process.coefficient(component, known) * rates[process.row.id]
                )
        return change


def food_composition(known: Mapping[str, Quantity], food: int, tables: Tables) -> tuple[Quantity, ...]:
    """Give C, N, P, oxygen demand and charge per mmol C of an offered food (numbered from 1). [-]

    Validity
    --------
    Shares of protein, lipid and carbohydrate that add up to 1; ash and fibre without carbon are left out.

    Source
    ------
    Definition; what the three consist of: `food_pools.py`. Phosphorus after the label of the food.
    """
    contents = [tables.macronutrients[name] for name in MACRONUTRIENTS]
    shares = [known[f"food{food}_{name}"] for name in MACRONUTRIENTS]
    nitrogen = sum(s * c["nitrogen_per_carbon"] for s, c in zip(shares, contents, strict=True))
    demand = sum(s * c["oxygen_demand_per_carbon"] for s, c in zip(shares, contents, strict=True))
    return (1.0, nitrogen, known[f"food{food}_phosphorus"], demand, 0.0)


def residual(
    process: Process, components: Mapping[str, Component], known: Mapping[str, Quantity], tables: Tables
) -> np.ndarray:
    """Give what a row makes of nothing, per element; 0 for a sound row."""
    total = np.zeros(len(ELEMENTS))
    for name in process.changes:
        composition = components[name].composition
        if composition is None:
            composition = food_composition(known, int(name.removeprefix("Q_")), tables)
        total += np.asarray(composition) * process.coefficient(name, known)
    return total


def _close(row: ProcessRow, components: Mapping[str, Component], numbers: Mapping[str, float]) -> Process:
    if row.closes not in CLOSURES:
        raise TableError(f"{row.id}: unknown closure '{row.closes}'; there are {sorted(CLOSURES)}")
    unknown = [name for name in row.stoichiometry if name not in components]
    if unknown:
        raise TableError(f"{row.id}: unknown components {unknown}")
    coefficients: dict[str, float] = {}
    foods: dict[str, Formula] = {}
    for name, cell in row.stoichiometry.items():
        if any(used.startswith("food") for used in cell.names):
            foods[name] = cell
        else:
            coefficients[name] = float(cell(numbers))
    if any(components[name].kind == "food" for name in coefficients) and row.closes:
        raise TableError(f"{row.id}: a row that uses an offered food must close by itself")
    for closing, element in CLOSURES[row.closes]:
        _solve(row, coefficients, components, closing, element)
    law = getattr(laws, row.law, None)
    if law is None:
        raise TableError(f"{row.id}: there is no law '{row.law}' in laws.py")
    return Process(row=row, law=law, coefficients=coefficients, food_coefficients=foods)


def _solve(
    row: ProcessRow,
    coefficients: dict[str, float],
    components: Mapping[str, Component],
    closing: str,
    element: int,
) -> None:
    content = 0.0
    for name, coefficient in coefficients.items():
        composition = components[name].composition
        if composition is None:
            raise TableError(f"{row.id}: cannot close over an offered food")
        content += coefficient * composition[element]
    own = components[closing].composition
    if own is None or own[element] == 0.0:
        raise TableError(f"{row.id}: {closing} holds no {ELEMENTS[element]}, so it cannot close it")
    missing = -content / own[element]
    if abs(missing) > CLOSURE_TOLERANCE:
        coefficients[closing] = coefficients.get(closing, 0.0) + missing


def build_matrix(tables: Tables) -> Matrix:
    """Close and check every row.

    Raises
    ------
    TableError
        If a row makes or destroys an element; it names row, element, amount and sign.
    """
    refuse_doubles([component.name for component in tables.components], "component")
    refuse_doubles([row.id for row in tables.rows], "process")
    components = {component.name: component for component in tables.components}
    numbers = {symbol: parameter.value for symbol, parameter in tables.parameters.items()}
    processes = tuple(_close(row, components, numbers) for row in tables.rows)
    numbers = {**numbers, **_sample_foods(), **_macronutrient_numbers(tables)}
    for process in processes:
        left = residual(process, components, numbers, tables)
        for element, amount in zip(ELEMENTS, left, strict=True):
            if abs(amount) > CLOSURE_TOLERANCE:
                verb = "creates" if amount > 0 else "destroys"
                raise TableError(
                    f"{process.row.id} {verb} {abs(amount):.3g} of {element} per unit of its rate"
                )
    return Matrix(tables=tables, components=tables.components, processes=processes)


def _macronutrient_numbers(tables: Tables) -> dict[str, float]:
    return {"p_protein": tables.macronutrients["protein"]["phosphorus_per_carbon"]}


def _sample_foods() -> dict[str, float]:
    """Foods of odd make-up, to check the rows that depend on it."""
    sample: dict[str, float] = {}
    for food in range(1, FOOD_COUNT + 1):
        protein, lipid = 0.3 + 0.05 * food, 0.2 - 0.02 * food
        sample |= {
            f"food{food}_protein": protein,
            f"food{food}_lipid": lipid,
            f"food{food}_carbohydrate": 1.0 - protein - lipid,
            f"food{food}_phosphorus": 0.01 + 0.001 * food,
            f"food{food}_settle": 1.0,
        }
    return sample


@cache
def packaged_matrix() -> Matrix:
    """Give the matrix of the packaged tables."""
    return build_matrix(load_tables())
