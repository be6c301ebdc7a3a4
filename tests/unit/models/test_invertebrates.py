import pytest

from backreef.models import invertebrates
from backreef.models.body_values import body_numbers

NUMBERS = body_numbers()


def oxygen_per_nitrogen(oxygen_mg: float, nitrogen_mg: float) -> float:
    return (oxygen_mg / 15.999) / (nitrogen_mg / 14.007)


def test_a_snail_s_oxygen_and_ammonia_go_together() -> None:
    # 24.8 atoms at 1 g: worked by a reviewer from Velasco et al. 2019.
    ratio = oxygen_per_nitrogen(
        invertebrates.snail_oxygen_mg_o2_per_d(1.0, NUMBERS),
        invertebrates.snail_ammonia_mg_n_per_d(1.0, NUMBERS),
    )
    assert ratio == pytest.approx(24.8, abs=0.1)


@pytest.mark.parametrize(("mass_g", "printed"), [(1.0, 14.8), (5.0, 7.9), (20.0, 4.6), (100.0, 2.5)])
def test_the_published_line_of_the_cucumber_contradicts_itself_when_large(
    mass_g: float, printed: float
) -> None:
    # Worked by a reviewer from Kodama et al. 2015.
    ratio = oxygen_per_nitrogen(
        invertebrates.cucumber_oxygen_mg_o2_per_d(mass_g, NUMBERS),
        invertebrates.cucumber_ammonia_line_mg_n_per_d(mass_g, NUMBERS),
    )
    assert ratio == pytest.approx(printed, abs=0.06)


@pytest.mark.parametrize("mass_g", [1.0, 5.0, 20.0, 100.0])
def test_a_cucumber_never_gives_off_more_nitrogen_than_its_oxygen_allows(mass_g: float) -> None:
    nitrogen = invertebrates.cucumber_ammonia_mg_n_per_d(mass_g, NUMBERS)
    ratio = oxygen_per_nitrogen(invertebrates.cucumber_oxygen_mg_o2_per_d(mass_g, NUMBERS), nitrogen)
    assert ratio >= NUMBERS["excretion.least_oxygen_per_nitrogen_ratio"] - 1e-9


def test_a_small_cucumber_follows_the_published_line() -> None:
    assert invertebrates.cucumber_ammonia_mg_n_per_d(1.0, NUMBERS) == pytest.approx(
        invertebrates.cucumber_ammonia_line_mg_n_per_d(1.0, NUMBERS)
    )


def test_a_snail_egests_less_than_it_eats() -> None:
    eaten = invertebrates.snail_ingestion_mg_dry_per_d(0.2, NUMBERS)
    assert 0.2 < invertebrates.snail_egestion_mg_dry_per_d(0.2, NUMBERS) / eaten < 0.6
