"""How long and heavy an animal gets: growth in length, mass from length, and growth that food allows."""

from __future__ import annotations

from dataclasses import dataclass

from backreef.models.body_values import Numbers, number
from backreef.models.mathops import Quantity, exp, power, ramp, smooth_minimum
from backreef.units import DAYS_PER_YEAR

RAMP_SHARE = 1e-3
"""Width of the smooth end of growth, as a share of the largest length. A numerical choice. [-]"""
SHAPES = ("eel_like", "elongated", "fusiform", "short_deep", "globular")


@dataclass(frozen=True, slots=True, kw_only=True)
class MassLine:
    """Wet mass in grams is `a_g` times length in cm to the power `b_ratio`."""

    a_g: Quantity
    b_ratio: Quantity


def length_after_cm(
    length_cm: Quantity, *, days: Quantity, largest_cm: Quantity, kmax_per_y: Quantity
) -> Quantity:
    """Length after some days of unhindered growth towards the largest length. [cm]

    Validity
    --------
    Warm sea water, food in plenty; length up to the largest.

    Source
    ------
    Von Bertalanffy form with the largest length of the species as its asymptote: Morais & Bellwood 2018,
    Fish and Fisheries 19:874-889.
    """
    return largest_cm - (largest_cm - length_cm) * exp(-kmax_per_y * days / DAYS_PER_YEAR)


def length_at_age_cm(
    age_y: Quantity, *, asymptotic_cm: Quantity, k_per_y: Quantity, zero_age_y: Quantity
) -> Quantity:
    """Length at an age on a population's own growth curve. [cm]

    Validity
    --------
    The ages the curve was fitted to.

    Source
    ------
    Von Bertalanffy growth function.
    """
    return asymptotic_cm * (1.0 - exp(-k_per_y * (age_y - zero_age_y)))


def kmax_per_y(k_per_y: Quantity, *, asymptotic_cm: Quantity, largest_cm: Quantity) -> Quantity:
    """Growth coefficient towards the species' largest length, from a population's own curve. [1/y]

    Validity
    --------
    Asymptotic length within 0.5 to 1.3 of the largest.

    Source
    ------
    Morais & Bellwood 2018, Fish and Fisheries 19:874-889: K (Linf/Lmax)^2.29 over 1349 populations.
    """
    return k_per_y * power(asymptotic_cm / largest_cm, 2.29)


def wet_mass_g(length_cm: Quantity, line: MassLine) -> Quantity:
    """Wet mass of a fish of this length. [g]

    Validity
    --------
    Length of the kind the line was made for, total length unless it says otherwise. A species' own line is
    good to about 30 %, a body-shape line to a factor of 2.

    Source
    ------
    Allometric form; Froese, Thorson & Reyes 2014, J Appl Ichthyol 30:78-85.
    """
    return line.a_g * power(length_cm, line.b_ratio)


def length_cm_of_mass(mass_g: Quantity, line: MassLine) -> Quantity:
    """Length of a fish of this wet mass in ordinary condition. [cm]

    Validity
    --------
    As `wet_mass_g`.

    Source
    ------
    Inverse of `wet_mass_g`.
    """
    return power(mass_g / line.a_g, 1.0 / line.b_ratio)


def shape_mass_line(numbers: Numbers, *, shape: str) -> MassLine:
    """Give the line of a body shape, for species without one of their own.

    Validity
    --------
    Total length; `low` and `high` of the values span a factor of about 2 either way.

    Source
    ------
    Froese, Thorson & Reyes 2014 (`body_shape` in `data/bodies.toml`).
    """
    return MassLine(
        a_g=number(numbers, f"body_shape.{shape}.a_g"), b_ratio=number(numbers, f"body_shape.{shape}.b_ratio")
    )


def potential_growth_g_per_d(
    mass_g: Quantity, *, line: MassLine, largest_cm: Quantity, kmax_per_y: Quantity
) -> Quantity:
    """Wet mass a fish gains in a day when food does not limit; 0 from its largest length on. [g/d]

    Validity
    --------
    As `length_after_cm`. Ends smoothly over the last thousandth of the largest length.

    Source
    ------
    Derivative of `wet_mass_g` along `length_after_cm`.
    """
    length = length_cm_of_mass(mass_g, line)
    missing = ramp(largest_cm - length, RAMP_SHARE * largest_cm)
    return line.b_ratio * mass_g * kmax_per_y / DAYS_PER_YEAR * missing / length


def fed_growth_g_per_d(
    potential_g_per_d: Quantity, surplus_j_per_d: Quantity, *, gain_kj_per_g: Quantity
) -> Quantity:
    """Growth that both the animal's pattern and its food allow. [g/d]

    Validity
    --------
    Both arguments 0 or more; `surplus` is gross energy eaten above maintenance.

    Source
    ------
    Cost of gain: Lupatsch et al. 2013 for a clownfish (35.7 kJ of feed per gram); smooth minimum is ours
    and lies up to 3 % below the lesser of the two.
    """
    return smooth_minimum(potential_g_per_d, surplus_j_per_d / (1000.0 * gain_kj_per_g))
