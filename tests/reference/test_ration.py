import pytest

from backreef.models import ration
from backreef.models.body_values import body_numbers
from backreef.models.mathops import Quantity
from backreef.models.metabolism import PowerLine, rate_of_line, resting_energy_j_per_d
from tests.reference.cases import Case, Functions, cases

NUMBERS = body_numbers()


def clownfish_full_feed_j_per_d(mass_g: float) -> Quantity:
    return ration.full_feed_j_per_d(
        ration.scaled_need(mass_g, ration.clownfish_energy(NUMBERS)),
        ration.clownfish_gain_mg_per_d(mass_g, NUMBERS),
        gain_kj_per_g=NUMBERS["clownfish.gain_kj_per_g"],
    )


def clownfish_full_feed_pct_per_d(mass_g: float, feed_kj_per_g: float) -> Quantity:
    return 100.0 * clownfish_full_feed_j_per_d(mass_g) / (1000.0 * feed_kj_per_g * mass_g)


def fasting_days_on_small_line(mass_g: float, activity_ratio: float, **fasting: float) -> Quantity:
    line = PowerLine(
        at_1_g=NUMBERS["oxygen_line.at_1_g_mg_o2_per_d"],
        mass_exponent=NUMBERS["oxygen_line.mass_exponent"],
        activation_energy_ev=NUMBERS["oxygen_line.activation_energy_ev"],
    )
    routine = activity_ratio * resting_energy_j_per_d(
        rate_of_line(mass_g, 26.0, line), oxycalorific_kj_per_g_o2=NUMBERS["day.oxycalorific_kj_per_g_o2"]
    )
    return ration.fasting_days(mass_g, routine, lost_frac=NUMBERS["fasting.lost_frac"], **fasting)


FUNCTIONS: Functions = {
    "clownfish_energy_j_per_d": lambda mass_g: ration.scaled_need(mass_g, ration.clownfish_energy(NUMBERS)),
    "clownfish_protein_mg_per_d": lambda mass_g: ration.scaled_need(
        mass_g, ration.clownfish_protein(NUMBERS)
    ),
    "clownfish_gain_mg_per_d": lambda mass_g: ration.clownfish_gain_mg_per_d(mass_g, NUMBERS),
    "clownfish_full_feed_j_per_d": clownfish_full_feed_j_per_d,
    "clownfish_full_feed_pct_per_d": clownfish_full_feed_pct_per_d,
    "seabream_need": lambda need, mass_g: ration.scaled_need(mass_g, ration.seabream_needs(NUMBERS)[need]),
    "food_per_biomass_per_y_palomares1998": ration.food_per_biomass_per_y_palomares1998,
    "snook_ration_pct_per_d": lambda mass_g: ration.snook_ration_pct_per_d(mass_g, NUMBERS),
    "gut_emptying_h": lambda meals_per_d: ration.gut_emptying_h(meals_per_d, NUMBERS),
    "fasting_days_on_small_line": fasting_days_on_small_line,
}


@pytest.mark.parametrize("case", cases("ration.toml"))
def test_it_gives_the_published_value(case: Case) -> None:
    case.check(FUNCTIONS)
