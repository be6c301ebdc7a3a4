"""Terms of a segment and of the water, against what can be worked out by hand."""

from __future__ import annotations

import math

import pytest

from backreef.models.mathops import Quantity, ramp
from backreef.models.matrix import packaged_matrix
from backreef.models.water import segment_terms, water_terms

TABLES = packaged_matrix().tables
PARAMETERS: dict[str, Quantity] = {symbol: one.value for symbol, one in TABLES.parameters.items()}
TANK: dict[str, Quantity] = {
    "T": 25.0,
    "S": 35.0,
    "V": 200.0,
    "A_surf": 0.5,
    "A_rock": 1.5,
    "A_sand": 0.4,
    "A_glass": 1.1,
    "A_media": 0.8,
    "k_s": 0.03,
    "k_s_off": 0.01,
    "k_x": 0.2,
    "k_sk_air": 0.1,
    "k_air": 0.05,
    "skimmer": 1.0,
    "bubbles": 1.0,
    "pumps": 1.0,
    "streams": 1.0,
    "pump_clean": 1.0,
    "stalled": 0.0,
    "cover_cor": 0.5,
    "light_coral": 100.0,
}


def known(**changed: float) -> dict[str, Quantity]:
    return {**PARAMETERS, **TANK, **changed}


def in_water(**umol_per_l: float) -> dict[str, Quantity]:
    """Amounts of a tank of sea water, of which some concentrations are set."""
    per_l = {"O2": 200.0, "DIC": 2000.0, "ALK": 2300.0, "Ca": 10000.0} | umol_per_l
    names = (each.name for each in TABLES.components)
    amounts: dict[str, Quantity] = dict.fromkeys(names, 1.0)
    amounts |= {f"S_{name}": value * TANK["V"] / 1000.0 for name, value in per_l.items()}
    here = {**known(), **amounts}
    return here | segment_terms(here)


def test_ten_degrees_more_double_the_rates_and_nitrifiers_have_their_own_slope() -> None:
    cool, usual, warm = (segment_terms(known(T=degc, theta_N=0.05)) for degc in (20.0, 25.0, 30.0))
    assert usual["th"] == usual["thN"] == 1.0
    assert warm["th"] / cool["th"] == pytest.approx(2.0)
    assert warm["thN"] == pytest.approx(math.exp(0.25))


def test_air_comes_through_the_surface_by_its_movement_through_pumps_and_through_bubbles() -> None:
    def k_la(**switches: float) -> Quantity:
        return segment_terms(known(**switches))["k_la"]

    per_m = 24.0 * 0.5 * 1000.0 / 200.0  # of the surface over the volume, for a day
    forced, bubbled = 24.0 * (0.2 + 0.1), 24.0 * 0.05
    assert k_la() == pytest.approx(per_m * 0.03 + forced + bubbled)
    assert k_la(bubbles=0.0, skimmer=0.0) == pytest.approx(per_m * 0.03 + 24.0 * 0.2)
    # the return pump rests: streams of their own go on, and nothing is forced through pipes
    assert k_la(pumps=0.0, streams=1.0) == pytest.approx(per_m * 0.03 + bubbled)
    assert k_la(pumps=0.0, streams=0.5) == pytest.approx(per_m * 0.02 + bubbled)
    assert k_la(pumps=0.5, streams=0.5) == pytest.approx(per_m * 0.025 + 0.5 * forced + bubbled)
    assert k_la(pump_clean=0.5, skimmer=0.0) == pytest.approx(per_m * 0.02 + 24.0 * 0.1 + bubbled)


def test_a_filter_that_stalls_fouls_by_its_share_of_all_that_nitrifiers_settle() -> None:
    settled = 1.5 + PARAMETERS["sand_film"] * 0.4 + 1.1 + 0.8
    assert segment_terms(known(stalled=1.0))["foul"] == pytest.approx(0.8 / settled)


def test_room_is_left_by_the_surface_that_each_kind_settles() -> None:
    found = water_terms(in_water() | {"X_HB": 4.0, "X_AOB": 0.3, "X_NOB": 0.2, "C_T": 10.0})
    nitrifying = 1.5 + PARAMETERS["sand_film"] * 0.4 + 1.1 + 0.8

    def room(present: float, most: Quantity) -> Quantity:
        return ramp(1.0 - present / most, 0.02)

    assert found["room_HB"] == pytest.approx(room(4.0, PARAMETERS["rho_H"] * (1.5 + 0.4 + 0.8)))
    assert found["room_AOB"] == pytest.approx(room(0.3, PARAMETERS["x_A"] * nitrifying))
    assert found["room_NOB"] == pytest.approx(room(0.2, PARAMETERS["x_N"] * nitrifying))
    assert found["coral_area"] == pytest.approx(10.0 / PARAMETERS["T_coral"])


@pytest.mark.parametrize("oxygen", [0.0, 1.0, 200.0])
def test_denitrifiers_keep_a_floor_in_their_film_and_wake_as_the_water_lacks_oxygen(oxygen: float) -> None:
    half, floor, all_of_it = (PARAMETERS[name] for name in ("K_Od", "a_anox", "e_den"))
    lacks = half / (half + oxygen)
    expected = all_of_it * (floor + ramp(lacks - floor, 0.02))
    assert water_terms(in_water(O2=oxygen))["anoxia"] == pytest.approx(expected)
    if oxygen == 0.0:
        assert expected == pytest.approx(all_of_it, rel=0.02)
