from __future__ import annotations

import numpy as np
import pytest

from backreef.judgement.arrivals import additions, filter_growth
from backreef.judgement.verdict import Addition
from tests.unit.judgement.courses import FED, course

QUARTER = '[goals]\nhorizon = "0.4 years"\n'


def rising(
    days: int, *, peak: float = 0.5, since: int = 20, fades_d: float = 4.0
) -> np.ndarray[tuple[int, int]]:
    """Two members, one with twice the peak: nothing, then a peak that fades to a level of 0.06."""
    t = np.arange(days)
    faded = 0.06 + peak * np.exp(-np.maximum(t - since, 0) / fades_d)
    one = np.where(t < since, 0.0, faded)
    return np.stack([one, np.where(t < since, 0.0, 2 * faded - 0.06)], axis=1)


def test_a_filter_has_grown_on_the_day_after_which_ammonia_stays_where_it_settles() -> None:
    found = filter_growth(rising(100), 20, next_day=None)
    assert found is not None
    # 0.5 exp(-d / 4) falls below a quarter of 0.06 after 4 ln(33.3) = 14.03 days: 15 days, the other's 17
    assert 15 <= found.days[0] < 16 < found.days[2] <= 17
    assert found.most_mg_n_per_l_p95 == pytest.approx(1.035)
    longer = filter_growth(rising(100, fades_d=8), 20, next_day=None)
    assert longer is not None
    assert longer.days[1] > found.days[1]


def test_what_no_test_shows_is_no_load() -> None:
    found = filter_growth(rising(100) * 0.01, 20, next_day=None)
    assert found is not None
    assert found.days == (0.0, 0.0, 0.0)


def test_nothing_is_said_where_the_next_come_or_the_plan_ends_too_soon() -> None:
    assert filter_growth(rising(100), 20, next_day=30) is None
    assert filter_growth(rising(30), 20, next_day=None) is None
    assert filter_growth(rising(100), -1, next_day=None) is None


def newcomers(count: int) -> Addition:
    lines = (
        f'[[animals]]\nid = "fish"\nspecies = "pajama_cardinal"\ncount = {count}\narrives_on = 2027-03-01\n'
    )
    marched = course(lines + FED, horizon=QUARTER)
    (found,) = additions(marched.prepared, marched.series)
    return found


def test_many_fish_at_once_ask_more_of_the_filter_than_one() -> None:
    few, many = newcomers(1), newcomers(12)
    assert few.filter_days_p95 is not None
    assert many.filter_days_p95 is not None
    assert few.ammonia_most_mg_n_per_l_p95 is not None
    assert many.ammonia_most_mg_n_per_l_p95 is not None
    assert many.ammonia_most_mg_n_per_l_p95 > 2 * few.ammonia_most_mg_n_per_l_p95
    assert many.filter_days_p95 >= few.filter_days_p95
