"""Each rule twice: a plan that it speaks about, and a twin about which it is silent."""

from __future__ import annotations

from dataclasses import replace

import pytest

from backreef.company.engine import RULES, check_plan, remedies
from tests.unit.aquarium.plans import catalogue, plan_of, with_tank


def of(species: str, *lines: str) -> str:
    return "\n".join(("[[animals]]", f'species = "{species}"', *lines, ""))


def meal(
    food: str = "pellet_small", *, by: str = "feeder", amount: str = "0.2 g", times: str = '"9:00"'
) -> str:
    return f'[[meals]]\nfood = "{food}"\namount = "{amount}"\nby = "{by}"\ntimes = [{times}]\n'


FEEDER = '[[devices]]\nid = "feeder"\nkind = "feeder_drum_mains"\nhopper = "20 g"\n'
DISC = '[[devices]]\nid = "feeder"\nkind = "feeder_disc"\ncells = 14\n'
SECOND = '[[devices]]\nid = "second"\nkind = "feeder_drum_mains"\nhopper = "20 g"\n'
AWAY = "[keeper]\nclosed = [{ first = 2027-03-01, last = 2027-03-14 }]\n"
WEEKDAYS = '[keeper]\npresence = ["Tue-Sat 9-17"]\n'
QUARANTINE = '[[devices]]\nkind = "quarantine_tank"\n'
CHANGE = '[[upkeep]]\ntask = "wc_do"\nevery = "7 days"\nwhen = "{}"\n'
THRICE = '"9:00", "13:00", "17:00"'
YOUNG = '[tank.start]\nkind = "seeded"\nage = "1 month"\n'
TREATED = ('quarantine = "40 d"', "treated = true")
COMES, LATER = "arrives_on = 2027-06-01", "arrives_on = 2027-09-01"

PAIRS: dict[str, tuple[str, str]] = {
    "space": (of("regal_blue_tang"), of("firefish")),
    "outgrown": (of("yellow_tang", 'length = "5 cm"'), of("royal_gramma")),
    "temperature": (
        'temperature = "26 degC"\n' + of("catalina_goby"),
        'temperature = "26 degC"\n' + of("firefish"),
    ),
    "eats": (
        of("volitans_lion") + of("ocellaris_clown", 'length = "3 cm"'),
        of("volitans_lion") + of("yellow_tang", 'length = "16 cm"'),
    ),
    "hunts": (of("flame_hawkfish") + of("peppermint_shrimp"), of("firefish") + of("peppermint_shrimp")),
    "live_food": (of("mandarin"), of("ocellaris_clown")),
    "hand_fed": (
        AWAY + of("lined_seahorse") + meal() + FEEDER,
        AWAY + of("ocellaris_clown") + meal() + FEEDER,
    ),
    "all_day": (
        AWAY + of("lyretail_anthias", "count = 4") + meal(times=THRICE) + FEEDER,
        AWAY
        + of("lyretail_anthias", "count = 4")
        + meal(times=THRICE)
        + meal("flake", by="second")
        + FEEDER
        + SECOND,
    ),
    "plants": (
        of("yellow_tang") + meal() + FEEDER,
        of("yellow_tang") + meal() + meal("nori", by="hand") + FEEDER,
    ),
    "mouthful": (
        of("trimma_goby") + meal("pellet_large") + FEEDER,
        of("trimma_goby") + meal("pellet_micro") + FEEDER,
    ),
    "meals": (
        of("lyretail_anthias", "count = 4") + meal() + FEEDER,
        of("lyretail_anthias", "count = 4") + meal(times=THRICE) + FEEDER,
    ),
    "unfed": (
        AWAY + of("lyretail_anthias", "count = 4") + meal(by="hand"),
        AWAY + of("lyretail_anthias", "count = 4") + meal() + FEEDER,
    ),
    "hopper": (
        AWAY + of("ocellaris_clown") + meal(amount="1 g", times=THRICE) + FEEDER,
        AWAY + of("ocellaris_clown") + meal(amount="0.2 g") + FEEDER,
    ),
    "portion": (
        of("ocellaris_clown") + meal(amount="0.01 g") + FEEDER,
        of("ocellaris_clown") + meal() + FEEDER,
    ),
    "portions": (
        of("ocellaris_clown", 'length = "2.5 cm"') + meal(amount="0.05 g", times=THRICE) + FEEDER,
        of("yellow_coris", 'length = "10 cm"') + meal(amount="0.05 g") + FEEDER,
    ),
    "food": (
        of("ocellaris_clown", "count = 2") + meal(amount="2 g") + FEEDER,
        of("ocellaris_clown", "count = 2") + meal(amount="0.05 g") + FEEDER,
    ),
    "dark_meal": (
        'light_on_at = "10:00"\nlight_hours = "9 h"\n'
        + of("ocellaris_clown")
        + meal(times='"7:00"', by="hand"),
        'light_on_at = "10:00"\nlight_hours = "9 h"\n'
        + of("ocellaris_clown")
        + meal(times='"12:00"', by="hand"),
    ),
    "warmth": (
        'temperature = "20 degC"\n' + of("firefish"),
        'temperature = "26 degC"\n' + of("firefish"),
    ),
    "lid": (of("firefish"), 'lid = "mesh"\n' + of("firefish")),
    "law": (of("euphyllia"), of("trochus")),
    "people": (of("foxface"), of("trochus")),
    "never": (of("cleaner_wrasse"), of("neon_goby")),
    "group": (of("green_chromis", "count = 2"), of("green_chromis", "count = 6")),
    "sexes": (of("mandarin", "count = 2"), of("mandarin", "count = 2", 'sex = "pair"')),
    "batch": (
        of("lyretail_anthias", "count = 3", COMES)
        + of("lyretail_anthias", 'id = "more"', "count = 3", LATER),
        of("lyretail_anthias", "count = 3", COMES)
        + of("lyretail_anthias", 'id = "more"', "count = 3", COMES),
    ),
    "fights": (of("yellow_tang") + of("purple_tang"), of("yellow_tang") + of("firefish")),
    "niche": (of("azure_damsel") + of("humbug_damsel"), of("azure_damsel") + of("firefish")),
    "pace": (of("lined_seahorse") + of("ocellaris_clown"), of("lined_seahorse") + of("pajama_cardinal")),
    "pods": (of("mandarin") + of("sixline_wrasse"), of("mandarin") + of("ocellaris_clown")),
    "nips": (of("flame_angel") + of("euphyllia"), of("firefish") + of("euphyllia")),
    "cover": (
        'corals = "lps"\ncoral_cover = "10 %"\n' + of("flame_angel"),
        'corals = "lps"\ncoral_cover = "10 %"\n' + of("firefish"),
    ),
    "crew": (of("astraea", "count = 200"), of("astraea", "count = 8")),
    "winner": (of("sea_hare"), of("neon_goby") + of("acropora_crab")),
    "one_food": (of("acropora_crab"), of("emerald_crab")),
    "pushes": (of("tuxedo_urchin") + of("euphyllia"), of("trochus") + of("euphyllia")),
    "crust": (of("tuxedo_urchin"), of("trochus")),
    "rights": (WEEKDAYS + of("astraea"), WEEKDAYS + of("trochus")),
    "fouls": (of("yellow_tang"), of("trimma_goby")),
    "inlets": (of("bta"), of("trochus")),
    "medicine": (of("skunk_cleaner", *TREATED), of("firefish", *TREATED)),
    "poison": (of("sea_apple"), of("trochus")),
    "sand": ('sand_area = "0 m2"\n' + of("yellow_coris"), 'sand_depth = "8 cm"\n' + of("yellow_coris")),
    "holes": ('rock = "5 kg"\n' + of("royal_gramma"), 'rock = "40 kg"\n' + of("royal_gramma")),
    "flow": ('turnover = "30 /h"\n' + of("lined_seahorse"), 'turnover = "6 /h"\n' + of("lined_seahorse")),
    "light": (
        'light_par = "80 umol/m2/s"\n' + of("acropora"),
        'light_par = "300 umol/m2/s"\n' + of("acropora"),
    ),
    "disease": (of("powder_blue_tang", COMES), of("powder_blue_tang", COMES) + QUARANTINE),
    "quarantine": (
        of("firefish", COMES, 'quarantine = "7 days"') + QUARANTINE,
        of("firefish", COMES, 'quarantine = "45 days"', "treated = true"),
    ),
    "delicate": (of("moorish_idol"), of("ocellaris_clown")),
    "farm_bred": (of("ocellaris_clown", COMES), of("ocellaris_clown")),
    "in_stead": (of("swissguard_basslet", COMES), of("ocellaris_clown", COMES)),
    "tank_age": (
        YOUNG + of("tailspot_blenny", "arrives_on = 2027-01-20"),
        YOUNG + of("tailspot_blenny", COMES),
    ),
    "order": (
        of("royal_dottyback", COMES) + of("pajama_cardinal", LATER),
        of("royal_dottyback", LATER) + of("pajama_cardinal", COMES),
    ),
    "absence": (
        AWAY + of("firefish", "arrives_on = 2027-02-20"),
        AWAY + of("firefish", "arrives_on = 2027-03-20"),
    ),
    "pause": (
        of("firefish", COMES) + of("royal_gramma", "arrives_on = 2027-06-05"),
        of("firefish", COMES) + of("royal_gramma", LATER),
    ),
    "gate": (of("trochus", COMES), of("trochus", COMES, 'gate = "film algae visible"')),
    "export": (meal(by="hand"), meal(by="hand") + '[[devices]]\nkind = "skimmer_sump"\n'),
    "top_off": (
        AWAY + 'evaporation = "1 %/day"\n[[devices]]\nkind = "ato"\nreservoir = "12 L"\n',
        AWAY + '[[devices]]\nkind = "ato"\nreservoir = "200 L"\n',
    ),
    "floor": ('water_volume = "900 L"\n', 'display = "60 L"\n'),
    "condition": (CHANGE.format("magnesium < 1200 mg/L"), CHANGE.format("calcium < 350 mg/L")),
    "local_rules": (of("firefish"), ""),
}


def found_by(rule: str, text: str) -> list[str]:
    """Ids of what a rule finds in a plan; keys of the tank stand before the first table."""
    lines = text.split("\n")
    head = [line for line in lines if line.startswith("evaporation")]
    rest = "\n".join(line for line in lines if line not in head)
    whole = text.startswith("display")
    plan = plan_of(f"start_on = 2027-01-04\n[tank]\n{text}") if whole else with_tank("\n".join([*head, rest]))
    return [
        one.id for one in check_plan(plan, catalogue()) if one.rule == rule and not one.id.endswith("unknown")
    ]


BESIDE = {"own"}
"""Rules that a plan alone cannot wake; they are tested both ways below."""


@pytest.mark.parametrize("rule", [rule.name for rule in RULES if rule.name not in BESIDE])
def test_it_speaks_about_one_plan_and_not_about_its_twin(rule: str) -> None:
    speaks, silent = PAIRS[rule]
    assert found_by(rule, speaks)
    assert found_by(rule, silent) == []


def test_there_is_a_pair_and_a_remedy_for_each_rule_and_none_for_others() -> None:
    names = [rule.name for rule in RULES]
    assert len(set(names)) == len(names)
    assert PAIRS.keys() == set(names) - BESIDE
    assert remedies().keys() == set(names)


def test_it_names_the_keepers_own_entries_that_a_plan_uses() -> None:
    mine = replace(catalogue(), own=frozenset({"species/firefish", "foods/flake"}))
    used, unused = with_tank(of("firefish")), with_tank(of("trochus"))
    (told,) = [one for one in check_plan(used, mine) if one.rule == "own"]
    assert "species/firefish" in told.what
    assert "flake" not in told.what
    assert not [one for one in check_plan(unused, mine) if one.rule == "own"]
    assert not [one for one in check_plan(used, catalogue()) if one.rule == "own"]
