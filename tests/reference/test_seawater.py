import pytest

from backreef.models import seawater
from tests.reference.cases import Case, Functions, cases

FUNCTIONS: Functions = {
    name: getattr(seawater, name)
    for name in (
        "oxygen_solubility_umol_per_kg",
        "oxygen_saturation_mg_per_l",
        "density_kg_per_m3",
        "heat_capacity_kj_per_kg_per_k",
    )
}


@pytest.mark.parametrize("case", cases("seawater.toml"))
def test_it_gives_the_published_value(case: Case) -> None:
    case.check(FUNCTIONS)
