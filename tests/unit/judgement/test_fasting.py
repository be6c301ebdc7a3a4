"""Days without food: by size, warmth and growth, and against the march itself."""

from dataclasses import replace

import numpy as np
import pytest

from backreef.judgement.fasting import fasting_days, fasting_lines, warmth_notices
from backreef.judgement.rules import rule
from backreef.simulation.layout import NATURE
from tests.unit.judgement.courses import PAIR, WEEKS, course

HUNGRY = course(PAIR, horizon=WEEKS)


def nature() -> dict[str, np.ndarray]:
    return dict(zip(NATURE, HUNGRY.members.natures[0], strict=True))


def days(mass_g: float, *, temperature_c: float = 25.0, until_ratio: float = 0.75, **other: float) -> float:
    changed = nature() | {name: np.full(HUNGRY.members.count, value) for name, value in other.items()}
    mass = np.full(HUNGRY.members.count, mass_g)
    found = fasting_days(changed, mass, temperature_c=temperature_c, until_ratio=until_ratio)
    return float(np.median(found))


def test_small_and_warm_animals_last_shorter() -> None:
    assert days(0.5) < days(3.0) < days(10.0)
    assert days(3.0, temperature_c=30.0) < 0.8 * days(3.0, temperature_c=25.0)
    assert days(3.0, until_ratio=0.2) > 2.5 * days(3.0)


def test_a_growing_animal_lasts_shorter_than_a_grown_one_of_its_size() -> None:
    assert days(1.0) < 0.95 * days(1.0, kmax_per_d=0.0)


def test_without_growth_it_is_the_reserve_over_the_upkeep() -> None:
    # worked out by hand: a quarter of the reserve over what is burnt at 28 degC; upkeep hardly falls so early
    known = {name: float(np.median(values)) for name, values in nature().items()}
    reserve = known["reserve_share"] * 3.0 * known["carbon_per_g"]
    upkeep = known["burn_coefficient"] * 3.0 ** known["burn_exponent"]
    found = fasting_days(
        {name: np.array([value]) for name, value in known.items()} | {"kmax_per_d": np.zeros(1)},
        np.array([3.0]),
        temperature_c=28.0,
        until_ratio=0.75,
    )
    assert found[0] == pytest.approx(0.25 * reserve / upkeep, rel=0.04)


def test_a_plan_without_meals_loses_a_quarter_about_when_the_table_says() -> None:
    # a young tank offers a little film, so that the march may be slower, and never much faster
    (line,) = fasting_lines(HUNGRY.prepared, HUNGRY.members, HUNGRY.courses)[:1]
    fullness = np.median(HUNGRY.courses[0].fullness, axis=1)
    start = fullness[0]
    gone = int(np.argmax(fullness < start - 0.25))
    assert 0.6 * line.quarter_gone_d_p50 <= gone <= 2.5 * line.quarter_gone_d_p50
    assert line.quarter_gone_d_p05 < line.quarter_gone_d_p50 < line.quarter_gone_d_p95
    assert line.harm_d_p50 > line.quarter_gone_d_p95


def test_water_outside_the_warmth_that_is_known_is_said() -> None:
    fine = np.full((10, 4), 25.0)
    cold = fine.copy()
    cold[3:5, 1] = 20.5
    assert warmth_notices(HUNGRY.prepared, fine) == ()
    (notice,) = warmth_notices(HUNGRY.prepared, cold)
    assert "25% of the members" in notice
    assert "2 days (20.5 to 25.0 °C)" in notice
    assert warmth_notices(HUNGRY.prepared, np.full((10, 4), rule("body_warmest_c") + 0.1))
    assert warmth_notices(replace(HUNGRY.prepared, cohorts=[]), cold) == ()
