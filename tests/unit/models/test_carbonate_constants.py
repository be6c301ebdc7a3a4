from typing import Any

import numpy as np
import PyCO2SYS
import pytest

from backreef.models.carbonate_constants import constants_per_kg, constants_per_litre, fugacity_ratio
from backreef.models.seawater import density_kg_per_m3

TEMPERATURE_C = (np.linspace(15.0, 35.0, 11)[:, None] + np.zeros((1, 11))).ravel()
SALINITY_PSU = (np.linspace(20.0, 40.0, 11)[None, :] + np.zeros((11, 1))).ravel()


@pytest.fixture(scope="module")
def theirs() -> Any:
    return PyCO2SYS.sys(
        par1=2400.0,
        par2=2050.0,
        par1_type=1,
        par2_type=2,
        temperature=TEMPERATURE_C,
        salinity=SALINITY_PSU,
        opt_k_carbonic=10,
        opt_total_borate=1,
        opt_pH_scale=1,
    )


# Largest relative difference found stands beside each bound.
@pytest.mark.parametrize(
    ("ours", "name", "scale", "bound"),
    [
        ("k0", "k_CO2", 1.0, 1e-9),  # rounding
        ("k1", "k_carbonic_1", 1e6, 1e-9),  # rounding
        ("k2", "k_carbonic_2", 1e6, 1e-9),  # rounding
        ("kb", "k_borate", 1e6, 1e-9),  # rounding
        ("kw", "k_water", 1e12, 1.1e-2),  # 1.03 %: it comes from the sea-water scale by its own sulphate
        ("ksp", "k_aragonite", 1e12, 1e-9),  # rounding
        ("boron", "total_borate", 1.0, 1e-9),  # rounding
        ("calcium", "total_calcium", 1.0, 1e-9),  # rounding
    ],
)
def test_it_agrees_with_the_carbonate_library(
    theirs: Any, ours: str, name: str, scale: float, bound: float
) -> None:
    found = getattr(constants_per_kg(TEMPERATURE_C, SALINITY_PSU), ours)
    assert found == pytest.approx(scale * theirs[name], rel=bound)


def test_it_agrees_on_fugacity_with_the_carbonate_library(theirs: Any) -> None:
    assert fugacity_ratio(TEMPERATURE_C) == pytest.approx(theirs["fugacity_factor"], rel=1e-6)


def test_it_turns_every_constant_by_the_density_as_often_as_its_unit_says() -> None:
    per_kg, per_litre = constants_per_kg(26.0, 34.0), constants_per_litre(26.0, 34.0)
    kg_per_l = density_kg_per_m3(26.0, 34.0) / 1000.0
    powers = {"k0": 1, "k1": 1, "k2": 1, "kb": 1, "kw": 2, "ksp": 2, "boron": 1, "calcium": 1, "basis_kg": 1}
    for name, power in powers.items():
        assert getattr(per_litre, name) == pytest.approx(getattr(per_kg, name) * kg_per_l**power, rel=1e-14)
