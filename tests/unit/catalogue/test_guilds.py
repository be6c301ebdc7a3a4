import pytest

from backreef.catalogue.entries import DIET_OF_POOL, DIETS, POOLS, Guild
from backreef.catalogue.load import load_catalogue

GUILDS = load_catalogue().guilds


@pytest.mark.parametrize("guild", GUILDS.values(), ids=list(GUILDS))
def test_it_lives_from_something(guild: Guild) -> None:
    found = sum(guild.feeds_on[pool].value for pool in POOLS)
    assert found > 0 or guild.light_fed or guild.prey_not_modelled


@pytest.mark.parametrize("guild", GUILDS.values(), ids=list(GUILDS))
def test_its_shares_are_shares(guild: Guild) -> None:
    shares = [*guild.feeds_on.values(), guild.light_share_frac, guild.day_share_frac, guild.night_share_frac]
    for kept in (
        guild.carbon_assimilated_frac,
        guild.nitrogen_assimilated_frac,
        guild.phosphorus_assimilated_frac,
    ):
        assert set(kept) == set(DIETS)
        shares += kept.values()
    for share in shares:
        assert 0 <= share.lowest <= share.value <= share.highest <= 1
    assert guild.day_share_frac.value + guild.night_share_frac.value == pytest.approx(1)


@pytest.mark.parametrize("guild", GUILDS.values(), ids=list(GUILDS))
def test_it_spends_no_less_than_at_rest(guild: Guild) -> None:
    assert guild.activity_factor_ratio.value >= 1
    assert guild.pace_ratio.value > 0
    assert guild.gut_hours.value > 0


def test_every_pool_belongs_to_a_diet() -> None:
    assert set(DIET_OF_POOL) == set(POOLS)
    assert set(DIET_OF_POOL.values()) <= set(DIETS)


def test_every_animal_has_its_guild() -> None:
    catalogue = load_catalogue()
    assert {animal.guild for animal in catalogue.species.values()} == set(GUILDS)
    assert catalogue.species["mandarin"].guild == "pod_picker"


def test_only_animals_with_algae_in_their_tissue_live_from_light() -> None:
    lit = {ident for ident, guild in GUILDS.items() if guild.light_fed}
    assert lit == {"photosynthetic_coral", "anemone", "giant_clam"}


def test_weights_order_as_keepers_see_it() -> None:
    # Common practice, no source: who gets to scarce food first, and what a tang and a bristletooth rasp.
    pace = {ident: guild.pace_ratio.value for ident, guild in GUILDS.items()}
    assert pace["hard_prey_carnivore"] > pace["turf_grazing_fish"] > pace["planktivore_near_cover"]
    assert pace["planktivore_near_cover"] > pace["pod_picker"] > pace["seahorse"]
    assert GUILDS["turf_grazing_fish"].feeds_on["turf_algae"].value > 0.5
    assert GUILDS["bristletooth_grazer"].feeds_on["turf_algae"].value < 0.5
    assert GUILDS["pod_picker"].feeds_on["particles_in_water"].value < 0.2


def test_a_brown_tang_keeps_of_algae_what_was_measured() -> None:
    # schiettekatte_feces: Zebrasoma scopas 0.48, 0.63 and 0.43 of carbon, nitrogen and phosphorus.
    tang = GUILDS["turf_grazing_fish"]
    kept = [
        tang.carbon_assimilated_frac["algae"],
        tang.nitrogen_assimilated_frac["algae"],
        tang.phosphorus_assimilated_frac["algae"],
    ]
    assert [share.value for share in kept] == pytest.approx([0.48, 0.63, 0.43], rel=0.05)
