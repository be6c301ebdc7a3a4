"""Food as carbon: what a gram of it brings as protein, lipid, carbohydrate and phosphorus.

Each pool has one fixed composition, so that a food's carbon, nitrogen, phosphorus and oxygen demand are
sums of its pools and nothing else. Oxygen demand is that of oxidation to CO2 and water with nitrogen left
as ammonia.
"""

from __future__ import annotations

from dataclasses import dataclass

from backreef.models.body_values import Numbers, number
from backreef.models.mathops import Quantity
from backreef.units import atomic_mass_g_per_mol, molar_mass_g_per_mol

POOL_NAMES = ("protein", "lipid", "carbohydrate")
OXYGEN_TO_DINITROGEN = 0.75
"""Oxygen that turns one ammonia into dinitrogen, as happens in a bomb calorimeter. [mol O2/mol N]"""


@dataclass(frozen=True, slots=True, kw_only=True)
class PoolComposition:
    """One pool: carbon per gram, and nitrogen and oxygen demand per carbon."""

    carbon_mmol_c_per_g: Quantity
    nitrogen_ratio: Quantity
    """[mol N/mol C]"""
    oxygen_demand_ratio: Quantity
    """[mol O2/mol C], nitrogen left as ammonia"""


@dataclass(frozen=True, slots=True, kw_only=True)
class FoodPools:
    """The compositions of the three pools."""

    protein: PoolComposition
    lipid: PoolComposition
    carbohydrate: PoolComposition


@dataclass(frozen=True, slots=True, kw_only=True)
class Macronutrients:
    """What a gram of food as fed brings."""

    protein_mmol_c_per_g: Quantity
    lipid_mmol_c_per_g: Quantity
    carbohydrate_mmol_c_per_g: Quantity
    phosphorus_mmol_p_per_g: Quantity


@dataclass(frozen=True, slots=True, kw_only=True)
class FoodTotals:
    """Elements and oxygen demand of a gram of food as fed."""

    carbon_mmol_c_per_g: Quantity
    nitrogen_mmol_n_per_g: Quantity
    phosphorus_mmol_p_per_g: Quantity
    oxygen_demand_mmol_o2_per_g: Quantity


def macronutrients(
    protein_frac: Quantity,
    fat_frac: Quantity,
    nfe_frac: Quantity,
    phosphorus_frac: Quantity,
    *,
    pools: FoodPools,
) -> Macronutrients:
    """Give the carbon of each pool and the phosphorus in a gram of food as fed.

    Validity
    --------
    Fractions of the gram as fed. Crude protein counts 16 % of itself as nitrogen, chitin and free amino acids
    included, as the analysis does.

    Source
    ------
    `pool` in `data/bodies.toml`; standard atomic weights.
    """
    return Macronutrients(
        protein_mmol_c_per_g=protein_frac * pools.protein.carbon_mmol_c_per_g,
        lipid_mmol_c_per_g=fat_frac * pools.lipid.carbon_mmol_c_per_g,
        carbohydrate_mmol_c_per_g=nfe_frac * pools.carbohydrate.carbon_mmol_c_per_g,
        phosphorus_mmol_p_per_g=phosphorus_frac * 1000.0 / atomic_mass_g_per_mol()["P"],
    )


def food_totals(food: Macronutrients, *, pools: FoodPools) -> FoodTotals:
    """Give carbon, nitrogen, phosphorus and oxygen demand of a gram of food from its pools.

    Validity
    --------
    Exact sums.

    Source
    ------
    `pool` in `data/bodies.toml`.
    """
    parts = (
        (food.protein_mmol_c_per_g, pools.protein),
        (food.lipid_mmol_c_per_g, pools.lipid),
        (food.carbohydrate_mmol_c_per_g, pools.carbohydrate),
    )
    return FoodTotals(
        carbon_mmol_c_per_g=sum(carbon for carbon, _ in parts),
        nitrogen_mmol_n_per_g=sum(carbon * pool.nitrogen_ratio for carbon, pool in parts),
        phosphorus_mmol_p_per_g=food.phosphorus_mmol_p_per_g,
        oxygen_demand_mmol_o2_per_g=sum(carbon * pool.oxygen_demand_ratio for carbon, pool in parts),
    )


def oxygen_energy_kj_per_g(
    carbon_mmol_c_per_g: Quantity, pool: PoolComposition, *, oxycalorific_kj_per_g_o2: Quantity
) -> Quantity:
    """Heat a gram of one pool gives when its nitrogen ends as ammonia, as in a fish. [kJ/g]

    Validity
    --------
    Protein 19.9, lipid 39.2 and starch 16.1 kJ/g with 13.56 kJ/g O2: fat and starch lie within 1 and 7 % of
    their heats of combustion, protein 16 % below, because ammonia leaves with its share.

    Source
    ------
    Oxygen demand times the oxycalorific coefficient of Elliott & Davison 1975.
    """
    oxygen_g_per_mmol = molar_mass_g_per_mol("O2") / 1000.0
    return carbon_mmol_c_per_g * pool.oxygen_demand_ratio * oxygen_g_per_mmol * oxycalorific_kj_per_g_o2


def combustion_energy_kj_per_g(
    carbon_mmol_c_per_g: Quantity, pool: PoolComposition, *, oxycalorific_kj_per_g_o2: Quantity
) -> Quantity:
    """Heat a gram of one pool gives in a bomb calorimeter, where nitrogen ends as N2. [kJ/g]

    Validity
    --------
    Within 1 % of 23.6 and 39.5 kJ/g for protein and lipid, 7 % below 17.2 kJ/g for starch.

    Source
    ------
    Oxygen demand with 0.75 O2 more per nitrogen, times the oxycalorific coefficient of Elliott & Davison
    1975.
    """
    burnt = PoolComposition(
        carbon_mmol_c_per_g=pool.carbon_mmol_c_per_g,
        nitrogen_ratio=pool.nitrogen_ratio,
        oxygen_demand_ratio=pool.oxygen_demand_ratio + OXYGEN_TO_DINITROGEN * pool.nitrogen_ratio,
    )
    return oxygen_energy_kj_per_g(
        carbon_mmol_c_per_g, burnt, oxycalorific_kj_per_g_o2=oxycalorific_kj_per_g_o2
    )


def food_pools(numbers: Numbers) -> FoodPools:
    """Give the three pools from the elements their grams hold.

    Validity
    --------
    Average protein, triglycerides, starch; sulphur of protein (about 1 %) is left out of the oxygen demand.

    Source
    ------
    `pool` in `data/bodies.toml`.
    """
    return FoodPools(**{name: _pool(numbers, name) for name in POOL_NAMES})


def pool_of_elements(
    carbon_frac: Quantity, hydrogen_frac: Quantity, oxygen_frac: Quantity, nitrogen_frac: Quantity
) -> PoolComposition:
    """Give the composition of a substance from the mass fractions of its elements.

    Validity
    --------
    Oxidation to CO2, H2O and NH3: O2 = C + (H - 3 N)/4 - O/2 in moles.

    Source
    ------
    Stoichiometry; standard atomic weights.
    """
    mass = atomic_mass_g_per_mol()
    carbon, hydrogen = carbon_frac / mass["C"], hydrogen_frac / mass["H"]
    oxygen, nitrogen = oxygen_frac / mass["O"], nitrogen_frac / mass["N"]
    demand = carbon + (hydrogen - 3.0 * nitrogen) / 4.0 - oxygen / 2.0
    return PoolComposition(
        carbon_mmol_c_per_g=1000.0 * carbon,
        nitrogen_ratio=nitrogen / carbon,
        oxygen_demand_ratio=demand / carbon,
    )


def _pool(numbers: Numbers, name: str) -> PoolComposition:
    elements = ("carbon", "hydrogen", "oxygen", "nitrogen")
    return pool_of_elements(*(number(numbers, f"pool.{name}.{element}_frac") for element in elements))
