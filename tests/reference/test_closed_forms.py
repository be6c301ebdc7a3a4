import pytest

from backreef.models import closed_forms
from backreef.models.closed_forms import ChangeCycle
from backreef.models.mathops import Quantity
from backreef.units import molar_mass_g_per_mol
from tests.reference.cases import Case, Functions, cases


def cycle(source_per_d: float, **change: float) -> ChangeCycle:
    if "removal_per_d" in change:
        return closed_forms.water_change_limit_with_removal(source_per_d, **change)
    return closed_forms.water_change_limit(source_per_d, **change)


def outage_hours(
    critical_mg_per_l: float, saturation_mg_per_l: float, use_mg_per_h: float, **tank: float
) -> Quantity:
    level = closed_forms.outage_level_mg_per_l(
        saturation_mg_per_l, use_mg_per_h, transfer_l_per_h=tank["transfer_l_per_h"]
    )
    return closed_forms.outage_hours(critical_mg_per_l, level_mg_per_l=level, **tank)


def iron_oxide_mg_p(phosphate_mg_p_per_l: float, **adsorbent: float) -> Quantity:
    load = closed_forms.iron_oxide_load_mmol_p(phosphate_mg_p_per_l, **adsorbent)
    return load * molar_mass_g_per_mol("P")


FUNCTIONS: Functions = {
    "change_before": lambda **given: cycle(**given).before,
    "change_after": lambda **given: cycle(**given).after,
    "change_mean": lambda **given: cycle(**given).mean,
    "changes_until_within": closed_forms.changes_until_within,
    "gas_transfer_per_h": closed_forms.gas_transfer_per_h,
    "half_time_h": closed_forms.half_time_h,
    "outage_hours": outage_hours,
    "outage_hours_without_surface": closed_forms.outage_hours_without_surface,
    "outage_level_mg_per_l": closed_forms.outage_level_mg_per_l,
    "iron_oxide_mg_p": iron_oxide_mg_p,
    "iron_oxide_mg_p_per_g": lambda **given: iron_oxide_mg_p(adsorbent_g=1.0, **given),
    "carbonate_load_mmol_p": closed_forms.carbonate_load_mmol_p,
}


@pytest.mark.parametrize("case", cases("closed_forms.toml"))
def test_it_gives_the_exact_answer(case: Case) -> None:
    case.check(FUNCTIONS)
