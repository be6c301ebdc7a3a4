import numpy as np
import pytest

from backreef.models.body_values import body_numbers, read_body_values
from backreef.models.growth import (
    SHAPES,
    MassLine,
    fed_growth_g_per_d,
    length_after_cm,
    length_at_age_cm,
    length_cm_of_mass,
    potential_growth_g_per_d,
    shape_mass_line,
    wet_mass_g,
)
from backreef.models.mathops import Quantity

NUMBERS = body_numbers()
TANG = MassLine(a_g=0.0195, b_ratio=2.98)


def growth_of(mass_g: Quantity) -> Quantity:
    return potential_growth_g_per_d(mass_g, line=TANG, largest_cm=20.0, kmax_per_y=0.235)


def test_length_and_mass_undo_each_other() -> None:
    length = np.linspace(1.0, 30.0, 30)
    assert length_cm_of_mass(wet_mass_g(length, TANG), TANG) == pytest.approx(length, rel=1e-13)


def test_two_half_years_are_a_year() -> None:
    half = length_after_cm(10.0, days=182.625, largest_cm=20.0, kmax_per_y=0.235)
    whole = length_after_cm(10.0, days=365.25, largest_cm=20.0, kmax_per_y=0.235)
    assert length_after_cm(half, days=182.625, largest_cm=20.0, kmax_per_y=0.235) == pytest.approx(whole)


def test_a_curve_by_age_starts_at_its_zero_age() -> None:
    assert length_at_age_cm(-0.1, asymptotic_cm=20.0, k_per_y=0.5, zero_age_y=-0.1) == 0.0
    assert length_at_age_cm(50.0, asymptotic_cm=20.0, k_per_y=0.5, zero_age_y=-0.1) == pytest.approx(20.0)


def test_daily_growth_is_the_slope_of_mass_along_the_curve() -> None:
    length = np.linspace(3.0, 19.0, 17)
    mass = wet_mass_g(length, TANG)
    later, earlier = (
        wet_mass_g(length_after_cm(length, days=days, largest_cm=20.0, kmax_per_y=0.235), TANG)
        for days in (0.5, -0.5)
    )
    # The smooth end of growth costs half a thousandth of the largest length: 1 % one centimetre before it.
    assert growth_of(mass) == pytest.approx(later - earlier, rel=0.011)


def test_a_fish_of_its_largest_length_no_longer_grows() -> None:
    assert growth_of(wet_mass_g(20.0, TANG)) == pytest.approx(0.0, abs=1e-12)
    assert growth_of(wet_mass_g(22.0, TANG)) == 0.0


@pytest.mark.parametrize(("surplus", "limit"), [(0.0, 0.0), (357.0, 0.01), (1e6, 0.05)])
def test_growth_is_never_more_than_food_or_pattern_allow(surplus: float, limit: float) -> None:
    found = fed_growth_g_per_d(0.05, surplus, gain_kj_per_g=35.7)
    assert 0.96 * limit <= found <= limit


@pytest.mark.parametrize("shape", SHAPES)
def test_a_shape_stands_in_with_a_wide_band(shape: str) -> None:
    line = shape_mass_line(NUMBERS, shape=shape)
    entry = read_body_values()[f"body_shape.{shape}.a_g"]
    assert line.a_g == entry.value
    assert entry.highest / entry.lowest > 3.0


def test_a_deep_fish_outweighs_a_slender_one_of_its_length() -> None:
    masses = [wet_mass_g(10.0, shape_mass_line(NUMBERS, shape=shape)) for shape in SHAPES]
    assert masses == sorted(masses)


@pytest.mark.parametrize(
    ("shape", "line"),
    [
        ("short_deep", MassLine(a_g=0.02455, b_ratio=2.98)),  # Zebrasoma scopas, FishBase Bayesian
        ("fusiform", MassLine(a_g=0.01306, b_ratio=3.025)),  # Amphiprion ocellaris, FishBase Bayesian
        ("elongated", MassLine(a_g=0.00501, b_ratio=3.10)),  # Pseudochromis, FishBase by family
    ],
)
def test_a_shape_comes_within_its_band_of_a_species(shape: str, line: MassLine) -> None:
    by_shape = wet_mass_g(8.0, shape_mass_line(NUMBERS, shape=shape))
    assert 1.0 / 2.2 < wet_mass_g(8.0, line) / by_shape < 2.2
