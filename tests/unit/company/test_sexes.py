from __future__ import annotations

import pytest

from backreef.catalogue.entries import Species
from backreef.company.attacks import own_kind_rate
from backreef.company.engine import check_plan
from backreef.company.findings import CheckFinding
from backreef.company.sexes import mating_of, mating_tags, sexes_of
from tests.unit.aquarium.plans import catalogue
from tests.unit.company.test_survival import of, tank


def found(lines: str, rule: str = "sexes") -> list[CheckFinding]:
    setting = tank(lines)
    return [one for one in check_plan(setting.plan, catalogue(), absence_days=0) if one.rule == rule]


def entries(species: str, *sexes: str, count: int = 1) -> str:
    """One entry of a kind for each sex."""
    return "".join(
        of(species, f'id = "{species}_{number}"', f"count = {count}", f'sex = "{sex}"')
        for number, sex in enumerate(sexes)
    )


def test_every_tag_of_the_table_is_carried_by_an_animal() -> None:
    carried = {tag for species in catalogue().species.values() for tag in species.tags}
    assert mating_tags() <= carried


def test_a_genus_is_asked_before_its_family() -> None:
    def lives(species: str) -> str | None:
        mating = mating_of(catalogue().species[species])
        return mating.lives if mating else None

    assert (lives("pajama_cardinal"), lives("banggai_cardinal")) == ("group", "pair")
    assert lives("trochus") is None


def test_sexes_are_counted_over_all_entries_of_a_kind() -> None:
    lines = of("lyretail_anthias", "count = 4", 'sex = "harem"') + of("lyretail_anthias", 'id = "b"')
    counted = sexes_of("lyretail_anthias", tank(lines))
    assert (counted.males, counted.females, counted.young, counted.unknown) == (1, 3, 0, 1)
    assert not counted.said


@pytest.mark.parametrize(
    ("lines", "words"),
    [
        (entries("mandarin", "male", "male"), "2 males"),
        (entries("ocellaris_clown", "female", "female"), "2 females"),
        (entries("lyretail_anthias", "male", "male", "female", "female", "female"), "2 males"),
        (of("lyretail_anthias", "count = 3", 'sex = "harem"'), "2 to one male"),
        (entries("lined_seahorse", "female", "female"), "2 females"),
        (of("firefish", "count = 2", 'sex = "male"'), "2 males"),
    ],
)
def test_sexes_that_fight_are_named(lines: str, words: str) -> None:
    (one,) = found(lines)
    assert words in one.why
    assert one.weight in ("serious", "caution")


@pytest.mark.parametrize(
    "lines",
    [
        of("mandarin", "count = 2", 'sex = "pair"'),
        entries("ocellaris_clown", "male", "female"),
        of("ocellaris_clown", "count = 2", 'sex = "young"'),
        of("ocellaris_clown", "count = 2", 'sex = "male"'),
        of("lyretail_anthias", "count = 5", 'sex = "harem"'),
        of("yellow_clown_goby", "count = 2", 'sex = "female"'),
        of("skunk_cleaner", "count = 2"),
        of("pajama_cardinal", "count = 4"),
        of("mandarin", 'sex = "male"'),
    ],
)
def test_it_is_silent_where_they_fit_or_do_not_matter(lines: str) -> None:
    assert found(lines) == []


def test_what_is_not_said_stays_unknown() -> None:
    (one,) = found(of("mandarin", "count = 2"))
    assert "unknown" in one.what
    (half,) = found(entries("mandarin", "male") + of("mandarin", 'id = "other"'))
    assert "unknown" in half.what
    (young,) = found(of("mandarin", "count = 2", 'sex = "young"'))
    assert "unknown: of which sex the 2 young will be" in young.what


def test_a_change_of_sex_is_foretold() -> None:
    (one,) = found(of("lyretail_anthias", "count = 5", 'sex = "female"'))
    assert one.weight == "note"
    assert "the largest will turn male" in one.what


def test_a_pair_that_is_known_is_not_too_many() -> None:
    assert found(of("royal_gramma", "count = 2"), "group") != []
    assert found(of("royal_gramma", "count = 2", 'sex = "pair"'), "group") == []
    assert found(of("yellow_tang", "count = 2", 'sex = "pair"'), "group") != [], "tangs live in no pairs here"


def test_sexes_that_fight_die_sooner_and_pairs_later() -> None:
    def rate(species: str, sex: str) -> float:
        setting = tank(of(species, "count = 2", sex))
        return own_kind_rate(setting.residents[0], setting, heads=2).value_per_y

    males, pair, unknown = (rate("mandarin", sex) for sex in ('sex = "male"', 'sex = "pair"', ""))
    assert males > 5 * pair
    assert unknown == pair, "where it is not said, a number that can live in peace is taken to do so"
    assert rate("royal_gramma", 'sex = "pair"') < rate("royal_gramma", "")


def test_a_kind_of_ones_own_with_a_known_genus_is_judged_too() -> None:
    species: Species = catalogue().species["percula_clown"]
    mating = mating_of(species)
    assert mating is not None
    assert (mating.lives, mating.change) == ("pair", "male_first")
    assert mating.source
