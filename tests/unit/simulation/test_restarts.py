"""When steps begin short again: after an event that is felt, not after one that is smaller than the error."""

from collections.abc import Callable

import pytest

from tests.tank_acts import bring
from tests.tanks import Course, Life, Tank, run, run_slowly

NITRATE_MMOL = 100.0


def steps(march: Callable[..., Course], dose_mmol: float) -> float:
    """Steps of a day in the dark with a dose of nitrate at noon."""
    tank = Tank(start={"S_NO3": NITRATE_MMOL})
    life = Life(days=1, light=(), refugium=None, daily={12.0: bring("S_NO3", dose_mmol, tank=tank)})
    return march(tank, life).result.report["steps"]


@pytest.mark.parametrize("march", [run, run_slowly])
def test_only_an_event_that_is_larger_than_the_error_makes_steps_short(march: Callable[..., Course]) -> None:
    undisturbed = steps(march, 0.0)
    assert steps(march, 1e-3 * NITRATE_MMOL) == undisturbed
    assert steps(march, 0.2 * NITRATE_MMOL) > undisturbed


@pytest.mark.parametrize("march", [run, run_slowly])
def test_an_hour_like_yesterdays_is_begun_with_the_step_that_was_possible_then(
    march: Callable[..., Course],
) -> None:
    """A day of a tank in which nothing has changed takes fewer steps once a day like it is known."""
    tank = Tank(start={"S_NO3": NITRATE_MMOL})

    def steps_until(day: int) -> float:
        dose = bring("S_NO3", 0.2 * NITRATE_MMOL, tank=tank)
        life = Life(days=day, light=(), refugium=None, daily={12.0: dose})
        return march(tank, life).result.report["steps"]

    first, second, third = steps_until(1), steps_until(2), steps_until(3)
    assert third - second < first
    assert third - second <= second - first
