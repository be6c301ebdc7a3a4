import pytest

from backreef.models.body_values import body_numbers
from backreef.models.food_pools import (
    POOL_NAMES,
    combustion_energy_kj_per_g,
    food_pools,
    food_totals,
    macronutrients,
    oxygen_energy_kj_per_g,
    pool_of_elements,
)
from backreef.units import molar_mass_g_per_mol

NUMBERS = body_numbers()
POOLS = food_pools(NUMBERS)
OXYCALORIFIC = NUMBERS["day.oxycalorific_kj_per_g_o2"]


def fractions(formula: dict[str, int]) -> dict[str, float]:
    whole = sum(molar_mass_g_per_mol(element) * count for element, count in formula.items())
    names = {"C": "carbon_frac", "H": "hydrogen_frac", "O": "oxygen_frac", "N": "nitrogen_frac"}
    return {
        name: molar_mass_g_per_mol(element) * formula.get(element, 0) / whole
        for element, name in names.items()
    }


@pytest.mark.parametrize(
    ("formula", "oxygen_per_carbon"),
    [
        ({"C": 6, "H": 12, "O": 6}, 1.0),  # glucose + 6 O2 -> 6 CO2 + 6 H2O
        ({"C": 57, "H": 104, "O": 6}, 80.0 / 57.0),  # triolein + 80 O2 -> 57 CO2 + 52 H2O
        ({"C": 2, "H": 5, "O": 2, "N": 1}, 1.5 / 2.0),  # glycine + 1.5 O2 -> 2 CO2 + H2O + NH3
    ],
)
def test_it_finds_the_oxygen_a_substance_needs_with_nitrogen_left_as_ammonia(
    formula: dict[str, int], oxygen_per_carbon: float
) -> None:
    pool = pool_of_elements(**fractions(formula))
    assert pool.oxygen_demand_ratio == pytest.approx(oxygen_per_carbon, rel=1e-12)


def test_starch_is_starch() -> None:
    assert POOLS.carbohydrate.oxygen_demand_ratio == pytest.approx(1.0, abs=2e-6)
    expected = fractions({"C": 6, "H": 10, "O": 5})
    for element in ("carbon", "hydrogen", "oxygen"):
        assert NUMBERS[f"pool.carbohydrate.{element}_frac"] == pytest.approx(
            expected[f"{element}_frac"], abs=1e-6
        )


def test_the_pools_need_oxygen_as_their_elements_say() -> None:
    assert POOLS.protein.oxygen_demand_ratio == pytest.approx(1.036, abs=0.001)
    assert POOLS.lipid.oxygen_demand_ratio == pytest.approx(1.41, abs=0.01)


@pytest.mark.parametrize("name", POOL_NAMES)
def test_no_gram_holds_more_than_a_gram(name: str) -> None:
    total = sum(NUMBERS[f"pool.{name}.{part}_frac"] for part in ("carbon", "hydrogen", "oxygen", "nitrogen"))
    assert 0.985 < total < 1.0 + 1e-5


def test_a_food_is_the_sum_of_its_pools() -> None:
    food = macronutrients(0.48, 0.12, 0.18, 0.013, pools=POOLS)
    totals = food_totals(food, pools=POOLS)
    carbon = 1000.0 * (0.48 * 0.53 + 0.12 * 0.77 + 0.18 * NUMBERS["pool.carbohydrate.carbon_frac"]) / 12.011
    assert totals.carbon_mmol_c_per_g == pytest.approx(carbon, rel=1e-12)
    assert totals.nitrogen_mmol_n_per_g == pytest.approx(1000.0 * 0.48 / 6.25 / 14.007, rel=1e-12)
    assert totals.phosphorus_mmol_p_per_g == pytest.approx(13.0 / 30.974, rel=1e-12)
    pools = (
        (food.protein_mmol_c_per_g, POOLS.protein),
        (food.lipid_mmol_c_per_g, POOLS.lipid),
        (food.carbohydrate_mmol_c_per_g, POOLS.carbohydrate),
    )
    demand = sum(amount * pool.oxygen_demand_ratio for amount, pool in pools)
    assert totals.oxygen_demand_mmol_o2_per_g == pytest.approx(demand, rel=1e-14)


def test_a_usual_dry_feed_holds_carbon_and_nitrogen_as_published_models_take_it() -> None:
    # 45 % carbon, C:N 6.5 by mole, oxygen per carbon 1.15: common practice, no source.
    totals = food_totals(macronutrients(0.48, 0.12, 0.18, 0.013, pools=POOLS), pools=POOLS)
    assert totals.carbon_mmol_c_per_g == pytest.approx(37.5, rel=0.1)
    assert totals.carbon_mmol_c_per_g / totals.nitrogen_mmol_n_per_g == pytest.approx(6.5, rel=0.1)
    assert totals.oxygen_demand_mmol_o2_per_g / totals.carbon_mmol_c_per_g == pytest.approx(1.15, rel=0.05)


@pytest.mark.parametrize(
    ("name", "key", "share"),
    [("protein", "protein", 0.01), ("lipid", "lipid", 0.01), ("carbohydrate", "carbohydrate", 0.07)],
)
def test_burning_it_to_dinitrogen_gives_its_heat_of_combustion(name: str, key: str, share: float) -> None:
    # Differences found: protein 0.2 %, lipid 0.7 %, starch 6.7 % (its own oxycalorific value is 14.5).
    pool = getattr(POOLS, name)
    found = combustion_energy_kj_per_g(pool.carbon_mmol_c_per_g, pool, oxycalorific_kj_per_g_o2=OXYCALORIFIC)
    assert found == pytest.approx(NUMBERS[f"food_energy.{key}_kj_per_g"], rel=share)


def test_a_fish_gets_a_sixth_less_from_protein_for_it_leaves_the_ammonia_unburnt() -> None:
    found = oxygen_energy_kj_per_g(
        POOLS.protein.carbon_mmol_c_per_g, POOLS.protein, oxycalorific_kj_per_g_o2=OXYCALORIFIC
    )
    assert found / NUMBERS["food_energy.protein_kj_per_g"] == pytest.approx(0.84, abs=0.01)


def test_a_whole_feed_agrees_with_its_gross_energy_within_2_percent() -> None:
    food = macronutrients(0.48, 0.12, 0.18, 0.013, pools=POOLS)
    amounts = (
        (food.protein_mmol_c_per_g, POOLS.protein),
        (food.lipid_mmol_c_per_g, POOLS.lipid),
        (food.carbohydrate_mmol_c_per_g, POOLS.carbohydrate),
    )
    found = sum(
        combustion_energy_kj_per_g(amount, pool, oxycalorific_kj_per_g_o2=OXYCALORIFIC)
        for amount, pool in amounts
    )
    assert found == pytest.approx(0.48 * 23.6 + 0.12 * 39.5 + 0.18 * 17.2, rel=0.02)
