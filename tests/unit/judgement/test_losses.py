import pytest

from backreef.company.hazards import Hazard, Outbreak, Rate, years
from backreef.judgement.losses import USUAL, losses_of, lost_frac
from tests.unit.judgement.courses import FED, PAIR, SNAILS, course

YEAR_D = 365


def hazard(rate_per_y: float, *, since: int = 0, until: int = YEAR_D, outbreak: str = "") -> Hazard:
    return Hazard(
        entry_id="pair",
        cause="disease",
        since_day=since,
        until_day=until,
        rate=Rate(value_per_y=rate_per_y, low_per_y=rate_per_y, high_per_y=rate_per_y),
        outbreak=Outbreak(name=outbreak, chance_frac=0.1) if outbreak else None,
    )


def test_a_rate_takes_as_many_as_a_rate_does() -> None:
    once_in_e = 1.0 / years(YEAR_D)
    assert lost_frac([hazard(once_in_e)], YEAR_D) == pytest.approx(1 - 1 / 2.718281828)
    half = [hazard(once_in_e, until=100), hazard(once_in_e, since=100)]
    assert lost_frac(half, YEAR_D) == pytest.approx(lost_frac([hazard(once_in_e)], YEAR_D))
    assert lost_frac([hazard(once_in_e, since=400, until=500)], YEAR_D) == 0.0, "it comes after the end"


def test_an_outbreak_that_may_not_come_takes_that_much_less() -> None:
    sure, perhaps = lost_frac([hazard(1.0)], YEAR_D), lost_frac([hazard(1.0, outbreak="first")], YEAR_D)
    assert perhaps == pytest.approx(0.1 * sure)
    twice = [hazard(1.0, outbreak="first"), hazard(1.0, outbreak="second")]
    assert lost_frac(twice, YEAR_D) == pytest.approx(1 - (1 - perhaps) ** 2)


def test_the_largest_cause_of_a_plan_stands_first_and_what_is_slight_is_left_out() -> None:
    prepared = course(PAIR + FED + SNAILS).prepared
    for cohort in prepared.cohorts:
        found = losses_of(prepared, cohort)
        assert [loss.lost_frac for loss in found] == sorted((loss.lost_frac for loss in found), reverse=True)
        assert all(loss.lost_frac >= 0.01 for loss in found)
        days = prepared.keeper.days - cohort.arrives_day
        usual = {loss.cause: loss.lost_frac for loss in found}.get(USUAL, 0.0)
        assert usual == pytest.approx(1 - (1 - cohort.yearly_loss.value) ** years(days), abs=0.01)
