import pytest

from backreef.models.ammonia import ammonium_pk, nh3_share
from backreef.models.mathops import Quantity
from backreef.units import molar_mass_g_per_mol
from tests.reference.cases import Case, Functions, cases


def total_ammonia_mg_n_per_l(nh3_mg_per_l: float, **water: float) -> Quantity:
    nitrogen = nh3_mg_per_l * molar_mass_g_per_mol("N") / molar_mass_g_per_mol("NH3")
    return nitrogen / nh3_share(**water)


FUNCTIONS: Functions = {
    "nh3_share": nh3_share,
    "ammonium_pk": ammonium_pk,
    "total_ammonia_mg_n_per_l": total_ammonia_mg_n_per_l,
}


@pytest.mark.parametrize("case", cases("ammonia.toml"))
def test_it_gives_the_published_value(case: Case) -> None:
    case.check(FUNCTIONS)
