"""Physical properties of sea water at the surface: density, dissolved oxygen at saturation, heat and vapour.

Temperatures are degrees Celsius, salinities practical (psu). Everything is for one standard atmosphere.
"""

from __future__ import annotations

from backreef.models.constants import KELVIN_AT_0_C
from backreef.models.mathops import Quantity, exp, log, sqrt
from backreef.units import molar_mass_g_per_mol


def oxygen_solubility_umol_per_kg(temperature_c: Quantity, salinity_psu: Quantity) -> Quantity:
    """Dissolved oxygen in equilibrium with moist air at one atmosphere. [umol/kg]

    Validity
    --------
    Freezing point to 40 degC, salinity 0 to 42; the authors' stated error is about 0.3 %.

    Source
    ------
    Garcia & Gordon 1992, Limnol Oceanogr 37:1307-1312, eq. 8 with the coefficients for the data of Benson &
    Krause (table 1). The term A3 Ts^2 that some printings of the equation carry is a misprint and left out.
    Check value: 274.61 at 10 degC, salinity 35.
    """
    ts = log((298.15 - temperature_c) / (KELVIN_AT_0_C + temperature_c))
    fresh = 5.80871 + ts * (3.20291 + ts * (4.17887 + ts * (5.10006 + ts * (-9.86643e-2 + ts * 3.80369))))
    salt = -7.01577e-3 + ts * (-7.70028e-3 + ts * (-1.13864e-2 + ts * -9.51519e-3))
    return exp(fresh + salinity_psu * (salt + salinity_psu * -2.75915e-7))


def oxygen_saturation_umol_per_l(temperature_c: Quantity, salinity_psu: Quantity) -> Quantity:
    """Dissolved oxygen in equilibrium with moist air, per litre of sea water. [umol/L]

    Validity
    --------
    As `oxygen_solubility_umol_per_kg`.

    Source
    ------
    Garcia & Gordon 1992 times the density of EOS-80 (Fofonoff & Millard 1983).
    """
    return oxygen_solubility_umol_per_kg(temperature_c, salinity_psu) * (
        density_kg_per_m3(temperature_c, salinity_psu) / 1000.0
    )


def oxygen_saturation_mg_per_l(temperature_c: Quantity, salinity_psu: Quantity) -> Quantity:
    """Dissolved oxygen in equilibrium with moist air, as mass per litre. [mg/L]

    Validity
    --------
    As `oxygen_solubility_umol_per_kg`.

    Source
    ------
    As `oxygen_saturation_umol_per_l`; standard atomic weight of oxygen.
    """
    return oxygen_saturation_umol_per_l(temperature_c, salinity_psu) * (molar_mass_g_per_mol("O2") / 1000.0)


def pure_water_density_kg_per_m3(temperature_c: Quantity) -> Quantity:
    """Density of pure water at one atmosphere. [kg/m3]

    Validity
    --------
    0 to 40 degC.

    Source
    ------
    Fofonoff & Millard 1983, UNESCO technical papers in marine science 44, reference water of EOS-80 (Bigg
    1967).
    """
    t = temperature_c
    return 999.842594 + t * (
        6.793952e-2 + t * (-9.095290e-3 + t * (1.001685e-4 + t * (-1.120083e-6 + t * 6.536332e-9)))
    )


def density_kg_per_m3(temperature_c: Quantity, salinity_psu: Quantity) -> Quantity:
    """Density of sea water at one atmosphere. [kg/m3]

    Validity
    --------
    -2 to 40 degC, salinity 0 to 42. TEOS-10 differs by less than 0.01 kg/m3 over 15 to 35 degC, 20 to 40 psu.

    Source
    ------
    EOS-80: Fofonoff & Millard 1983, UNESCO technical papers in marine science 44, eq. 13-14. Check values
    there: 999.96675, 1027.67547 and 1023.34306 for (0 psu, 5 degC), (35, 5) and (35, 25).
    """
    t, s = temperature_c, salinity_psu
    linear = 8.24493e-1 + t * (-4.0899e-3 + t * (7.6438e-5 + t * (-8.2467e-7 + t * 5.3875e-9)))
    root = -5.72466e-3 + t * (1.0227e-4 + t * -1.6546e-6)
    return pure_water_density_kg_per_m3(t) + s * (linear + sqrt(s) * root + s * 4.8314e-4)


def specific_gravity_ratio(
    temperature_c: Quantity, salinity_psu: Quantity, *, reference_temperature_c: Quantity
) -> Quantity:
    """Density of the sea water over that of pure water at the reference temperature. [-]

    A hydrometer marked "25/25" reads this with both temperatures 25 degC; others are made for 15.6 degC (60
    degF), so the reference has no default.

    Validity
    --------
    As `density_kg_per_m3`.

    Source
    ------
    Definition; density by EOS-80.
    """
    return density_kg_per_m3(temperature_c, salinity_psu) / pure_water_density_kg_per_m3(
        reference_temperature_c
    )


def salinity_psu_from_specific_gravity(
    temperature_c: Quantity, specific_gravity: Quantity, *, reference_temperature_c: Quantity
) -> Quantity:
    """Salinity of sea water whose specific gravity and temperature are known. [psu]

    Three Newton steps on the EOS-80 polynomial, begun from a slope of 0.76 kg/m3 per psu.

    Validity
    --------
    0 to 40 degC, specific gravity 1.005 to 1.032.

    Source
    ------
    Inverse of `specific_gravity_ratio`.
    """
    t = temperature_c
    wanted = specific_gravity * pure_water_density_kg_per_m3(reference_temperature_c)
    linear = 8.24493e-1 + t * (-4.0899e-3 + t * (7.6438e-5 + t * (-8.2467e-7 + t * 5.3875e-9)))
    root = -5.72466e-3 + t * (1.0227e-4 + t * -1.6546e-6)
    salinity = (wanted - pure_water_density_kg_per_m3(t)) / 0.76
    for _ in range(3):
        slope = linear + 1.5 * sqrt(salinity) * root + 2.0 * salinity * 4.8314e-4
        salinity = salinity - (density_kg_per_m3(t, salinity) - wanted) / slope
    return salinity


def heat_capacity_kj_per_kg_per_k(temperature_c: Quantity, salinity_psu: Quantity) -> Quantity:
    """Heat that warms one kilogram of sea water by one degree. [kJ/kg/K]

    Validity
    --------
    0 to 40 degC, salinity 0 to 40, one atmosphere.

    Source
    ------
    Millero, Perron & Desnoyers 1973, J Geophys Res 78:4499-4507, as given in Fofonoff & Millard 1983
    (UNESCO technical papers in marine science 44). Check value there, p. 34: 3980.051 J/kg/K at salinity
    40, 40 degC.
    """
    t, s = temperature_c, salinity_psu
    fresh = 4217.4 + t * (-3.720283 + t * (0.1412855 + t * (-2.654387e-3 + t * 2.093236e-5)))
    linear = -7.643575 + t * (0.1072763 + t * -1.38385e-3)
    root = 0.1770383 + t * (-4.07718e-3 + t * 5.148e-5)
    return (fresh + s * (linear + sqrt(s) * root)) / 1000.0


def evaporation_heat_kj_per_kg(temperature_c: Quantity) -> Quantity:
    """Heat taken from the water by each kilogram that evaporates. [kJ/kg]

    Validity
    --------
    0 to 40 degC. TEOS-10 for sea water differs by less than 0.15 % over 15 to 35 degC, 20 to 40 psu.

    Source
    ------
    Stull 1988, An Introduction to Boundary Layer Meteorology, p. 641 (linear form, seen in the
    documentation of a public package that cites it).
    """
    return 2501.0 - 2.37 * temperature_c


def vapour_pressure_atm(temperature_c: Quantity, salinity_psu: Quantity) -> Quantity:
    """Pressure of water vapour in air that rests on the sea water. [atm]

    Validity
    --------
    0 to 40 degC, salinity 0 to 40.

    Source
    ------
    Weiss & Price 1980, Mar Chem 8:347-359, eq. 10.
    """
    kelvin = temperature_c + KELVIN_AT_0_C
    return exp(24.4543 - 6745.09 / kelvin - 4.8489 * log(kelvin / 100.0) - 0.000544 * salinity_psu)
