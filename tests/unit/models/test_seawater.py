from typing import Any

import gsw
import numpy as np
import pytest
from PyCO2SYS import gas

from backreef.models import seawater

TEMPERATURE_C = np.linspace(15.0, 35.0, 21)[:, None] + np.zeros((1, 21))
SALINITY_PSU = np.linspace(20.0, 40.0, 21)[None, :] + np.zeros((21, 1))
ABSOLUTE_SALINITY = gsw.SR_from_SP(SALINITY_PSU)


def test_it_agrees_on_density_with_the_standard_of_2010() -> None:
    found = seawater.density_kg_per_m3(TEMPERATURE_C, SALINITY_PSU)
    # Largest difference found: 0.0069 kg/m3.
    assert found == pytest.approx(gsw.rho_t_exact(ABSOLUTE_SALINITY, TEMPERATURE_C, 0.0), rel=0.0, abs=0.01)


def test_it_agrees_on_oxygen_with_the_library_of_2010() -> None:
    found = seawater.oxygen_solubility_umol_per_kg(TEMPERATURE_C, SALINITY_PSU)
    # Largest difference found: 0.013 %, from the temperature scale of 1968 that the library turns back to.
    assert found == pytest.approx(gsw.O2sol_SP_pt(SALINITY_PSU, TEMPERATURE_C), rel=2e-4)


def test_it_agrees_on_specific_heat_with_the_standard_of_2010() -> None:
    found = 1000.0 * seawater.heat_capacity_kj_per_kg_per_k(TEMPERATURE_C, SALINITY_PSU)
    # Largest difference found: 0.093 %, between the measurements of 1973 and the standard of 2010.
    assert found == pytest.approx(gsw.cp_t_exact(ABSOLUTE_SALINITY, TEMPERATURE_C, 0.0), rel=1e-3)


def test_it_agrees_on_the_heat_of_evaporation_with_the_standard_of_2010() -> None:
    found = 1000.0 * seawater.evaporation_heat_kj_per_kg(TEMPERATURE_C)
    # Largest difference found: 0.13 %.
    assert found == pytest.approx(gsw.latentheat_evap_t(ABSOLUTE_SALINITY, TEMPERATURE_C), rel=1.5e-3)


def test_it_agrees_on_vapour_with_the_carbonate_library() -> None:
    found = seawater.vapour_pressure_atm(TEMPERATURE_C, SALINITY_PSU)
    # That library uses another source (Dickson et al. 2007), hence 0.3 %.
    theirs = 1.0 - gas.vpfactor(TEMPERATURE_C, SALINITY_PSU)
    assert found == pytest.approx(theirs, rel=3e-3)


def test_it_turns_mass_into_litres_by_density() -> None:
    per_kg = seawater.oxygen_solubility_umol_per_kg(25.0, 35.0)
    per_l = seawater.oxygen_saturation_umol_per_l(25.0, 35.0)
    assert per_l / per_kg == pytest.approx(1.02334306, rel=1e-7)
    assert seawater.oxygen_saturation_mg_per_l(25.0, 35.0) == pytest.approx(per_l * 0.031998, rel=1e-12)


@pytest.mark.parametrize(("temperature_c", "reference_c"), [(25.0, 25.0), (24.0, 15.6), (28.0, 20.0)])
def test_it_finds_the_salinity_behind_a_specific_gravity(temperature_c: float, reference_c: float) -> None:
    salinity = np.linspace(5.0, 42.0, 75)
    gravity = seawater.specific_gravity_ratio(temperature_c, salinity, reference_temperature_c=reference_c)
    found = seawater.salinity_psu_from_specific_gravity(
        temperature_c, gravity, reference_temperature_c=reference_c
    )
    assert found == pytest.approx(salinity, rel=0.0, abs=1e-9)


def test_a_hydrometer_made_for_another_temperature_reads_otherwise() -> None:
    same = seawater.specific_gravity_ratio(25.0, 35.0, reference_temperature_c=25.0)
    cold = seawater.specific_gravity_ratio(25.0, 35.0, reference_temperature_c=15.6)
    assert same == pytest.approx(1.02637, abs=1e-5)
    assert cold < same - 0.001


@pytest.mark.parametrize(
    "function",
    [
        seawater.oxygen_solubility_umol_per_kg,
        seawater.oxygen_saturation_umol_per_l,
        seawater.density_kg_per_m3,
        seawater.heat_capacity_kj_per_kg_per_k,
        seawater.vapour_pressure_atm,
    ],
)
def test_it_gives_the_same_for_a_number_and_for_an_array(function: Any) -> None:
    alone = [float(function(t, s)) for t, s in ((15.0, 20.0), (25.0, 35.0), (35.0, 40.0))]
    together = function(np.array([15.0, 25.0, 35.0]), np.array([20.0, 35.0, 40.0]))
    assert list(together) == pytest.approx(alone, rel=1e-14)


def test_warm_or_salty_water_holds_less_oxygen() -> None:
    held = seawater.oxygen_saturation_mg_per_l(TEMPERATURE_C, SALINITY_PSU)
    assert np.all(np.diff(held, axis=0) < 0.0)
    assert np.all(np.diff(held, axis=1) < 0.0)
