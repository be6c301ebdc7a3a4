"""The compiled engine against the slow one, which knows neither recorded programs nor machine code."""

from collections.abc import Callable

import numpy as np
import pytest

from backreef.simulation.block import Tolerances
from backreef.simulation.engine import KERNEL_FOODS, kernel_foods, load_engine
from backreef.simulation.events import EventProgram
from backreef.simulation.layout import SWITCHES, Layout
from tests.random_tanks import random_tank
from tests.tank_acts import bring, change_water, feed, take, together
from tests.tanks import Action, Array, Course, Life, Tank, an_animal, run, run_slowly

ONE_STEP = Tolerances(
    relative=1e9, absolute_share=1.0, first_step_min=60.0, longest_step_min=60.0, shortest_step_s=1.0
)
"""Any error is fine, so that a segment of five minutes is one step."""


def difference(quick: Array, slow: Array, least_share: float) -> float:
    """Largest difference over the amount; below a share of a row's largest amount, over that share."""
    largest = np.maximum(np.abs(slow).max(axis=(0, 2), keepdims=True), 1e-9)
    return float(np.max(np.abs(quick - slow) / np.maximum(np.abs(slow), least_share * largest)))


@pytest.mark.parametrize("seed", range(10))
def test_one_step_from_a_random_state_is_the_same_to_the_last_digits(seed: int) -> None:
    tank = random_tank(seed, animals=seed % 4)
    life = Life(
        days=1,
        hours=5.0 / 60.0,
        midnights=False,
        light=(-0.25, 1.0, 2.0, 3.0),
        refugium=(0.0, 9.0),
        overflow=True,
    )
    quick, slow = (march(tank, life, tolerances=ONE_STEP).result for march in (run, run_slowly))
    assert quick.report["steps"] == slow.report["steps"] == 1.0
    assert np.abs(slow.days[1] - slow.days[0]).max() > 0.01
    assert difference(quick.days, slow.days, 1e-2) < 1e-12


@pytest.mark.parametrize("seed", range(4))
def test_a_day_of_mishaps_is_the_same(seed: int) -> None:
    generator = np.random.default_rng(seed)
    tank = random_tank(seed, animals=1)
    tank.system = {**tank.system, "A_media": 1.5, "evaporation_l_per_d": 3.0}
    # in some lanes the top-off has much to fill, and in some the return pump draws air
    tank.system |= {"mark_l": generator.uniform(190.0, 220.0, 8), "dry_l": generator.uniform(150.0, 210.0, 8)}
    tank.registers = {**tank.registers, "reservoir": generator.uniform(0.0, 4.0, 8), "resin_l": 100.0}
    switches = {name: float(generator.integers(0, 2)) for name in SWITCHES}
    life = Life(days=1, pumps=bool(seed % 2), switches=switches)
    quick, slow = (march(tank, life).result for march in (run, run_slowly))
    assert difference(quick.days, slow.days, 1e-2) < 1e-6


def read_nitrate(program: EventProgram, layout: Layout) -> None:
    """A test of nitrate; its row of errors is the second one drawn."""
    target, source = layout.address("read_S_NO3"), layout.address("S_NO3")
    program.put("read", target=target, source=source, extra=1, factor=1000.0)


def where_nitrate_is_high(action: Action, *, bound: float, note: int) -> Action:
    """Upkeep that depends on the last test."""

    def act(program: EventProgram, layout: Layout) -> None:
        program.put("everyone")
        program.put("where_above", source=layout.address("read_S_NO3"), factor=bound)
        program.put("note", extra=note)
        action(program, layout)
        program.put("everyone")

    return act


def portions(program: EventProgram, layout: Layout) -> None:
    """A meal whose size differs between lanes."""
    program.put("add_drawn", target=layout.address("Q_2"), source=0, extra=0, factor=8.0)


def a_living_tank() -> Tank:
    """Fed fish that die now and then, snails on turf, a hunter of pods."""
    return Tank(
        animals=[
            an_animal(3, likes={"Q_1": 1.0, "Q_2": 0.7, "bottom": 0.3}, dies_at=(0.05, 0.2), push=0.7),
            an_animal(6, likes={"A_T": 0.4, "A_F": 0.8, "X_DL": 0.1}, base_hazard_per_d=0.04, dies_at=(0.3,)),
            an_animal(2, likes={"Z_PC": 1.0, "Z_PA": 0.5, "X_POM": 0.2}, burn_mmol_per_d=0.3),
            an_animal(1, likes={"Q_1": 0.6, "bottom": 0.8}, yields=2.0, burn_mmol_per_d=0.5),
        ],
        start={"S_NO3": np.linspace(0.5, 6.0, 8)},
        registers={"m_fe": 20.0, "carbon": 0.5, "reservoir": 1.0},
        system={"evaporation_l_per_d": 4.0, "skimmer": 0.7},
    )


def an_eventful_life(tank: Tank) -> Life:
    """Three days of meals, a test, upkeep that depends on it, and a cut of algae."""
    change = where_nitrate_is_high(change_water(0.2, tank=tank), bound=12.0, note=0)
    return Life(
        days=3,
        overflow=True,
        daily={9.0: feed(12.0, tank=tank), 15.5: portions},
        once={
            (0, 11.0): read_nitrate,
            (0, 12.0): change,
            (1, 10.0): together(take("A_R", 0.3, tank=tank), bring("S_CS", 30.0, tank=tank)),
            (2, 8.0): where_nitrate_is_high(bring("S_NO3", 1.0, tank=tank), bound=20.0, note=1),
        },
        notes=2,
    )


DRAWN = np.array([np.linspace(0.7, 1.4, 8), np.linspace(1.1, 0.9, 8)])


def test_days_with_meals_deaths_and_conditional_upkeep_are_the_same() -> None:
    tank = a_living_tank()
    quick, slow = (march(tank, an_eventful_life(tank), drawn=DRAWN) for march in (run, run_slowly))
    assert quick.result.report == slow.result.report
    assert difference(quick.result.days, slow.result.days, 1e-6) < 1e-9
    assert 0.0 < quick.result.noted[0].mean() < 1.0
    np.testing.assert_array_equal(quick.result.noted, slow.result.noted)
    assert slow.animal(1, "lost").max() == 1.0


@pytest.mark.parametrize("foods", KERNEL_FOODS)
def test_a_kernel_for_few_foods_does_what_they_need(foods: int) -> None:
    tank = a_living_tank()
    life, engine = an_eventful_life(tank), load_engine(foods=foods)
    quick, slow = run(tank, life, drawn=DRAWN, engine=engine), run_slowly(tank, life, drawn=DRAWN)
    assert quick.result.report == slow.result.report
    assert difference(quick.result.days, slow.result.days, 1e-6) < 1e-9


def test_a_plan_takes_the_smallest_kernel_that_has_its_foods() -> None:
    assert [kernel_foods(count) for count in range(7)] == [2, 2, 2, 4, 4, 6, 6]


@pytest.mark.parametrize("march", [run, run_slowly])
def test_each_of_them_keeps_every_element(march: Callable[..., Course]) -> None:
    tank = a_living_tank()
    life = Life(
        days=2,
        overflow=True,
        daily={9.0: feed(12.0, tank=tank), 12.0: change_water(0.1, tank=tank)},
        once={(1, 10.0): together(take("A_R", 0.3, tank=tank), bring("S_CS", 30.0, tank=tank))},
    )
    assert march(tank, life).drift().max() < 1e-13
