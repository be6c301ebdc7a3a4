"""When steps begin short again: after an event that is felt, not after one that is smaller than the error."""

from collections.abc import Callable

import pytest

from tests.tanks import Course, Life, Tank, bring, run, run_slowly

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
