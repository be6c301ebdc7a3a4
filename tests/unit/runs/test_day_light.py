import pytest

from backreef.simulation.day_light import DayLight, day_light
from tests.unit.runs.world import a_plan

LIT = DayLight(on_at_h=10.0, full_from_h=11.0, full_until_h=19.0, off_at_h=20.0, refugium=(20.0, 12.0))


@pytest.mark.parametrize(
    ("hour", "share"),
    [(9.9, 0.0), (10.0, 0.0), (10.5, 0.5), (11.0, 1.0), (15.0, 1.0), (19.25, 0.75), (20.0, 0.0), (23.0, 0.0)],
)
def test_the_display_has_a_dawn_and_a_dusk(hour: float, share: float) -> None:
    assert LIT.display_frac(hour) == pytest.approx(share)


def test_a_day_may_run_past_midnight() -> None:
    late = DayLight(on_at_h=18.0, full_from_h=19.0, full_until_h=25.0, off_at_h=26.0, refugium=None)
    assert late.display_frac(0.5) == 1.0
    assert late.display_frac(1.5) == pytest.approx(0.5)
    assert late.display_frac(3.0) == 0.0
    assert late.corners == [18.0, 19.0, 1.0, 2.0]


def test_the_refugium_is_lit_by_night() -> None:
    assert [LIT.refugium_frac(hour) for hour in (19.9, 20.0, 23.0, 1.0, 7.9, 8.0)] == [0, 1, 1, 1, 1, 0]
    assert LIT.corners[-2:] == [20.0, 8.0]


def test_a_tank_without_a_refugium_has_none() -> None:
    dark = day_light(a_plan())
    assert dark.refugium is None
    assert dark.refugium_frac(12.0) == 0.0
    assert len(dark.corners) == 4


def test_it_reads_the_plan() -> None:
    lit = day_light(a_plan('[[devices]]\nkind = "refugium"\non_at = "21:00"\nhours = "10 h"\n'))
    assert lit.refugium == (21.0, 10.0)
    plan = a_plan()
    assert lit.on_at_h == plan.tank.light_on_at
    assert lit.off_at_h - lit.on_at_h == pytest.approx(plan.tank.light_hours_h)


def test_a_light_without_a_ramp_jumps() -> None:
    hard = DayLight(on_at_h=10.0, full_from_h=10.0, full_until_h=20.0, off_at_h=20.0, refugium=None)
    assert [hard.display_frac(hour) for hour in (9.99, 10.0, 20.0, 20.01)] == [0.0, 1.0, 1.0, 0.0]
