import numpy as np
import pytest

from backreef.models.body_values import BodyValueError, body_numbers
from backreef.models.metabolism import (
    OXYGEN_PER_CARBON_RATIO,
    PowerLine,
    family_carbon_line,
    family_oxygen_line,
    feed_energy_need_j_per_d,
    oxygen_line,
    oxygen_uptake_mg_o2_per_d,
    rate_of_line,
    resting_energy_j_per_d,
    temperature_factor,
)

NUMBERS = body_numbers()
FAMILIES = sorted({name.split(".")[1] for name in NUMBERS if name.startswith("family_line.")})
JOIN_G = NUMBERS["oxygen_join.small_until_g"]
LARGE_G = NUMBERS["oxygen_join.large_from_g"]


def test_it_knows_eighteen_families() -> None:
    assert len(FAMILIES) == 18


@pytest.mark.parametrize("family", [*FAMILIES, "unlisted"])
@pytest.mark.parametrize("temperature_c", [22.0, 26.0, 31.0])
def test_uptake_rises_with_mass_without_a_jump(family: str, temperature_c: float) -> None:
    mass = np.geomspace(0.2, 1000.0, 4000)
    uptake = oxygen_uptake_mg_o2_per_d(mass, temperature_c, oxygen_line(NUMBERS, family=family))
    steps = np.diff(np.log(uptake)) / np.diff(np.log(mass))
    assert steps.min() > 0.0
    assert steps.max() < 1.1


@pytest.mark.parametrize("family", FAMILIES)
def test_a_small_fish_follows_the_fit_and_a_large_one_its_family(family: str) -> None:
    line = oxygen_line(NUMBERS, family=family)
    small = oxygen_uptake_mg_o2_per_d(0.999 * JOIN_G, 26.0, line)
    large = oxygen_uptake_mg_o2_per_d(1.001 * LARGE_G, 26.0, line)
    assert small == pytest.approx(rate_of_line(0.999 * JOIN_G, 26.0, line.small), rel=1e-13)
    expected = rate_of_line(1.001 * LARGE_G, 26.0, family_oxygen_line(NUMBERS, family=family))
    assert large == pytest.approx(expected, rel=1e-13)


def test_the_two_lines_of_tangs_meet_at_35_grams() -> None:
    line = oxygen_line(NUMBERS, family="Acanthuridae")
    small, large = (rate_of_line(35.0, 28.0, part) for part in (line.small, line.large))
    assert large == pytest.approx(small, rel=0.03)


def test_a_family_without_a_row_continues_smoothly() -> None:
    line = oxygen_line(NUMBERS, family="Callionymidae")
    at_join = rate_of_line(JOIN_G, 26.0, line.small)
    assert rate_of_line(JOIN_G, 26.0, line.large) == pytest.approx(at_join, rel=1e-12)
    assert line.large.mass_exponent == NUMBERS["oxygen_join.unlisted_exponent"]


@pytest.mark.parametrize(
    ("family", "factor"),
    [
        ("Pomacentridae", 1.10),
        ("Labridae", 1.08),
        ("Apogonidae", 0.88),
        ("Gobiidae", 0.78),
        ("Blenniidae", 0.73),
        ("Syngnathidae", 1.0),
    ],
)
def test_a_family_scales_the_small_line(family: str, factor: float) -> None:
    common = oxygen_line(NUMBERS, family="unlisted").small.at_1_g
    assert oxygen_line(NUMBERS, family=family).small.at_1_g == pytest.approx(factor * common)


def test_a_factor_of_the_species_comes_before_that_of_its_family() -> None:
    line = oxygen_line(NUMBERS, family="Pomacentridae", factor_ratio=0.5)
    assert line.small.at_1_g == pytest.approx(0.5 * NUMBERS["oxygen_line.at_1_g_mg_o2_per_d"])


def test_oxygen_is_32_twelfths_of_carbon() -> None:
    carbon, oxygen = (
        line(NUMBERS, family="Gobiidae").at_1_g for line in (family_carbon_line, family_oxygen_line)
    )
    assert oxygen / (1000.0 * carbon) == pytest.approx(32.0 / 12.0)
    assert pytest.approx(32.0 / 12.0) == OXYGEN_PER_CARBON_RATIO


def test_it_says_which_family_is_missing_from_the_table() -> None:
    with pytest.raises(BodyValueError, match=r"family_line\.callionymidae"):
        family_carbon_line(NUMBERS, family="Callionymidae")


def test_ten_degrees_are_a_factor_of_about_2_15() -> None:
    ratio = temperature_factor(31.0, reference_c=21.0, activation_energy_ev=0.59)
    assert ratio == pytest.approx(2.15, abs=0.02)
    assert temperature_factor(28.0, reference_c=28.0, activation_energy_ev=0.59) == 1.0


def test_a_line_is_its_first_value_at_one_gram_and_28_degrees() -> None:
    line = PowerLine(at_1_g=7.0, mass_exponent=0.8, activation_energy_ev=0.6)
    assert rate_of_line(1.0, 28.0, line) == pytest.approx(7.0, rel=1e-15)
    assert rate_of_line(10.0, 28.0, line) == pytest.approx(7.0 * 10.0**0.8)


def test_the_day_multiplies_rest_and_divides_by_what_is_digested() -> None:
    rest = resting_energy_j_per_d(10.0, oxycalorific_kj_per_g_o2=13.56)
    need = feed_energy_need_j_per_d(
        rest, activity_ratio=1.25, feeding_heat_ratio=1.10, digestible_energy_frac=0.85
    )
    assert rest == pytest.approx(135.6)
    assert need == pytest.approx(135.6 * 1.25 * 1.10 / 0.85)
