import pytest

from backreef.models import ration
from backreef.models.body_values import body_numbers

NUMBERS = body_numbers()


def test_a_need_scales_with_metabolic_mass() -> None:
    need = ration.ScaledNeed(per_kg=10.0, exponent=0.8)
    assert ration.scaled_need(1000.0, need) == pytest.approx(10.0)
    assert ration.scaled_need(1.0, need) == pytest.approx(10.0 * 0.001**0.8)


def test_going_on_as_before_shortens_a_fast() -> None:
    fast = {"body_energy_kj_per_g": 5.39, "lost_frac": 0.25}
    lively = ration.fasting_days(1.0, 120.0, rate_ratio=1.0, **fast)
    quiet = ration.fasting_days(1.0, 120.0, rate_ratio=0.75, **fast)
    assert lively == pytest.approx(0.25 * 5390.0 / 120.0)
    assert quiet == pytest.approx(lively / 0.75)


@pytest.mark.parametrize(
    ("meals", "hours"), [(1.0, 16.0), (1.5, 13.0), (2.0, 10.0), (2.5, 7.75), (3.0, 5.5), (12.0, 5.5)]
)
def test_more_meals_leave_the_gut_sooner(meals: float, hours: float) -> None:
    assert ration.gut_emptying_h(meals, NUMBERS) == pytest.approx(hours)


def test_a_larger_snook_eats_less_of_itself() -> None:
    assert 1.86 < ration.snook_ration_pct_per_d(4.0, NUMBERS) < 3.31


def test_full_feed_is_maintenance_where_nothing_grows() -> None:
    assert ration.full_feed_j_per_d(172.0, 0.0, gain_kj_per_g=35.7) == 172.0
