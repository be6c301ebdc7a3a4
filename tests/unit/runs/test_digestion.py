from dataclasses import replace

import pytest

from backreef.catalogue.entries import Guild, Species, Value
from backreef.models.matrix import packaged_matrix
from backreef.models.mouths import ALGAL_DIET, BOTTOM, POOLS
from backreef.simulation.bodies import body_of
from backreef.simulation.digestion import digestion, likings
from backreef.simulation.foods import FoodSlot
from backreef.simulation.tables import animal_number
from tests.unit.aquarium.plans import catalogue
from tests.unit.runs.world import MEAL, prepared

MATRIX = packaged_matrix()
BODY = body_of(MATRIX)
CONTENT = {component.name: component.composition for component in MATRIX.components}


def clown() -> tuple[Species, Guild]:
    species = catalogue().species["ocellaris_clown"]
    return species, catalogue().guilds[species.guild]


def pellets() -> tuple[FoodSlot, ...]:
    return prepared(MEAL).foods


def absorbing(share: float) -> Guild:
    """A guild that takes up this share of the carbon of whatever it eats."""
    _, guild = clown()
    value = Value(value=share, low=None, high=None, unit="", source="practice", status="practice")
    return replace(guild, carbon_assimilated_frac=dict.fromkeys(guild.carbon_assimilated_frac, value))


@pytest.mark.parametrize("takes", ["reliable", "usual", "sometimes", "rarely", "no", "unknown"])
def test_a_food_is_liked_as_it_is_taken(takes: str) -> None:
    species, guild = clown()
    picky = replace(species, takes={"dry": takes})  # type: ignore[dict-item]
    place = guild.feeds_on[pellets()[0].pool].value
    expected = place * animal_number(f"takes_{takes}_frac")
    assert likings(picky, guild, pellets())["Q_1"] == pytest.approx(expected)


def test_a_food_that_the_catalogue_does_not_speak_of_counts_as_unknown() -> None:
    species, guild = clown()
    silent = likings(replace(species, takes={}), guild, pellets())
    assert silent["Q_1"] == guild.feeds_on[pellets()[0].pool].value * animal_number("takes_unknown_frac")


def test_what_is_not_on_the_menu_is_not_liked() -> None:
    species, guild = clown()
    liked = likings(species, guild, pellets())
    assert set(liked) == set(POOLS)
    assert [liked[f"Q_{food}"] for food in range(2, 7)] == [0.0] * 5
    assert all(0.0 <= value <= 1.0 for value in liked.values())


@pytest.mark.parametrize("share", [0.2, 0.5, 0.8, 0.95])
def test_nobody_keeps_more_than_was_eaten(share: float) -> None:
    kept, faeces = digestion(absorbing(share), MATRIX, BODY, pellets())
    for pool in (pool for pool in POOLS if pool != BOTTOM):
        assert kept[pool] >= 0.0
        assert 0.0 <= faeces[pool] <= 1.0 - share + 1e-12
        assert kept[pool] + faeces[pool] <= 1.0 + 1e-12


def test_energy_nitrogen_and_phosphorus_all_close() -> None:
    kept, faeces = digestion(absorbing(0.9), MATRIX, BODY, pellets())
    soft, hard = CONTENT["X_DL"], CONTENT["X_DR"]
    assert soft is not None
    assert hard is not None
    for pool in ("A_F", "A_T", "X_DL", "Z_PC", "Z_PA", "Q_1"):
        content = pellets()[0].composition if pool == "Q_1" else CONTENT[pool]
        assert content is not None
        rest = animal_number("refractory_frac") if pool in ALGAL_DIET else 0.0
        made = [soft[element] * (1 - rest) + hard[element] * rest for element in range(3)]
        assert kept[pool] * BODY.oxygen_demand <= content[3] - faeces[pool] + 1e-12
        assert kept[pool] * BODY.nitrogen + faeces[pool] * made[1] <= content[1] + 1e-12
        assert kept[pool] * BODY.phosphorus + faeces[pool] * made[2] <= content[2] + 1e-12


def test_who_takes_up_more_keeps_more_of_its_prey() -> None:
    kept = [digestion(absorbing(share), MATRIX, BODY, pellets())[0]["Z_PC"] for share in (0.3, 0.6, 0.9)]
    assert kept == sorted(kept)
    assert kept[0] < kept[-1]


def test_food_poor_in_nitrogen_builds_little_body() -> None:
    """Algae of a refugium hold less nitrogen per carbon than prey does, so less of it is kept."""
    kept, _ = digestion(absorbing(0.9), MATRIX, BODY, pellets())
    assert kept["A_N"] < kept["Z_PC"]


def test_the_mixture_on_the_bottom_is_bounded_while_it_is_eaten() -> None:
    kept, faeces = digestion(absorbing(0.9), MATRIX, BODY, pellets())
    assert faeces[BOTTOM] == pytest.approx(0.1)
    assert 0.5 < kept[BOTTOM] < 1.0
