"""What a fish's body burns: oxygen uptake by mass and temperature, activity, and the day's energy.

Masses are wet grams, temperatures degrees Celsius. Published tables of reef families give carbon; a gram of
carbon respired takes 32/12 g of oxygen (respiratory quotient 1). Reading such a table as oxygen is wrong by
that factor.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from backreef.models.body_values import Numbers, number
from backreef.models.constants import BOLTZMANN_EV_PER_K, KELVIN_AT_0_C
from backreef.models.mathops import Quantity, exp, log, power, select
from backreef.working.record import askable, told_constant

OXYGEN_PER_CARBON_RATIO = 32.0 / 12.0
"""Grams of oxygen for a gram of carbon respired, respiratory quotient 1. [g O2/g C]"""
REFERENCE_C = 28.0
"""Temperature to which both sets of oxygen lines refer. [degC]"""


@dataclass(frozen=True, slots=True, kw_only=True)
class PowerLine:
    """A rate: `at_1_g` at 28 degC, scaled by mass to an exponent and with temperature by an energy."""

    at_1_g: Quantity
    mass_exponent: Quantity
    activation_energy_ev: Quantity


@dataclass(frozen=True, slots=True, kw_only=True)
class OxygenLine:
    """Oxygen uptake of one kind of fish [mg O2/d]: a line for small ones, one for large ones, their join."""

    small: PowerLine
    large: PowerLine
    small_until_g: Quantity
    large_from_g: Quantity


def reference_c() -> Quantity:
    """Temperature to which the oxygen lines refer; while a working is recorded it says so. [degC]

    Validity
    --------
    Any.

    Source
    ------
    `REFERENCE_C`.
    """
    return told_constant(REFERENCE_C, "REFERENCE_C", __name__)


@askable
def temperature_factor(
    temperature_c: Quantity, *, reference_c: Quantity, activation_energy_ev: Quantity
) -> Quantity:
    """Rate at a temperature over the rate at the reference. [-]

    Validity
    --------
    22 to 31 degC; with 0.59 eV ten degrees are a factor of about 2.15. Beyond, the caller has to warn.

    Source
    ------
    Boltzmann-Arrhenius form, k = 8.62e-5 eV/K, as in Schiettekatte et al. (nschiett/global_proc).
    """
    warmth = 1.0 / (reference_c + KELVIN_AT_0_C) - 1.0 / (temperature_c + KELVIN_AT_0_C)
    return exp(activation_energy_ev / BOLTZMANN_EV_PER_K * warmth)


def rate_of_line(mass_g: Quantity, temperature_c: Quantity, line: PowerLine) -> Quantity:
    """Rate of one power line, in the unit of its `at_1_g`. [unit of the line]

    Validity
    --------
    Mass above 0; the range of masses is that of the line's source.

    Source
    ------
    Allometric form with `temperature_factor`.
    """
    return exp(_log_rate(log(mass_g), temperature_c, line))


@askable
def oxygen_uptake_mg_o2_per_d(mass_g: Quantity, temperature_c: Quantity, line: OxygenLine) -> Quantity:
    """Routine oxygen uptake of one fish at rest in its tank, gut empty. [mg O2/d]

    The small line holds up to `small_until_g`, the family's line from `large_from_g` on. Between, uptake
    grows from the small line's end with the family's exponent while the gap between the two closes evenly
    in the logarithm of mass: continuous, and rising with mass in every family of the table.

    Validity
    --------
    0.2 g to 1 kg, 22 to 31 degC. Single fish scatter by a factor of 1.34 about the small line.

    Source
    ------
    Small: own fit to Barneche et al. 2014; large: Schiettekatte et al. family table; join: own rule.
    """
    log_mass, log_joint = log(mass_g), log(line.small_until_g)
    above = log_mass - log_joint
    span = log(line.large_from_g) - log_joint
    closed = select(above - span, 1.0, above / span)
    start = _log_rate(log_joint, temperature_c, line.small)
    gap = _log_rate(log_joint, temperature_c, line.large) - start
    joined = start + line.large.mass_exponent * above + closed * gap
    return exp(select(above, joined, _log_rate(log_mass, temperature_c, line.small)))


@askable
def oxygen_line(numbers: Numbers, *, family: str, factor_ratio: float | None = None) -> OxygenLine:
    """Give the oxygen line of a family, for `oxygen_uptake_mg_o2_per_d`.

    `factor_ratio` is a species' own factor on the small line; without it the family's stands, or 1 where
    the family has none. A family without a row for large fish continues the small line with the exponent of
    all families.

    Validity
    --------
    Bony fish of reefs.

    Source
    ------
    `oxygen_line`, `oxygen_factor`, `oxygen_join` and `family_line` in `data/bodies.toml`.
    """
    key = family.lower()
    factor = numbers.get(f"oxygen_factor.{key}_ratio", 1.0) if factor_ratio is None else factor_ratio
    small = PowerLine(
        at_1_g=number(numbers, "oxygen_line.at_1_g_mg_o2_per_d") * factor,
        mass_exponent=number(numbers, "oxygen_line.mass_exponent"),
        activation_energy_ev=number(numbers, "oxygen_line.activation_energy_ev"),
    )
    join_g = number(numbers, "oxygen_join.small_until_g")
    listed = f"family_line.{key}.at_1_g_g_c_per_d" in numbers
    return OxygenLine(
        small=small,
        large=family_oxygen_line(numbers, family=family) if listed else _continued(small, join_g, numbers),
        small_until_g=join_g,
        large_from_g=number(numbers, "oxygen_join.large_from_g"),
    )


@askable
def family_carbon_line(numbers: Numbers, *, family: str) -> PowerLine:
    """Give the family's standard metabolism as carbon [g C/d].

    Validity
    --------
    The families of the table; raises `BodyValueError` for others. The table is carbon, not oxygen: against
    126 measured adults it is 1.35 times too low as carbon and 3.6 times too low if read as oxygen.

    Source
    ------
    Schiettekatte et al., family parameters (`family_line` in `data/bodies.toml`).
    """
    key = f"family_line.{family.lower()}"
    return PowerLine(
        at_1_g=number(numbers, f"{key}.at_1_g_g_c_per_d"),
        mass_exponent=number(numbers, f"{key}.mass_exponent"),
        activation_energy_ev=number(numbers, "family_line_common.activation_energy_ev"),
    )


@askable
def family_oxygen_line(numbers: Numbers, *, family: str) -> PowerLine:
    """Give the family's standard metabolism as oxygen [mg O2/d].

    Validity
    --------
    As `family_carbon_line`.

    Source
    ------
    As `family_carbon_line`, times 32/12 and 1000 mg/g.
    """
    carbon = family_carbon_line(numbers, family=family)
    return PowerLine(
        at_1_g=carbon.at_1_g * OXYGEN_PER_CARBON_RATIO * 1000.0,
        mass_exponent=carbon.mass_exponent,
        activation_energy_ev=carbon.activation_energy_ev,
    )


def day_activity_ratio(*, resting_rate: Quantity, active_rate: Quantity, resting_hours: Quantity) -> Quantity:
    """Whole-day uptake over resting uptake, for a fish that rests part of the day. [-]

    Validity
    --------
    0 to 24 resting hours; both rates in one unit.

    Source
    ------
    Schiettekatte, Conte et al. (nschiett/activity_rate_fishes, text/main_text.Rmd).
    """
    return ((24.0 - resting_hours) * active_rate + resting_hours * resting_rate) / (24.0 * resting_rate)


def resting_energy_j_per_d(oxygen_mg_o2_per_d: Quantity, *, oxycalorific_kj_per_g_o2: Quantity) -> Quantity:
    """Heat that goes with an oxygen uptake. [J/d]

    Validity
    --------
    Mixed fuel; kJ/g equals J/mg.

    Source
    ------
    Elliott & Davison 1975, Oecologia 19:195-201.
    """
    return oxygen_mg_o2_per_d * oxycalorific_kj_per_g_o2


def feed_energy_need_j_per_d(
    resting_energy_j_per_d: Quantity,
    *,
    activity_ratio: Quantity,
    feeding_heat_ratio: Quantity,
    digestible_energy_frac: Quantity,
) -> Quantity:
    """Gross energy a fish has to eat in a day to stay as it is. [J/d]

    Validity
    --------
    Within 12 % of the measured requirement of the clownfish from 0.2 to 5 g at 27 degC with the values of the
    `day` group; fish kept elsewhere and other species by analogy.

    Source
    ------
    Own chain: rest x activity x heat of feeding / digestibility (`day` in `data/bodies.toml`).
    """
    return resting_energy_j_per_d * activity_ratio * feeding_heat_ratio / digestible_energy_frac


def resting_oxygen_mmol_per_h_clarke1999(mass_g: Quantity) -> Quantity:
    """Resting oxygen uptake of a bony fish of any climate, all temperatures pooled. [mmol O2/h]

    Validity
    --------
    Cross-check only: 69 species from 0 to 30 degC; runs 1.4 times high on small reef fish at their
    temperature.

    Source
    ------
    Clarke & Johnston 1999, J Anim Ecol 68:893-905: ln Rb = 0.80 ln M - 5.43.
    """
    return power(mass_g, 0.80) * exp(-5.43)


def resting_oxygen_of_50_g_mmol_per_h_clarke1999(temperature_c: Quantity) -> Quantity:
    """Resting oxygen uptake of a 50 g bony fish by temperature. [mmol O2/h]

    Validity
    --------
    Cross-check only; 0 to 30 degC.

    Source
    ------
    Clarke & Johnston 1999, J Anim Ecol 68:893-905: ln Rb = 15.7 - 5.02 (1000/T).
    """
    return exp(15.7 - 5020.0 / (temperature_c + KELVIN_AT_0_C))


def temperature_factor_barneche2018(temperature_c: Quantity) -> Quantity:
    """Resting metabolism over that at 20 degC without heat damage; falls off towards 33 degC. [-]

    Validity
    --------
    15 to 32 degC; divide by the value at another temperature to refer to that one.

    Source
    ------
    Barneche & Allen 2018, Ecology Letters, doi 10.1111/ele.12947, model 2 (Er 0.70 eV, Ei 2.43 eV, optimum
    306.4 K, reference 293.15 K), as coded in the research package fishflux.
    """
    inverse = 1.0 / (BOLTZMANN_EV_PER_K * (temperature_c + KELVIN_AT_0_C))
    rise = 1.0 / (BOLTZMANN_EV_PER_K * 293.15) - inverse
    beyond = 1.0 / (BOLTZMANN_EV_PER_K * 306.4) - inverse
    return exp(0.70 * rise) / (1.0 + 0.70 / (2.43 - 0.70) * exp(2.43 * beyond))


def resting_coefficient_barneche2018(
    temperature_c: Quantity, *, trophic_level: Quantity, coefficient: Quantity
) -> Quantity:
    """Resting metabolism of a 1 g fish, in the unit of `coefficient`. [g C/d in the source]

    Validity
    --------
    Trophic level 2 to 4.5, 15 to 32 degC. The exponent the source gives for damselfish (0.426) is an outlier.

    Source
    ------
    Barneche & Allen 2018, model 2, as coded in fishflux.
    """
    return coefficient * power(trophic_level, 0.81) * temperature_factor_barneche2018(temperature_c)


def growth_cost_j_per_g_barneche2018(
    temperature_c: Quantity, *, trophic_level: Quantity, aspect_ratio: Quantity
) -> Quantity:
    """Energy spent to lay down one gram of wet tissue, over what the tissue holds. [J/g]

    Validity
    --------
    15 to 32 degC, trophic level 2 to 4.5, caudal fin aspect ratio 0.5 to 4.

    Source
    ------
    Barneche & Allen 2018, as coded in fishflux: exp(4.38 + 0.1032 ln T + 0.73 ln TL + 0.41 ln(A + 1)).
    """
    return exp(
        4.38 + 0.1032 * log(temperature_c) + 0.73 * log(trophic_level) + 0.41 * log(aspect_ratio + 1.0)
    )


@askable
def _log_rate(log_mass: Quantity, temperature_c: Quantity, line: PowerLine) -> Quantity:
    """Natural logarithm of the rate of a power line. [-]"""
    warmth = 1.0 / (reference_c() + KELVIN_AT_0_C) - 1.0 / (temperature_c + KELVIN_AT_0_C)
    return (
        log(line.at_1_g)
        + line.mass_exponent * log_mass
        + line.activation_energy_ev / BOLTZMANN_EV_PER_K * warmth
    )


def _continued(small: PowerLine, join_g: float, numbers: Numbers) -> PowerLine:
    """Give the line that leaves the small one at the join with the exponent of all families."""
    exponent = number(numbers, "oxygen_join.unlisted_exponent")
    return PowerLine(
        at_1_g=small.at_1_g * math.exp((small.mass_exponent - exponent) * math.log(join_g)),
        mass_exponent=exponent,
        activation_energy_ev=small.activation_energy_ev,
    )
