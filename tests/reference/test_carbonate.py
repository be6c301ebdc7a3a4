import pytest

from backreef.models.carbonate import (
    carbonate_ion,
    dissolved_carbon_dioxide,
    dissolved_inorganic_carbon_at,
    hydrogen_at_carbon_dioxide,
    omega_aragonite,
    ph_total,
    solve_hydrogen,
)
from backreef.models.carbonate_constants import constants_per_kg, fugacity_ratio
from backreef.models.mathops import Quantity
from tests.reference.cases import Case, Functions, cases


def ph(dic: float, alkalinity: float, **water: float) -> Quantity:
    constants = constants_per_kg(**water)
    return ph_total(solve_hydrogen(dic, alkalinity, constants), constants)


def carbon_dioxide(dic: float, alkalinity: float, **water: float) -> Quantity:
    constants = constants_per_kg(**water)
    return dissolved_carbon_dioxide(dic, solve_hydrogen(dic, alkalinity, constants), constants)


def partial_pressure_uatm(dic: float, alkalinity: float, **water: float) -> Quantity:
    fugacity = carbon_dioxide(dic, alkalinity, **water) / constants_per_kg(**water).k0
    return fugacity / fugacity_ratio(water["temperature_c"])


def omega(dic: float, alkalinity: float, **water: float) -> Quantity:
    constants = constants_per_kg(**water)
    carbonate = carbonate_ion(dic, solve_hydrogen(dic, alkalinity, constants), constants)
    return omega_aragonite(constants.calcium, carbonate, constants)


def ph_in_air(alkalinity: float, partial_pressure_uatm: float, **water: float) -> Quantity:
    constants = constants_per_kg(**water)
    dissolved = constants.k0 * fugacity_ratio(water["temperature_c"]) * partial_pressure_uatm
    return ph_total(hydrogen_at_carbon_dioxide(alkalinity, dissolved, constants), constants)


def dic_in_air(alkalinity: float, partial_pressure_uatm: float, **water: float) -> Quantity:
    constants = constants_per_kg(**water)
    dissolved = constants.k0 * fugacity_ratio(water["temperature_c"]) * partial_pressure_uatm
    hydrogen = hydrogen_at_carbon_dioxide(alkalinity, dissolved, constants)
    return dissolved_inorganic_carbon_at(dissolved, hydrogen, constants)


FUNCTIONS: Functions = {
    "ph": ph,
    "carbon_dioxide": carbon_dioxide,
    "partial_pressure_uatm": partial_pressure_uatm,
    "omega": omega,
    "ph_in_air": ph_in_air,
    "dic_in_air": dic_in_air,
}


@pytest.mark.parametrize("case", cases("carbonate.toml"))
def test_it_gives_the_published_value(case: Case) -> None:
    case.check(FUNCTIONS)
