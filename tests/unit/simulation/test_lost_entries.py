"""Whatever entry of the books is forgotten, the sums notice."""

from collections.abc import Callable
from dataclasses import replace

import pytest

from backreef.models.matrix import Matrix, packaged_matrix
from tests import tank_acts
from tests.tank_acts import bring, change_water, feed, take
from tests.tanks import Action, Life, Tank, an_animal, run, run_slowly

CLOSED = 1e-12
ANIMALS = [an_animal(4, likes={"Q_1": 1.0, "A_F": 0.5, "bottom": 0.2})]


def without(matrix: Matrix, process_id: str, component: str) -> Matrix:
    """The matrix with one coefficient lost after it was checked."""

    def cut(coefficients: dict[str, float]) -> dict[str, float]:
        assert component in coefficients
        return {name: value for name, value in coefficients.items() if name != component}

    return replace(
        matrix,
        processes=tuple(
            replace(process, coefficients=cut(process.coefficients))
            if process.row.id == process_id
            else process
            for process in matrix.processes
        ),
    )


def test_with_all_entries_the_sums_are_kept() -> None:
    tank = Tank(animals=ANIMALS)
    assert run_slowly(tank, Life(days=1, hours=12.0)).drift().max() < CLOSED


@pytest.mark.parametrize(
    ("process_id", "component"),
    [
        ("GAS_O2", "B_GO2"),
        ("GAS_CO2", "B_GC"),
        ("DEN_DL", "B_N2"),
        ("IMM_P", "B_PM"),
        ("CALC_CO", "B_CaCO3"),
        ("SKIM_DOM", "B_SKN"),
        ("SEED_A_T", "B_SDP"),
        ("GRO_AOB", "S_ALK"),
        ("PC_ING_F", "S_O2"),
        ("OUT_N", "S_NH"),
    ],
)
def test_an_entry_lost_from_a_row_shows_in_the_sums(process_id: str, component: str) -> None:
    matrix = without(packaged_matrix(), process_id, component)
    tank = Tank(matrix=matrix, animals=ANIMALS, system={"skimmer": 1.0}, start={"N_BL": 1.0})
    assert run_slowly(tank, Life(days=1, hours=12.0)).drift().max() > 1e3 * CLOSED


@pytest.mark.parametrize(
    "act",
    [
        lambda tank: feed(10.0, tank=tank),
        lambda tank: take("A_R", 0.3, tank=tank),
        lambda tank: change_water(0.1, tank=tank),
        lambda tank: bring("S_NO3", 2.0, tank=tank),
    ],
)
def test_a_door_without_a_ledger_shows_in_the_sums(
    act: Callable[[Tank], Action], monkeypatch: pytest.MonkeyPatch
) -> None:
    tank = Tank(animals=ANIMALS)
    life = Life(days=1, once={(0, 6.0): act(tank)}, overflow=True)
    assert run(tank, life).drift().max() < CLOSED
    monkeypatch.setattr(tank_acts, "book", lambda *_: None)
    assert run(tank, life).drift().max() > 1e3 * CLOSED
