"""The pH of sea water from dissolved inorganic carbon and alkalinity, and what follows from it.

Amounts (carbon, alkalinity, hydrogen ion, calcium) are micromoles in the basis of the constants handed in,
per kilogram or per litre; see `carbonate_constants`. Alkalinity is carbonate + borate + hydroxide -
hydrogen ion. The method is derived in docs/derivations/ph_solve.md.
"""

from __future__ import annotations

from backreef.models.carbonate_constants import CarbonateConstants
from backreef.models.constants import LN_10
from backreef.models.mathops import Quantity, exp, log, select, smooth_minimum, sqrt

CARBONATE_CEILING_RATIO = 1.96
"""The start counts no more alkalinity as carbonate than this times the carbon; carbon can hold 2. [-]"""
LOGARITHMIC_STEPS = 2
"""Newton steps on ln(bases / acids), which converge from far away. Chosen by measurement."""
RATIONAL_STEPS = 4
"""Newton steps with fractions for logarithm and exponential, for the last digits. Chosen by measurement."""
NEAR_STEPS = 3
"""Halley's steps from a start near by. Chosen by measurement."""


def solve_hydrogen(dic: Quantity, alkalinity: Quantity, constants: CarbonateConstants) -> Quantity:
    """Hydrogen ion, total scale, that makes carbon and alkalinity fit together. [as the constants' basis]

    A quadratic start for carbonate alone, two Newton steps in the logarithm of the hydrogen ion on the
    logarithm of bases over acids, four more with fractions in place of logarithm and exponential. No step
    looks at a value, so the same list of operations serves all lanes.

    Validity
    --------
    Relative residual of alkalinity below 2e-15 (asked: 1e-12) for carbon and alkalinity 200 to 6000
    umol/kg, 15 to 35 degC, salinity 20 to 40; below 1e-10 for 50 to 20000 umol/kg. Both must be above 0.

    Source
    ------
    Own derivation (docs/derivations/ph_solve.md); monotone in the hydrogen ion, so the root is unique.
    """
    hydrogen = _carbonate_start(dic, alkalinity, constants)
    for _ in range(LOGARITHMIC_STEPS):
        bases, slope = _bases(dic, hydrogen, constants)
        hydrogen = _logarithmic_step(hydrogen, alkalinity, bases, slope)
    for _ in range(RATIONAL_STEPS):
        bases, slope = _bases(dic, hydrogen, constants)
        hydrogen = _rational_step(hydrogen, alkalinity, bases, slope)
    return hydrogen


def hydrogen_near(
    dic: Quantity, alkalinity: Quantity, start: Quantity, constants: CarbonateConstants
) -> Quantity:
    """Hydrogen ion as `solve_hydrogen` gives it, from a hydrogen ion near by. [as the constants' basis]

    Validity
    --------
    To rounding where the start is within a factor of 2 (0.3 pH), below 1e-10 within a factor of 4, for the
    waters of `solve_hydrogen`.

    Source
    ------
    Own derivation (docs/derivations/ph_solve.md): Halley's step on ln(bases) - ln(alkalinity + h), in ln h.
    """
    hydrogen = start
    for _ in range(NEAR_STEPS):
        hydrogen = _curved_step(hydrogen, alkalinity, *_bases_and_curve(dic, hydrogen, constants))
    return hydrogen


def hydrogen_at_carbon_dioxide(
    alkalinity: Quantity, carbon_dioxide: Quantity, constants: CarbonateConstants
) -> Quantity:
    """Hydrogen ion of water whose alkalinity and dissolved CO2 are known. [as the constants' basis]

    Validity
    --------
    Relative residual below 1e-12 for alkalinity 200 to 6000 umol/kg and CO2 in balance with 50 to 5000
    uatm, 15 to 35 degC, salinity 20 to 40.

    Source
    ------
    As `solve_hydrogen`, with the carbonate part written in CO2: K1 CO2/h + 2 K1 K2 CO2/h^2.
    """
    first = constants.k1 * carbon_dioxide
    second = 2.0 * constants.k1 * constants.k2 * carbon_dioxide
    hydrogen = (first + sqrt(first * first + 4.0 * alkalinity * second)) / (2.0 * alkalinity)
    for count in range(LOGARITHMIC_STEPS + RATIONAL_STEPS):
        single, double = first / hydrogen, second / (hydrogen * hydrogen)
        others, others_slope = _borate_and_water(hydrogen, constants)
        bases, slope = single + double + others, single + 2.0 * double + others_slope
        step = _logarithmic_step if count < LOGARITHMIC_STEPS else _rational_step
        hydrogen = step(hydrogen, alkalinity, bases, slope)
    return hydrogen


def hydrogen_slopes(
    dic: Quantity, hydrogen: Quantity, constants: CarbonateConstants
) -> tuple[Quantity, Quantity]:
    """Change of ln(hydrogen ion) per unit of carbon and per unit of alkalinity at a solved point. [per unit]

    Validity
    --------
    At a hydrogen ion from `solve_hydrogen`; exact there.

    Source
    ------
    Implicit function theorem on bases(h, DIC) - h = TA: the slope of alkalinity in ln h is the buffer
    capacity (docs/derivations/ph_solve.md).
    """
    carbonate, carbonate_slope = _carbonate_bases(dic, hydrogen, constants)
    _, others_slope = _borate_and_water(hydrogen, constants)
    buffer_capacity = carbonate_slope + others_slope + hydrogen
    return carbonate / (dic * buffer_capacity), -1.0 / buffer_capacity


def alkalinity_at(dic: Quantity, hydrogen: Quantity, constants: CarbonateConstants) -> Quantity:
    """Alkalinity of water whose carbon and hydrogen ion are known. [as the constants' basis]

    Validity
    --------
    Sea water without other weak acids; phosphate, silicate and organic bases are left out.

    Source
    ------
    Definition.
    """
    bases, _ = _bases(dic, hydrogen, constants)
    return bases - hydrogen


def dissolved_inorganic_carbon_at(
    carbon_dioxide: Quantity, hydrogen: Quantity, constants: CarbonateConstants
) -> Quantity:
    """Total inorganic carbon of water whose CO2 and hydrogen ion are known. [as the constants' basis]

    Validity
    --------
    Any.

    Source
    ------
    Mass action.
    """
    return carbon_dioxide * (1.0 + constants.k1 / hydrogen * (1.0 + constants.k2 / hydrogen))


def ph_total(hydrogen: Quantity, constants: CarbonateConstants) -> Quantity:
    """The pH on the total scale, per kilogram whatever the basis of the hydrogen ion. [-]

    Validity
    --------
    Hydrogen ion above 0.

    Source
    ------
    Definition: -log10 of mol per kilogram of sea water.
    """
    return 6.0 - log(hydrogen / constants.basis_kg) / LN_10


def hydrogen_at_ph(ph: Quantity, constants: CarbonateConstants) -> Quantity:
    """Hydrogen ion at a pH on the total scale. [as the constants' basis]

    Validity
    --------
    Any.

    Source
    ------
    Definition, inverse of `ph_total`.
    """
    return constants.basis_kg * exp(LN_10 * (6.0 - ph))


def dissolved_carbon_dioxide(dic: Quantity, hydrogen: Quantity, constants: CarbonateConstants) -> Quantity:
    """Dissolved CO2, carbonic acid included. [as the constants' basis]

    Validity
    --------
    Any.

    Source
    ------
    Mass action.
    """
    return dic * hydrogen * hydrogen / _denominator(hydrogen, constants)


def carbonate_ion(dic: Quantity, hydrogen: Quantity, constants: CarbonateConstants) -> Quantity:
    """Carbonate ion. [as the constants' basis]

    Validity
    --------
    Any.

    Source
    ------
    Mass action.
    """
    return dic * constants.k1 * constants.k2 / _denominator(hydrogen, constants)


def omega_aragonite(calcium: Quantity, carbonate: Quantity, constants: CarbonateConstants) -> Quantity:
    """Saturation state of aragonite: above 1 it can form, below 1 it dissolves. [-]

    Validity
    --------
    Sea water near its natural ionic make-up; `calcium` is what the tank holds, not what salinity implies.

    Source
    ------
    Definition with the solubility product of Mucci 1983.
    """
    return calcium * carbonate / constants.ksp


def _denominator(hydrogen: Quantity, constants: CarbonateConstants) -> Quantity:
    return hydrogen * (hydrogen + constants.k1) + constants.k1 * constants.k2


def _carbonate_bases(
    dic: Quantity, hydrogen: Quantity, constants: CarbonateConstants
) -> tuple[Quantity, Quantity]:
    """Give carbonate alkalinity and its slope, d/d(-ln h)."""
    h, k12 = hydrogen, constants.k1 * constants.k2
    inverse = 1.0 / _denominator(h, constants)
    share = dic * constants.k1 * inverse
    slope = share * h * (h * (h + 4.0 * constants.k2) + k12) * inverse
    return share * (h + 2.0 * constants.k2), slope


def _borate_and_water(hydrogen: Quantity, constants: CarbonateConstants) -> tuple[Quantity, Quantity]:
    """Give borate and hydroxide and their slope, d/d(-ln h)."""
    inverse = 1.0 / (constants.kb + hydrogen)
    borate = constants.boron * constants.kb * inverse
    hydroxide = constants.kw / hydrogen
    return borate + hydroxide, borate * hydrogen * inverse + hydroxide


def _bases(dic: Quantity, hydrogen: Quantity, constants: CarbonateConstants) -> tuple[Quantity, Quantity]:
    carbonate, carbonate_slope = _carbonate_bases(dic, hydrogen, constants)
    others, others_slope = _borate_and_water(hydrogen, constants)
    return carbonate + others, carbonate_slope + others_slope


def _bases_and_curve(
    dic: Quantity, hydrogen: Quantity, constants: CarbonateConstants
) -> tuple[Quantity, Quantity, Quantity]:
    """Give bases, their slope d/d(-ln h) and their curve d2/d(ln h)2.

    A carbon atom's charge is 0, 1 or 2; mean, variance and third cumulant of it are what is asked for.
    """
    h, k12 = hydrogen, constants.k1 * constants.k2
    inverse, other = 1.0 / _denominator(h, constants), 1.0 / (constants.kb + h)
    double = k12 * inverse
    mean = constants.k1 * h * inverse + 2.0 * double
    square = mean + 2.0 * double
    variance = square - mean * mean
    third = square + 4.0 * double - mean * (square + 2.0 * variance)
    share = constants.kb * other
    borate, hydroxide = constants.boron * share, constants.kw / h
    borate_slope = borate * h * other
    bases = dic * mean + borate + hydroxide
    slope = dic * variance + borate_slope + hydroxide
    return bases, slope, dic * third + borate_slope * (1.0 - 2.0 * share) + hydroxide


def _carbonate_start(dic: Quantity, alkalinity: Quantity, constants: CarbonateConstants) -> Quantity:
    """Hydrogen ion if alkalinity were carbonate alone, kept below what the carbon can hold."""
    held = smooth_minimum(alkalinity, CARBONATE_CEILING_RATIO * dic)
    linear = constants.k1 * (held - dic)
    constant = constants.k1 * constants.k2 * (held - 2.0 * dic)
    root = sqrt(linear * linear - 4.0 * held * constant)
    larger = select(linear, linear, -linear) + root
    return select(linear, -2.0 * constant / larger, larger / (2.0 * held))


def _logarithmic_step(hydrogen: Quantity, alkalinity: Quantity, bases: Quantity, slope: Quantity) -> Quantity:
    """Newton in ln h on ln(bases) - ln(alkalinity + h), a nearly straight line."""
    acids = alkalinity + hydrogen
    return hydrogen * exp(log(bases / acids) * bases * acids / (slope * acids + hydrogen * bases))


def _rational_step(hydrogen: Quantity, alkalinity: Quantity, bases: Quantity, slope: Quantity) -> Quantity:
    """Do the same near the root, where ln(x) = 2 (x - 1)/(x + 1) and e^d = (2 + d)/(2 - d) to third order."""
    acids = alkalinity + hydrogen
    rise = (bases - acids) * bases * acids
    run = (bases + acids) * (slope * acids + hydrogen * bases)
    return hydrogen * (run + rise) / (run - rise)


def _curved_step(
    hydrogen: Quantity, alkalinity: Quantity, bases: Quantity, slope: Quantity, curve: Quantity
) -> Quantity:
    """Halley's step on ln(bases) - ln(alkalinity + h) in ln h, as one fraction.

    ln(b/a) = 2 z (1 + z^2 / 3) with z = (b - a)/(b + a), and e^d = (12 + 6 d + d^2)/(12 - 6 d + d^2), both to
    fifth order.
    """
    acids = alkalinity + hydrogen
    rise, total, both = bases - acids, bases + acids, bases * acids
    squared = total * total
    height, width = 2.0 * rise * (3.0 * squared + rise * rise), 3.0 * total * squared
    fall = slope * acids + hydrogen * bases
    bend = (curve * bases - slope * slope) * acids * acids - hydrogen * alkalinity * bases * bases
    upper, lower = 2.0 * height * fall * both, 2.0 * width * fall * fall - height * bend
    even, odd = 12.0 * lower * lower + upper * upper, 6.0 * lower * upper
    return hydrogen * (even + odd) / (even - odd)
