"""Terms that many rate laws share: what holds for a stretch of time, and what the water says at an instant.

`segment_terms` depends on temperature, salinity, volume and switches only, so the kernel works it out once
per segment. `water_terms` depends on the state. Both take and give names that the process table uses.
"""

from __future__ import annotations

from collections.abc import Mapping

from backreef.models.ammonia import ammonium_constant_umol_per_kg
from backreef.models.body_values import body_numbers
from backreef.models.carbonate import (
    carbonate_ion,
    dissolved_carbon_dioxide,
    hydrogen_slopes,
    omega_aragonite,
    ph_total,
    solve_hydrogen,
)
from backreef.models.carbonate_constants import (
    CarbonateConstants,
    carbon_dioxide_solubility_umol_per_kg_per_uatm,
    constants_per_litre,
)
from backreef.models.constants import BOLTZMANN_EV_PER_K, KELVIN_AT_0_C, LN_2
from backreef.models.mathops import Quantity, exp, ramp, saturation, smooth_minimum
from backreef.models.metabolism import REFERENCE_C
from backreef.models.mouths import POOLS, pool_reaches
from backreef.models.seawater import density_kg_per_m3, oxygen_saturation_umol_per_l

CONSTANT_NAMES = ("k0", "k1", "k2", "kb", "kw", "ksp", "boron", "calcium", "basis_kg")
SEGMENT_NAMES = (
    "per_l",
    "th",
    "thN",
    "t_animal",
    "o2_saturation",
    "co2_saturation",
    "k_la",
    "ka_ammonium",
    "foul",
    "cool",
    *(f"cc_{name}" for name in CONSTANT_NAMES),
    *(f"reach_{pool}" for pool in POOLS),
)
"""What `segment_terms` gives, in the order in which the kernel keeps it."""

BLEACHING_WIDTH_K = 0.4
"""From a tenth lost to a tenth kept lies less than two degrees. Numerical: a smooth threshold."""
OBSERVED_NAMES = ("ph", "nh3", "omega", "O2", "NH")
"""What the kernel can report at an instant besides the state; O2 and NH in umol/L."""


def segment_terms(known: Mapping[str, Quantity]) -> dict[str, Quantity]:
    """Give the terms that temperature, salinity, volume and the pumps fix.

    Needs T [degC], S [psu], V [L], A_surf [m2], k_s, k_s_off [m/h], k_x, k_sk_air, k_air [1/h], skimmer,
    pumps, pump_clean, the switches of mishaps (0..1), the areas that nitrifiers settle [m2], xCO2 [atm],
    theta_N [1/degC], T_bleach [degC].

    Validity
    --------
    15 to 35 degC, salinity 20 to 40; the biology is unsure below 22 and above 31 degC.

    Source
    ------
    Q10 2 of baird2020 and butenschoen2016; animals after the own fit to barneche2014; chemistry as cited
    there.
    """
    temperature, salinity, volume = known["T"], known["S"], known["V"]
    constants = constants_per_litre(temperature, salinity)
    solubility = carbon_dioxide_solubility_umol_per_kg_per_uatm(temperature, salinity)
    density_kg_per_l = density_kg_per_m3(temperature, salinity) * 1e-3
    still, stirred = known["k_s_off"], known["k_s"]
    flowing = known["pumps"] + known["streams"] * (1.0 - known["pumps"])
    velocity = still + (stirred - still) * flowing * known["pump_clean"]
    bubbled = known["k_air"] * known["bubbles"]
    forced = known["k_x"] * known["pump_clean"] + known["k_sk_air"] * known["skimmer"]
    activation_ev = body_numbers()["oxygen_line.activation_energy_ev"]
    colder = 1.0 / (REFERENCE_C + KELVIN_AT_0_C) - 1.0 / (temperature + KELVIN_AT_0_C)
    terms = {
        "per_l": 1000.0 / volume,
        "th": exp(LN_2 * (temperature - 25.0) * 0.1),
        "thN": exp(known["theta_N"] * (temperature - 25.0)),
        "t_animal": exp(activation_ev / BOLTZMANN_EV_PER_K * colder),
        "o2_saturation": oxygen_saturation_umol_per_l(temperature, salinity),
        "co2_saturation": solubility * density_kg_per_l * known["xCO2"] * 1e6,
        "k_la": 24.0 * (velocity * known["A_surf"] * 1000.0 / volume + forced * known["pumps"] + bubbled),
        "foul": known["stalled"] * known["A_media"] / _nitrifying_area(known),
        "ka_ammonium": ammonium_constant_umol_per_kg(temperature, salinity) * density_kg_per_l,
    }
    terms["cool"] = 1.0 / (1.0 + exp((temperature - known["T_bleach"]) / BLEACHING_WIDTH_K))
    for name in CONSTANT_NAMES:
        terms[f"cc_{name}"] = getattr(constants, name)
    return terms | pool_reaches(known)


def water_terms(known: Mapping[str, Quantity]) -> dict[str, Quantity]:
    """Give concentrations in umol/L, the carbonate system, and the limits that several rows share.

    Needs the state amounts [mmol], the segment terms and the parameters; takes the hydrogen ion as it is
    where it is known already.

    Validity
    --------
    Positive carbon and alkalinity.

    Source
    ------
    As the functions it calls; `anoxia` and `room` after docs/model.md.
    """
    terms: dict[str, Quantity] = {}
    for name in ("O2", "DIC", "ALK", "Ca", "NH", "NO2", "NO3", "PO4", "Si", "CS", "DOM", "DOR"):
        terms[name] = known[f"S_{name}"] * known["per_l"]
    terms["POM"] = known["X_POM"] * known["per_l"]
    terms |= _carbonate_terms(terms, known)
    terms |= _room_terms(terms, known)
    return terms


def _carbonate_terms(terms: Mapping[str, Quantity], known: Mapping[str, Quantity]) -> dict[str, Quantity]:
    constants = carbonate_constants(known)
    dic, alkalinity = terms["DIC"], terms["ALK"]
    hydrogen = _solved(dic, alkalinity, constants, known.get("hydrogen"))
    omega = omega_aragonite(terms["Ca"], carbonate_ion(dic, hydrogen, constants), constants)
    share = known["ka_ammonium"] / (known["ka_ammonium"] + hydrogen)
    return {
        "hydrogen": hydrogen,
        "co2": dissolved_carbon_dioxide(dic, hydrogen, constants),
        "ph": ph_total(hydrogen, constants),
        "omega": omega,
        "f_arag": ramp(omega - 1.0, 0.05) / 3.0,
        "nh3": terms["NH"] * share,
    }


def carbonate_constants(known: Mapping[str, Quantity]) -> CarbonateConstants:
    """Take the constants of the carbonate system from the segment's terms. [umol per litre]

    Validity
    --------
    Any.

    Source
    ------
    None: names only.
    """
    return CarbonateConstants(**{name: known[f"cc_{name}"] for name in CONSTANT_NAMES})


def _solved(
    dic: Quantity, alkalinity: Quantity, constants: CarbonateConstants, known: Quantity | None
) -> Quantity:
    """Solve for the hydrogen ion, unless it is known; a recorder is told its derivative, not the steps."""
    hydrogen = solve_hydrogen(dic, alkalinity, constants) if known is None else known
    if not hasattr(hydrogen, "recorder"):
        return hydrogen
    by_carbon, by_alkalinity = hydrogen_slopes(dic, hydrogen, constants)
    partials = {dic: hydrogen * by_carbon, alkalinity: hydrogen * by_alkalinity}
    return hydrogen.recorder.implicit(hydrogen, partials)


def _room_terms(terms: Mapping[str, Quantity], known: Mapping[str, Quantity]) -> dict[str, Quantity]:
    nitrifying = _nitrifying_area(known)
    surface = known["A_rock"] + known["A_sand"] + known["A_media"]
    coral = known["C_T"] / known["T_coral"]
    space = known["cover_cor"] * known["A_rock"]
    return {
        "room_HB": _room(known["X_HB"], known["rho_H"] * surface),
        "room_AOB": _room(known["X_AOB"], known["x_A"] * nitrifying),
        "room_NOB": _room(known["X_NOB"], known["x_N"] * nitrifying),
        "room_CO": _room(coral, space),
        "coral_area": coral,
        "coral_light": 1.0 - exp(-known["light_coral"] / known["Ik_co"]),
        "nutrients_HB": smooth_minimum(
            saturation(terms["NH"], known["K_Nb"]), saturation(terms["PO4"], known["K_Pb"])
        ),
        "anoxia": _anoxic_share(terms["O2"], known),
    }


def _nitrifying_area(known: Mapping[str, Quantity]) -> Quantity:
    return known["A_rock"] + known["sand_film"] * known["A_sand"] + known["A_glass"] + known["A_media"]


def _room(present: Quantity, most: Quantity) -> Quantity:
    return ramp(1.0 - present / most, 0.02)


def _anoxic_share(oxygen: Quantity, known: Mapping[str, Quantity]) -> Quantity:
    """Anoxic activity: a floor inside biofilm, more where the water itself lacks oxygen."""
    switch = known["K_Od"] / (known["K_Od"] + oxygen)
    floor = known["a_anox"]
    return known["e_den"] * (floor + ramp(switch - floor, 0.02))
