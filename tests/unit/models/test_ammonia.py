import numpy as np
import pytest
from PyCO2SYS.equilibria import p1atm

from backreef.models import ammonia

TEMPERATURE_C = np.linspace(5.0, 35.0, 31)[:, None] + np.zeros((1, 41))
SALINITY_PSU = np.linspace(0.0, 40.0, 41)[None, :] + np.zeros((31, 1))


def test_it_agrees_with_the_carbonate_library_apart_from_the_mass_of_the_salt() -> None:
    theirs = p1atm.kNH3_TOT_CW95(TEMPERATURE_C + 273.15, SALINITY_PSU)
    per_kg_of_water = theirs / (1.0 - 0.001005 * SALINITY_PSU)
    found = 1e-6 * ammonia.ammonium_constant_umol_per_kg(TEMPERATURE_C, SALINITY_PSU)
    # Largest difference found: rounding.
    assert found == pytest.approx(per_kg_of_water, rel=1e-11)


def test_the_mass_of_the_salt_would_change_the_share_by_less_than_4_percent() -> None:
    theirs = p1atm.kNH3_TOT_CW95(298.15, 35.0) * 1e6
    share = theirs / (theirs + 10.0 ** (6.0 - 8.1))
    assert ammonia.nh3_share(8.1, 25.0, 35.0) == pytest.approx(share, rel=0.04)


def test_it_gives_the_same_share_from_ph_and_from_the_hydrogen_ion() -> None:
    ph = np.linspace(7.0, 9.0, 41)
    hydrogen = 10.0 ** (6.0 - ph)
    constant = ammonia.ammonium_constant_umol_per_kg(26.0, 35.0)
    found = ammonia.nh3_share_at_hydrogen(hydrogen, constant)
    assert found == pytest.approx(ammonia.nh3_share(ph, 26.0, 35.0), rel=1e-12)


def test_half_is_nh3_where_ph_equals_pk() -> None:
    assert ammonia.nh3_share(ammonia.ammonium_pk(25.0, 35.0), 25.0, 35.0) == pytest.approx(0.5, rel=1e-14)


def test_warmer_or_less_acid_water_holds_more_of_it_as_nh3() -> None:
    assert ammonia.nh3_share(8.1, 28.0, 35.0) > ammonia.nh3_share(8.1, 24.0, 35.0)
    assert ammonia.nh3_share(8.3, 25.0, 35.0) > 1.5 * ammonia.nh3_share(8.1, 25.0, 35.0)
