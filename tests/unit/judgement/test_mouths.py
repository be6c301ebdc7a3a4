from dataclasses import replace

import numpy as np
import numpy.typing as npt
import pytest

from backreef.judgement.mouths import Hunger, hungers
from backreef.judgement.rules import rule
from backreef.simulation.cohorts import Cohort
from backreef.simulation.trajectories import CohortCourse
from tests.unit.judgement.courses import FED, PAIR, course

Array = npt.NDArray[np.float64]
WELL, THIN, HARMED = 1.0, 0.4, 0.1


def pair() -> Cohort:
    return course(PAIR + FED).prepared.cohorts[0]


def life(fullness: list[float], *, count: float = 2.0) -> CohortCourse:
    """One member that is this full on each day."""
    values = np.array(fullness)[:, None]
    same = np.full_like(values, count)
    arrays = dict.fromkeys(("count", "length_cm", "mass_g"), same)
    arrays |= dict.fromkeys(("fullness", "condition", "energy_met"), values)
    return CohortCourse(arrays | {"lost": np.zeros_like(values)}, eaten_mmol={}, grazed_mmol={})


def hungry(*fullness: float, count: float = 2.0) -> list[Hunger]:
    return hungers([pair()], [life(list(fullness), count=count)])


def test_a_well_fed_animal_is_not_hungry() -> None:
    assert hungry(*[WELL] * 40) == []


def test_it_is_thin_after_two_weeks_in_a_row() -> None:
    days = int(rule("hungry_d"))
    assert hungry(*[THIN] * (days - 1), WELL, *[THIN] * (days - 1)) == []
    (found,) = hungry(WELL, *[THIN] * days)
    assert (found.harm, found.first_day.tolist()) == (False, [days])
    assert (found.lowest_ratio, found.bound_ratio) == (THIN, rule("hungry_fullness_ratio"))


def test_it_is_harmed_after_days_without_a_reserve() -> None:
    days = int(rule("harm_d"))
    (found,) = hungry(WELL, *[HARMED] * days, WELL)
    assert (found.harm, found.first_day.tolist()) == (True, [days])
    assert (found.days, found.share) == (days, 1.0)
    assert found.said_by


def test_the_dead_are_not_hungry() -> None:
    assert hungry(*[HARMED] * 40, count=0.0) == []


def test_it_does_not_judge_an_animal_whose_prey_the_model_has_not() -> None:
    blind = replace(pair(), guild=replace(pair().guild, prey_not_modelled="the air"))
    assert hungers([blind], [life([HARMED] * 40)]) == []


def test_a_fed_pair_is_well_and_its_unfed_twin_starves() -> None:
    fed, unfed = course(PAIR + FED), course(PAIR)
    assert [hunger for hunger in fed.hungers if hunger.harm] == []
    (starved,) = [hunger for hunger in unfed.hungers if hunger.harm]
    assert starved.share == 1.0
    assert (unfed.broken_on["mouths"] >= 0).all()
    assert starved.lowest_ratio == pytest.approx(0.0, abs=0.05)
