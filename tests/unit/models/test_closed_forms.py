import math

import pytest

from backreef.models import closed_forms
from backreef.models.closed_forms import ChangeCycle

CHANGE = {"share_frac": 0.10, "interval_d": 7.0, "new_water": 0.2}


def repeated(removal_per_d: float, cycles: int) -> tuple[ChangeCycle, int]:
    """Play cycles out in small steps; give the last and the number of the first within 5 % of the limit."""
    steps, level, limit = 700, 0.2, closed_forms.water_change_limit(0.25, **CHANGE).before
    step = CHANGE["interval_d"] / steps
    after = before = level
    first_near, total = 0, 0.0
    for count in range(1, cycles + 1):
        after, total = level, 0.0
        for _ in range(steps):
            gain = step * (0.25 - removal_per_d * (level + 0.5 * step * (0.25 - removal_per_d * level)))
            total += step * (level + 0.5 * gain)
            level += gain
        before = level
        level = (1.0 - CHANGE["share_frac"]) * level + CHANGE["share_frac"] * CHANGE["new_water"]
        if not first_near and abs(before - limit) <= 0.05 * (limit - 0.2 - 0.25 * 7.0):
            first_near = count
    return ChangeCycle(before=before, after=after, mean=total / CHANGE["interval_d"]), first_near


def assert_same(found: ChangeCycle, expected: ChangeCycle) -> None:
    for name in ("before", "after", "mean"):
        assert getattr(found, name) == pytest.approx(getattr(expected, name), rel=1e-5)


def test_the_limit_of_water_changes_is_where_playing_them_out_ends() -> None:
    played, _ = repeated(0.0, 300)
    assert_same(closed_forms.water_change_limit(0.25, **CHANGE), played)


def test_the_limit_with_removal_is_where_playing_them_out_ends() -> None:
    played, _ = repeated(0.02, 300)
    assert_same(closed_forms.water_change_limit_with_removal(0.25, **CHANGE, removal_per_d=0.02), played)


def test_it_counts_the_changes_that_are_needed() -> None:
    _, first_near = repeated(0.0, 60)
    needed = math.ceil(closed_forms.changes_until_within(0.05, share_frac=0.10))
    assert needed == 29
    # The first of the cycles played out has had no change before it.
    assert first_near == needed + 1


def test_a_weak_removal_hardly_changes_the_limit() -> None:
    without = closed_forms.water_change_limit(0.25, **CHANGE)
    nearly = closed_forms.water_change_limit_with_removal(0.25, **CHANGE, removal_per_d=1e-7)
    for name in ("before", "after", "mean"):
        assert getattr(nearly, name) == pytest.approx(getattr(without, name), rel=1e-4)


def test_oxygen_in_an_outage_falls_as_stepping_it_says() -> None:
    level = closed_forms.outage_level_mg_per_l(6.7, 80.0, transfer_l_per_h=5.0)
    oxygen, hours, step = 6.4, 0.0, 1e-3
    while oxygen > 2.0:
        oxygen += step * (5.0 * (6.7 - oxygen) - 80.0) / 200.0
        hours += step
    found = closed_forms.outage_hours(
        2.0, start_mg_per_l=6.4, level_mg_per_l=level, transfer_l_per_h=5.0, volume_l=200.0
    )
    assert found == pytest.approx(hours, rel=1e-3)


def test_a_good_surface_holds_oxygen_above_the_critical_value() -> None:
    assert closed_forms.outage_level_mg_per_l(6.7, 80.0, transfer_l_per_h=20.0) > 2.0


def test_sorbents_hold_nothing_without_phosphate() -> None:
    tiny = closed_forms.iron_oxide_load_mmol_p(1e-15, adsorbent_g=50.0, capacity_mmol_p_per_g=0.481)
    rock = closed_forms.carbonate_load_mmol_p(
        0.0, carbonate_kg=25.0, capacity_mmol_p_per_kg=1.5, half_umol_p_per_l=5.0
    )
    assert tiny < 1e-3
    assert rock == 0.0


def test_25_kg_of_rock_hold_far_more_than_200_litres_of_water() -> None:
    rock = closed_forms.carbonate_load_mmol_p(
        1.0, carbonate_kg=25.0, capacity_mmol_p_per_kg=1.5, half_umol_p_per_l=5.0
    )
    assert rock > 30.0 * 0.2
