"""Findings that need no simulation: each rule speaks where it should and is silent where it should not."""

from __future__ import annotations

from datetime import date

import pytest

from backreef.aquarium.absence import longest_absence
from backreef.aquarium.load import load_plan
from backreef.company.engine import RULES, check_plan
from backreef.company.findings import CheckFinding, rules
from backreef.company.food import needed_g_per_d, times_words
from backreef.company.place import mass_in_service_kg
from tests.unit.aquarium.plans import EXAMPLES, catalogue, plan_of, with_tank


def found(lines: str, *, absence_days: int | None = None) -> dict[str, CheckFinding]:
    plan = with_tank(lines)
    return {one.id: one for one in check_plan(plan, catalogue(), absence_days=absence_days)}


def animal(species: str, lines: str = "") -> str:
    return f'[[animals]]\nspecies = "{species}"\n{lines}\n'


def test_it_sees_a_fish_that_outgrows_the_tank() -> None:
    finding = found(animal("regal_blue_tang"))["space.regal_blue_tang"]
    assert finding.weight == "serious"
    assert "180 cm of length and 750 L" in finding.why
    assert "space.firefish" not in found(animal("firefish"))


def test_it_sees_water_too_warm_for_an_animal_of_cool_seas() -> None:
    assert (
        found('temperature = "26 degC"\n' + animal("catalina_goby"))["temperature.catalina_goby"].weight
        == "serious"
    )
    assert "temperature.firefish" not in found('temperature = "26 degC"\n' + animal("firefish"))
    assert "colder" in found('temperature = "20 degC"\n' + animal("firefish"))["temperature.firefish"].what


def test_it_counts_a_kind_over_all_its_entries() -> None:
    two = animal("ocellaris_clown", "count = 1\n") * 2
    assert "group.ocellaris_clown" not in found(two)
    assert "the plan has 3" in found(two + animal("ocellaris_clown"))["group.ocellaris_clown"].why
    assert "at least 6" in found(animal("green_chromis", "count = 2\n"))["group.green_chromis"].why


def test_it_says_no_to_animals_nobody_should_buy() -> None:
    assert found(animal("cleaner_wrasse"))["never.cleaner_wrasse"].weight == "serious"


def test_it_sees_an_animal_that_comes_too_early() -> None:
    young = '[tank.start]\nkind = "seeded"\nage = "1 month"\n'
    early = found(young + animal("tailspot_blenny", "arrives_on = 2027-01-20\n"))
    assert early["tank_age.tailspot_blenny"].weight == "serious"
    later = found(young + animal("tailspot_blenny", "arrives_on = 2027-06-20\n"))
    assert "tank_age.tailspot_blenny" not in later


def test_it_sees_missing_sand() -> None:
    assert found('sand_area = "0 m2"\n' + animal("yellow_coris"))["sand.yellow_coris"].weight == "caution"
    assert "sand.yellow_coris" not in found('sand_depth = "6 cm"\n' + animal("yellow_coris"))


def test_it_asks_for_a_lid_over_jumpers() -> None:
    assert found(animal("firefish"))["lid.firefish"].weight == "serious"
    assert "lid.firefish" not in found('lid = "mesh"\n' + animal("firefish"))
    assert "lid.trochus" not in found(animal("trochus"))


def test_it_warns_people_of_venom_and_palytoxin() -> None:
    warned = found(animal("foxface") + animal("zoanthids") + animal("trochus"))
    assert "venom" in warned["people.foxface"].why
    assert "palytoxin" in warned["people.zoanthids"].why
    assert "the public" in warned["people.zoanthids"].condition
    assert warned["people.zoanthids"].balance == "hands"
    assert "people.trochus" not in warned


def test_it_never_promises_that_an_animal_is_lawful() -> None:
    listed = found(animal("euphyllia") + animal("eel_catfish"))
    assert "CITES" in listed["law.euphyllia"].why
    assert listed["law.eel_catfish"].weight == "serious"
    assert "check local rules" in listed["local_rules"].what
    assert not any("legal" in one.what for one in listed.values())


@pytest.mark.parametrize(
    ("rule", "eater", "prey", "lines", "expected"),
    [
        ("eats", "volitans_lion", "ocellaris_clown", 'length = "3 cm"\n', "serious"),
        ("eats", "volitans_lion", "yellow_tang", 'length = "16 cm"\n', None),
        ("hunts", "flame_hawkfish", "peppermint_shrimp", "", "caution"),
        ("hunts", "yellow_coris", "trochus", "", "note"),
        ("nips", "auriga_butterfly", "acropora", "", "any"),
        ("hunts", "firefish", "skunk_cleaner", "", None),
        ("eats", "bta", "ocellaris_clown", 'length = "3 cm"\n', None),
        ("eats", "emerald_crab", "tailspot_blenny", 'length = "5 cm"\n', None),
    ],
)
def test_it_knows_who_eats_whom(rule: str, eater: str, prey: str, lines: str, expected: str | None) -> None:
    finding = found(animal(eater) + animal(prey, lines)).get(f"{rule}.{eater}.{prey}")
    assert (finding is None) == (expected is None)
    if finding is not None and expected != "any":
        assert finding.weight == expected


def test_it_sees_rivals_once() -> None:
    rivals = found(animal("yellow_tang") + animal("purple_tang"))
    assert "fights.purple_tang.yellow_tang" in rivals
    assert "fights.yellow_tang.purple_tang" not in rivals
    assert not any(
        key.startswith("fights") for key in found(animal("yellow_watchman") + animal("tiger_pistol"))
    )
    assert not any(key.startswith("fights") for key in found(animal("firefish") + animal("trochus")))


def test_it_sees_a_fierce_resident_before_a_newcomer() -> None:
    first = animal("sixline_wrasse") + animal("firefish", "arrives_on = 2027-06-01\n")
    assert "there first" in found(first)["fights.firefish.sixline_wrasse"].why
    last = animal("sixline_wrasse", "arrives_on = 2027-06-01\n") + animal("firefish")
    assert "there first" not in str(found(last).get("fights.firefish.sixline_wrasse"))


MEAL = '[[meals]]\nfood = "pellet_small"\namount = "{amount}"\nby = "{by}"\ntimes = [{times}]\n'
FEEDER = '[[devices]]\nid = "feeder"\nkind = "feeder_drum_mains"\nhopper = "20 g"\n'


def meal(amount: str = "0.2 g", by: str = "feeder", times: str = '"9:00", "13:00", "17:00"') -> str:
    return MEAL.format(amount=amount, by=by, times=times)


def test_it_counts_meals_against_the_need() -> None:
    anthias = animal("lyretail_anthias", "count = 4\n")
    once = found(anthias + meal(times='"9:00"') + FEEDER)
    assert once["meals.lyretail_anthias"].weight == "caution"
    assert "meals.lyretail_anthias" not in found(anthias + meal() + FEEDER)
    assert found(anthias)["meals.lyretail_anthias"].weight == "serious"
    assert "meals.trochus" not in found(animal("trochus"))


def test_it_counts_meals_by_hand_only_on_days_with_somebody() -> None:
    clowns = animal("ocellaris_clown")
    by_hand = meal(by="hand", times='"9:00"')
    assert "meals.ocellaris_clown" not in found(clowns + by_hand)
    seldom = found('[keeper]\npresence = ["Mon 8-12"]\n' + clowns + by_hand)
    assert "fed once a week" in seldom["meals.ocellaris_clown"].why


def test_it_sees_portions_too_coarse_for_small_fish() -> None:
    small = animal("ocellaris_clown", 'count = 2\nlength = "2.5 cm"\n')
    assert "portions.coarse" in found(small + meal("0.05 g") + FEEDER)
    large = animal("yellow_coris", 'count = 1\nlength = "10 cm"\n') + animal(
        "ocellaris_clown", 'length = "8 cm"\n'
    )
    assert "portions.coarse" not in found(large + meal("0.05 g") + FEEDER)
    assert "portion.pellet_small" in found(small + meal("0.01 g") + FEEDER)


def test_it_sees_far_too_much_food() -> None:
    clowns = animal("ocellaris_clown", "count = 2\n")
    assert "food.too_much" in found(clowns + meal("2 g") + FEEDER)
    assert "food.too_much" not in found(clowns + meal("0.05 g") + FEEDER)
    goby = found(animal("yellow_clown_goby") + meal("0.05 g") + FEEDER)["food.too_much"]
    assert " need about 0 kJ" not in goby.why, "a goby of half a gram needs little, and not nothing"


@pytest.mark.parametrize(("task", "helps"), [("feed_dry_hand", True), ("ato_refill", False)])
def test_meals_that_a_helper_gives_are_meals(task: str, helps: bool) -> None:
    porter = f'helpers = [{{ name = "porter", days = "Mon-Sun", tasks = ["{task}"] }}]\n'
    keeper = f'[keeper]\npresence = ["Tue 9-12"]\n{porter}'
    said = found(keeper + animal("ocellaris_clown") + meal("0.1 g", by="hand"))
    assert ("meals.ocellaris_clown" not in said) == helps


def test_it_holds_the_hopper_against_the_absence() -> None:
    clowns = animal("ocellaris_clown", "count = 2\n")
    # 20 g at 3 x 1 g a day last 6.7 days
    assert "after 7 days" in found(clowns + meal("1 g") + FEEDER, absence_days=10)["hopper.feeder"].why
    assert "hopper.feeder" not in found(clowns + meal("1 g") + FEEDER, absence_days=5)
    disc = '[[devices]]\nid = "feeder"\nkind = "feeder_disc"\ncells = 14\n'
    assert (
        "cells are empty after 5 days"
        in found(clowns + meal("0.1 g") + disc, absence_days=8)["hopper.feeder"].why
    )


def test_it_sees_who_goes_unfed() -> None:
    anthias = animal("lyretail_anthias", "count = 4\n") + animal("trochus")
    by_hand = found(anthias + meal(by="hand"), absence_days=4)
    assert by_hand["unfed.lyretail_anthias"].weight == "serious"
    assert "unfed.trochus" not in by_hand
    assert "unfed.lyretail_anthias" not in found(anthias + meal() + FEEDER, absence_days=4)


def test_it_asks_for_a_way_out_for_nutrients() -> None:
    assert found(meal(by="hand"))["export"].weight == "serious"
    assert found(meal(by="hand") + '[[upkeep]]\ntask = "wc_do"\n')["export"].weight == "caution"
    assert "export" not in found(meal(by="hand") + '[[devices]]\nkind = "skimmer_sump"\n')
    assert "export" not in found("")


def test_it_holds_the_top_off_against_the_absence() -> None:
    lines = 'evaporation = "1 %/day"\nwater_volume = "300 L"\n[[devices]]\nkind = "ato"\nreservoir = "12 L"\n'
    assert "last 4 days" in found(lines, absence_days=6)["top_off.ato"].why
    assert "top_off.ato" not in found(lines, absence_days=3)
    assert "top_off.ato" not in found(lines + "plumbed = true\n", absence_days=30)


def test_it_weighs_the_tank() -> None:
    plan = with_tank('water_volume = "300 L"\nrock = "30 kg"\nsand_area = "0 m2"\n')
    # 300 x 1.025 + 300 x 0.27 + 90 + 30
    assert mass_in_service_kg(plan) == pytest.approx(508.5)
    assert found('water_volume = "300 L"\n')["floor"].weight == "note"
    assert found('water_volume = "900 L"\n')["floor"].weight == "caution"
    small = plan_of('start_on = 2027-01-04\n[tank]\ndisplay = "60 L"\n')
    assert "floor" not in {one.id for one in check_plan(small, catalogue())}


def test_it_reckons_food_as_published_for_clownfish() -> None:
    # Lupatsch et al. 2013: 43.2 kJ per kg^0.80 a day; 10 g burn 1.085 kJ: 56 mg of food of 19.5 kJ/g
    clown = catalogue().species["ocellaris_clown"]
    a, b = clown.weight_a_g.value, clown.weight_b_ratio.value  # type: ignore[union-attr]
    length_cm = (10.0 / a) ** (1.0 / b)
    numbers = rules()["numbers"]
    extra = numbers["activity_ratio"]["value"] * numbers["growth_ratio"]["value"]
    need = needed_g_per_d(clown, length_cm, energy_kj_per_g=19.5)
    assert need == pytest.approx(0.0556 * extra, rel=2e-3)


def test_it_finds_the_longest_run_of_days_without_anybody() -> None:
    weekends = with_tank('[keeper]\npresence = ["Tue-Sat 9-17"]\n')
    assert longest_absence(weekends).days == 2
    august = with_tank(
        '[keeper]\npresence = ["Tue-Sat 9-17"]\nclosed = [{ every_year = "2 Aug to 15 Aug" }]\n'
    )
    # Sunday 1 August 2027 to Monday 16 August 2027
    assert (longest_absence(august).days, longest_absence(august).first_on) == (16, date(2027, 8, 1))
    helped = with_tank(
        '[keeper]\npresence = ["Tue-Sat 9-17"]\nclosed = [{ every_year = "2 Aug to 15 Aug" }]\n'
        'helpers = [{ name = "caretaker", days = "Fri", when_closed = true }]\n'
    )
    assert longest_absence(helped).days == 6  # Saturday 7 to Thursday 12 August
    works = with_tank('[keeper]\nclosed = [{ first = 2027-03-01, last = 2027-03-09 }, { weekday = "Wed" }]\n')
    assert longest_absence(works).days == 10
    new_year = with_tank('[keeper]\nclosed = [{ every_year = "24 Dec to 2 Jan" }]\n')
    assert longest_absence(new_year).days == 10


def test_soft_food_comes_to_pieces_that_fit_every_mouth() -> None:
    goby = animal("trimma_goby")
    hard = MEAL.format(amount="0.1 g", by="hand", times='"9:00"').replace("pellet_small", "pellet_large")
    soft = hard.replace("pellet_large", "fz_mysid")
    assert "mouthful.trimma_goby" in found(goby + hard)
    assert "mouthful.trimma_goby" not in found(goby + hard + soft)


def test_it_puts_the_gravest_first_and_says_on_whose_word() -> None:
    findings = check_plan(load_plan(EXAMPLES / "office_showpiece.toml", catalogue()), catalogue())
    weights = [one.weight for one in findings]
    assert weights == sorted(weights, key=["serious", "caution", "note"].index)
    assert len({one.id for one in findings}) == len(findings)
    for one in findings:
        assert one.what
        assert one.why
        assert one.source
        assert one.status in ("published", "memory", "practice", "calc")
        assert one.balance in ("mouths", "water", "hands")


def test_the_examples_differ_as_their_stories_say() -> None:
    grave = {
        name: [
            one.id
            for one in check_plan(load_plan(EXAMPLES / name, catalogue()), catalogue())
            if one.weight == "serious"
        ]
        for name in ("reading_room.toml", "office_showpiece.toml", "family_first_reef.toml")
    }
    assert grave["reading_room.toml"] == []
    assert grave["family_first_reef.toml"] == []
    assert {"space.blue_tang", "space.anthias", "lid.anthias"} <= set(grave["office_showpiece.toml"])


def test_every_rule_says_in_a_sentence_what_it_looks_for() -> None:
    for rule in RULES:
        assert (rule.look.__doc__ or "").strip().endswith(".")


def test_it_says_which_condition_no_forecast_can_follow() -> None:
    lines = '[[upkeep]]\nid = "change"\ntask = "wc_do"\nevery = "7 days"\nwhen = "{}"\n'
    finding = found(lines.format("magnesium < 1200 mg/L"))["condition.change"]
    assert "does not follow magnesium" in finding.why
    assert "condition.change" not in found(lines.format("calcium < 350 mg/L"))


@pytest.mark.parametrize(
    ("per_day", "words"),
    [
        (0.0, "never"),
        (1 / 7, "once a week"),
        (0.3, "2.1 times a week"),
        (1.0, "once a day"),
        (2.0, "twice a day"),
        (2.5, "2.5 times a day"),
    ],
)
def test_it_counts_meals_in_words(per_day: float, words: str) -> None:
    assert times_words(per_day) == words


def test_small_hermits_count_as_grazing_crew() -> None:
    crew = found(animal("blueleg_hermit", "count = 80") + animal("trochus", "count = 120"))["crew.mouths"]
    assert "200 grazing animals" in crew.what


def test_what_a_feeder_never_keeps_is_not_told_to_get_a_feeder() -> None:
    stars = found(animal("harlequin_shrimp", "count = 2"))["meals.harlequin_shrimp"]
    assert not any("feeder" in line for line in stars.remedies)
    assert any("by hand" in line for line in stars.remedies)


def test_nobody_is_told_that_nobody_is_there_for_no_days() -> None:
    daily = '[keeper]\npresence = ["Mon-Sun 8-12"]\n'
    assert "somebody is there every day" in found(daily + animal("yellow_tang"))["hand_fed.yellow_tang"].why


def test_a_bolder_fish_or_a_rival_of_the_plan_never_stands_in_for_another() -> None:
    come = "arrives_on = 2027-06-01"
    alone = found(animal("possum_wrasse", come))
    names = {"Neon (Arabian) dottyback", "Springer's dottyback"}
    assert "in_stead.possum_wrasse" not in alone or not any(
        name in alone["in_stead.possum_wrasse"].what for name in names
    )
    bold = found(animal("sixline_wrasse", come))
    assert "Orchid dottyback" in bold["in_stead.sixline_wrasse"].what
    rival = found(animal("sixline_wrasse", come) + animal("royal_gramma"))
    told = rival.get("in_stead.sixline_wrasse")
    assert told is None or "dottyback" not in told.what


def test_living_food_too_fine_for_it_feeds_no_hunter_of_pods() -> None:
    meals = '[[meals]]\nfood = "{}"\namount = "1 g"\ntimes = ["9:00"]\n'
    mandarin = animal("mandarin")
    phyto = found(mandarin + meals.format("live_phyto"))["live_food.mandarin"]
    nauplii = found(mandarin + meals.format("live_nauplii"))["live_food.mandarin"]
    assert (phyto.weight, nauplii.weight) == ("serious", "caution")
