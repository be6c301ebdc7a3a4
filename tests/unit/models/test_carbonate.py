import itertools

import numpy as np
import PyCO2SYS
import pytest
from numpy.typing import NDArray

from backreef.models import carbonate
from backreef.models.carbonate_constants import CarbonateConstants, constants_per_kg, constants_per_litre

ASKED = 1e-12
BOX = {"temperature_c": (15.0, 35.0), "salinity_psu": (20.0, 40.0)}
Floats = NDArray[np.float64]


def waters(low: float, high: float, count: int) -> tuple[Floats, Floats, CarbonateConstants]:
    """Carbon and alkalinity between low and high, at all corners of temperature and salinity and between."""
    draw = np.random.default_rng(20260101)
    temperature, salinity = (draw.uniform(*BOX[name], count) for name in ("temperature_c", "salinity_psu"))
    dic, alkalinity = (np.exp(draw.uniform(np.log(low), np.log(high), count)) for _ in range(2))
    ladder = np.geomspace(low, high, 30)
    corners = np.array(list(itertools.product(*BOX.values(), ladder, ladder))).T
    temperature, salinity, dic, alkalinity = (
        np.concatenate(pair) for pair in zip((temperature, salinity, dic, alkalinity), corners, strict=True)
    )
    return dic, alkalinity, constants_per_kg(temperature, salinity)


def residual(dic: Floats, alkalinity: Floats, hydrogen: Floats, constants: CarbonateConstants) -> Floats:
    found = carbonate.alkalinity_at(dic, hydrogen, constants)
    worst: Floats = np.abs(found - alkalinity) / alkalinity
    return worst


def test_it_solves_every_water_of_the_box_to_rounding() -> None:
    dic, alkalinity, constants = waters(200.0, 6000.0, 100_000)
    hydrogen = carbonate.solve_hydrogen(dic, alkalinity, constants)
    # Largest residual found over 2 million waters: 8e-16.
    assert residual(dic, alkalinity, hydrogen, constants).max() < 3e-15


def test_it_takes_no_more_steps_than_it_needs(monkeypatch: pytest.MonkeyPatch) -> None:
    dic, alkalinity, constants = waters(200.0, 6000.0, 20_000)
    monkeypatch.setattr(carbonate, "RATIONAL_STEPS", carbonate.RATIONAL_STEPS - 1)
    hydrogen = carbonate.solve_hydrogen(dic, alkalinity, constants)
    assert residual(dic, alkalinity, hydrogen, constants).max() > ASKED


def test_it_still_solves_waters_far_outside_the_box() -> None:
    dic, alkalinity, constants = waters(50.0, 20_000.0, 100_000)
    hydrogen = carbonate.solve_hydrogen(dic, alkalinity, constants)
    assert residual(dic, alkalinity, hydrogen, constants).max() < 1e-10


@pytest.mark.parametrize(("off_by", "least", "most"), [(2.0, 0.0, 3e-15), (4.0, ASKED, 1e-10)])
def test_from_near_by_it_finds_the_same_in_fewer_steps(off_by: float, least: float, most: float) -> None:
    dic, alkalinity, constants = waters(200.0, 6000.0, 100_000)
    hydrogen = carbonate.solve_hydrogen(dic, alkalinity, constants)
    worst = 0.0
    for start in (hydrogen * off_by, hydrogen / off_by):
        found = carbonate.hydrogen_near(dic, alkalinity, start, constants)
        worst = max(worst, residual(dic, alkalinity, found, constants).max())
    assert least <= worst < most


@pytest.mark.parametrize("dic", [1e-6, 1.0, 2000.0, 1e5])
@pytest.mark.parametrize("alkalinity", [1e-3, 20.0, 2000.0])
def test_it_finds_an_answer_for_any_water_that_holds_some_carbon_and_alkalinity(
    dic: float, alkalinity: float
) -> None:
    constants = constants_per_kg(25.0, 35.0)
    hydrogen = carbonate.solve_hydrogen(dic, alkalinity, constants)
    found = carbonate.alkalinity_at(dic, hydrogen, constants)
    # An acid water's alkalinity is a small difference of large numbers, so the hydrogen ion counts as well.
    assert abs(found - alkalinity) < 1e-9 * (alkalinity + hydrogen)


def test_its_slopes_are_those_of_finite_differences() -> None:
    dic, alkalinity, constants = waters(200.0, 6000.0, 2000)
    hydrogen = carbonate.solve_hydrogen(dic, alkalinity, constants)
    by_carbon, by_alkalinity = carbonate.hydrogen_slopes(dic, hydrogen, constants)
    step = 1e-5

    def log_hydrogen(carbon: Floats, bases: Floats) -> Floats:
        logarithm: Floats = np.log(carbonate.solve_hydrogen(carbon, bases, constants))
        return logarithm

    up, down = 1.0 + step, 1.0 - step
    carbon_difference = log_hydrogen(dic * up, alkalinity) - log_hydrogen(dic * down, alkalinity)
    bases_difference = log_hydrogen(dic, alkalinity * up) - log_hydrogen(dic, alkalinity * down)
    # Central differences of a function with curvature up to 100 are good to about 1e-6.
    assert by_carbon * dic == pytest.approx(carbon_difference / (2.0 * step), rel=3e-6, abs=1e-9)
    assert by_alkalinity * alkalinity == pytest.approx(bases_difference / (2.0 * step), rel=3e-6, abs=1e-9)


def test_carbon_makes_it_more_acid_and_alkalinity_less() -> None:
    dic, alkalinity, constants = waters(200.0, 6000.0, 5000)
    hydrogen = carbonate.solve_hydrogen(dic, alkalinity, constants)
    by_carbon, by_alkalinity = carbonate.hydrogen_slopes(dic, hydrogen, constants)
    assert np.all(by_carbon > 0.0)
    assert np.all(by_alkalinity < 0.0)


def test_it_agrees_with_the_carbonate_library_over_what_tanks_hold() -> None:
    grid = np.array(
        list(
            itertools.product(
                np.linspace(15.0, 35.0, 5),
                np.linspace(20.0, 40.0, 5),
                np.linspace(1000.0, 3500.0, 6),
                np.linspace(0.95, 1.35, 9),
            )
        )
    ).T
    temperature, salinity, dic, ratio = grid
    alkalinity = ratio * dic
    theirs = PyCO2SYS.sys(
        par1=alkalinity,
        par2=dic,
        par1_type=1,
        par2_type=2,
        temperature=temperature,
        salinity=salinity,
        opt_k_carbonic=10,
        opt_total_borate=1,
        opt_pH_scale=1,
    )
    constants = constants_per_kg(temperature, salinity)
    hydrogen = carbonate.solve_hydrogen(dic, alkalinity, constants)
    ph = carbonate.ph_total(hydrogen, constants)
    dissolved = carbonate.dissolved_carbon_dioxide(dic, hydrogen, constants)
    omega = carbonate.omega_aragonite(
        constants.calcium, carbonate.carbonate_ion(dic, hydrogen, constants), constants
    )
    # Largest differences found: 0.00033, 0.09 % and 0.06 %, all from the ion product of water.
    assert ph == pytest.approx(theirs["pH"], rel=0.0, abs=5e-4)
    assert dissolved == pytest.approx(theirs["aqueous_CO2"], rel=1.5e-3)
    assert omega == pytest.approx(theirs["saturation_aragonite"], rel=1e-3)


def test_it_gives_the_same_ph_per_litre_as_per_kilogram() -> None:
    per_kg, per_litre = constants_per_kg(25.0, 35.0), constants_per_litre(25.0, 35.0)
    by_mass = carbonate.solve_hydrogen(2050.0, 2400.0, per_kg)
    kg_per_l = per_litre.basis_kg
    by_volume = carbonate.solve_hydrogen(2050.0 * kg_per_l, 2400.0 * kg_per_l, per_litre)
    assert carbonate.ph_total(by_volume, per_litre) == pytest.approx(
        carbonate.ph_total(by_mass, per_kg), rel=1e-13
    )
    assert carbonate.hydrogen_at_ph(8.1, per_litre) == pytest.approx(
        kg_per_l * carbonate.hydrogen_at_ph(8.1, per_kg), rel=1e-14
    )


def test_its_parts_add_up_to_the_carbon() -> None:
    constants = constants_per_kg(25.0, 35.0)
    hydrogen = carbonate.solve_hydrogen(2050.0, 2400.0, constants)
    dissolved = carbonate.dissolved_carbon_dioxide(2050.0, hydrogen, constants)
    carbonates = carbonate.carbonate_ion(2050.0, hydrogen, constants)
    bicarbonate = constants.k1 * dissolved / hydrogen
    assert dissolved + bicarbonate + carbonates == pytest.approx(2050.0, rel=1e-13)


def test_it_finds_the_water_that_is_in_balance_with_a_pressure_of_carbon_dioxide() -> None:
    draw = np.random.default_rng(7)
    count = 50_000
    constants = constants_per_kg(draw.uniform(15.0, 35.0, count), draw.uniform(20.0, 40.0, count))
    alkalinity = np.exp(draw.uniform(np.log(200.0), np.log(6000.0), count))
    dissolved = constants.k0 * np.exp(draw.uniform(np.log(50.0), np.log(5000.0), count))
    hydrogen = carbonate.hydrogen_at_carbon_dioxide(alkalinity, dissolved, constants)
    dic = carbonate.dissolved_inorganic_carbon_at(dissolved, hydrogen, constants)
    assert residual(dic, alkalinity, hydrogen, constants).max() < ASKED
    assert carbonate.dissolved_carbon_dioxide(dic, hydrogen, constants) == pytest.approx(dissolved, rel=1e-12)


def test_it_solves_a_single_water_like_one_of_many() -> None:
    dic, alkalinity, constants = waters(1000.0, 4000.0, 10)
    many = carbonate.solve_hydrogen(dic, alkalinity, constants)
    one = CarbonateConstants(
        **{
            name: float(value[3]) if isinstance(value, np.ndarray) else value
            for name in CarbonateConstants.__slots__
            if (value := getattr(constants, name)) is not None
        }
    )
    assert float(carbonate.solve_hydrogen(float(dic[3]), float(alkalinity[3]), one)) == pytest.approx(
        float(many[3]), rel=1e-14
    )
