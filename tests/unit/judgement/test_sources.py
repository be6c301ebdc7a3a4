from __future__ import annotations

import re
from functools import cache

from backreef.judgement.sources import (
    in_words,
    source_texts,
    source_words,
    sources_of,
    values_of,
)
from backreef.judgement.used_values import UsedValue
from backreef.models.body_values import read_body_sources
from backreef.models.tables import load_tables
from backreef.simulation.prepared import Prepared, prepare
from tests.unit.aquarium.plans import catalogue, with_tank

PAIR = '[[animals]]\nspecies = "ocellaris_clown"\ncount = 2\n'
MEAL = '[[meals]]\nfood = "{food}"\namount = "0.2 g"\ntimes = ["18:00"]\n'
SHORT = '[goals]\nhorizon = "0.1 years"\n'


@cache
def prepared(food: str = "pellet_small") -> Prepared:
    return prepare(with_tank(PAIR + MEAL.format(food=food) + SHORT), catalogue())


def test_it_writes_sources_out_in_full() -> None:
    listed = sources_of(prepared())
    keys = set(catalogue().sources) | set(load_tables().sources) | set(read_body_sources())
    assert not keys & set(listed)
    assert all(" " in source for source in listed)


def test_it_names_each_source_once() -> None:
    listed = sources_of(prepared())
    assert len({source.lower() for source in listed}) == len(listed)
    practice = [source for source in listed if source.lower().startswith("common practice")]
    without_a_year = [source for source in practice if not re.search(r"\b(19|20)\d\d\b", source)]
    assert len(without_a_year) == 1


def test_it_begins_with_what_is_published_and_ends_with_a_count() -> None:
    listed = sources_of(prepared())
    published = next(place for place, source in enumerate(listed) if source.startswith("Nijhof"))
    practice = next(place for place, source in enumerate(listed) if source.startswith("Common practice"))
    assert published < practice < len(listed) - 1
    assert listed[-1].startswith("Of the ")


def test_it_counts_every_value_under_one_status() -> None:
    numbers = [int(number) for number in re.findall(r"\d+", sources_of(prepared())[-1])]
    assert numbers[0] == sum(numbers[1:]) == len(values_of(prepared()))


def test_it_names_the_source_of_a_food_only_where_the_food_is_fed() -> None:
    seaweed = catalogue().sources["hwang2013"].text.removesuffix(".")
    assert seaweed in sources_of(prepared("nori"))
    assert seaweed not in sources_of(prepared())


def test_it_keeps_the_fuller_text_where_two_tables_know_a_source() -> None:
    texts = catalogue().sources["barneche2014"].text, read_body_sources()["barneche2014"]
    assert len(set(texts)) == len(texts)
    assert source_texts(catalogue())["barneche2014"] == max(texts, key=len)


def test_it_turns_keys_into_words_and_leaves_words_alone() -> None:
    texts = {"one": "First 2001", "two": "Second 2002"}
    both = UsedValue(
        key="k",
        topic="t",
        title="",
        name="",
        text="",
        status="calc",
        source_keys=("one", "two", "three"),
        source_text="own rule",
    )
    assert source_words(both, texts) == ["First 2001", "Second 2002", "three", "own rule"]
    assert in_words("one two", texts) == "First 2001; Second 2002"
    assert in_words("common practice, no source", texts) == "common practice, no source"
