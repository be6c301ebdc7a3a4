"""What came of the members as named daily series, in the units that keepers and reports use."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from backreef.models.mouths import POOLS
from backreef.simulation.ensemble import Members, Prepared
from backreef.simulation.layout import NATURE
from backreef.units import atomic_mass_g_per_mol, ion_per_element_ratio

Array = npt.NDArray[np.float64]
DKH_PER_MEQ = 2.8
ALGAE_CARBON_MMOL_PER_G_DRY = 23.0
"""Carbon of a gram of dry algae (28 % C). Source: models note."""
PODS_CARBON_MMOL_PER_G_DRY = 37.0
"""Carbon of a gram of dry copepods (45 % C). Source: herman1983 conversion."""
FULL_WEEK = 7


@dataclass(frozen=True, slots=True, kw_only=True)
class CohortCourse:
    """One cohort through the days; arrays are (days, members)."""

    count: Array
    length_cm: Array
    mass_g: Array
    fullness: Array
    """Reserve over the reserve of a well-fed animal of its size; nan-free, 0 where none lives."""
    condition: Array
    """Body energy over that of a well-fed animal of its size."""
    energy_met: Array
    """Reserve gained over the reserve needed, last seven days."""
    eaten_mmol: dict[str, Array]
    """Pool -> carbon eaten over the whole horizon, (members,)."""
    lost: Array
    hunger_days: Array


def water_series(prepared: Prepared, members: Members) -> dict[str, Array]:
    """Give the daily series of the water, the growths and the store of phosphate."""
    layout = prepared.layout
    mass = atomic_mass_g_per_mol()

    def row(name: str) -> Array:
        return members.row(layout.address(name))

    litres = row("V")
    series = {
        "nitrate_mg_no3_per_l": row("S_NO3") / litres * mass["N"] * ion_per_element_ratio("NO3", "N"),
        "nitrite_mg_n_per_l": row("S_NO2") / litres * mass["N"],
        "phosphate_mg_po4_per_l": row("S_PO4") / litres * mass["P"] * ion_per_element_ratio("PO4", "P"),
        "ammonia_total_mg_n_per_l": row("S_NH") / litres * mass["N"],
        "ammonia_unionised_mg_n_per_l": row("nh3_most") * 1e-3 * mass["N"],
        "oxygen_mg_per_l": row("o2_least") * 1e-3 * 2 * mass["O"],
        "ph_total": row("ph_least"),
        "ph_highest_total": row("ph_most"),
        "alkalinity_dkh": row("S_ALK") / litres * DKH_PER_MEQ,
        "calcium_mg_per_l": row("S_Ca") / litres * mass["Ca"],
        "salinity_psu": row("S"),
        "temperature_c": row("T"),
        "volume_l": litres,
    }
    for name, component in (
        ("film_algae_g_dry", "A_F"),
        ("turf_algae_g_dry", "A_T"),
        ("nuisance_algae_g_dry", "A_N"),
        ("refugium_algae_g_dry", "A_R"),
        ("coralline_algae_g_dry", "A_C"),
    ):
        series[name] = row(component) / ALGAE_CARBON_MMOL_PER_G_DRY
    series["copepods_g_dry"] = row("Z_PC") / PODS_CARBON_MMOL_PER_G_DRY
    series["amphipods_g_dry"] = row("Z_PA") / PODS_CARBON_MMOL_PER_G_DRY
    series["waste_food_g_dry"] = (row("X_FP") + row("X_FL") + row("X_FC")) / 37.5
    series["coral_area_m2"] = row("C_T") / members.parameters[layout.parameter("T_coral")]
    return series


def cohort_course(prepared: Prepared, members: Members, slot: int) -> CohortCourse:
    """Give what became of a cohort."""
    layout, slots = prepared.layout, len(prepared.cohorts)
    nature = dict(zip(NATURE, members.natures[slot], strict=True))

    def row(name: str) -> Array:
        return members.row(layout.slot_address(slot, name, slots))

    count, structure, reserve = row("arrived") - row("lost"), row("structure"), row("reserve")
    living = count > 0.5
    head = np.where(living, structure / np.maximum(count, 1e-9), 1.0)
    mass = np.where(living, head / nature["carbon_per_g"], 0.0)
    length = np.where(
        living, (np.maximum(mass, 1e-9) / nature["weight_a"]) ** (1.0 / nature["weight_b"]), 0.0
    )
    goal = nature["reserve_share"] * structure
    fullness = np.where(living, reserve / np.maximum(goal, 1e-9), 0.0)
    share = nature["reserve_share"]
    condition = np.where(living, (1.0 + share * fullness) / (1.0 + share), 0.0)
    got, need = (_week(np.diff(row(name), axis=0, prepend=row(name)[:1])) for name in ("got", "need"))
    met = np.where(living & (need > 0), got / np.maximum(need, 1e-12), 0.0)
    return CohortCourse(
        count=count,
        length_cm=length,
        mass_g=mass,
        fullness=fullness,
        condition=condition,
        energy_met=met,
        eaten_mmol={pool: row(f"ate_{pool}")[-1] for pool in POOLS},
        lost=row("lost"),
        hunger_days=np.where(living & (fullness < 0.2), 1.0, 0.0),
    )


def _week(per_day: Array) -> Array:
    total = np.cumsum(per_day, axis=0)
    result = total.copy()
    result[FULL_WEEK:] -= total[:-FULL_WEEK]
    return result
