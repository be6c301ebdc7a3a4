import pytest

from backreef.models import growth
from tests.reference.cases import Case, Functions, cases

FUNCTIONS: Functions = {
    "wet_mass_g": lambda length_cm, **line: growth.wet_mass_g(length_cm, growth.MassLine(**line)),
    "length_after_cm": growth.length_after_cm,
    "kmax_per_y": growth.kmax_per_y,
}


@pytest.mark.parametrize("case", cases("growth.toml"))
def test_it_gives_the_published_value(case: Case) -> None:
    case.check(FUNCTIONS)
