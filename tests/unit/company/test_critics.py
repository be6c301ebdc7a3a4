"""What a practised keeper missed in the checks, or found too loud: each once, with what should be said."""

from __future__ import annotations

from backreef.catalogue.entries import known
from backreef.company.engine import check_plan
from backreef.company.findings import CheckFinding
from backreef.company.ground import sand_for_one_m2
from backreef.company.sexes import mating_of
from tests.unit.aquarium.plans import catalogue, plan_of, with_tank
from tests.unit.company.test_pairs import FEEDER, meal, of


def found(lines: str) -> dict[str, CheckFinding]:
    return {one.id: one for one in check_plan(with_tank(lines), catalogue())}


def found_in(display: str, lines: str) -> dict[str, CheckFinding]:
    plan = plan_of(f'start_on = 2027-01-04\n[tank]\ndisplay = "{display}"\n{lines}')
    return {one.id: one for one in check_plan(plan, catalogue())}


def test_a_third_cleaner_shrimp_of_a_kind_that_lives_in_twos_is_grave() -> None:
    assert "group.skunk_cleaner" not in found(of("skunk_cleaner", "count = 2"))
    three = found(of("skunk_cleaner", "count = 3"))["group.skunk_cleaner"]
    assert three.weight == "serious"
    assert "killed" in three.condition
    assert "group.peppermint_shrimp" not in found(of("peppermint_shrimp", "count = 4"))


def test_two_pairs_of_clownfish_are_grave_and_a_small_shoal_is_not() -> None:
    assert found(of("ocellaris_clown", "count = 4"))["group.ocellaris_clown"].weight == "serious"
    assert found(of("green_chromis", "count = 3"))["group.green_chromis"].weight == "caution"
    assert found(of("chalk_bass", "count = 9"))["group.chalk_bass"].weight == "caution"


def test_a_basslet_keeps_its_sex() -> None:
    mating = mating_of(catalogue().species["royal_gramma"])
    assert mating is not None
    assert mating.change == "none"


def test_a_dragonet_outgrows_no_tank_but_its_pods() -> None:
    ids = found_in("200 L", of("mandarin"))
    assert "space.mandarin" in ids
    assert "outgrown.mandarin" not in ids


def test_a_tank_within_what_is_asked_is_not_outgrown_gravely() -> None:
    within = found_in("200 L", of("melanurus_wrasse"))
    assert within["outgrown.melanurus_wrasse"].weight == "caution"
    assert "not agreed" in within["outgrown.melanurus_wrasse"].condition
    far = found_in("60 L", of("melanurus_wrasse"))
    assert far["outgrown.melanurus_wrasse"].weight == "serious"


def test_two_degrees_beyond_comfort_are_grave_and_one_is_not() -> None:
    def weight(temperature_c: float) -> str:
        warm = found(f'temperature = "{temperature_c} degC"\n' + of("firefish"))
        return warm["temperature.firefish"].weight

    assert (weight(28.5), weight(29.5)) == ("caution", "serious")


def test_sand_is_asked_for_by_area_too() -> None:
    star = catalogue().species["sandsifting_star"]
    assert sand_for_one_m2(star.sand_need) == 1.0
    assert sand_for_one_m2(catalogue().species["diamond_goby"].sand_need) == 0.4
    assert sand_for_one_m2(catalogue().species["yellow_coris"].sand_need) is None
    little = found('sand_area = "0.3 m2"\nsand_depth = "6 cm"\n' + of("sandsifting_star"))
    assert little["sand.sandsifting_star"].weight == "caution"
    assert "on 0.3 m2" in little["sand.sandsifting_star"].why
    bed = 'sand_area = "0.4 m2"\nsand_depth = "6 cm"\n'
    one, two = (found(bed + of("diamond_goby", f"count = {count}")) for count in (1, 2))
    assert "sand.diamond_goby" not in one
    assert "sand.diamond_goby" in two


def test_pipefish_are_swept_about_like_seahorses() -> None:
    for kind in ("banded_pipefish", "razorfish"):
        assert f"flow.{kind}" in found('turnover = "30 /h"\n' + of(kind, "count = 6"))
    assert "flow.mandarin" not in found('turnover = "30 /h"\n' + of("mandarin"))


def test_a_crab_seizes_a_goby_that_it_could_not_swallow() -> None:
    assert found(of("arrow_crab") + of("neon_goby"))["eats.arrow_crab.neon_goby"].weight == "caution"
    assert "eats.porcelain_crab.neon_goby" not in found(of("porcelain_crab") + of("neon_goby"))


def test_a_seahorse_does_not_flee_from_an_anemone() -> None:
    assert "hunts.bta.lined_seahorse" in found(of("bta") + of("lined_seahorse"))
    assert "hunts.pompom_crab.lined_seahorse" not in found(of("pompom_crab") + of("lined_seahorse"))
    assert "hunts.bta.firefish" not in found(of("bta") + of("firefish"))


def test_guests_of_anemones_are_at_home_there() -> None:
    guests = ("anemone_shrimp", "sexy_shrimp", "porcelain_crab")
    ids = found(of("bta") + "".join(of(guest) for guest in guests))
    assert [one for one in ids if one.startswith("hunts.bta")] == []
    assert "hunts.bta.randalls_pistol" in found(of("bta") + of("randalls_pistol"))


def test_a_snapping_shrimp_is_no_rival_of_a_cleaner_but_a_risk_to_small_ones() -> None:
    ids = found(of("tiger_pistol") + of("skunk_cleaner") + of("sexy_shrimp", "count = 3"))
    assert not [one for one in ids if one.startswith("fights")]
    assert ids["hunts.tiger_pistol.sexy_shrimp"].weight == "note"
    assert "hunts.tiger_pistol.skunk_cleaner" not in ids


def test_a_filter_feeder_is_not_said_to_have_nothing_where_others_are_fed() -> None:
    fed = found(of("feather_duster") + meal() + FEEDER)["meals.feather_duster"]
    assert fed.weight == "caution"
    assert "floats" in fed.what
    assert found(of("feather_duster"))["meals.feather_duster"].weight == "serious"
    assert found(of("sea_apple") + meal() + FEEDER)["meals.sea_apple"].weight == "serious"


def test_a_moray_finds_the_gap_of_a_cover() -> None:
    assert found('lid = "mesh"\n' + of("snowflake_moray"))["lid.snowflake_moray"].weight == "caution"
    assert found(of("snowflake_moray"))["lid.snowflake_moray"].weight == "serious"
    assert found(of("nerite"))["lid.nerite"].weight == "caution"


def test_seahorses_beside_quick_fish_are_grave_and_dragonets_live_from_pods() -> None:
    assert found(of("slender_seahorse") + of("yellow_coris"))["pace.slender_seahorse"].weight == "serious"
    assert "pace.mandarin" not in found(of("mandarin") + of("yellow_coris"))


BY_HAND = meal("fz_mysid", by="hand", times='"9:00", "13:00", "17:00"')


def test_what_only_wants_hands_or_room_is_a_caution_where_the_plan_has_them() -> None:
    assert found(of("lined_seahorse"))["never.lined_seahorse"].weight == "serious"
    assert found(of("lined_seahorse") + BY_HAND)["never.lined_seahorse"].weight == "caution"
    assert found(of("cleaner_wrasse") + BY_HAND)["never.cleaner_wrasse"].weight == "serious"
    assert found(of("naso_tang"))["never.naso_tang"].weight == "serious"
    assert found_in("300 x 80 x 70 cm", of("naso_tang"))["never.naso_tang"].weight == "caution"


def test_an_anemone_is_not_told_to_have_its_rock_glued() -> None:
    said = found(of("bta") + of("euphyllia"))
    assert "pushes.bta" not in said
    assert "fights.bta.euphyllia" in said or "nips.bta.euphyllia" in said


def test_the_oldest_yellow_tang_is_within_what_is_believed() -> None:
    life = known(catalogue().species["yellow_tang"].life_years)
    assert life is not None
    assert life.highest == 41


def test_what_treats_fish_kills_shrimps_and_sharks() -> None:
    treated = ('quarantine = "40 d"', "treated = true")
    for kind in ("skunk_cleaner", "euphyllia", "bamboo_shark"):
        assert found(of(kind, *treated))[f"medicine.{kind}"].weight == "serious"
    assert "medicine.firefish" not in found(of("firefish", *treated))
    assert "medicine.skunk_cleaner" not in found(of("skunk_cleaner", 'quarantine = "40 d"'))
