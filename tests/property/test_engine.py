"""What must hold for every tank, whatever its rate constants, animals and events."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from backreef.models.matrix import packaged_matrix
from backreef.simulation.block import Tolerances
from backreef.simulation.draws import Draws
from backreef.simulation.layout import SLOT_MARCHED, SWITCHES
from tests.random_tanks import random_tank
from tests.searching import tries
from tests.tank_acts import bring, change_water, feed, take, together
from tests.tanks import Action, Array, Course, Life, Tank, run

FORECAST = Tolerances(
    relative=0.02, absolute_share=0.3, first_step_min=2.0, longest_step_min=180.0, shortest_step_s=1.0
)
BOOKS_CLOSE = 1e-8
"""Totals less ledgers, over the sizes of what they are made of."""


def in_ranges(tank: Tank, seed: int) -> Tank:
    """The tank with rate constants drawn from their own ranges, another set in each lane."""
    draws = Draws(seed, tank.lanes)
    drawn = {
        symbol: draws.value(symbol, one.value, one.low, one.high)
        for symbol, one in packaged_matrix().tables.parameters.items()
        if one.low != one.high
    }
    return replace(tank, parameters=drawn)


def some_events(tank: Tank, seed: int, days: int) -> Life:
    """Meals every day, at times a water change, a harvest, a siphon, a dose; pumps may rest, things fail."""
    generator = np.random.default_rng(seed)
    acts: list[Action] = [
        change_water(float(generator.uniform(0.05, 0.5)), tank=tank),
        take("A_R", float(generator.uniform(0.1, 0.9)), tank=tank),
        take("X_DL", float(generator.uniform(0.1, 0.9)), tank=tank, door="siphon"),
        together(bring("S_ALK", 60.0, tank=tank), bring("S_DIC", 60.0, tank=tank)),
        bring("S_CS", float(generator.uniform(1.0, 100.0)), tank=tank),
        take("A_T", float(generator.uniform(0.1, 1.0)), tank=tank),
    ]
    once = {
        (int(generator.integers(0, days)), float(generator.integers(1, 24))): acts[number]
        for number in generator.integers(0, len(acts), days)
    }
    meals = {
        float(hour): feed(float(generator.uniform(1.0, 40.0)), tank=tank, food=food + 1)
        for food, hour in enumerate(generator.choice(np.arange(6, 22), 2, replace=False))
    }
    return Life(
        days=days,
        daily=meals,
        once=once,
        overflow=bool(generator.random() < 0.5),
        pumps=bool(generator.random() < 0.8),
        switches={name: 1.0 for name in SWITCHES if generator.random() < 0.15},
    )


def in_order(course: Course) -> None:
    """All is a number, nothing is below 0, and the books close."""
    layout, slots = course.tank.layout, len(course.tank.animals)
    days = course.result.days
    assert np.isfinite(days).all()
    first = layout.address(layout.components[0])
    assert (days[:, first : first + layout.active] >= 0.0).all()
    for slot in range(slots):
        for name in SLOT_MARCHED:
            assert (course.animal(slot, name) >= 0.0).all()
    assert course.drift().max() < BOOKS_CLOSE


@pytest.mark.search_s(120)
@tries(60)
@given(seed=st.integers(0, 10**6), animals=st.integers(0, 5))
def test_ten_days_of_any_tank_stay_in_order(seed: int, animals: int) -> None:
    tank = in_ranges(random_tank(seed, animals=animals), seed)
    in_order(run(tank, some_events(tank, seed, 10), tolerances=FORECAST))


@pytest.mark.long
def test_thirty_days_of_a_thousand_draws_stay_in_order() -> None:
    for block in range(125):
        tank = in_ranges(random_tank(block, animals=block % 6), block)
        in_order(run(tank, some_events(tank, block, 30), tolerances=FORECAST))


EXTENSIVE = ("A_rock", "A_sand", "A_glass", "A_surf", "A_ref", "A_media", "m_carb")
HEAT = (
    "heat_loss_w_per_k",
    "evaporation_w_per_k",
    "heater_w",
    "pump_heat_w",
    "lamp_heat_w",
    "evaporation_l_per_d",
    "carbon_holds_mmol",
)


def doubled(tank: Tank) -> Tank:
    """Twice the tank: volumes, areas, masses, amounts, animals."""
    once = replace(tank, system={**tank.system, **dict(zip(EXTENSIVE + HEAT, _system(tank), strict=True))})
    registers = {"V": 200.0, "salt": 7000.0, "m_fe": 0.0, **tank.registers}
    extensive = {name: 2.0 * registers[name] for name in ("V", "salt", "m_fe")}
    return replace(
        once,
        start={name: 2.0 * amount for name, amount in _amounts(tank).items()},
        registers={**registers, **extensive},
        animals=[
            replace(
                animal,
                traits={**animal.traits, "count": 2.0 * animal.count},
                count=2.0 * animal.count,
                structure_mmol=2.0 * animal.structure_mmol,
                reserve_mmol=2.0 * animal.reserve_mmol,
            )
            for animal in tank.animals
        ],
        scale_factor=2.0,
    )


def _system(tank: Tank) -> list[Array]:
    rows = tank.all_parameters()
    return [2.0 * rows[tank.layout.parameter(name)] for name in EXTENSIVE + HEAT]


def _amounts(tank: Tank) -> dict[str, Array]:
    rows = tank.state()
    names = tank.layout.components[: tank.layout.active]
    return {name: rows[tank.layout.address(name)] for name in names}


@tries(8)
@given(seed=st.integers(0, 10**6))
def test_twice_the_tank_holds_twice_as_much_at_the_same_concentrations(seed: int) -> None:
    tank = random_tank(seed, animals=2)
    large = doubled(tank)
    courses = []
    for one, factor in ((tank, 1.0), (large, 2.0)):
        life = Life(days=3, daily={10.0: feed(12.0 * factor, tank=one), 14.0: change_water(0.1, tank=one)})
        courses.append(run(one, life, tolerances=FORECAST))
    small, big = courses
    for name in tank.layout.components:
        np.testing.assert_allclose(
            big.row(name),
            2.0 * small.row(name),
            rtol=1e-6,
            atol=1e-6 * (np.abs(small.row(name)).max() + 1e-6),
        )
    for slot in range(2):
        np.testing.assert_allclose(
            big.animal(slot, "reserve"), 2.0 * small.animal(slot, "reserve"), rtol=1e-6
        )
    np.testing.assert_allclose(big.umol_per_l("S_NH"), small.umol_per_l("S_NH"), rtol=1e-6)
    np.testing.assert_allclose(big.row("T"), small.row("T"), rtol=1e-12)
