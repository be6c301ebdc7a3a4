"""What came of the members as named daily series, in the units that keepers and reports use."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from functools import partial
from typing import Any

import numpy as np
import numpy.typing as npt

from backreef.aquarium.series import door_factor, series_of
from backreef.models.mathops import Quantity, maximum, select
from backreef.models.mouths import POOLS
from backreef.simulation.ensemble import Members
from backreef.simulation.layout import NATURE
from backreef.simulation.prepared import Prepared
from backreef.simulation.tables import animal_number, system_number
from backreef.simulation.worked_out import Find, Named, WorkedOut
from backreef.units import atomic_mass_g_per_mol, ion_per_element_ratio
from backreef.working.record import told

Array = npt.NDArray[Any]
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


class CohortCourse:
    """One cohort through the days; arrays are (days, members), worked out when they are asked for."""

    def __init__(
        self,
        arrays: Mapping[str, Array],
        *,
        eaten_mmol: Mapping[str, Array],
        grazed_mmol: Mapping[str, Array],
    ) -> None:
        self._arrays = arrays
        self.eaten_mmol = eaten_mmol
        """Pool -> carbon eaten over the whole horizon, (members,)."""
        self.grazed_mmol = grazed_mmol
        """Growth -> carbon eaten up to the end of each day, (days, members); growths that it likes only."""

    @property
    def count(self) -> Array:
        """How many live."""
        return self._arrays["count"]

    @property
    def length_cm(self) -> Array:
        """Length of one; 0 where none lives."""
        return self._arrays["length_cm"]

    @property
    def mass_g(self) -> Array:
        """Wet mass of one; 0 where none lives."""
        return self._arrays["mass_g"]

    @property
    def fullness(self) -> Array:
        """Reserve over the reserve of a well-fed animal of its size; nan-free, 0 where none lives."""
        return self._arrays["fullness"]

    @property
    def condition(self) -> Array:
        """Body energy over that of a well-fed animal of its size."""
        return self._arrays["condition"]

    @property
    def energy_met(self) -> Array:
        """Reserve gained over the reserve needed, last seven days."""
        return self._arrays["energy_met"]

    @property
    def lost(self) -> Array:
        """How many have died up to the end of each day."""
        return self._arrays["lost"]

    def work_out(self) -> None:
        """Work out all of it now."""
        for arrays in (self._arrays, self.grazed_mmol):
            for name in arrays:
                arrays[name]

    @property
    def living(self) -> npt.NDArray[np.bool_]:
        """Whether any of them lives."""
        return self.count > ALIVE_COUNT

    @property
    def died(self) -> npt.NDArray[np.bool_]:
        """Whether any of them died on that day, at the midnight that ends it."""
        return np.diff(self.lost, axis=0, prepend=np.float32(0.0)) > ALIVE_COUNT


def water_series(
    prepared: Prepared, worked_out: WorkedOut, more: Mapping[str, Find] | None = None
) -> Mapping[str, Array]:
    """Give the daily series of the water, the growths and the store of phosphate, and more by name."""
    layout = prepared.layout

    def found(name: str, members: Members) -> Array:
        coral = members.parameters[layout.parameter("T_coral")]
        series = series_from(lambda component: members.row(layout.address(component)), coral)
        return np.asarray(series[name]())

    names = series_from(lambda _: 1.0, 1.0)
    finds: dict[str, Find] = {name: partial(found, name) for name in names}
    return Named(worked_out, finds | dict(more or {}))


def series_from(
    row: Callable[[str], Quantity], coral_mmol_per_m2: Quantity
) -> Mapping[str, Callable[[], Quantity]]:
    """Say how each series follows from rows of the state, for arrays and single numbers alike."""
    mass = told(atomic_mass_g_per_mol(), "units.atomic_masses", source="prohaska2022", status="memory")
    sio2 = mass["Si"] + 2 * mass["O"]

    def litre(component: str) -> Quantity:
        return row(component) / row("V")

    def summed(components: Sequence[str]) -> Quantity:
        return sum((row(component) for component in components[1:]), row(components[0]))

    def area() -> Quantity:
        return row("C_T") / coral_mmol_per_m2

    def colour() -> Quantity:
        return select(area() - LEAST_CORAL_M2, row("C_S") / maximum(area(), LEAST_CORAL_M2), 1.0)

    algae = {
        name: partial(_dry, row, component, "algae_carbon_mmol_per_g_dry")
        for name, component in ALGAE.items()
    }
    pods = {
        name: partial(_dry, row, component, "pods_carbon_mmol_per_g_dry") for name, component in PODS.items()
    }
    return {
        "nitrate_mg_no3_per_l": lambda: litre("S_NO3") * mass["N"] * ion_per_element_ratio("NO3", "N"),
        "nitrite_mg_n_per_l": lambda: litre("S_NO2") * mass["N"],
        "phosphate_mg_po4_per_l": lambda: litre("S_PO4") * mass["P"] * ion_per_element_ratio("PO4", "P"),
        "ammonia_total_mg_n_per_l": lambda: litre("S_NH") * mass["N"],
        "ammonia_unionised_mg_n_per_l": lambda: row("nh3_most") * MMOL_PER_UMOL * mass["N"],
        "oxygen_mg_per_l": lambda: row("o2_least") * MMOL_PER_UMOL * 2 * mass["O"],
        "oxygen_highest_mg_per_l": lambda: row("o2_most") * MMOL_PER_UMOL * 2 * mass["O"],
        "ph_total": lambda: row("ph_least"),
        "ph_highest_total": lambda: row("ph_most"),
        "alkalinity_dkh": lambda: litre("S_ALK") * door_factor(series_of("alkalinity")),
        "calcium_mg_per_l": lambda: litre("S_Ca") * mass["Ca"],
        "salinity_psu": lambda: row("S"),
        "temperature_c": lambda: row("T"),
        "volume_l": lambda: row("V"),
        **algae,
        **pods,
        "waste_food_g_dry": lambda: summed(WASTE_FOOD) / animal_number("food_carbon_mmol_per_g"),
        "coral_area_m2": area,
        "coral_colour_frac": colour,
        "dissolved_organics_mg_c_per_l": lambda: summed(DISSOLVED) / row("V") * mass["C"],
        "silicate_mg_sio2_per_l": lambda: litre("S_Si") * sio2,
    }


def _dry(row: Callable[[str], Quantity], component: str, carbon: str) -> Quantity:
    """Dry mass of what grows, by its carbon."""
    return row(component) / system_number(carbon)


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


def cohort_courses(prepared: Prepared, worked_out: WorkedOut) -> list[CohortCourse]:
    """Give what became of every cohort."""
    return [cohort_course(prepared, worked_out, slot) for slot in range(len(prepared.cohorts))]


def cohort_course(prepared: Prepared, worked_out: WorkedOut, slot: int) -> CohortCourse:
    """Give what became of a cohort."""

    def shown(name: str, members: Members) -> Array:
        return _shown(getattr(_Lives(prepared, members, slot), name)())

    def grazed(pool: str, members: Members) -> Array:
        return _shown(_Lives(prepared, members, slot).row(f"ate_{pool}"))

    names = ("count", "length_cm", "mass_g", "fullness", "condition", "energy_met", "lost")
    about = f"{prepared.cohorts[slot].entry.id} "
    whole = _Lives(prepared, worked_out.members, slot)
    return CohortCourse(
        Named(worked_out, {name: partial(shown, name) for name in names}, about=about),
        eaten_mmol={pool: whole.ends(f"ate_{pool}")[-1] for pool in POOLS},
        grazed_mmol=Named(
            worked_out,
            {pool: partial(grazed, pool) for pool in grazed_of(prepared, slot)},
            about=f"{about}ate ",
        ),
    )


class _Lives:
    """One cohort of some members; all that is given is (days, members)."""

    def __init__(self, prepared: Prepared, members: Members, slot: int) -> None:
        self.layout, self.slots = prepared.layout, len(prepared.cohorts)
        self.members, self.slot = members, slot
        self.nature = dict(zip(NATURE, members.natures[slot], strict=True))

    def row(self, name: str) -> Array:
        """A row of the cohort's state."""
        return self.members.row(self.layout.slot_address(self.slot, name, self.slots))

    def ends(self, name: str) -> Array:
        """A row on the first and the last day, (2, members)."""
        return self.members.ends(self.layout.slot_address(self.slot, name, self.slots))

    def lost(self) -> Array:
        """How many have died."""
        return self.row("lost")

    def count(self) -> Array:
        """How many live."""
        return self.row("arrived") - self.row("lost")

    def living(self) -> npt.NDArray[np.bool_]:
        """Whether any lives."""
        return self.count() > ALIVE_COUNT

    def mass_g(self) -> Array:
        """Wet mass of one."""
        count = self.count()
        living = count > ALIVE_COUNT
        head = np.where(living, self.row("structure") / np.maximum(count, 1e-9), 1.0)
        return np.where(living, head / self.nature["carbon_per_g"], 0.0)

    def length_cm(self) -> Array:
        """Length of one."""
        mass = np.maximum(self.mass_g(), 1e-9)
        length = (mass / self.nature["weight_a"]) ** (1.0 / self.nature["weight_b"])
        return np.where(self.living(), length, 0.0)

    def fullness(self) -> Array:
        """Reserve over that of a well-fed animal."""
        well_fed = np.maximum(self.nature["reserve_share"] * self.row("structure"), LEAST_RESERVE_MMOL)
        return np.where(self.living(), fullness_ratio(self.row("reserve"), well_fed), 0.0)

    def condition(self) -> Array:
        """Body energy over that of a well-fed animal."""
        share = self.nature["reserve_share"]
        return np.where(self.living(), condition_ratio(self.fullness(), share), 0.0)

    def energy_met(self) -> Array:
        """Reserve gained over the reserve needed, last seven days."""
        got, need = (
            _week(np.diff(values, axis=0, prepend=values[:1]))
            for values in (self.row("got"), self.row("need"))
        )
        ratio = met_ratio(got, np.maximum(need, LEAST_NEED_MMOL))
        return np.where(self.living() & (need > 0), ratio, 0.0)


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
