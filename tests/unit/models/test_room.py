"""What the room, lamps and media do between steps, against what can be worked out by hand."""

from __future__ import annotations

import math

import pytest

from backreef.models.room import after, wet_bulb_depression_k
from backreef.models.seawater import density_kg_per_m3, heat_capacity_kj_per_kg_per_k

USUAL: dict[str, float] = {
    "T": 25.0,
    "S": 35.0,
    "V": 300.0,
    "salt": 10500.0,
    "reservoir": 20.0,
    "evaporated_l": 0.0,
    "room_temperature": 20.0,
    "room_swing": 0.0,
    "room_season": 0.0,
    "wet_bulb_k": 6.0,
    "above_wet_bulb_k": 11.0,
    "heat_loss_w_per_k": 20.0,
    "evaporation_w_per_k": 8.0,
    "evaporation_l_per_d": 3.0,
    "set_temperature": 25.0,
    "heater_w": 300.0,
    "pump_heat_w": 30.0,
    "lamp_heat_w": 40.0,
    "chiller_w": 0.0,
    "chill_from": 26.5,
    "day_shape": 0.0,
    "day_slope": 0.0,
    "pumps": 1.0,
    "no_heater": 0.0,
    "heater_stuck": 0.0,
    "no_top_off": 0.0,
    "top_off_open": 0.0,
    "top_off_open_l_per_d": 240.0,
    "mark_l": 300.0,
    "resin_l": 1e9,
    "resin_fades_l": 300.0,
    "leak": 0.0,
    "raw_l": 0.0,
    "light_fade": 1.0,
    "lamp_clean": 1.0,
    "lamp_fades_per_d": 1e-4,
    "lamp_dusts_per_d": 0.01,
    "lamp_dusted": 0.7,
    "skimmer_clean": 1.0,
    "skimmer_scales_per_d": 0.004,
    "skimmer_scaled": 0.4,
    "neck_clean": 1.0,
    "neck_fouls_per_d": 0.03,
    "neck_fouled": 0.5,
    "pump_clean": 1.0,
    "pump_scales_per_d": 0.004,
    "pump_scaled": 0.5,
    "cover_clean": 1.0,
    "cover_fouls_per_d": 0.02,
    "cover_fouled": 0.6,
    "float_fouled": 0.0,
    "float_fouls_per_d": 0.0,
    "float_floods": 0.0,
    "salinity_off": 0.0,
    "salinity_drifts_psu_per_d": 0.01,
    "thermostat_off": 0.0,
    "thermostat_drifts_k_per_d": 0.002,
    "carbon": 1.0,
    "f_carbon": 0.05,
    "k_carbon": 0.3,
    "S_DOR": 30.0,
    "carbon_holds_mmol": 900.0,
}
NO_HEATER = {"no_heater": 1.0}
LONG_D = 100.0
IDLE_C = (20.0 * 20.0 + 8.0 * 14.0 + 30.0) / 28.0
"""Where losses to the room and to its wet bulb meet the heat of the pumps."""


def at(days: float, **changed: float) -> dict[str, float]:
    return {name: float(value) for name, value in after({**USUAL, **changed}, days).items()}


def test_a_heater_that_is_strong_enough_holds_its_temperature() -> None:
    assert at(0.1)["T"] == pytest.approx(25.0)
    assert at(0.1, T=24.9)["T"] == pytest.approx(25.0)
    assert at(LONG_D, heater_w=50.0)["T"] == pytest.approx(IDLE_C + 50.0 / 28.0)


def test_a_tank_without_its_heater_cools_towards_where_losses_meet_the_pumps() -> None:
    assert at(LONG_D, **NO_HEATER)["T"] == pytest.approx(IDLE_C)
    heat_kj_per_k = 0.3 * density_kg_per_m3(25.0, 35.0) * heat_capacity_kj_per_kg_per_k(25.0, 35.0)
    left = math.exp(-0.25 * 86.4 * 28.0 / heat_kj_per_k)
    assert at(0.25, **NO_HEATER)["T"] == pytest.approx(IDLE_C + (25.0 - IDLE_C) * left)


def test_without_mains_pumps_and_heater_give_nothing() -> None:
    assert at(LONG_D, pumps=0.0, **NO_HEATER)["T"] == pytest.approx((20.0 * 20.0 + 8.0 * 14.0) / 28.0)


def test_a_stuck_heater_knows_no_temperature() -> None:
    assert at(LONG_D, heater_stuck=1.0)["T"] == pytest.approx(IDLE_C + 300.0 / 28.0)


def test_lamps_warm_by_day_and_faded_ones_less() -> None:
    hot = {"room_temperature": 27.0, "day_shape": 1.0}
    fresh, old = at(LONG_D, **hot)["T"], at(LONG_D, **hot, light_fade=0.5)["T"]
    assert fresh - old == pytest.approx(0.5 * 40.0 / 28.0)


def test_a_chiller_holds_its_own_temperature_as_far_as_its_power_goes() -> None:
    hot = {"room_temperature": 33.0}
    free = at(LONG_D, **hot)["T"]
    assert free > 30.0
    assert at(LONG_D, **hot, chiller_w=1000.0)["T"] == pytest.approx(26.5)
    assert at(LONG_D, **hot, chiller_w=28.0)["T"] == pytest.approx(free - 1.0)
    assert at(0.1, chiller_w=1000.0)["T"] == pytest.approx(25.0)


def test_evaporation_of_a_warm_tank_is_the_plans_and_comes_from_the_reservoir() -> None:
    found = at(1.0)
    assert found["evaporated_l"] == pytest.approx(3.0)
    assert found["V"] == pytest.approx(300.0)
    assert found["reservoir"] == pytest.approx(17.0)
    assert at(1.0, T=19.5)["evaporated_l"] == pytest.approx(1.5)


def test_one_percent_a_day_without_top_off_raises_salinity_by_0_35() -> None:
    # phenomenon 55, by arithmetic: 35 psu times 300 over 297
    assert at(1.0, no_top_off=1.0)["S"] == pytest.approx(35.0 * 300.0 / 297.0)
    assert at(1.0, reservoir=0.0)["S"] - 35.0 == pytest.approx(0.35, rel=0.02)


def test_a_top_off_stuck_open_pours_until_its_reservoir_is_empty() -> None:
    found = at(1.0, top_off_open=1.0)
    assert found["reservoir"] == 0.0
    assert found["V"] == pytest.approx(300.0 + 20.0 - 3.0)
    assert found["S"] < 35.0


def test_above_its_mark_the_top_off_waits_and_below_it_fills_up_to_it() -> None:
    assert at(1.0, V=302.0)["reservoir"] == pytest.approx(19.0), "three litres go, one is missing at the mark"
    assert at(1.0, V=310.0)["reservoir"] == 20.0
    found = at(1.0, V=290.0)
    assert found["V"] == pytest.approx(300.0)
    assert found["reservoir"] == pytest.approx(20.0 - 10.0 - 3.0)


def test_spent_resin_lets_make_up_water_through() -> None:
    assert at(1.0)["leak"] == 0.0
    assert at(1.0, resin_l=153.0)["leak"] == pytest.approx(0.5)
    assert at(1.0, resin_l=-50.0)["leak"] == 1.0
    assert at(1.0, leak=0.5)["raw_l"] == pytest.approx(1.5)


def test_lamps_fade_with_age_and_dim_under_salt_but_not_below_what_salt_lets_through() -> None:
    assert at(365.0)["light_fade"] == pytest.approx(math.exp(-0.0365))
    assert at(1e4)["lamp_clean"] == pytest.approx(0.7)
    assert 0.7 < at(60.0)["lamp_clean"] < 0.9


def test_carbon_is_spent_by_time_and_by_what_it_takes_up() -> None:
    assert at(20.0, S_DOR=0.0)["carbon"] == pytest.approx(math.exp(-1.0))
    assert at(20.0)["carbon"] == pytest.approx(math.exp(-20.0 * (0.05 + 0.3 * 30.0 / 900.0)))


def test_what_nobody_serves_does_less_but_not_nothing() -> None:
    # common practice, no source: half of a skimmer's air after half a year to a year, a fifth to a half of
    # the flow of pumps within four to eight months, a coated neck within a week or two
    assert 0.5 <= at(270.0)["skimmer_clean"] <= 0.7
    assert 0.65 <= at(180.0)["pump_clean"] <= 0.8
    assert 0.75 <= at(14.0)["neck_clean"] <= 0.9
    assert 0.85 <= at(14.0)["cover_clean"] <= 0.93  # a film that is seen after two weeks
    never = at(1e4)
    assert never["cover_clean"] == pytest.approx(0.6)
    assert never["skimmer_clean"] == pytest.approx(0.4)
    assert never["pump_clean"] == pytest.approx(0.5)
    assert never["neck_clean"] == pytest.approx(0.5)


def test_instruments_wander_and_the_thermostat_holds_what_it_takes_for_its_temperature() -> None:
    assert at(100.0)["salinity_off"] == pytest.approx(1.0)
    assert at(100.0, thermostat_drifts_k_per_d=-0.002)["thermostat_off"] == pytest.approx(-0.2)
    assert at(0.1, thermostat_off=0.5, T=25.4)["T"] == pytest.approx(25.5)


def test_the_wet_bulb_of_half_moist_air_is_six_degrees_below_it() -> None:
    # Stull 2011 gives 13.7 degC for 20 degC and 50 % (from memory); saturated air has no depression
    assert 20.0 - wet_bulb_depression_k(20.0, 0.5) == pytest.approx(13.7, abs=0.05)
    assert wet_bulb_depression_k(25.0, 0.99) == pytest.approx(0.0, abs=0.3)
    assert wet_bulb_depression_k(21.0, 0.3) > wet_bulb_depression_k(21.0, 0.7)


def test_a_sensor_sticks_when_it_has_borne_all_it_bears_and_floods_or_gives_nothing() -> None:
    fouling = {"float_fouls_per_d": 0.01}
    assert at(50.0, **fouling)["float_fouled"] == pytest.approx(0.5)
    clear = at(1.0, float_fouled=0.99, **fouling)
    shut = at(1.0, float_fouled=1.01, **fouling)
    floods = at(1.0, float_fouled=1.01, float_floods=0.3, **fouling)
    assert clear["V"] == pytest.approx(at(1.0)["V"])
    assert shut["V"] == pytest.approx(at(1.0, no_top_off=1.0)["V"])
    assert floods["V"] == pytest.approx(at(1.0, top_off_open=1.0)["V"])
    assert at(1.0, float_fouled=1.01, top_off_open=1.0)["V"] == floods["V"]
