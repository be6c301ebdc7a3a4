"""What happens where amounts run out: steps are shortened, rescued, or the run ends and says where."""

from collections.abc import Callable

import numpy as np
import pytest

from backreef.simulation.block import MarchFailed, Tolerances
from tests.random_tanks import random_tank
from tests.tank_acts import bring
from tests.tanks import Course, Life, Tank, an_animal, run, run_slowly


def blunt(shortest_min: float) -> Tolerances:
    """No step is too long for its error, and shortening ends soon: what falls below 0 must be rescued."""
    return Tolerances(
        relative=1e9,
        absolute_share=1.0,
        first_step_min=30.0,
        longest_step_min=180.0,
        shortest_step_s=60.0 * shortest_min,
    )


def suffocating_tank() -> Tank:
    """No oxygen, much rotting food, no pumps."""
    return Tank(
        start={"S_O2": 0.0, "X_FP": 400.0, "X_FL": 100.0, "X_FC": 50.0, "X_FM": 5.0},
        system={"A_surf": 1e-3},
        animals=[an_animal(3, likes={"bottom": 1.0}, base_hazard_per_d=0.01)],
    )


def unharmed(course: Course) -> bool:
    """Whether all is a number and nothing is below 0."""
    layout = course.tank.layout
    days = course.result.days
    first = layout.address(layout.components[0])
    return bool(np.isfinite(days).all() and (days[:, first : first + layout.active] >= 0.0).all())


def test_three_days_without_oxygen_pass_without_a_negative_amount() -> None:
    course = run(suffocating_tank(), Life(days=3, light=(), refugium=None, pumps=False))
    assert unharmed(course)
    assert course.row("S_O2").max() < 0.2
    assert course.drift().max() < 1e-13


@pytest.mark.parametrize(("seed", "shortest_min"), [(0, 3.0), (8, 10.0), (2, 3.0)])
def test_a_step_below_the_shortest_is_rescued_and_counted(seed: int, shortest_min: float) -> None:
    tank, life = random_tank(seed, animals=2), Life(days=1, hours=6.0, light=())
    quick, slow = (march(tank, life, tolerances=blunt(shortest_min)) for march in (run, run_slowly))
    assert quick.result.report["euler"] > 0.0
    assert quick.result.report == slow.result.report
    assert unharmed(quick)
    np.testing.assert_allclose(quick.result.days, slow.result.days, rtol=1e-8, atol=1e-12)
    assert quick.drift().max() < 1e-13


@pytest.mark.parametrize("march", [run, run_slowly])
def test_a_run_that_cannot_go_on_names_the_amount_and_the_day(march: Callable[..., Course]) -> None:
    tank, life = random_tank(0, animals=2), Life(days=1, hours=6.0, light=())
    with pytest.raises(MarchFailed, match=r"^day 0\.00 \(segment 0\): S_PO4 falls below zero even at the"):
        march(tank, life, tolerances=blunt(10.0))


@pytest.mark.parametrize("march", [run, run_slowly])
def test_an_amount_that_an_event_took_below_nothing_is_named(march: Callable[..., Course]) -> None:
    tank = Tank()
    too_much = bring("S_PO4", -50.0, tank=tank)
    with pytest.raises(MarchFailed, match=r"^day 1\.25 \(segment 14\): S_PO4 falls below zero even at the"):
        march(tank, Life(days=2, once={(1, 6.0): too_much}))


@pytest.mark.parametrize("march", [run, run_slowly])
def test_an_animal_that_an_event_took_below_nothing_is_named(march: Callable[..., Course]) -> None:
    tank = Tank(animals=[an_animal(2, likes={"A_F": 1.0})])
    at = tank.layout.slot_address(0, "reserve", 1)
    life = Life(days=1, once={(0, 6.0): lambda program, _: program.put("add", target=at, factor=-1e3)})
    with pytest.raises(MarchFailed, match="reserve of animals 1 falls below zero"):
        march(tank, life)
