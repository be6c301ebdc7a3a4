from __future__ import annotations

from functools import cache

import pytest

from backreef.aquarium.defaults import all_defaults
from backreef.aquarium.load import load_plan
from backreef.judgement.assumptions import assumptions_of
from backreef.judgement.used_values import UsedValue, spelled, topics, topics_of, words
from backreef.judgement.verdict import Assumption
from backreef.models.tables import load_tables
from backreef.simulation.draws import ASSUMED_RATIO
from backreef.simulation.prepared import Prepared, prepare
from backreef.simulation.tables import animal_table, kind_table, system_table
from tests.unit.aquarium.plans import EXAMPLES, catalogue, with_tank

SHORT = '[goals]\nhorizon = "0.1 years"\n'
PAIR = '[[animals]]\nid = "pair"\nspecies = "ocellaris_clown"\ncount = 2\n'
SNAILS = '[[animals]]\nid = "snails"\nspecies = "trochus"\ncount = 4\n'
PELLETS = '[[meals]]\nfood = "pellet_small"\namount = "0.2 g"\ntimes = ["18:00"]\n'


@cache
def prepared(lines: str) -> Prepared:
    return prepare(with_tank(lines + SHORT), catalogue())


@cache
def example(name: str) -> Prepared:
    return prepare(load_plan(EXAMPLES / f"{name}.toml", catalogue()), catalogue())


def said(lines: str) -> dict[str, Assumption]:
    return {one.key: one for one in assumptions_of(prepared(lines))}


def test_it_begins_with_what_the_plan_left_open_in_its_order() -> None:
    small = prepared(PAIR)
    taken = small.plan.assumptions
    first = assumptions_of(small)[: len(taken)]
    assert [(one.key, one.changes) for one in first] == [(one.key, one.changes) for one in taken]
    assert all(one.source.startswith("not said in the plan; ") for one in first)
    temperature = next(one for one in first if one.key == "tank.temperature")
    default = all_defaults()["tank.temperature"]
    assert temperature.value == f"{default.value:g} {default.unit} ({default.low:g} to {default.high:g})"
    assert temperature.what == "Temperature that the thermostat holds"


def test_it_puts_practice_and_memory_before_what_is_published() -> None:
    small = prepared(PAIR + PELLETS)
    rest = assumptions_of(small)[len(small.plan.assumptions) :]
    ranks = [{"practice": 0, "memory": 0, "calc": 1, "published": 2}[one.status] for one in rest]
    assert ranks == sorted(ranks)
    assert {0, 1, 2} == set(ranks)


def test_it_puts_what_matters_most_first_among_its_like() -> None:
    keys = list(said(PAIR + PELLETS))
    assert topics()["model.denitrification"].matters > topics()["model.gas"].matters
    assert keys.index("model.denitrification.D_rock") < keys.index("model.gas.k_s")


def test_it_says_value_range_source_and_consequence() -> None:
    rock = load_tables().parameters["D_rock"]
    assumed = said(PAIR)["model.denitrification.D_rock"]
    assert assumed.value == f"{rock.value:g} {rock.unit} ({rock.low:g} to {rock.high:g})"
    assert assumed.status == rock.status
    assert "ommon practice" in assumed.source
    assert "lower nitrate" in assumed.changes


@pytest.mark.parametrize("name", ["reading_room", "office_showpiece"])
def test_it_leaves_nothing_unsaid(name: str) -> None:
    found = assumptions_of(example(name))
    assert len({one.key for one in found}) == len(found)
    for one in found:
        texts = (one.key, one.what, one.value, one.status, one.source, one.changes)
        assert all(text.strip() for text in texts), one
        assert not any("{" in text or "nan" in text.split() for text in texts), one
        assert one.what != one.key


def test_it_names_an_entry_of_the_plan_by_its_id() -> None:
    assert said(PAIR)["animals[0].length"].what == "Length of pair"


@pytest.mark.parametrize(
    ("group", "lines"),
    [
        ("model.refugium_algae.", '[[devices]]\nkind = "refugium"\n'),
        ("model.skimmer.", '[[devices]]\nkind = "skimmer_sump"\n'),
        ("model.sock.", '[[devices]]\nkind = "sock"\n'),
        ("model.corals.", '[[animals]]\nspecies = "leathers"\n'),
        ("model.iron_oxide.", '[[devices]]\nkind = "gfo_reactor"\n'),
        ("species.trochus.", SNAILS),
        ("food.pellet_small.", PAIR + PELLETS),
        ("system.portion_hand_cv_frac", PAIR + PELLETS),
        ("system.kit_error_nitrate_frac", '[[upkeep]]\ntask = "test_quick"\nevery = "14 days"\n'),
        ("task.glass_inner", '[[upkeep]]\ntask = "glass_inner"\nevery = "7 days"\n'),
    ],
)
def test_it_lists_what_the_plan_uses_and_nothing_else(group: str, lines: str) -> None:
    assert any(key.startswith(group) for key in said(lines))
    assert not any(key.startswith(group) for key in said(""))


def test_it_does_not_assume_what_the_plan_states() -> None:
    lit = '[[devices]]\nkind = "refugium"\n'
    assert "system.refugium_area_m2_per_l" in said(lit)
    assert "system.refugium_area_m2_per_l" not in said(lit + 'area = "0.2 m2"\n')
    assert "system.heater_w_per_l" in said("")
    assert "system.heater_w_per_l" not in said('[[devices]]\nkind = "heater_ctl"\npower = "300 W"\n')


def test_it_says_which_bounds_the_plan_set_itself() -> None:
    own = prepare(with_tank(SHORT + '[goals.bands.temperature]\nact_high = "27 degC"\n'), catalogue())
    bounds = next(one for one in assumptions_of(own) if one.key == "band.temperature_c")
    assert "above 27 degC" in bounds.value
    assert "some of them set by the plan itself" in bounds.source
    assert "set by the plan" not in said("")["band.temperature_c"].source


def test_it_takes_a_feeders_hopper_from_the_catalogue_unless_the_plan_has_it() -> None:
    drum = '[[devices]]\nid = "drum"\nkind = "feeder_drum_batt"\n'
    fed = PAIR + PELLETS + 'by = "drum"\n'
    assert "hopper 37.5 g" in said(fed + drum)["device.feeder_drum_batt.feeder"].value
    assert "hopper" not in said(fed + drum + 'hopper = "40 g"\n')["device.feeder_drum_batt.feeder"].value


def test_it_takes_from_the_catalogue_what_one_of_two_feeders_leaves_open() -> None:
    first = '[[devices]]\nid = "drum"\nkind = "feeder_drum_batt"\nhopper = "40 g"\n'
    second = first.replace("drum", "other", 1).replace('hopper = "40 g"\n', "")
    fed = PAIR + PELLETS + 'by = "drum"\n' + PELLETS + 'by = "other"\n'
    assert "hopper 37.5 g" in said(fed + first + second)["device.feeder_drum_batt.feeder"].value


def test_it_knows_a_patch_of_sand_only_where_there_is_sand() -> None:
    cleaned = '[[upkeep]]\ntask = "sand_clean"\nevery = "14 days"\n'
    bare = 'sand_area = "0 m2"\n'
    assert said(cleaned)["schedule.effect.sand_clean"].what.endswith("patch at a time")
    assert said(bare + cleaned)["schedule.effect.sand_clean"].what.endswith("share")
    stated = said(cleaned + 'share = "20 %"\n')
    assert "schedule.effect.sand_clean" not in stated


def test_it_does_not_time_a_task_that_the_keeper_timed() -> None:
    wiped = '[[upkeep]]\ntask = "glass_inner"\nevery = "7 days"\n'
    assert "each time" in said(wiped)["task.glass_inner.work"].value
    assert "each time" not in said(wiped + 'minutes = "6 min"\n')["task.glass_inner.work"].value


def test_it_owns_up_to_traits_that_nobody_knows() -> None:
    cohort = prepared(SNAILS).cohorts[0]
    assert "growth" in cohort.assumed
    growth = said(SNAILS)["unknown.growth"]
    assert f"{cohort.nature['kmax_per_d'].value:.4g}" in growth.value
    assert "Banded trochus snail" in growth.what
    assert growth.status == kind_table()["snail"]["status"]
    assert "unknown.growth" not in said(PAIR)


def test_it_says_how_wide_a_value_without_a_range_is_drawn() -> None:
    assert said("")["rule.spread"].value == f"times or divided by {ASSUMED_RATIO:g}"


def used(status: str, *, ranged: bool = True, remark: str = "") -> UsedValue:
    return UsedValue(
        key="k", topic="t", title="", name="", text="", status=status, ranged=ranged, remark=remark
    )


def test_it_trusts_only_values_whose_range_is_not_ours() -> None:
    assert used("practice").rests_on_us
    assert used("memory").rests_on_us
    assert not used("published").rests_on_us
    assert not used("calc").rests_on_us
    assert used("published", ranged=False).rests_on_us
    assert used("published", remark="range narrowed to warm sea water").rests_on_us
    assert not used("published", remark="unassuming").rests_on_us


def test_it_writes_ranges_only_where_they_are_known() -> None:
    assert spelled(0.2, 0.06, 0.8, "mmol") == "0.2 mmol (0.06 to 0.8)"
    assert spelled(1.0, None, None, "d") == "1 day (no range known)"
    assert spelled(0.4, 0.4, 0.4, "-") == "0.4 (taken as exact)"
    assert spelled(2.0, 1.0, None, "frac") == "2 (1 to 2)"


def test_it_has_words_for_every_parameter_and_no_other() -> None:
    grouped = [symbol for topic in topics_of("model") for symbol in topic.items]
    parameters = load_tables().parameters
    assert sorted(grouped) == sorted(set(grouped))
    without_a_topic = set(parameters) - set(grouped)
    assert not without_a_topic, f"add to a topic of judgement/data/changes.toml: {without_a_topic}"
    assert set(grouped) <= set(parameters), "changes.toml names parameters that are gone"
    named = {topic.name.partition(".")[2] for topic in topics_of("system")} - {"other"}
    assert named == set(system_table())
    of_animals = [name for topic in topics_of("animals") for name in topic.items]
    assert sorted(of_animals) == sorted(animal_table())


def test_it_has_words_for_every_default_of_a_plan() -> None:
    noted = {
        one.key.partition("[")[0] + "[]." + one.key.partition("].")[2] if "[" in one.key else one.key
        for name in ("reading_room", "office_showpiece", "family_first_reef")
        for one in example(name).plan.assumptions
    }
    assert {key.partition(" (")[0] for key in noted} <= set(words()["plan"])


def test_it_answers_always_the_same() -> None:
    library = example("reading_room")
    assert assumptions_of(library) == assumptions_of(library)
