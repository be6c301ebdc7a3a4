from __future__ import annotations

from dataclasses import replace

import pytest

from backreef.aquarium.plan import Wish
from backreef.planning.wishes import ReadWish, read_wishes
from tests.planning_world import a_short_plan, the_catalogue


def read(*wishes: Wish) -> tuple[ReadWish, ...]:
    plan = a_short_plan()
    return read_wishes(replace(plan, keeper=replace(plan.keeper, wishes=wishes)), the_catalogue())


@pytest.mark.parametrize(
    ("text", "meant", "not_meant", "least"),
    [
        ("something that grazes", "trochus", "royal_gramma", 1),
        ("a pair of shrimps", "skunk_cleaner", "coral_beauty", 2),
        ("a shoal", "chalk_bass", "royal_gramma", 4),
        ("somebody in a burrow", "yellow_watchman", "trochus", 1),
        ("clean sand", "cerith", "royal_gramma", 1),
        ("surprise me", "chalk_bass", "royal_gramma", 1),
    ],
)
def test_it_understands_words(text: str, meant: str, not_meant: str, least: int) -> None:
    (wish,) = read(Wish(text=text, weight=1.0))
    assert meant in wish.species
    assert not_meant not in wish.species
    assert wish.least_count == least


def test_a_wish_without_names_is_fulfilled_by_animals_that_one_sees() -> None:
    (wish,) = read(Wish(text="something that grazes", weight=1.0))
    assert "dove_snail" not in wish.species
    (named,) = read(Wish(text="something that grazes", weight=1.0, species=("dove_snail",)))
    assert "dove_snail" in named.species


def test_named_animals_are_taken_at_their_word() -> None:
    (wish,) = read(Wish(text="a shoal", weight=2.0, species=("green_chromis",)))
    assert (wish.species, wish.least_count, wish.named) == (frozenset({"green_chromis"}), 4, True)


@pytest.mark.parametrize(
    ("text", "together"),
    [("a shrimp and a goby that share a burrow", True), ("a goby or a shrimp", False), ("Both!", True)],
)
def test_named_animals_are_wanted_together_where_the_words_say_so(text: str, together: bool) -> None:
    species = ("yellow_watchman", "tiger_pistol")
    (wish,) = read(Wish(text=text, weight=1.0, species=species))
    assert (wish.species, wish.together) == (frozenset(species), together)
    (one,) = read(Wish(text=text, weight=1.0, species=species[:1]))
    assert not one.together


def test_words_that_name_nothing_are_not_counted() -> None:
    (wish,) = read(Wish(text="the same tank in ten years", weight=2.0))
    assert not wish.counted


def test_a_surprise_is_what_nothing_else_asks_for() -> None:
    first, second = read(Wish(text="something that grazes", weight=1.0), Wish(text="surprise", weight=1.0))
    assert first.species
    assert second.species
    assert not first.species & second.species
