import pytest

from backreef.models.body_values import body_numbers
from backreef.models.feed_energy import (
    body_fat_g_per_g,
    energy_per_g,
    gross_energy_factors,
    nfe_frac_by_difference,
    table_energy_factors,
)
from backreef.models.mathops import Quantity
from tests.reference.cases import Case, Functions, cases

NUMBERS = body_numbers()
GROSS = gross_energy_factors(NUMBERS)


def gross_energy_kj_per_g(**food: float) -> Quantity:
    return energy_per_g(**food, factors=GROSS)


def gross_energy_of_percents_kj_per_g(protein_pct: float, fat_pct: float, nfe_pct: float) -> Quantity:
    return energy_per_g(protein_pct / 100.0, fat_pct / 100.0, nfe_pct / 100.0, factors=GROSS)


def table_energy_kcal_per_100_g(kind: str, protein_pct: float, fat_pct: float, nfe_pct: float) -> Quantity:
    return energy_per_g(protein_pct, fat_pct, nfe_pct, factors=table_energy_factors(NUMBERS, kind=kind))


def clownfish_fat_g_per_g() -> Quantity:
    return body_fat_g_per_g(NUMBERS["body.energy_kj_per_g"], NUMBERS["body.protein_g_per_g"], factors=GROSS)


FUNCTIONS: Functions = {
    "gross_energy_kj_per_g": gross_energy_kj_per_g,
    "nfe_frac_by_difference": nfe_frac_by_difference,
    "table_energy_kcal_per_100_g": table_energy_kcal_per_100_g,
    "gross_energy_of_percents_kj_per_g": gross_energy_of_percents_kj_per_g,
    "clownfish_fat_g_per_g": clownfish_fat_g_per_g,
    "clownfish_body_energy_kj_per_g": lambda fat_g_per_g: energy_per_g(
        NUMBERS["body.protein_g_per_g"], fat_g_per_g, 0.0, factors=GROSS
    ),
}


@pytest.mark.parametrize("case", cases("feed_energy.toml"))
def test_it_gives_the_published_value(case: Case) -> None:
    case.check(FUNCTIONS)
