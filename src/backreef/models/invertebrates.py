"""Feeding, oxygen and ammonia of animals without a backbone, from two that were measured in warm water."""

from __future__ import annotations

from backreef.models.body_values import Numbers, number
from backreef.models.mathops import Quantity, minimum, power
from backreef.units import atomic_mass_g_per_mol

OXYGEN_MG_PER_ML = 1.429
"""Density of oxygen gas at 0 degC and one atmosphere. [mg/mL]"""


def snail_ingestion_mg_dry_per_d(dry_mass_g: Quantity, numbers: Numbers) -> Quantity:
    """Dry food a grazing snail eats in a day. [mg/d]

    Validity
    --------
    0.01 to 12 g of dry soft tissue, food in plenty; a large topshell stands in for all grazing snails.

    Source
    ------
    Velasco, Carreno-Aguirre & Toro 2019 (`grazing_snail` in `data/bodies.toml`).
    """
    return 24.0 * _snail(dry_mass_g, numbers, "ingestion", "mg_per_h")


def snail_egestion_mg_dry_per_d(dry_mass_g: Quantity, numbers: Numbers) -> Quantity:
    """Dry faeces of a grazing snail in a day. [mg/d]

    Validity
    --------
    As `snail_ingestion_mg_dry_per_d`.

    Source
    ------
    As `snail_ingestion_mg_dry_per_d`.
    """
    return 24.0 * _snail(dry_mass_g, numbers, "egestion", "mg_per_h")


def snail_ammonia_mg_n_per_d(dry_mass_g: Quantity, numbers: Numbers) -> Quantity:
    """Ammonia nitrogen a grazing snail gives off in a day. [mg N/d]

    Validity
    --------
    As `snail_ingestion_mg_dry_per_d`.

    Source
    ------
    As `snail_ingestion_mg_dry_per_d`.
    """
    return 24.0 / 1000.0 * _snail(dry_mass_g, numbers, "ammonia", "ug_n_per_h")


def snail_oxygen_mg_o2_per_d(dry_mass_g: Quantity, numbers: Numbers) -> Quantity:
    """Oxygen a grazing snail takes up in a day. [mg O2/d]

    Validity
    --------
    As `snail_ingestion_mg_dry_per_d`.

    Source
    ------
    As `snail_ingestion_mg_dry_per_d`; mL of gas at 0 degC.
    """
    return 24.0 * OXYGEN_MG_PER_ML * _snail(dry_mass_g, numbers, "oxygen", "ml_per_h")


def cucumber_oxygen_mg_o2_per_d(mass_g: Quantity, numbers: Numbers) -> Quantity:
    """Oxygen a sea cucumber takes up in a day. [mg O2/d]

    Validity
    --------
    Young Holothuria scabra, 1 to 100 g wet.

    Source
    ------
    Kodama et al. 2015 (`sea_cucumber` in `data/bodies.toml`).
    """
    per_g = number(numbers, "sea_cucumber.oxygen_mg_per_g_per_h")
    return 24.0 * per_g * power(mass_g, 1.0 + number(numbers, "sea_cucumber.oxygen_exponent"))


def cucumber_ammonia_mg_n_per_d(mass_g: Quantity, numbers: Numbers) -> Quantity:
    """Ammonia nitrogen a sea cucumber gives off in a day, no more than its oxygen can account for. [mg N/d]

    Validity
    --------
    The published line as it stands up to about 5 g; above, it would mean more nitrogen than pure protein
    fuel gives, so nitrogen is held to one atom in `excretion.least_oxygen_per_nitrogen_ratio` atoms of
    oxygen.

    Source
    ------
    Kodama et al. 2015; the ceiling is own (`sea_cucumber` and `excretion` in `data/bodies.toml`).
    """
    mass = atomic_mass_g_per_mol()
    oxygen_mmol = 2.0 * cucumber_oxygen_mg_o2_per_d(mass_g, numbers) / (2.0 * mass["O"])
    ceiling = oxygen_mmol / number(numbers, "excretion.least_oxygen_per_nitrogen_ratio")
    return minimum(cucumber_ammonia_line_mg_n_per_d(mass_g, numbers), ceiling * mass["N"])


def cucumber_ammonia_line_mg_n_per_d(mass_g: Quantity, numbers: Numbers) -> Quantity:
    """Ammonia nitrogen of a sea cucumber on the published line. [mg N/d]

    Validity
    --------
    1 to 5 g wet; beyond, see `cucumber_ammonia_mg_n_per_d`.

    Source
    ------
    Kodama et al. 2015 (`sea_cucumber` in `data/bodies.toml`).
    """
    per_g = number(numbers, "sea_cucumber.ammonia_umol_n_per_g_per_h")
    exponent = 1.0 + number(numbers, "sea_cucumber.ammonia_exponent")
    return 24.0 / 1000.0 * per_g * power(mass_g, exponent) * atomic_mass_g_per_mol()["N"]


def _snail(dry_mass_g: Quantity, numbers: Numbers, rate: str, unit: str) -> Quantity:
    """One line of the snail's budget, in the unit of the source."""
    at_1_g = number(numbers, f"grazing_snail.{rate}_{unit}")
    return at_1_g * power(dry_mass_g, number(numbers, f"grazing_snail.{rate}_exponent"))
