"""Where everything lies: names to places in the arrays that the compiled march works on.

The state of a block is one array of rows by lanes: registers, shared components (ledgers last), the marched
rows of the cohort slots, then the slots' other rows. No other module counts places by hand.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from functools import cache

from backreef.models.matrix import FOOD_COUNT, Matrix, packaged_matrix
from backreef.models.mouths import GROWN_POOLS, MEAL_SUMS, POOLS, SLOT_STATES, SLOT_TOTALS

LANES = 8

OPERATORS = ("feed", "water_change", "top_off", "harvest", "siphon", "media", "dose", "animals", "found")
"""Doors through which matter enters or leaves at an instant; each has a ledger of C, N, P, oxygen demand,
charge."""
LEDGER_ELEMENTS = ("C", "N", "P", "O", "Q")

SYSTEM = (
    "A_rock",
    "A_sand",
    "sand_anoxic",
    "pore_exchange_per_d",
    "A_glass",
    "A_surf",
    "A_ref",
    "calm_frac",
    "A_media",
    "m_carb",
    "skimmer",
    "seeds",
    "par_display",
    "par_coral",
    "par_refugium",
    "set_temperature",
    "room_temperature",
    "room_swing",
    "heat_loss_w_per_k",
    "wet_bulb_k",
    "above_wet_bulb_k",
    "evaporation_w_per_k",
    "heater_w",
    "pump_heat_w",
    "lamp_heat_w",
    "chiller_w",
    "chill_from",
    "evaporation_l_per_d",
    "top_off_open_l_per_d",
    "mark_l",
    "dry_l",
    "resin_fades_l",
    "lamp_fades_per_d",
    "lamp_dusts_per_d",
    "lamp_dusted",
    "skimmer_scales_per_d",
    "skimmer_scaled",
    "neck_fouls_per_d",
    "neck_fouled",
    "pump_scales_per_d",
    "pump_scaled",
    "cover_fouls_per_d",
    "cover_fouled",
    "float_fouls_per_d",
    "float_floods",
    "salinity_drifts_psu_per_d",
    "thermostat_drifts_k_per_d",
    "carbon_holds_mmol",
    "one",
    "mg_p_per_umol",
    "p_protein",
)
"""What the plan says of the tank, beside the rate constants."""

FOOD_TRAITS = ("protein", "lipid", "carbohydrate", "phosphorus", "settle", "particle_mm")

REGISTERS = (
    "one",
    "V",
    "salt",
    "S",
    "T",
    "reservoir",
    "m_fe",
    "carbon",
    "sock",
    "light_fade",
    "lamp_clean",
    "skimmer_clean",
    "neck_clean",
    "pump_clean",
    "cover_clean",
    "float_fouled",
    "salinity_off",
    "thermostat_off",
    "resin_l",
    "leak",
    "raw_l",
    *(f"{door}_{element}" for door in OPERATORS for element in LEDGER_ELEMENTS),
    *(f"read_{name}" for name in ("S_NH", "S_NO2", "S_NO3", "S_PO4", "S_ALK", "S_Ca")),
    "o2_least",
    "o2_most",
    "nh3_most",
    "ph_least",
    "ph_most",
    "evaporated_l",
    "spilled_l",
    *MEAL_SUMS,
)
"""Values that change at instants only: volume, switches, ledgers of operators, last test results, extremes
of a day, who is at a meal."""

SWITCHES = (
    "streams",
    "no_skimmer",
    "no_heater",
    "heater_stuck",
    "no_top_off",
    "top_off_open",
    "bubbles",
    "stalled",
)
"""What mishaps turn on: 0 on any ordinary day but `streams`, the display stirred although the return is off;
stalled: a sealed filter has stood without flow for longer than it bears."""
FORCINGS = (
    "day_shape",
    "refugium_shape",
    "overflow",
    "pumps",
    "room_season",
    "day_slope",
    "refugium_slope",
    *SWITCHES,
)
"""Per segment: light between 0 and 1 (with its slope per day), whether pumps run and food reaches the
overflow, and the switches of mishaps."""

LIGHTS = {"day_shape": "day_slope", "refugium_shape": "refugium_slope"}
"""Which forcing gives the change of which over a segment."""

SLOT_MARCHED = (*SLOT_STATES, *SLOT_TOTALS)
SLOT_KEPT = ("arrived", "lost")
"""Per slot: rows that the integrator marches, and rows that change at instants."""

NATURE = (
    "weight_a",
    "weight_b",
    "adult_cm",
    "kmax_per_d",
    "carbon_per_g",
    "burn_coefficient",
    "burn_exponent",
    "capacity_coefficient",
    "speed_coefficient",
    "intake_exponent",
    "reserve_share",
    "gape_share",
    "smallest_share",
    "push",
    *(f"liking_{pool}" for pool in POOLS),
    *(f"second_{pool}" for pool in GROWN_POOLS),
)
"""What an animal of a slot is by kind; its traits follow from it and its size each midnight. second: how far
a pool is from its first choice, 0 to 1."""


@dataclass(frozen=True, slots=True)
class Layout:
    """Places of all rows for one matrix."""

    components: tuple[str, ...]
    active: int
    parameters: tuple[str, ...]
    _at: dict[str, int] = field(init=False, repr=False, compare=False)
    """Row of each register and component in the whole state."""

    def __post_init__(self) -> None:
        names = (*REGISTERS, *self.components)
        object.__setattr__(self, "_at", {name: row for row, name in enumerate(names)})

    @property
    def shared(self) -> int:
        """Number of components, ledgers included."""
        return len(self.components)

    def component(self, name: str) -> int:
        """Give the place of a component among the shared rows."""
        return self._at[name] - len(REGISTERS)

    def address(self, name: str) -> int:
        """Give the row of a register or component in the whole state."""
        return self._at[name]

    def slot_address(self, slot: int, name: str, slots: int) -> int:
        """Give the row of a slot's amount in a state with so many slots."""
        first = len(REGISTERS) + self.shared
        if name in SLOT_MARCHED:
            return first + slot * len(SLOT_MARCHED) + SLOT_MARCHED.index(name)
        return first + slots * len(SLOT_MARCHED) + slot * len(SLOT_KEPT) + SLOT_KEPT.index(name)

    def rows(self, slots: int) -> int:
        """Give the number of rows of a state with so many slots."""
        return len(REGISTERS) + self.shared + slots * (len(SLOT_MARCHED) + len(SLOT_KEPT))

    def parameter(self, name: str) -> int:
        """Give the row of a parameter."""
        return _places(self.parameters)[name]


@cache
def _places(names: tuple[str, ...]) -> dict[str, int]:
    return {name: place for place, name in enumerate(names)}


def layout_of(matrix: Matrix) -> Layout:
    """Give the layout for a process matrix."""
    foods = tuple(f"food{food}_{trait}" for food in range(1, FOOD_COUNT + 1) for trait in FOOD_TRAITS)
    parameters = (*matrix.tables.parameters, *SYSTEM, *foods)
    return Layout((*matrix.active, *matrix.ledgers), len(matrix.active), parameters)


def without_foods(layout: Layout, foods: int) -> Layout:
    """Give the layout of the rows that move when no more than so many foods are offered."""
    absent = {f"Q_{food}" for food in range(foods + 1, FOOD_COUNT + 1)}
    left = tuple(name for name in layout.components if name not in absent)
    return Layout(left, layout.active - (layout.shared - len(left)), layout.parameters)


@cache
def packaged_layout() -> Layout:
    """Give the layout of the packaged tables."""
    return layout_of(packaged_matrix())
