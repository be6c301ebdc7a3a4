"""What must hold for every row of the process table and every slot, whatever the state."""

from collections.abc import Iterator
from dataclasses import replace

import numpy as np
import pytest

from backreef.models.matrix import Matrix, build_matrix, packaged_matrix, residual
from backreef.models.tables import TableError, process_row
from backreef.simulation.layout import FORCINGS, REGISTERS, SLOT_MARCHED
from backreef.simulation.oracle_system import OracleSystem
from tests.random_tanks import random_tank
from tests.tanks import Array, Tank

CLOSED = 1e-12
LEAST_SHARE = 1e-9
"""Stands for nothing where the water has no pH without it."""
NEVER_QUITE_EMPTY = {"S_DIC", "S_ALK"}
LIT = dict.fromkeys(FORCINGS, 0.0) | {"day_shape": 0.7, "refugium_shape": 1.0, "pumps": 1.0, "overflow": 1.0}


def rates_at(tank: Tank, shared: Array) -> tuple[Array, Array]:
    """Rates of all rows, (rows, lanes), and their coefficients, (components, rows, lanes)."""
    system = OracleSystem(tank.matrix, tank.layout, tank.all_parameters())
    system.begin(tank.state()[: len(REGISTERS)], LIT)
    marched = system.rates(shared, np.zeros((0, 0, tank.lanes)), LIT)
    assert np.isfinite(marched.change).all()
    rates, _ = system._processes(shared[:, None, :], LIT)  # noqa: SLF001 - each row apart
    return rates[:, 0], system.coefficients.transpose(1, 2, 0)


def consumed_without_end(matrix: Matrix, seed: int) -> Iterator[tuple[str, str]]:
    """Rows that take more of a component than a billionth of the usual where a billionth is left."""
    tank = random_tank(seed, animals=0, matrix=matrix)
    layout = tank.layout
    first = len(REGISTERS)
    usual = tank.state()[first : first + layout.shared] + 1e-3
    before, coefficients = rates_at(tank, usual)
    for place, name in enumerate(layout.components[: layout.active]):
        scarce = usual.copy()
        scarce[place] *= LEAST_SHARE if name in NEVER_QUITE_EMPTY else 0.0
        after, _ = rates_at(tank, scarce)
        for row, process in enumerate(matrix.processes):
            taken = np.maximum(-coefficients[place, row] * after[row], 0.0)
            allowed = 1e4 * LEAST_SHARE * np.abs(coefficients[place, row] * before[row])
            if (taken > (allowed if name in NEVER_QUITE_EMPTY else 0.0)).any():
                yield process.row.id, name


@pytest.mark.parametrize("seed", range(4))
def test_every_row_leaves_alone_what_is_not_there(seed: int) -> None:
    assert list(consumed_without_end(packaged_matrix(), seed)) == []


def test_a_row_that_takes_what_is_not_there_is_noticed() -> None:
    tables = packaged_matrix().tables
    greedy = process_row(
        {
            "id": "GREEDY",
            "tier": "2",
            "group": "test",
            "law": "first_order",
            "arguments": "rate=1; temperature=th; amount=X_DL",
            "stoichiometry": "X_DL:-1 X_BW:1",
            "throttle": "",
            "closes": "water",
            "about": "grows on detritus and takes ammonium where there is none",
        }
    )
    matrix = build_matrix(replace(tables, rows=(*tables.rows, greedy)))
    assert {("GREEDY", "S_NH"), ("GREEDY", "S_PO4")} <= set(consumed_without_end(matrix, 1))


def test_every_row_closes() -> None:
    matrix = packaged_matrix()
    components = {component.name: component for component in matrix.components}
    known = {**{name: one.value for name, one in matrix.tables.parameters.items()}, **Tank().food_numbers()}
    known["p_protein"] = matrix.tables.macronutrients["protein"]["phosphorus_per_carbon"]
    for process in matrix.processes:
        left = residual(process, components, known, matrix.tables)
        assert np.abs(left).max() < CLOSED, process.row.id


def test_no_name_stands_for_two_things() -> None:
    layout = Tank().layout
    names = [*layout.components, *layout.parameters, *(name for name in REGISTERS if name != "one")]
    rows = [process.row.id for process in packaged_matrix().processes]
    assert sorted({name for name in names + rows if (names + rows).count(name) > 1}) == []


def test_a_row_given_twice_is_refused() -> None:
    tables = packaged_matrix().tables
    with pytest.raises(TableError, match="GAS_O2"):
        build_matrix(replace(tables, rows=(*tables.rows, tables.rows[0])))


def test_an_empty_slot_does_nothing() -> None:
    tank = random_tank(5, animals=2)
    system = OracleSystem(tank.matrix, tank.layout, tank.all_parameters())
    block = tank.block()
    system.begin(block.state[: len(REGISTERS)], LIT)
    marched = block.state[len(REGISTERS) : len(REGISTERS) + tank.layout.shared + 2 * len(SLOT_MARCHED)].copy()
    marched[tank.layout.shared :] = 0.0
    traits = np.zeros_like(block.traits)
    empty = system.rates(marched, traits, LIT)
    alone = system.rates(marched[: tank.layout.shared], traits[:0], LIT)
    np.testing.assert_array_equal(empty.change[: tank.layout.shared], alone.change)
    assert not empty.change[tank.layout.shared :].any()
    slopes = system.slopes(marched, traits, LIT)
    for part in (slopes.moving, slopes.summed, slopes.in_time):
        assert np.isfinite(part).all()
