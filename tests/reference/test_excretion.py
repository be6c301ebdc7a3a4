from collections.abc import Callable

import numpy as np
import pytest

from backreef.models import excretion, invertebrates
from backreef.models.body_values import body_numbers
from backreef.models.mathops import Quantity
from backreef.models.metabolism import temperature_factor
from tests.reference.cases import Case, Functions, cases

NUMBERS = body_numbers()
COURSE = {
    "peak_h": NUMBERS["excretion.meal_peak_h"],
    "peak_ratio": NUMBERS["excretion.meal_peak_ratio"],
}
PROTEIN_NITROGEN = 1.0 / NUMBERS["protein_per_nitrogen.feed_ratio"]


def ammonia_balance_over_factor(
    feed_g_per_d: float, protein_frac: float, retained_frac: float, ammonia_frac: float
) -> Quantity:
    eaten = feed_g_per_d * protein_frac * PROTEIN_NITROGEN
    dissolved = excretion.dissolved_output(
        eaten, retained_frac * eaten, digested_frac=NUMBERS["digestibility.protein_frac"]
    )
    fixed = excretion.ammonia_from_feed_g_n_per_d(
        feed_g_per_d,
        protein_frac,
        ammonia_per_protein_ratio=NUMBERS["excretion.ammonia_per_protein_ratio"],
    )
    return ammonia_frac * dissolved / fixed


def starved_ammonia_mg_n_per_100_g_per_h(mass_g: float, temperature_c: float) -> Quantity:
    body_nitrogen_mg = 1000.0 * mass_g * NUMBERS["body.protein_g_per_g"] * PROTEIN_NITROGEN
    cold = temperature_factor(
        temperature_c,
        reference_c=27.0,
        activation_energy_ev=NUMBERS["family_line_common.activation_energy_ev"],
    )
    lost = body_nitrogen_mg * NUMBERS["body.basal_nitrogen_loss_frac_per_d"] * cold
    return NUMBERS["excretion.ammonia_frac"] * lost / 24.0 * 100.0 / mass_g


def peak_hour() -> float:
    hours = np.linspace(0.0, 24.0, 2401)
    return float(hours[np.argmax(excretion.post_meal_ratio(hours, **COURSE))])


def with_numbers(function: Callable[..., Quantity]) -> Callable[..., Quantity]:
    return lambda **given: function(**given, numbers=NUMBERS)


FUNCTIONS: Functions = {
    "nitrogen_without_vertebrate_term": excretion.nitrogen_mg_n_per_d_vanni2016,
    "nitrogen_with_vertebrate_term": lambda **given: excretion.nitrogen_mg_n_per_d_vanni2016(
        **given, vertebrate_term=excretion.VERTEBRATE_TERM_N
    ),
    "phosphorus_without_vertebrate_term": excretion.phosphorus_mg_p_per_d_vanni2016,
    "family_nitrogen_mg_n_per_d": with_numbers(excretion.family_nitrogen_mg_n_per_d),
    "ammonia_from_feed_g_n_per_d": lambda **given: excretion.ammonia_from_feed_g_n_per_d(
        **given, ammonia_per_protein_ratio=NUMBERS["excretion.ammonia_per_protein_ratio"]
    ),
    "ammonia_balance_over_factor": ammonia_balance_over_factor,
    "retention_ratio": excretion.retention_ratio,
    "peak_hour": peak_hour,
    "peak_over_starved": lambda: excretion.post_meal_ratio(peak_hour(), **COURSE),
    "ammonia_share_of_ammonia_and_urea": lambda: (
        NUMBERS["excretion.ammonia_frac"]
        / (NUMBERS["excretion.ammonia_frac"] + NUMBERS["excretion.urea_frac"])
    ),
    "starved_ammonia_mg_n_per_100_g_per_h": starved_ammonia_mg_n_per_100_g_per_h,
    "snail_ingestion_mg_dry_per_d": with_numbers(invertebrates.snail_ingestion_mg_dry_per_d),
    "snail_ammonia_mg_n_per_d": with_numbers(invertebrates.snail_ammonia_mg_n_per_d),
    "snail_oxygen_mg_o2_per_d": with_numbers(invertebrates.snail_oxygen_mg_o2_per_d),
    "cucumber_oxygen_mg_o2_per_d": with_numbers(invertebrates.cucumber_oxygen_mg_o2_per_d),
    "cucumber_ammonia_line_mg_n_per_d": with_numbers(invertebrates.cucumber_ammonia_line_mg_n_per_d),
}


@pytest.mark.parametrize("case", cases("excretion.toml"))
def test_it_gives_the_published_value(case: Case) -> None:
    case.check(FUNCTIONS)
