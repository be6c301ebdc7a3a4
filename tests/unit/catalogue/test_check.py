import dataclasses
from types import MappingProxyType
from typing import Any

from backreef.catalogue.check import check_catalogue, species_laws, values_of
from backreef.catalogue.entries import Catalogue, Species, Unknown, Value
from backreef.catalogue.laws_of_things import device_laws, food_laws, task_laws
from backreef.catalogue.load import load_catalogue
from backreef.catalogue.sources import Source
from backreef.catalogue.tables import fields, spreads


def changed(ident: str, **changes: Any) -> list[str]:
    """Keys that the laws complain about once an animal was changed."""
    catalogue = load_catalogue()
    animal = dataclasses.replace(catalogue.species[ident], **changes)
    return [key for key, _ in species_laws(animal, catalogue.guilds[animal.guild])]


def test_the_catalogue_breaks_no_law() -> None:
    assert [str(fault) for fault in check_catalogue(load_catalogue())] == []


def test_it_notices_a_source_that_nothing_rests_on() -> None:
    catalogue = load_catalogue()
    idle = Source(key="idle2000", text="Idle", kind="paper", seen="none")
    sources = MappingProxyType({**catalogue.sources, "idle2000": idle})
    found = check_catalogue(dataclasses.replace(catalogue, sources=sources))
    assert [fault.key for fault in found] == ["idle2000"]


def test_it_notices_a_guild_and_tokens_that_nobody_uses() -> None:
    catalogue = load_catalogue()
    without = {ident: one for ident, one in catalogue.species.items() if one.guild != "seahorse"}
    found = check_catalogue(dataclasses.replace(catalogue, species=MappingProxyType(without)))
    assert [(fault.file, fault.key) for fault in found] == [("guilds.csv", "seahorse")]


def test_it_notices_a_guild_that_would_starve() -> None:
    catalogue = load_catalogue()
    guild = dataclasses.replace(catalogue.guilds["specialist"], prey_not_modelled="")
    guilds = MappingProxyType({**catalogue.guilds, "specialist": guild})
    found = check_catalogue(dataclasses.replace(catalogue, guilds=guilds))
    assert [fault.key for fault in found] == ["specialist"]


def test_it_notices_a_coral_without_a_surface() -> None:
    assert changed("acropora", coral_area_cm2_per_unit=Unknown(reason="lost")) == ["coral_area_cm2_per_unit"]


def test_it_notices_a_fish_that_cannot_be_simulated() -> None:
    assert changed("firefish", weight_a_g=Unknown(reason="lost")) == ["weight_a_g"]
    assert changed("firefish", growth_kmax_per_y=Unknown(reason="lost")) == ["growth_kmax_per_y"]


def test_it_notices_words_that_belong_to_another_guild() -> None:
    assert changed("firefish", feeder_condition="film algae suffice") == ["forage_type"]
    assert changed("firefish", forage_type="light and crumbs") == ["forage_type"]
    assert changed("mandarin", feeder_alone="yes") == ["feeder_alone"]
    assert changed("trochus", hardiness_note="check after falls") == ["hardiness_note"]


def test_it_notices_an_enemy_said_to_be_safe() -> None:
    harlequin = changed("melanurus_wrasse", safe_shrimps="safe", safe_snails="safe", safe_worms="safe")
    assert harlequin == ["safe_shrimps", "safe_worms"]
    polyps = {"safe_lps": "safe", "safe_sps": "safe", "safe_soft": "safe"}
    assert changed("camel_shrimp", **polyps) == ["eats"]


def test_it_notices_harm_without_a_reason() -> None:
    assert changed("green_brittle", eats=(), safety_condition="") == ["safety_condition"]


def test_it_notices_food_larger_than_a_mouth() -> None:
    large = Value(value=30, low=20, high=40, unit="mm", source="practice", status="practice")
    assert changed("firefish", food_mm=large) == ["food_mm"]


def test_it_notices_an_adult_longer_than_the_record() -> None:
    short = Value(value=4, unit="cm", source="practice", status="practice")
    assert changed("firefish", max_length_cm=short) == ["adult_length_cm"]


def test_it_notices_a_cleaner_of_impossible_strength() -> None:
    assert changed("trochus", cleans={"film": 5}) == ["cleans"]


def test_it_notices_a_feeder_without_a_hopper() -> None:
    feeder = load_catalogue().devices["feeder_auger"]
    without = dataclasses.replace(feeder, hopper_g=Unknown(reason="lost"))
    assert [key for key, _ in device_laws(without)] == ["hopper_g"]


def test_every_number_of_every_entry_has_its_row_of_fields() -> None:
    names = {field for _, field, _ in values_of(load_catalogue())}
    assert names <= set(fields())
    assert set(spreads()) <= set(fields())


def test_every_number_has_a_range() -> None:
    bare = {field for _, field, value in values_of(load_catalogue()) if value.low is None}
    assert bare == {"weight_b_ratio", "portions_per_day_max"}


def test_every_number_lies_within_what_is_believable() -> None:
    odd = [
        (field, value.value)
        for _, field, value in values_of(load_catalogue())
        if not fields()[field].lowest <= value.value <= fields()[field].highest
    ]
    assert odd == []


def tags_of(catalogue: Catalogue, animal: Species) -> set[str]:
    return {tag for tag in animal.tags if tag in catalogue.tokens}


def test_the_hunters_of_an_animal_exist() -> None:
    catalogue = load_catalogue()
    carried = {tag for animal in catalogue.species.values() for tag in tags_of(catalogue, animal)}
    hunters = {token for animal in catalogue.species.values() for token in animal.eaten_by}
    assert hunters - carried == set()


def test_it_notices_a_kind_of_food_that_nothing_is_said_of() -> None:
    assert changed("firefish", takes={"dry": "usual"}) == ["takes"]


def test_it_notices_a_grazer_that_is_said_to_take_no_algae() -> None:
    takes = dict(load_catalogue().species["yellow_tang"].takes) | {"algae": "no"}
    assert changed("yellow_tang", takes=takes) == ["takes"]


def test_it_notices_tokens_that_no_animal_uses_or_carries() -> None:
    catalogue = load_catalogue()
    without = {ident: one for ident, one in catalogue.species.items() if "frogfish" not in one.tags}
    alone = dataclasses.replace(catalogue, species=MappingProxyType(without))
    assert [fault.key for fault in check_catalogue(alone)] == ["frogfish"]
    silent = {
        ident: dataclasses.replace(one, eats=tuple(token for token in one.eats if token != "foram"))
        for ident, one in catalogue.species.items()
    }
    unused = dataclasses.replace(catalogue, species=MappingProxyType(silent))
    assert [fault.key for fault in check_catalogue(unused)] == ["foram"]


def number(value: float) -> Value:
    return Value(value=value, unit="", source="practice", status="practice")


def test_it_notices_more_phosphorus_than_ash() -> None:
    pellet = load_catalogue().foods["pellet_small"]
    assert [key for key, _ in food_laws(dataclasses.replace(pellet, phosphorus_frac=number(0.15)))] == [
        "phosphorus_frac"
    ]


def test_it_asks_nothing_of_an_energy_that_is_unknown() -> None:
    pellet = load_catalogue().foods["pellet_small"]
    without = dataclasses.replace(pellet, gross_energy_kj_per_g=Unknown(reason="lost"))
    assert list(food_laws(without)) == []


def test_it_notices_harm_before_a_task_is_late() -> None:
    task = load_catalogue().tasks["wc_do"]
    hasty = dataclasses.replace(task, harm_after_days=number(3))
    assert [key for key, _ in task_laws(hasty)] == ["harm_after_days"]


def test_it_notices_words_of_light_for_what_lives_in_shade_and_corals_that_fall() -> None:
    words = "any number that light and food allow"
    assert changed("thorny_oyster", social_rule=words) == ["social_rule"]
    assert changed("tridacna_maxima", social_rule=words) == []
    assert changed("xenia", self_rights="no") == ["self_rights"]


def test_it_notices_a_ration_that_no_body_lives_from_or_could_take() -> None:
    def ration(value: float) -> Value:
        known = load_catalogue().species["trochus"].intake_max_frac_ww_per_d
        assert isinstance(known, Value)
        return dataclasses.replace(known, value=value)

    assert changed("trochus", intake_max_frac_ww_per_d=ration(0.005)) == ["intake_max_frac_ww_per_d"]
    assert changed("trochus", intake_max_frac_ww_per_d=ration(0.9)) == ["intake_max_frac_ww_per_d"]
    assert changed("trochus", intake_max_frac_ww_per_d=Unknown(reason="lost")) == []


def test_it_notices_a_body_that_no_animal_has() -> None:
    known = load_catalogue().species["trochus"].weight_a_g
    assert isinstance(known, Value)
    assert "weight_a_g" in changed("trochus", weight_a_g=dataclasses.replace(known, value=4.9))
