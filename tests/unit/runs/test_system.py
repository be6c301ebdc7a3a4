from dataclasses import replace

import pytest

from backreef.schedule.upkeep import reservoir_l
from backreef.simulation.layout import SYSTEM
from backreef.simulation.system import (
    LEAST_AREA_M2,
    PLUMBED_L,
    anoxic_frac,
    coral_area_m2,
    drifts,
    refugium_of,
    sand_frac,
    skimmer_size,
    surface_m2,
    system_ranges,
    tidy_algae_mmol,
    top_offs,
)
from backreef.simulation.tables import Range, start_table, system_number, system_table
from tests.unit.aquarium.plans import catalogue
from tests.unit.runs.world import a_plan

REFUGIUM = '[[devices]]\nkind = "refugium"\n'
SCRUBBER = '[[devices]]\nkind = "scrubber"\n'


def ranges(lines: str = "") -> dict[str, Range]:
    return system_ranges(a_plan(lines))


def device(kind: str, rest: str = "") -> str:
    return f'[[devices]]\nkind = "{kind}"\n{rest}'


def test_it_gives_every_number_of_the_system_but_the_phosphorus_of_protein() -> None:
    assert set(ranges()) == set(SYSTEM) - {"p_protein"} - set(drifts(a_plan()))


def test_rock_has_the_surface_of_its_mass() -> None:
    per_kg = system_table()["rock_area_m2_per_kg"].span
    assert ranges()["A_rock"].value == pytest.approx(20 * per_kg.value)
    assert ranges()["A_rock"].low == pytest.approx(20 * (per_kg.low or 0))


def test_a_tank_without_rock_still_has_an_area_to_divide_by() -> None:
    plan = a_plan()
    bare = replace(plan, tank=replace(plan.tank, rock_kg=0.0))
    assert system_ranges(bare)["A_rock"].value == LEAST_AREA_M2


def test_sand_adds_to_the_carbonate_and_to_the_floor() -> None:
    sandy, bare = ranges('sand_area = "0.2 m2"\nsand_depth = "3 cm"\n'), ranges('sand_area = "0 m2"\n')
    assert bare["A_sand"].value == 0.0
    assert sandy["A_sand"].value == pytest.approx(0.2)
    sand_kg = system_number("sand_kg_per_m2_cm") * 0.2 * 3
    assert sandy["m_carb"].value - bare["m_carb"].value == pytest.approx(sand_kg)


def test_a_deep_bed_keeps_the_water_of_its_pores_longer() -> None:
    shallow, deep = (
        ranges(f'sand_area = "0.2 m2"\nsand_depth = "{depth} cm"\n')["pore_exchange_per_d"].value
        for depth in (3, 7)
    )
    # 3 D / L^2 below the first centimetre, which is oxic: L is three times as long
    assert shallow == pytest.approx(9.0 * deep)
    spreading = system_number("pore_diffusion_cm2_per_d")
    assert deep == pytest.approx(3.0 * spreading / 36.0)


def test_the_ground_is_rock_and_sand() -> None:
    plan = a_plan('sand_area = "0.4 m2"\nsand_depth = "3 cm"\n')
    rock_m2 = 20 * system_number("rock_area_m2_per_kg")
    assert sand_frac(plan) == pytest.approx(0.4 / (0.4 + rock_m2), rel=1e-5)
    assert sand_frac(a_plan('sand_area = "0 m2"\n')) == 0.0


def test_light_falls_short_of_its_peak() -> None:
    lit = ranges('light_par = "200 umol/m2/s"\n')
    assert lit["par_display"].value == pytest.approx(200 * system_number("shade_frac"))
    assert lit["par_coral"].value == pytest.approx(200 * system_number("coral_light_ratio"))


def test_heaters_add_up_and_stand_before_the_usual_one() -> None:
    heater = device("heater_ctl", 'power = "150 W"\n')
    assert ranges(heater)["heater_w"].value == 150.0
    assert ranges(heater + "count = 2\n")["heater_w"].value == 300.0
    usual = system_number("heater_w_per_l") * 200
    assert ranges()["heater_w"].value == pytest.approx(usual)


def test_evaporation_and_room_are_not_known_exactly() -> None:
    plan = a_plan('evaporation = "1 %/day"\nroom_temperature = "21 degC"\n')
    found = system_ranges(plan)
    span = system_table()["evaporation_ratio"].span
    assert found["evaporation_l_per_d"].value == pytest.approx(2.0)
    assert found["evaporation_l_per_d"].high == pytest.approx(2.0 * (span.high or 0))
    assert (found["room_temperature"].low or 0) < 21.0 < (found["room_temperature"].high or 0)


def test_a_refugium_is_as_large_and_bright_as_the_plan_says_else_as_usual() -> None:
    stated = refugium_of(a_plan(REFUGIUM + 'area = "0.3 m2"\nlight_par = "150 umol/m2/s"\nhours = "9 h"\n'))
    assert stated is not None
    assert (stated.area.value, stated.light.value, stated.lit_h) == (0.3, 150.0, 9.0)
    assert stated.area.low == stated.area.high
    usual = refugium_of(a_plan('refugium = "20 L"\n' + REFUGIUM))
    assert usual is not None
    assert usual.area.value == pytest.approx(20 * system_number("refugium_area_m2_per_l"))
    assert usual.lit_h == system_number("refugium_hours_h")


def test_a_scrubber_is_a_lit_place_for_algae_too_and_neither_is_none() -> None:
    assert refugium_of(a_plan(SCRUBBER)) is not None
    assert refugium_of(a_plan()) is None
    assert ranges()["A_ref"].value == LEAST_AREA_M2
    assert ranges()["par_refugium"].value == 0.0


def test_dirt_settles_out_of_the_flow_in_a_refugium_and_not_on_a_screen() -> None:
    assert [ranges(lines)["calm_frac"].value for lines in (REFUGIUM, SCRUBBER, "")] == [1.0, 0.0, 0.0]


def test_two_lit_places_for_algae_are_one_with_the_light_of_both() -> None:
    first = REFUGIUM + 'area = "0.3 m2"\nlight_par = "150 umol/m2/s"\nhours = "9 h"\non_at = "21:00"\n'
    second = SCRUBBER + 'area = "0.1 m2"\nlight_par = "300 umol/m2/s"\nhours = "18 h"\non_at = "08:00"\n'
    both = refugium_of(a_plan(first + second))
    assert both is not None
    assert both == refugium_of(a_plan(second + first))
    assert both.area.value == pytest.approx(0.4)
    assert (both.lit_h, both.on_at_h) == (18.0, 21.0)
    assert both.calm_frac == pytest.approx(0.3 / 0.4)
    light_of_a_day = both.area.value * both.light.value * both.lit_h
    assert light_of_a_day == pytest.approx(0.3 * 150 * 9 + 0.1 * 300 * 18)


def test_several_of_a_kind_count_as_many() -> None:
    one, two = (refugium_of(a_plan(f'{REFUGIUM}area = "0.3 m2"\ncount = {count}\n')) for count in (1, 2))
    assert one is not None
    assert two is not None
    assert two.area.value == pytest.approx(2 * one.area.value)
    assert two.light.value == pytest.approx(one.light.value)


def test_a_skimmer_on_the_tank_is_weaker_than_one_in_a_sump() -> None:
    sizes = [skimmer_size(a_plan(device(kind))) for kind in ("skimmer_sump", "skimmer_hang")]
    assert sizes == [1.0, system_number("skimmer_hang_ratio")]
    assert skimmer_size(a_plan()) == 0.0


def test_corals_have_the_surface_of_their_pieces_once_they_are_there() -> None:
    leather = '[[animals]]\nid = "leather"\nspecies = "leathers"\ncount = 3\n'
    one = surface_m2("leathers", catalogue())
    assert one > 0
    assert coral_area_m2(a_plan(leather), catalogue()) == pytest.approx(3 * one)
    later = leather + "arrives_on = 2027-02-01\n"
    assert coral_area_m2(a_plan(later), catalogue()) == 0.0
    assert surface_m2("ocellaris_clown", catalogue()) == 0.0


def test_a_top_off_holds_what_the_plan_says_else_what_lasts_as_long_as_it_usually_runs() -> None:
    stated = a_plan(device("ato", 'reservoir = "25 L"\n'))
    assert top_offs(stated, catalogue()) == {"ato": 25.0}
    open_plan = a_plan(device("ato"))
    expected = reservoir_l(open_plan.devices[0], plan=open_plan, catalogue=catalogue())
    assert top_offs(open_plan, catalogue()) == {"ato": expected}
    assert (expected or 0.0) > 0.0
    assert top_offs(a_plan(), catalogue()) == {}


def test_a_top_off_on_a_water_line_never_runs_dry() -> None:
    assert top_offs(a_plan(device("ato", "plumbed = true\n")), catalogue()) == {"ato": PLUMBED_L}


def test_only_an_established_tank_begins_tidy() -> None:
    assert tidy_algae_mmol(a_plan(kind="live_rock")) == {}
    rock_m2 = system_number("rock_area_m2_per_kg") * 20
    row = next(row for row in start_table() if row["component"] == "A_T")
    most = tidy_algae_mmol(a_plan(kind="established"))
    assert most["A_T"] == pytest.approx(
        float(row["established"]) * rock_m2 * system_number("tidy_algae_ratio")
    )
    assert set(most) == {"A_T", "A_N"}


@pytest.mark.parametrize(("depth_cm", "share"), [(0.0, 0.0), (1.0, 0.0), (2.5, 0.5), (4.0, 1.0), (12.0, 1.0)])
def test_a_sand_bed_denitrifies_below_its_oxygen_and_no_more_than_a_deep_one(
    depth_cm: float, share: float
) -> None:
    assert anoxic_frac(depth_cm) == pytest.approx(share)
