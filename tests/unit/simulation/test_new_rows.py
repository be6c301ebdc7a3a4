"""A new component, a new law and a new process are rows and one function; no code has to know them."""

from collections.abc import Mapping
from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from backreef.models import laws
from backreef.models.matrix import Matrix, build_matrix, packaged_matrix
from backreef.models.tables import Component, Parameter, TableError, Tables, process_row
from backreef.simulation.engine import build_engine
from tests.tanks import Life, Tank, run, run_slowly

SPONGES = Component(
    name="X_SPONGE",
    meaning="sponges",
    unit="mmol C",
    place="rock",
    composition=(1.0, 0.2, 0.01, 1.1, 0.0),
    kind="active",
    typical=5.0,
    per="m2",
    suspended=False,
)


def parameter(symbol: str, value: float) -> Parameter:
    """A made-up parameter."""
    return Parameter(
        symbol=symbol,
        value=value,
        low=value,
        high=value,
        unit="per d",
        meaning="for a test",
        source="practice",
        place="",
        status="practice",
        note="",
    )


def row(**cells: str) -> dict[str, str]:
    """Cells of a row of the process table."""
    usual = {"tier": "2", "group": "sponges", "throttle": "", "closes": "water", "about": "for a test"}
    return usual | cells


ROWS = (
    row(
        id="EAT_SPONGE",
        law="sponge_pumping",
        arguments="rate=v_sponge; sponges=X_SPONGE; bacteria=X_BW*per_l; half=2",
        stoichiometry="X_BW:-1 X_SPONGE:0.4 X_DL:0.1",
        throttle="S_O2=Kt_O2",
    ),
    row(
        id="DIE_SPONGE",
        law="first_order",
        arguments="rate=m_sponge; temperature=th; amount=X_SPONGE",
        stoichiometry="X_SPONGE:-1 X_FP:0.6 X_DL:0.4",
        throttle="S_O2=Kt_O2",
    ),
)


def sponge_pumping(*, rate: Any, sponges: Any, bacteria: Any, half: Any) -> Any:
    """Bacteria cleared, slower where there are many."""
    return rate * sponges * bacteria / (half + bacteria)


def with_sponges(tables: Tables, rows: tuple[Mapping[str, str], ...] = ROWS) -> Matrix:
    """The packaged model with sponges."""
    numbers = (parameter("v_sponge", 0.8), parameter("m_sponge", 0.02))
    return build_matrix(
        replace(
            tables,
            components=(SPONGES, *tables.components),
            parameters={**tables.parameters, **{one.symbol: one for one in numbers}},
            rows=(*tables.rows, *(process_row(cells) for cells in rows)),
        )
    )


def test_the_new_rows_are_compiled_and_keep_every_element(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(laws, "sponge_pumping", sponge_pumping, raising=False)
    tank = Tank(matrix=with_sponges(packaged_matrix().tables), start={"X_SPONGE": np.linspace(0.0, 40.0, 8)})
    engine = build_engine(tank.matrix, tank.layout)
    quick, slow = run(tank, Life(days=3), engine=engine), run_slowly(tank, Life(days=3))
    np.testing.assert_allclose(quick.result.days, slow.result.days, rtol=1e-6, atol=1e-9)
    assert quick.drift().max() < 1e-13
    bacteria = quick.row("X_BW")[-1]
    assert (np.diff(bacteria) < 0.0).all()
    assert quick.row("X_SPONGE")[-1, 0] == 0.0


def test_a_new_row_that_does_not_close_is_refused(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(laws, "sponge_pumping", sponge_pumping, raising=False)
    with pytest.raises(TableError, match=r"DIE_SPONGE destroys 0\.\d+ of nitrogen per unit of its rate"):
        with_sponges(packaged_matrix().tables, (ROWS[0], {**ROWS[1], "closes": ""}))


def test_a_law_that_nobody_wrote_is_named() -> None:
    with pytest.raises(TableError, match=r"EAT_SPONGE: there is no law 'sponge_pumping' in laws\.py"):
        with_sponges(packaged_matrix().tables)
