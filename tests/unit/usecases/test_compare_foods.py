"""Label claims judged on the same basis, and how near foods are to natural prey.

That rich pellets hold near twice the energy of others is a belief of the trade (common practice, no source).
"""

from __future__ import annotations

import pytest

from backreef.catalogue.entries import Food, Value
from backreef.catalogue.labels import Label, food_of, with_labels
from backreef.catalogue.load import load_catalogue
from backreef.usecases.compare_foods import FoodComparison, NotComparable, compare_foods, comparison_part
from backreef.usecases.natural_prey import nearness, prey_part


def granules(name: str, **printed: float) -> Label:
    return Label(
        id=name,
        name=name,
        like="pellet_small",
        basis="as fed",
        printed_frac=printed,
        grain_mm=None,
        pack_g=None,
        packaging="",
    )


LABELS = (granules("lean", protein=0.45, fat=0.10), granules("rich", protein=0.45, fat=0.15))
SHELVES = with_labels(load_catalogue(), LABELS)


def compared(name: str, against: str) -> FoodComparison:
    return compare_foods(SHELVES.foods[name], against, SHELVES, LABELS)


def test_half_as_much_fat_again_is_a_twentieth_more_energy_and_far_from_twice() -> None:
    as_fed, dry, taken_up = compared("rich", "lean").bases
    # 5 points of fat in place of starch: 5 % of (39.5 - 17.2) kJ/g on 19.4 kJ/g
    assert as_fed.more_frac_p50 == pytest.approx(0.05 * (39.5 - 17.2) / 19.4, abs=0.02)
    assert 0.0 < as_fed.more_frac_p05 < as_fed.more_frac_p50 < as_fed.more_frac_p95 < 0.2
    assert dry.more_frac_p50 == pytest.approx(as_fed.more_frac_p50, abs=0.02)
    assert as_fed.more_frac_p50 < taken_up.more_frac_p50 < 0.25
    words = " ".join(comparison_part(compared("rich", "lean")).sentences)
    assert "owhere near twice as much" in words
    assert "moisture" in words.partition("Estimated")[2]


def test_a_food_against_itself_is_not_told_apart_and_the_other_way_round_is_less() -> None:
    same = compared("lean", "lean").bases[0]
    assert (same.more_frac_p05, same.more_frac_p95) == (0.0, 0.0)
    there, back = compared("rich", "lean").bases[0], compared("lean", "rich").bases[0]
    assert (1.0 + there.more_frac_p50) * (1.0 + back.more_frac_p50) == pytest.approx(1.0, abs=1e-3)
    assert "less energy" in comparison_part(compared("lean", "rich")).sentences[0]


def test_frozen_food_is_weak_as_fed_and_not_weaker_when_dry() -> None:
    as_fed, dry, _ = compared("fz_mysid", "pellet_small").bases
    assert as_fed.more_frac_p50 < -0.7
    assert abs(dry.more_frac_p50) < 0.25


def test_what_is_not_known_or_not_there_is_said() -> None:
    with pytest.raises(NotComparable, match="no food of the catalogue"):
        compared("lean", "moon dust")
    with pytest.raises(NotComparable, match="is not known"):
        compared("lean", "live_phyto")


def common(food: str, guild: str) -> float:
    found = nearness(SHELVES.foods[food], SHELVES.guilds[guild], SHELVES)
    assert found is not None
    return found.common_frac


def test_seaweed_is_near_to_what_grazers_eat_and_plankton_to_what_pickers_of_plankton_do() -> None:
    for grazer in ("turf_grazing_fish", "macroalgae_browser", "grazing_blenny"):
        assert common("pellet_seaweed", grazer) > common("pellet_small", grazer)
        assert common("nori", grazer) > common("pellet_highfat", grazer)
    picker = "planktivore_open_water"
    assert common("fz_calanoid", picker) > common("pellet_small", picker) > common("nori", picker)


def test_a_pellet_of_two_thirds_seaweed_is_nearer_to_a_grazers_food_than_one_of_meat() -> None:
    # common practice, no source: such pellets are sold for grazers; here of sea lettuce
    foods = (SHELVES.foods["pellet_small"], SHELVES.foods["ulva_dried"], SHELVES.foods["ulva_dried"])
    parts = {"protein": 0.0, "fat": 0.0, "ash": 0.0, "moisture": 0.0}
    for food in foods:
        for part in parts:
            value = getattr(food, f"{part}_frac")
            assert isinstance(value, Value)
            parts[part] += value.value / len(foods)
    mixed = food_of(granules("mixed", **parts), SHELVES.foods["pellet_small"])
    found = nearness(mixed, SHELVES.guilds["turf_grazing_fish"], SHELVES)
    assert found is not None
    assert found.common_frac > common("pellet_small", "turf_grazing_fish") + 0.1


def test_the_page_of_a_food_says_for_whom_it_is_near() -> None:
    seaweed = SHELVES.foods["pellet_seaweed"]
    assert isinstance(seaweed, Food)
    assert "Grazer of film and turf" in " ".join(prey_part(seaweed, SHELVES).sentences)
