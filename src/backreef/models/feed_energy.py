"""Energy of food from what a label says, and what animals get of it."""

from __future__ import annotations

from dataclasses import dataclass

from backreef.models.body_values import Numbers, number
from backreef.models.mathops import Quantity


@dataclass(frozen=True, slots=True, kw_only=True)
class EnergyFactors:
    """Energy per gram of protein, lipid and carbohydrate, all in one unit."""

    protein: Quantity
    lipid: Quantity
    carbohydrate: Quantity


def gross_energy_factors(numbers: Numbers) -> EnergyFactors:
    """Give the heats of combustion per gram. [kJ/g]

    Validity
    --------
    Foods for fish; within 1 to 4 % of bomb calorimetry on diets whose full composition is known.

    Source
    ------
    NRC 2011 convention (`food_energy` in `data/bodies.toml`).
    """
    return EnergyFactors(
        protein=number(numbers, "food_energy.protein_kj_per_g"),
        lipid=number(numbers, "food_energy.lipid_kj_per_g"),
        carbohydrate=number(numbers, "food_energy.carbohydrate_kj_per_g"),
    )


def table_energy_factors(numbers: Numbers, *, kind: str) -> EnergyFactors:
    """Give the factors behind food tables made for people; `kind` is seafood or seaweed. [kcal/g]

    Validity
    --------
    To recognise what a table holds; it is people's usable energy, not a fish's. Fish roe does not follow it.

    Source
    ------
    USDA National Nutrient Database SR, factors recomputed from its rows (`table_energy` in
    `data/bodies.toml`).
    """
    return EnergyFactors(
        protein=number(numbers, f"table_energy.{kind}_protein_kcal_per_g"),
        lipid=number(numbers, f"table_energy.{kind}_lipid_kcal_per_g"),
        carbohydrate=number(numbers, f"table_energy.{kind}_carbohydrate_kcal_per_g"),
    )


def energy_per_g(
    protein_frac: Quantity, fat_frac: Quantity, nfe_frac: Quantity, *, factors: EnergyFactors
) -> Quantity:
    """Energy of a gram of food from its proximate composition. [unit of the factors]

    Validity
    --------
    Fractions of the same gram (as fed or dry). Nitrogen-free extract is what is left after protein, fat, ash,
    water and, where given, fibre.

    Source
    ------
    Sum of heats; see the factors.
    """
    return protein_frac * factors.protein + fat_frac * factors.lipid + nfe_frac * factors.carbohydrate


def nfe_frac_by_difference(
    protein_frac: Quantity, fat_frac: Quantity, ash_frac: Quantity, *, moisture_frac: Quantity
) -> Quantity:
    """Nitrogen-free extract: what a label leaves over, mostly carbohydrate. [-]

    Validity
    --------
    The errors of the other four add up in it; a negative result means that the label contradicts itself.

    Source
    ------
    Convention of feed analysis.
    """
    return 1.0 - protein_frac - fat_frac - ash_frac - moisture_frac


def nitrogen_frac_of_protein(protein_frac: Quantity, *, protein_per_nitrogen_ratio: Quantity) -> Quantity:
    """Nitrogen in a gram of food, from its crude protein. [g N/g]

    Validity
    --------
    6.25 for feeds undoes how crude protein was measured; seaweed protein is nearer 4.9 times its nitrogen.

    Source
    ------
    Convention of feed analysis (`protein_per_nitrogen` in `data/bodies.toml`).
    """
    return protein_frac / protein_per_nitrogen_ratio


def digestible_energy_kj_per_g(
    protein_frac: Quantity,
    fat_frac: Quantity,
    nfe_frac: Quantity,
    *,
    factors: EnergyFactors,
    digested_frac: EnergyFactors,
) -> Quantity:
    """Energy of a gram of food that a fish takes up. [kJ/g]

    Validity
    --------
    `digested_frac` holds fractions, not energies; those of `digestibility` suit marine carnivores on dry
    feed.

    Source
    ------
    Own sum; digestibilities after Lupatsch et al. 1997.
    """
    return (
        protein_frac * factors.protein * digested_frac.protein
        + fat_frac * factors.lipid * digested_frac.lipid
        + nfe_frac * factors.carbohydrate * digested_frac.carbohydrate
    )


def digested_fractions(numbers: Numbers) -> EnergyFactors:
    """Give the digested share of protein, lipid and carbohydrate. [-]

    Validity
    --------
    Marine carnivores and omnivores on prepared food.

    Source
    ------
    `digestibility` in `data/bodies.toml`.
    """
    return EnergyFactors(
        protein=number(numbers, "digestibility.protein_frac"),
        lipid=number(numbers, "digestibility.lipid_frac"),
        carbohydrate=number(numbers, "digestibility.carbohydrate_frac"),
    )


def body_fat_g_per_g(
    energy_kj_per_g: Quantity, protein_g_per_g: Quantity, *, factors: EnergyFactors
) -> Quantity:
    """Fat of a wet gram of body whose energy and protein are known. [g/g]

    Validity
    --------
    Bodies without much glycogen, as fish are.

    Source
    ------
    What protein leaves of the energy, divided by the heat of fat.
    """
    return (energy_kj_per_g - protein_g_per_g * factors.protein) / factors.lipid
