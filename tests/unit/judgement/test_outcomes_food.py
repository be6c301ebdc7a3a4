from __future__ import annotations

from types import SimpleNamespace
from typing import cast

import numpy as np
import pytest

from backreef.judgement.outcomes_food import _wanted_mmol_per_d
from backreef.simulation.trajectories import CohortCourse
from tests.unit.judgement.courses import PAIR, course

DAYS = 100


def wanted(heads: int, mass_g: float, since: int) -> float:
    """What a cohort wants in a day that is there from a day on, none before."""
    there = (np.arange(DAYS) >= since)[:, None]
    lived = SimpleNamespace(count=np.where(there, float(heads), 0.0), mass_g=np.where(there, mass_g, 0.0))
    cohort = course(PAIR).prepared.cohorts[0]
    return float(_wanted_mmol_per_d(cohort, cast("CohortCourse", lived))[0])


def test_who_comes_halfway_wants_half_as_much_over_the_whole_plan() -> None:
    assert wanted(4, 10.0, DAYS // 2) == pytest.approx(wanted(4, 10.0, 0) / 2)
    assert wanted(8, 10.0, 0) == pytest.approx(2 * wanted(4, 10.0, 0))
