"""Stoichiometry of the process table, and what no run may create or destroy (project checks S1 to S9)."""

import numpy as np
import pytest

from backreef.models.matrix import packaged_matrix
from backreef.models.tables import ELEMENTS
from tests.random_tanks import random_tank
from tests.reference.cases import Case, Functions, cases
from tests.tank_acts import bring, change_water, feed, take, together
from tests.tanks import Course, Life, Tank, an_animal, run

ROWS = {process.row.id: process for process in packaged_matrix().processes}
NO_AIR = {"k_s": 0.0, "k_s_off": 0.0, "k_x": 0.0, "k_sk_air": 0.0}
CLOSED_LID = {**NO_AIR, "seed_B": 0.0}


def per_unit(process_id: str, component: str) -> float:
    """What a row makes of a component per unit of its rate."""
    return ROWS[process_id].coefficients[component]


def nitrified(component: str) -> float:
    """What turning one ammonia into nitrate makes of a component, the growth of both bacteria counted."""
    first = per_unit("GRO_AOB", component) / per_unit("GRO_AOB", "S_NO2")
    return first + per_unit("GRO_NOB", component) / per_unit("GRO_NOB", "S_NO3")


FUNCTIONS: Functions = {"per_unit": per_unit, "nitrified": nitrified}


@pytest.mark.parametrize("case", cases("ecosystem_stoichiometry.toml"))
def test_its_rows_come_to_what_was_worked_out(case: Case) -> None:
    case.check(FUNCTIONS)


# Project check S1. The gas exchanges close too, through their ledgers; foods through their label.
@pytest.mark.parametrize("process_id", sorted(ROWS))
def test_every_row_makes_nothing_of_nothing(process_id: str) -> None:
    contents = Tank().composition
    known = {**Tank().food_numbers(), "p_protein": 0.0045}
    total = np.zeros(len(ELEMENTS))
    for name in ROWS[process_id].changes:
        total += np.array(contents[name]) * ROWS[process_id].coefficient(name, known)
    np.testing.assert_allclose(total, 0.0, atol=1e-12)


# Project check S7: 10 days without air or operators, any start.
@pytest.mark.parametrize("seed", range(4))
def test_a_closed_tank_keeps_every_element(seed: int) -> None:
    tank = random_tank(seed, animals=2)
    tank.parameters = {**tank.parameters, **CLOSED_LID}
    tank.system = {**tank.system, "seeds": 0.0, "skimmer": 0.0}
    course = run(tank, Life(days=10))
    assert np.abs(course.row("B_GO2")).max() == 0.0
    assert course.drift().max() < 1e-9


def in_order(course: Course) -> bool:
    """Whether all is a number and no amount lies below 0."""
    layout, days = course.tank.layout, course.result.days
    first = layout.address(layout.components[0])
    return bool(np.isfinite(days).all() and (days[:, first : first + layout.active] >= 0.0).all())


# Project check S8: one year with all operators.
def test_a_year_with_all_operators_closes_its_books() -> None:
    tank = Tank(
        animals=[
            an_animal(3, likes={"Q_1": 1.0, "bottom": 0.3}, dies_at=(0.5, 3.0), base_hazard_per_d=0.005),
            an_animal(8, likes={"A_T": 0.4, "A_F": 0.8, "X_DL": 0.1}, burn_mmol_per_d=1.0),
        ],
        registers={"m_fe": 30.0, "carbon": 1.0, "sock": 1.0, "reservoir": 400.0},
        system={"skimmer": 1.0, "evaporation_l_per_d": 1.0},
    )
    once = {
        **{(day, 11.0): change_water(0.1, tank=tank) for day in range(6, 365, 7)},
        **{(day, 12.0): take("A_R", 0.3, tank=tank) for day in range(13, 365, 14)},
        **{(day, 13.0): take("X_SK", 1.0, tank=tank, door="siphon") for day in range(3, 365, 4)},
        **{(day, 14.0): take("X_DL", 0.3, tank=tank, door="siphon") for day in range(20, 365, 30)},
        **{(day, 15.0): take("P_FE", 1.0, tank=tank, door="media") for day in range(40, 365, 60)},
    }
    doses = together(
        *(bring(name, 20.0, tank=tank) for name in ("S_ALK", "S_DIC")), bring("S_CS", 5.0, tank=tank)
    )
    course = run(tank, Life(days=365, daily={9.0: feed(25.0, tank=tank), 20.5: doses}, once=once))
    assert in_order(course)
    assert course.drift().max() < 1e-8
    assert course.animal(0, "lost").max() == 2.0


# Project check S9.
def test_three_days_without_oxygen_and_pumps_stay_numbers_at_or_above_nothing() -> None:
    tank = Tank(start={"S_O2": 0.0, "X_FP": 300.0, "X_FL": 100.0, "X_FC": 60.0, "X_FM": 5.0})
    course = run(tank, Life(days=3, pumps=False, light=(), refugium=None))
    assert in_order(course)
    assert course.drift().max() < 1e-9
