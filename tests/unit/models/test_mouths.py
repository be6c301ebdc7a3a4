"""How food adrift is found: many mouths, much water, and a gut that a full reserve makes smaller."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from backreef.models.mathops import Quantity
from backreef.models.matrix import packaged_matrix
from backreef.models.midnight import hunger_ratio
from backreef.models.mouths import (
    FAECES,
    MEAL_SUMS,
    POOLS,
    SLOT_TRAITS,
    Feast,
    feast,
    let_in,
    nearness,
    pool_reaches,
)
from backreef.simulation.bodies import BOTTOM_PARTS, body_of

ONE_SECOND_D = 1.0 / 86400.0
PARAMETERS = {symbol: one.value for symbol, one in packaged_matrix().tables.parameters.items()}
AREAS = {"A_rock": 1.0, "A_sand": 0.3, "A_glass": 1.0}


def known_in(litres: float, adrift_mmol: Quantity = 1.0) -> dict[str, Quantity]:
    known: dict[str, Quantity] = {**PARAMETERS, **AREAS, "V": litres}
    known |= pool_reaches(known)
    known |= dict.fromkeys((*POOLS, *BOTTOM_PARTS, *MEAL_SUMS), 0.0)
    return known | {"Q_1": adrift_mmol, "O2": 200.0, "nh3": 0.0, "day_shape": 1.0, "t_animal": 1.0}


def eaten_per_d(
    *, litres: float, count: float, adrift_mmol: Quantity, gut: float = 0.0, fullness: float = 0.5
) -> Quantity:
    """What animals of 3 g, as clownfish, eat of one food."""
    slot: dict[str, Quantity] = dict.fromkeys((*SLOT_TRAITS, "gut", "reserve"), 0.0)
    slot |= {"count": count, "speed": 630.0, "capacity": 1.0, "goal": 10.0, "day": 1.0, "weight_Q_1": 1.0}
    slot |= {"gut": gut * count, "reserve": fullness * 10.0 * count}
    contents = dict.fromkeys((*POOLS, *BOTTOM_PARTS, *FAECES), (1.0, 0.15, 0.01, 1.2))
    found = feast(slot, known_in(litres, adrift_mmol), body_of(packaged_matrix()), contents)
    return found.eaten[POOLS.index("Q_1")]


@given(
    litres=st.floats(10.0, 5000.0),
    count=st.floats(1.0, 1000.0),
    adrift_mmol=st.floats(1e-12, 1e3),
)
def test_food_adrift_is_never_emptied_faster_than_animals_come_to_it(
    litres: float, count: float, adrift_mmol: float
) -> None:
    rate = eaten_per_d(litres=litres, count=count, adrift_mmol=adrift_mmol)
    assert 0.0 < rate < adrift_mmol / PARAMETERS["t_grain"]


@pytest.mark.parametrize(("litres", "count"), [(20.0, 2.0), (100.0, 40.0), (1000.0, 1.0), (1000.0, 500.0)])
def test_a_linearly_implicit_second_takes_no_more_than_there_is(litres: float, count: float) -> None:
    adrift = np.geomspace(1e-9, 1e3, 4000)
    rate = eaten_per_d(litres=litres, count=count, adrift_mmol=adrift)
    slope = np.gradient(rate, adrift)
    after = adrift - ONE_SECOND_D * rate / (1.0 + ONE_SECOND_D * slope)
    assert (after >= 0.0).all()


def test_a_pair_eats_a_pinch_within_minutes_and_one_small_fish_finds_its_own_in_a_large_tank() -> None:
    # common practice, no source: a meal is gone in minutes; 180 /d of it settles
    for litres, count in ((180.0, 2.0), (1000.0, 1.0)):
        rate = eaten_per_d(litres=litres, count=count, adrift_mmol=0.2)
        assert rate / 0.2 > 4.0 * PARAMETERS["k_settle"]


def test_five_times_the_water_does_not_hide_a_meal_five_times_as_well() -> None:
    near, far = (eaten_per_d(litres=litres, count=1.0, adrift_mmol=0.01) for litres in (200.0, 1000.0))
    assert 0.8 * near < far < near


def test_the_fuller_the_reserve_the_less_of_a_gut_is_filled() -> None:
    lean, fed, fat = (
        eaten_per_d(litres=100.0, count=1.0, adrift_mmol=1.0, gut=0.5, fullness=fullness)
        for fullness in (0.7, 1.0, 1.3)
    )
    assert lean > 1.5 * fed > 3.0 * fat


def test_a_meal_is_nearer_than_the_water_and_the_nearer_the_fewer_share_it() -> None:
    known = known_in(180.0)
    near = [nearness(a_slot(count=count, speed=630.0), known) for count in (1.0, 2.0, 10.0)]
    assert near[0] > near[1] > near[2]
    alone = nearness(a_slot(count=1.0), known)
    assert alone == pytest.approx(1.0 + 180.0 / 50.0)


def a_slot(**given: float) -> dict[str, Quantity]:
    return dict.fromkeys(SLOT_TRAITS, 0.0) | given


def test_animals_of_other_entries_are_as_much_in_the_way_as_those_of_ones_own() -> None:
    known = known_in(180.0)
    together = nearness(a_slot(count=3.0, speed=630.0), known)
    known |= {"heads": 3.0, "bites": 3.0 * 630.0}
    apart = [nearness(a_slot(count=n, speed=630.0, comes=1.0), known) for n in (1.0, 2.0)]
    assert apart == pytest.approx([together, together], rel=1e-12)


def test_who_yields_gets_less_of_a_meal_the_more_others_push_and_nobody_pushes_itself() -> None:
    shy, fierce = a_slot(count=1.0, yields=2.0), a_slot(count=2.0, pushes=1.5, yields=2.0)
    known = known_in(180.0) | {"pushing": 3.0}
    assert let_in(shy, known) == pytest.approx(1.0 / 7.0)
    assert let_in(fierce, known) == 1.0
    assert let_in(shy, known | {"pushing": 0.0}) == 1.0


def test_hungry_animals_push_up_to_twice_as_much_and_fat_ones_less() -> None:
    assert hunger_ratio(1.0) == 1.0
    assert hunger_ratio(1.2) < 1.0 < hunger_ratio(0.8) < hunger_ratio(0.5) < hunger_ratio(0.0) == 2.0


def test_twice_the_water_with_twice_the_animals_is_the_same() -> None:
    once = eaten_per_d(litres=200.0, count=3.0, adrift_mmol=0.4)
    assert eaten_per_d(litres=400.0, count=6.0, adrift_mmol=0.8) == pytest.approx(2.0 * once, rel=1e-12)


# --- food on the bottom -------------------------------------------------------------------------------------

Content = tuple[float, ...]
"""Carbon, nitrogen, phosphorus and oxygen demand of a mmol."""
PROTEIN: Content = (1.0, 0.27, 0.0045, 1.0)
FAT: Content = (1.0, 0.0, 0.0, 1.4)
SUGAR: Content = (1.0, 0.0, 0.0, 1.0)
LOOSE: Content = (0.0, 0.0, 1.0, 0.0)
SOFT: Content = (1.0, 0.1, 0.004, 1.1)
HARD: Content = (1.0, 0.03, 0.0005, 0.9)


def at_the_bottom(
    parts: tuple[float, float, float],
    *,
    soft: Content = SOFT,
    hard: Content = HARD,
    fat: Content = FAT,
    film: float = 0.0,
) -> Feast:
    """What shrimps do that live from the bottom, and from film if there is any."""
    known = known_in(100.0, 0.0) | dict(zip(BOTTOM_PARTS, (*parts, 0.0), strict=True)) | {"A_F": film}
    slot: dict[str, Quantity] = dict.fromkeys((*SLOT_TRAITS, "gut", "reserve"), 0.0)
    slot |= {"count": 2.0, "speed": 630.0, "capacity": 1.0, "goal": 10.0, "day": 1.0, "reserve": 8.0}
    slot |= {"weight_bottom": 1.0, "keep_bottom": 0.9, "faeces_bottom": 0.2, "refractory": 0.4}
    slot |= {"weight_A_F": 1.0, "keep_A_F": 0.5, "faeces_A_F": 0.3}
    contents: dict[str, Content] = dict.fromkeys((*POOLS, *BOTTOM_PARTS), (1.0, 0.15, 0.01, 1.2))
    contents |= dict(zip(BOTTOM_PARTS, (PROTEIN, fat, SUGAR, LOOSE), strict=True))
    return feast(
        slot, known, body_of(packaged_matrix()), contents | dict(zip(FAECES, (soft, hard), strict=True))
    )


def bottom_eaten(found: Feast) -> Quantity:
    return found.eaten[POOLS.index("bottom")]


def test_what_lies_on_the_bottom_is_found_by_all_of_it_and_taken_as_it_lies() -> None:
    one = bottom_eaten(at_the_bottom((3.0, 0.0, 0.0)))
    for parts in ((1.0, 1.0, 1.0), (0.5, 1.5, 1.0), (2.0, 0.5, 0.5)):
        found = at_the_bottom(parts)
        assert bottom_eaten(found) == pytest.approx(one)
        for name, part in zip(BOTTOM_PARTS, parts, strict=False):
            assert found.shared[name] == pytest.approx(-one * part / 3.0)


def test_of_food_on_the_bottom_only_protein_leaves_faeces() -> None:
    found = at_the_bottom((1.0, 1.5, 0.5))
    assert found.shared["X_DL"] == pytest.approx(0.2 * bottom_eaten(found) / 3.0)
    assert found.shared["X_DR"] == 0.0


def test_what_is_kept_of_sugar_is_bound_by_the_little_nitrogen_and_phosphorus_in_it() -> None:
    body = body_of(packaged_matrix())
    found = at_the_bottom((0.1, 0.0, 2.9))
    protein = 0.1 / 3.0 * bottom_eaten(found)
    faeces = 0.2 * protein
    by_phosphorus = (0.0045 * protein - SOFT[2] * faeces) / body.phosphorus
    by_nitrogen = (0.27 * protein - SOFT[1] * faeces) / body.nitrogen
    assert by_phosphorus < 0.6 * by_nitrogen
    assert 0.95 * by_phosphorus < found.got < 1.001 * by_phosphorus
    poorer = at_the_bottom((0.1, 0.0, 2.9), soft=(1.0, 0.1, 0.0, 1.1))
    assert poorer.got > 1.05 * found.got  # faeces that take no phosphorus along leave more to keep


def test_of_the_richest_food_no_more_carbon_is_kept_than_was_eaten() -> None:
    """Blubber with nitrogen and phosphorus enough for half as much flesh again."""
    found = at_the_bottom((0.0, 3.0, 0.0), fat=(1.0, 0.4, 0.03, 2.2))
    assert 0.95 * bottom_eaten(found) < found.got < 1.001 * bottom_eaten(found)


@pytest.mark.parametrize("element", [1, 2, 3])
def test_faeces_carry_what_the_table_says_of_them(element: int) -> None:
    """Nitrogen, phosphorus and oxygen demand: what more of it is in faeces is missing elsewhere."""

    def richer(one: Content) -> Content:
        return tuple(value + 0.01 * (place == element) for place, value in enumerate(one))

    food = (3.0, 0.0, 0.0)  # of protein alone there is enough: energy bounds what is kept, if anything does
    plain = at_the_bottom(food, film=2.0)
    changed = at_the_bottom(food, film=2.0, soft=richer(SOFT), hard=richer(HARD))
    more = 0.01 * (plain.shared["X_DL"] + plain.shared["X_DR"])
    body = body_of(packaged_matrix())
    kept = changed.got - plain.got
    leaves = {
        1: (("N_BL",), body.nitrogen, -1.0),
        2: (("P_BL", "B_PM"), body.phosphorus, -1.0),
        3: (("S_O2",), -body.oxygen_demand, 1.0),
    }
    names, of_body, sign = leaves[element]
    missing = sum(changed.shared[name] - plain.shared[name] for name in names)
    assert plain.shared["X_DR"] > 0.0
    assert missing == pytest.approx(sign * more - of_body * kept, rel=1e-6)
