"""Equilibrium constants of the carbonate system (total pH scale), boron and calcium of sea water.

All amounts are micromoles, so that a hydrogen ion of 0.008 umol/kg is pH 8.1. `constants_per_kg` gives them
per kilogram of sea water, as they were published; `constants_per_litre` turns them once, by density, so
that a model whose states are umol/L can be solved without converting any state.
"""

from __future__ import annotations

from dataclasses import dataclass

from backreef.models.constants import KELVIN_AT_0_C, LN_10
from backreef.models.mathops import Quantity, exp, log, sqrt
from backreef.models.seawater import density_kg_per_m3


@dataclass(frozen=True, slots=True, kw_only=True)
class CarbonateConstants:
    """Constants in one basis: micromoles per `basis_kg` kilograms of sea water.

    `k0` is CO2 dissolved per uatm of CO2 fugacity; `k1`, `k2` and `kb` are dissociation constants; `kw` and
    `ksp` are ion products (squared amounts); `boron` and `calcium` are what natural sea water of this
    salinity holds.
    """

    k0: Quantity
    k1: Quantity
    k2: Quantity
    kb: Quantity
    kw: Quantity
    ksp: Quantity
    boron: Quantity
    calcium: Quantity
    basis_kg: Quantity
    """1 for amounts per kilogram; the density in kg/L for amounts per litre."""


def constants_per_kg(temperature_c: Quantity, salinity_psu: Quantity) -> CarbonateConstants:
    """Give every constant for amounts in umol per kilogram of sea water.

    Validity
    --------
    15 to 35 degC and salinity 20 to 40 lie inside the range of every constant but K1 and K2 below salinity
    19.

    Source
    ------
    See each function.
    """
    t, s = temperature_c, salinity_psu
    return CarbonateConstants(
        k0=carbon_dioxide_solubility_umol_per_kg_per_uatm(t, s),
        k1=first_dissociation_umol_per_kg(t, s),
        k2=second_dissociation_umol_per_kg(t, s),
        kb=borate_dissociation_umol_per_kg(t, s),
        kw=water_product_umol2_per_kg2(t, s),
        ksp=aragonite_product_umol2_per_kg2(t, s),
        boron=boron_umol_per_kg(s),
        calcium=calcium_umol_per_kg(s),
        basis_kg=1.0,
    )


def constants_per_litre(temperature_c: Quantity, salinity_psu: Quantity) -> CarbonateConstants:
    """Give every constant for amounts in umol per litre of sea water.

    Validity
    --------
    As `constants_per_kg`.

    Source
    ------
    Mass action holds in any unit of amount: first-order terms take the density once, ion products twice.
    """
    per_kg = constants_per_kg(temperature_c, salinity_psu)
    kg_per_l = density_kg_per_m3(temperature_c, salinity_psu) / 1000.0
    return CarbonateConstants(
        k0=per_kg.k0 * kg_per_l,
        k1=per_kg.k1 * kg_per_l,
        k2=per_kg.k2 * kg_per_l,
        kb=per_kg.kb * kg_per_l,
        kw=per_kg.kw * kg_per_l * kg_per_l,
        ksp=per_kg.ksp * kg_per_l * kg_per_l,
        boron=per_kg.boron * kg_per_l,
        calcium=per_kg.calcium * kg_per_l,
        basis_kg=kg_per_l,
    )


def carbon_dioxide_solubility_umol_per_kg_per_uatm(
    temperature_c: Quantity, salinity_psu: Quantity
) -> Quantity:
    """Dissolved CO2 per uatm of CO2 fugacity in the air (K0). [umol/kg/uatm]

    Validity
    --------
    -1 to 40 degC, salinity 0 to 45.

    Source
    ------
    Weiss 1974, Mar Chem 2:203-215, eq. 12 and table 1.
    """
    hundreds, s = (temperature_c + KELVIN_AT_0_C) / 100.0, salinity_psu
    salt = 0.023517 + hundreds * (-0.023656 + hundreds * 0.0047036)
    return exp(-60.2409 + 93.4517 / hundreds + 23.3585 * log(hundreds) + s * salt)


def fugacity_ratio(temperature_c: Quantity) -> Quantity:
    """Fugacity of CO2 over its partial pressure in air at one atmosphere; about 0.997. [-]

    Validity
    --------
    -1 to 40 degC, one atmosphere.

    Source
    ------
    Weiss 1974, Mar Chem 2:203-215, eq. 6, 9 and 11; gas constant 83.14472 cm3 bar/mol/K.
    """
    t = temperature_c + KELVIN_AT_0_C
    virial = -1636.75 + t * (12.0408 + t * (-3.27957e-2 + t * 3.16528e-5))
    cross = 57.7 - 0.118 * t
    return exp((virial + 2.0 * cross) * 1.01325 / (83.14472 * t))


def first_dissociation_umol_per_kg(temperature_c: Quantity, salinity_psu: Quantity) -> Quantity:
    """First dissociation constant of carbonic acid (K1), total scale. [umol/kg]

    Validity
    --------
    2 to 35 degC, salinity 19 to 43.

    Source
    ------
    Lueker, Dickson & Keeling 2000, Mar Chem 70:105-119 (constants of Mehrbach et al. 1973 on the total
    scale).
    """
    t, s = temperature_c + KELVIN_AT_0_C, salinity_psu
    pk = 3633.86 / t - 61.2172 + 9.67770 * log(t) + s * (-0.011555 + s * 0.0001152)
    return exp(LN_10 * (6.0 - pk))


def second_dissociation_umol_per_kg(temperature_c: Quantity, salinity_psu: Quantity) -> Quantity:
    """Second dissociation constant of carbonic acid (K2), total scale. [umol/kg]

    Validity
    --------
    2 to 35 degC, salinity 19 to 43.

    Source
    ------
    Lueker, Dickson & Keeling 2000, Mar Chem 70:105-119.
    """
    t, s = temperature_c + KELVIN_AT_0_C, salinity_psu
    pk = 471.78 / t + 25.9290 - 3.16967 * log(t) + s * (-0.01781 + s * 0.0001122)
    return exp(LN_10 * (6.0 - pk))


def borate_dissociation_umol_per_kg(temperature_c: Quantity, salinity_psu: Quantity) -> Quantity:
    """Dissociation constant of boric acid (KB), total scale. [umol/kg]

    Validity
    --------
    0 to 45 degC, salinity 5 to 45.

    Source
    ------
    Dickson 1990, Deep-Sea Res 37:755-766, eq. 23.
    """
    t, s = temperature_c + KELVIN_AT_0_C, salinity_psu
    root = sqrt(s)
    heat = -8966.90 - 2890.53 * root + s * (-77.942 + 1.728 * root - 0.0996 * s)
    plain = 148.0248 + 137.1942 * root + 1.62142 * s
    slope = -24.4344 - 25.085 * root - 0.2474 * s
    return exp(heat / t + plain + slope * log(t) + 0.053105 * root * t) * 1.0e6


def water_product_umol2_per_kg2(temperature_c: Quantity, salinity_psu: Quantity) -> Quantity:
    """Ion product of water (KW), total scale. [umol2/kg2]

    Validity
    --------
    0 to 45 degC, salinity 20 to 45.

    Source
    ------
    Millero 1995, Geochim Cosmochim Acta 59:661-677, with the constant term 148.9652 that brings it to the
    total scale (DOE 1994, Handbook of methods for carbon dioxide in sea water, ch. 5).
    """
    t, s = temperature_c + KELVIN_AT_0_C, salinity_psu
    warm = log(t)
    salt = sqrt(s) * (-5.977 + 118.67 / t + 1.0495 * warm) - 0.01615 * s
    return exp(148.9652 - 13847.26 / t - 23.6521 * warm + salt) * 1.0e12


def aragonite_product_umol2_per_kg2(temperature_c: Quantity, salinity_psu: Quantity) -> Quantity:
    """Solubility product of aragonite. [umol2/kg2]

    Validity
    --------
    5 to 40 degC, salinity 5 to 44.

    Source
    ------
    Mucci 1983, Am J Sci 283:780-799, table 7.
    """
    t, s = temperature_c + KELVIN_AT_0_C, salinity_psu
    root = sqrt(s)
    fresh = -171.945 - 0.077993 * t + 2903.293 / t + 71.595 * log(t) / LN_10
    salt = (-0.068393 + 0.0017276 * t + 88.135 / t) * root + s * (-0.10018 + 0.0059415 * root)
    return exp(LN_10 * (12.0 + fresh + salt))


def boron_umol_per_kg(salinity_psu: Quantity) -> Quantity:
    """Total boron of natural sea water. [umol/kg]

    Validity
    --------
    Open ocean; some salt mixes hold more, which lowers the share of alkalinity that is carbonate.

    Source
    ------
    Uppstrom 1974, Deep-Sea Res 21:161-162: 0.0004157 mol/kg at salinity 35.
    """
    return 415.7 / 35.0 * salinity_psu


def calcium_umol_per_kg(salinity_psu: Quantity) -> Quantity:
    """Calcium of natural sea water. [umol/kg]

    Validity
    --------
    Open ocean.

    Source
    ------
    Riley & Tongudai 1967, Chem Geol 2:263-269: 0.02128 g/kg per g/kg of chlorinity, atomic weight 40.087,
    salinity 1.80655 times chlorinity.
    """
    return 0.02128 / 40.087 / 1.80655 * 1.0e6 * salinity_psu
