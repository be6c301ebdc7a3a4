"""What came of the members as named daily series, in the units that keepers and reports use."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from backreef.aquarium.series import door_factor, series_of
from backreef.models.mathops import Quantity, maximum, select
from backreef.models.mouths import POOLS
from backreef.simulation.ensemble import Members
from backreef.simulation.layout import NATURE
from backreef.simulation.prepared import Prepared
from backreef.simulation.tables import animal_number, system_number
from backreef.units import atomic_mass_g_per_mol, ion_per_element_ratio
from backreef.working.record import told

Array = npt.NDArray[np.float64]
FULL_WEEK = 7
ALIVE_COUNT = 0.5
"""More than half an animal is one: counts are whole but for rounding."""
LEAST_RESERVE_MMOL, LEAST_NEED_MMOL = 1e-9, 1e-12
"""Nothing is divided by less."""
MMOL_PER_UMOL = 1e-3
LEAST_CORAL_M2 = 1e-4
"""Less living surface than this shows no colour."""
WASTE_FOOD = ("X_FP", "X_FL", "X_FC")
DISSOLVED = ("S_CS", "S_DOM", "S_DOR")
ALGAE = {
    "film_algae_g_dry": "A_F",
    "diatoms_g_dry": "A_D",
    "turf_algae_g_dry": "A_T",
    "nuisance_algae_g_dry": "A_N",
    "refugium_algae_g_dry": "A_R",
    "coralline_algae_g_dry": "A_C",
}
PODS = {"copepods_g_dry": "Z_PC", "amphipods_g_dry": "Z_PA"}
SHOWN_ROWS = (
    *("V", "S_NO3", "S_NO2", "S_PO4", "S_NH", "S_ALK", "S_Ca", "S_Si", "S", "T", "C_T", "C_S"),
    *("nh3_most", "o2_least", "o2_most", "ph_least", "ph_most"),
    *DISSOLVED,
)
GRAZED = ("A_F", "A_T", "A_N")
"""Growths of which it is kept day by day what each animal ate."""
SLOT_ROWS = ("arrived", "lost", "structure", "reserve", "got", "need")


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
    grazed_mmol: dict[str, Array]
    """Growth -> carbon eaten up to the end of each day, (days, members); growths that it likes only."""
    lost: Array

    @property
    def living(self) -> npt.NDArray[np.bool_]:
        """(days, members) whether any of them lives."""
        return self.count > ALIVE_COUNT

    @property
    def died(self) -> npt.NDArray[np.bool_]:
        """(days, members) whether any of them died on that day, at the midnight that ends it."""
        return np.diff(self.lost, axis=0, prepend=np.float32(0.0)) > ALIVE_COUNT


def water_series(prepared: Prepared, members: Members) -> dict[str, Array]:
    """Give the daily series of the water, the growths and the store of phosphate."""
    layout = prepared.layout
    return series_from(
        lambda name: members.row(layout.address(name)), members.parameters[layout.parameter("T_coral")]
    )


def series_from(row: Callable[[str], Quantity], coral_mmol_per_m2: Quantity) -> dict[str, Quantity]:
    """Give the series from rows of the state by their names, for arrays and for single numbers alike."""
    mass = told(atomic_mass_g_per_mol(), "units.atomic_masses", source="prohaska2022", status="memory")
    litres = row("V")
    series = {
        "nitrate_mg_no3_per_l": row("S_NO3") / litres * mass["N"] * ion_per_element_ratio("NO3", "N"),
        "nitrite_mg_n_per_l": row("S_NO2") / litres * mass["N"],
        "phosphate_mg_po4_per_l": row("S_PO4") / litres * mass["P"] * ion_per_element_ratio("PO4", "P"),
        "ammonia_total_mg_n_per_l": row("S_NH") / litres * mass["N"],
        "ammonia_unionised_mg_n_per_l": row("nh3_most") * MMOL_PER_UMOL * mass["N"],
        "oxygen_mg_per_l": row("o2_least") * MMOL_PER_UMOL * 2 * mass["O"],
        "oxygen_highest_mg_per_l": row("o2_most") * MMOL_PER_UMOL * 2 * mass["O"],
        "ph_total": row("ph_least"),
        "ph_highest_total": row("ph_most"),
        "alkalinity_dkh": row("S_ALK") / litres * door_factor(series_of("alkalinity")),
        "calcium_mg_per_l": row("S_Ca") / litres * mass["Ca"],
        "salinity_psu": row("S"),
        "temperature_c": row("T"),
        "volume_l": litres,
    }
    for name, component in ALGAE.items():
        series[name] = row(component) / system_number("algae_carbon_mmol_per_g_dry")
    for name, component in PODS.items():
        series[name] = row(component) / system_number("pods_carbon_mmol_per_g_dry")
    waste = sum((row(component) for component in WASTE_FOOD[1:]), row(WASTE_FOOD[0]))
    series["waste_food_g_dry"] = waste / animal_number("food_carbon_mmol_per_g")
    area = row("C_T") / coral_mmol_per_m2
    series["coral_area_m2"] = area
    colour = row("C_S") / maximum(area, LEAST_CORAL_M2)
    series["coral_colour_frac"] = select(area - LEAST_CORAL_M2, colour, 1.0)
    organic = sum((row(component) for component in DISSOLVED[1:]), row(DISSOLVED[0]))
    series["dissolved_organics_mg_c_per_l"] = organic / litres * mass["C"]
    sio2 = mass["Si"] + 2 * mass["O"]
    series["silicate_mg_sio2_per_l"] = row("S_Si") / litres * sio2
    return series


def rows_of_series(prepared: Prepared) -> frozenset[int]:
    """Give the rows of the state that the series here are made from."""
    layout, slots = prepared.layout, len(prepared.cohorts)
    shared = {layout.address(name) for name in (*SHOWN_ROWS, *WASTE_FOOD, *ALGAE.values(), *PODS.values())}
    names = [(slot, name) for slot in range(slots) for name in SLOT_ROWS]
    names += [(slot, f"ate_{pool}") for slot in range(slots) for pool in grazed_of(prepared, slot)]
    return frozenset(shared | {layout.slot_address(slot, name, slots) for slot, name in names})


def grazed_of(prepared: Prepared, slot: int) -> tuple[str, ...]:
    """Give the growths that a cohort likes."""
    likings = prepared.cohorts[slot].likings
    return tuple(pool for pool in GRAZED if likings[pool] > 0)


def cohort_course(prepared: Prepared, members: Members, slot: int) -> CohortCourse:
    """Give what became of a cohort."""
    layout, slots = prepared.layout, len(prepared.cohorts)
    nature = dict(zip(NATURE, members.natures[slot], strict=True))

    def row(name: str) -> Array:
        return members.row(layout.slot_address(slot, name, slots))

    count, structure, reserve = row("arrived") - row("lost"), row("structure"), row("reserve")
    living = count > ALIVE_COUNT
    head = np.where(living, structure / np.maximum(count, 1e-9), 1.0)
    mass = np.where(living, head / nature["carbon_per_g"], 0.0)
    length = np.where(
        living, (np.maximum(mass, 1e-9) / nature["weight_a"]) ** (1.0 / nature["weight_b"]), 0.0
    )
    share = nature["reserve_share"]
    fullness = np.where(
        living, fullness_ratio(reserve, np.maximum(share * structure, LEAST_RESERVE_MMOL)), 0.0
    )
    condition = np.where(living, condition_ratio(fullness, share), 0.0)
    got, need = (_week(np.diff(row(name), axis=0, prepend=row(name)[:1])) for name in ("got", "need"))
    met = np.where(living & (need > 0), met_ratio(got, np.maximum(need, LEAST_NEED_MMOL)), 0.0)
    return CohortCourse(
        count=_shown(count),
        length_cm=_shown(length),
        mass_g=_shown(mass),
        fullness=_shown(fullness),
        condition=_shown(condition),
        energy_met=_shown(met),
        eaten_mmol={
            pool: members.ends(layout.slot_address(slot, f"ate_{pool}", slots))[-1] for pool in POOLS
        },
        grazed_mmol={pool: _shown(row(f"ate_{pool}")) for pool in grazed_of(prepared, slot)},
        lost=_shown(row("lost")),
    )


def fullness_ratio(reserve_mmol: Quantity, well_fed_mmol: Quantity) -> Quantity:
    """Reserve over that of a well-fed animal of its size, for arrays and for single numbers alike."""
    return reserve_mmol / well_fed_mmol


def condition_ratio(fullness: Quantity, share_ratio: Quantity) -> Quantity:
    """Body energy over that of a well-fed animal of its size, whose reserve is that share of its tissue."""
    return (1.0 + share_ratio * fullness) / (1.0 + share_ratio)


def met_ratio(got_mmol: Quantity, need_mmol: Quantity) -> Quantity:
    """Reserve gained over the reserve needed."""
    return got_mmol / need_mmol


def _shown(values: Array) -> Array:
    """Single precision: there are many of them, and nobody reads more digits."""
    return values.astype(np.float32)


def _week(per_day: Array) -> Array:
    total = np.cumsum(per_day, axis=0)
    result = total.copy()
    result[FULL_WEEK:] -= total[:-FULL_WEEK]
    return result
