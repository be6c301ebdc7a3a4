"""The order of the method, measured: an error in a coefficient or a derivative would lower it."""

import numpy as np
import pytest

from backreef.simulation.block import Tolerances
from backreef.simulation.layout import REGISTERS
from tests.tanks import Array, Life, Tank, an_animal, run

WORKING_HOURS = 2.0


def with_steps_of(minutes: float) -> Tolerances:
    """Every error is fine, so that all steps have one length."""
    return Tolerances(
        relative=1e9,
        absolute_share=1.0,
        first_step_min=minutes,
        longest_step_min=minutes,
        shortest_step_s=1e-3,
    )


def settled_tank() -> Tank:
    """The reference tank after half a day, when fast things follow slow ones."""
    animals = [
        an_animal(4, likes={"A_T": 0.4, "A_F": 0.8, "X_DL": 0.1}),
        an_animal(2, likes={"Z_PC": 1.0, "bottom": 0.5}, burn_mmol_per_d=0.3),
    ]
    tank = Tank(animals=animals)
    before = run(tank, Life(days=1, hours=12.0), tolerances=with_steps_of(2.0))
    last = before.result.days[-1]
    names = tank.layout.components[: tank.layout.active]
    return Tank(animals=animals, start={name: last[tank.layout.address(name)] for name in names})


def after(tank: Tank, minutes: float) -> Array:
    """Amounts after two hours of a morning in steps of one length."""
    life = Life(days=1, hours=WORKING_HOURS, light=(-4.0, 12.0, 13.0, 14.0), refugium=(0.0, 14.0))
    course = run(tank, life, tolerances=with_steps_of(minutes))
    assert course.result.report["rejected"] == 0.0
    return course.result.days[-1, len(REGISTERS) : len(REGISTERS) + tank.layout.active]


def test_its_error_falls_with_the_fourth_power_of_the_step() -> None:
    tank = settled_tank()
    exact = after(tank, 0.1)
    present = np.abs(exact).max(axis=1) > 1e-6
    long_min, short_min = 15.0, 2.5
    errors = [
        np.sqrt(np.mean((after(tank, step_min)[present] / exact[present] - 1.0) ** 2))
        for step_min in (long_min, short_min)
    ]
    assert errors[0] < 1e-6
    assert np.log(errors[0] / errors[1]) / np.log(long_min / short_min) == pytest.approx(4.0, abs=0.4)
