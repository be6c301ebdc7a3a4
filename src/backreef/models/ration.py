"""How much and how often animals need to eat, from the few trials that apply; how long they go without."""

from __future__ import annotations

from dataclasses import dataclass

from backreef.models.body_values import Numbers, number
from backreef.models.constants import KELVIN_AT_0_C, LN_10
from backreef.models.mathops import Quantity, exp, log, power, select


@dataclass(frozen=True, slots=True, kw_only=True)
class ScaledNeed:
    """A need per day: `per_kg` times the mass in kilograms to the power `exponent`."""

    per_kg: Quantity
    exponent: Quantity


def scaled_need(mass_g: Quantity, need: ScaledNeed) -> Quantity:
    """Daily need of one fish. [unit of `per_kg`]

    Validity
    --------
    The sizes and temperature of the trial behind the need.

    Source
    ------
    Metabolic body mass, as in Lupatsch et al. 1998 and 2013.
    """
    return need.per_kg * power(mass_g / 1000.0, need.exponent)


def clownfish_energy(numbers: Numbers) -> ScaledNeed:
    """Give the gross feed energy that keeps a clownfish at its mass [J/d].

    Validity
    --------
    0.2 to 5 g, 27 degC; the only such trial on a reef fish that was found.

    Source
    ------
    Lupatsch et al. 2013 (`clownfish` in `data/bodies.toml`).
    """
    return ScaledNeed(
        per_kg=1000.0 * number(numbers, "clownfish.maintenance_kj_per_kg_per_d"),
        exponent=number(numbers, "clownfish.energy_exponent"),
    )


def clownfish_protein(numbers: Numbers) -> ScaledNeed:
    """Give the crude protein that keeps a clownfish at its mass [mg/d].

    Validity
    --------
    As `clownfish_energy`.

    Source
    ------
    Lupatsch et al. 2013 (`clownfish` in `data/bodies.toml`).
    """
    return ScaledNeed(
        per_kg=1000.0 * number(numbers, "clownfish.maintenance_g_protein_per_kg_per_d"),
        exponent=number(numbers, "clownfish.protein_exponent"),
    )


def clownfish_gain_mg_per_d(mass_g: Quantity, numbers: Numbers) -> Quantity:
    """Growth of a clownfish fed as much as it wants. [mg/d]

    Validity
    --------
    0.2 to 5 g, 27 degC.

    Source
    ------
    Lupatsch et al. 2013 (`clownfish` in `data/bodies.toml`).
    """
    return number(numbers, "clownfish.gain_at_1_g_mg_per_d") * power(
        mass_g, number(numbers, "clownfish.gain_exponent")
    )


def full_feed_j_per_d(
    maintenance_j_per_d: Quantity, gain_mg_per_d: Quantity, *, gain_kj_per_g: Quantity
) -> Quantity:
    """Gross feed energy for maintenance and growth together. [J/d]

    Validity
    --------
    Gain 0 or more; kJ/g equals J/mg.

    Source
    ------
    Factorial method, Lupatsch et al. 2013.
    """
    return maintenance_j_per_d + gain_kj_per_g * gain_mg_per_d


def seabream_needs(numbers: Numbers) -> dict[str, ScaledNeed]:
    """Give fasting loss and maintenance of seabream in energy [kJ/d] and protein [g/d].

    Validity
    --------
    Cross-check only: Sparus aurata of 1 to 250 g at 23 to 24 degC; maintenance is of digestible energy and
    protein.

    Source
    ------
    Lupatsch et al. 1998 (`seabream` in `data/bodies.toml`).
    """
    energy = number(numbers, "seabream.energy_exponent")
    protein = number(numbers, "seabream.protein_exponent")
    return {
        "fasting_energy": ScaledNeed(
            per_kg=number(numbers, "seabream.fasting_kj_per_kg_per_d"), exponent=energy
        ),
        "maintenance_energy": ScaledNeed(
            per_kg=number(numbers, "seabream.maintenance_kj_per_kg_per_d"), exponent=energy
        ),
        "fasting_protein": ScaledNeed(
            per_kg=number(numbers, "seabream.fasting_g_protein_per_kg_per_d"), exponent=protein
        ),
        "maintenance_protein": ScaledNeed(
            per_kg=number(numbers, "seabream.maintenance_g_protein_per_kg_per_d"), exponent=protein
        ),
    }


def fasting_days(
    mass_g: Quantity,
    routine_energy_j_per_d: Quantity,
    *,
    body_energy_kj_per_g: Quantity,
    lost_frac: Quantity,
    rate_ratio: Quantity,
) -> Quantity:
    """Days without food until a share of the body's energy is spent. [d]

    `routine_energy_j_per_d` includes activity; `rate_ratio` is 1 for a fish that goes on as before and 0.75
    for one that quietens down. Rules about absences take the low bound, with 1.

    Validity
    --------
    An estimate for small reef fish; no measurement was found for any of them.

    Source
    ------
    Own arithmetic on Barneche et al. 2014 (oxygen uptake) and Lupatsch et al. 2013 (body energy).
    """
    return lost_frac * body_energy_kj_per_g * 1000.0 * mass_g / (rate_ratio * routine_energy_j_per_d)


def food_per_biomass_per_y_palomares1998(
    largest_mass_g: Quantity,
    temperature_c: Quantity,
    *,
    aspect_ratio: Quantity,
    herbivore: Quantity,
    detritivore: Quantity,
) -> Quantity:
    """Wet food eaten by a population in a year over its mass. [1/y]

    Validity
    --------
    Cross-check only: wild populations in balance with their food; `herbivore` and `detritivore` are 1 or 0.

    Source
    ------
    Palomares & Pauly 1998, Mar Freshw Res 49:447-453 (form as used in public research code).
    """
    kelvin = temperature_c + KELVIN_AT_0_C
    exponent = 7.964 - 1965.0 / kelvin + 0.083 * aspect_ratio + 0.532 * herbivore + 0.398 * detritivore
    return exp(LN_10 * exponent - 0.204 * log(largest_mass_g))


def snook_ration_pct_per_d(mass_g: Quantity, numbers: Numbers) -> Quantity:
    """Best ration of a young snook in percent of its mass. [%/d]

    Validity
    --------
    1 to 16 g; a power line through the two ends that were published.

    Source
    ------
    Oliveira et al. 2019 (`snook_ration` in `data/bodies.toml`).
    """
    small = number(numbers, "snook_ration.at_1_g_pct_per_d")
    exponent = log(number(numbers, "snook_ration.at_16_g_pct_per_d") / small) / log(16.0)
    return small * power(mass_g, exponent)


def gut_emptying_h(meals_per_d: Quantity, numbers: Numbers) -> Quantity:
    """Hours until the gut is empty again after a meal, for a day split into this many meals. [h]

    Validity
    --------
    1 to 3 meals of a young snook, straight lines between; more meals are taken like 3.

    Source
    ------
    Garcia-Galano et al. 2003 (`gut` in `data/bodies.toml`).
    """
    one = number(numbers, "gut.emptying_one_meal_h")
    two = number(numbers, "gut.emptying_two_meals_h")
    three = number(numbers, "gut.emptying_three_meals_h")
    rest = select(meals_per_d - 3.0, three, two + (three - two) * (meals_per_d - 2.0))
    return select(meals_per_d - 2.0, rest, one + (two - one) * (meals_per_d - 1.0))
