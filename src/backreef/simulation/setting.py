"""The first day of all members as arrays (state, parameters, bodies, luck), cut into blocks of lanes."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from threading import Lock
from typing import Protocol

import numpy as np
import numpy.typing as npt

from backreef.models.matrix import FOOD_COUNT, packaged_matrix
from backreef.models.mouths import SLOT_TRAITS
from backreef.simulation.block import Block
from backreef.simulation.cohorts import CohortArrays, cohort_arrays
from backreef.simulation.draws import Draws
from backreef.simulation.layout import FOOD_TRAITS, LANES, NATURE, SLOT_MARCHED, SYSTEM
from backreef.simulation.portions import drawn_rows
from backreef.simulation.prepared import Prepared
from backreef.simulation.system import (
    begins_as,
    coral_area_m2,
    drifts,
    fresh_machines,
    refugium_of,
    resin_litres,
    system_ranges,
    top_offs,
)
from backreef.simulation.tables import Range, fixed, start_table, system_number, system_table
from backreef.units import atomic_mass_g_per_mol

Array = npt.NDArray[np.float64]
UMOL_PER_MMOL = 1000.0
BLOCKS_TOGETHER = 8
"""So many blocks are laid out together."""
BARE_STARTS = ("dry_rock", "seeded")
"""Starts with new rock, which holds no phosphate yet."""
NEVER_LOW, NEVER_ACID = 1e9, 99.0
"""Extremes of a day before its first instant: any oxygen and any pH is lower."""

NO_ERROR_CONTROL = 1e300
LEAST_YARDSTICK = 0.1
GUT_YARDSTICK_RATIO = 20.0
"""Numerical: the yardsticks of the step error. A full gut counts as many times what it holds: it is a memory
of what was eaten, no matter in itself, and mends its own errors (docs/adr/0013)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Begun:
    """What was drawn for members, as far as it is looked at after their march; the last axis is members."""

    natures: list[Array]
    """Of each cohort, (natures, members)."""
    parameters: Array
    """(parameters, members)"""
    bodies: Mapping[tuple[str, ...], Array]
    """What the bodies of newcomers hold, (members,), by the name under which it was drawn."""

    def lanes(self, lanes: slice) -> Begun:
        """Of some members only."""
        return Begun(
            natures=[nature[:, lanes] for nature in self.natures],
            parameters=self.parameters[:, lanes],
            bodies={key: values[lanes] for key, values in self.bodies.items()},
        )


def together(parts: Sequence[Begun]) -> Begun:
    """Give what was drawn for the members of several parts, side by side."""
    if len(parts) == 1:
        return parts[0]
    return Begun(
        natures=[
            np.concatenate(of_cohort, axis=1) for of_cohort in zip(*(p.natures for p in parts), strict=True)
        ],
        parameters=np.concatenate([part.parameters for part in parts], axis=1),
        bodies={key: np.concatenate([part.bodies[key] for part in parts]) for key in parts[0].bodies},
    )


class Beginning(Protocol):
    """The first day of members that fill whole blocks."""

    @property
    def prepared(self) -> Prepared:
        """The plan that they live."""

    @property
    def draws(self) -> Draws:
        """Whose members they are."""

    def take(self, number: int) -> tuple[Block, Begun]:
        """Cut out the lanes of one block, once."""


class InTurn:
    """The first day of many members, laid out for some blocks at a time when their turn comes."""

    def __init__(self, prepared: Prepared, draws: Draws) -> None:
        self.prepared, self.draws = prepared, draws
        self._lock = Lock()
        self._laid_out: dict[int, Setting] = {}
        self._left: dict[int, int] = {}

    def take(self, number: int) -> tuple[Block, Begun]:
        """Cut out the lanes of one block, once; the last one of those laid out together lets go of them."""
        group, place = divmod(number, BLOCKS_TOGETHER)
        first, most = group * BLOCKS_TOGETHER * LANES, BLOCKS_TOGETHER * LANES
        with self._lock:
            if group not in self._laid_out:
                members = min(most, self.draws.members - first)
                self._laid_out[group] = Setting(
                    self.prepared, self.draws.some(self.draws.first + first, members)
                )
                self._left[group] = members // LANES
            setting = self._laid_out[group]
            self._left[group] -= 1
            if not self._left[group]:
                del self._laid_out[group]
        return setting.take(place)


class Setting:
    """Arrays of all members, (rows, members)."""

    def __init__(self, prepared: Prepared, draws: Draws) -> None:
        self.prepared, self.draws = prepared, draws
        self.plan, self.layout = prepared.plan, prepared.layout
        self.matrix = packaged_matrix()
        self.bodies: list[CohortArrays] = [cohort_arrays(cohort, draws) for cohort in prepared.cohorts]
        self.parameters = self._parameters()
        self.state = self._state()
        self.drawn = drawn_rows(prepared, draws, self.bodies)
        rows = enumerate(prepared.timeline.drawn)
        self._newcomers = {key: row for row, key in rows if key[0] == "body"}
        self.thresholds = self._thresholds()
        self.scale = self._scale()

    def block(self, number: int) -> Block:
        """Cut out the lanes of one block."""
        lanes = slice(number * LANES, (number + 1) * LANES)
        traits = [body.traits[:, lanes] for body in self.bodies]
        nature = [body.nature[:, lanes] for body in self.bodies]
        slots = len(self.bodies)
        return Block(
            state=self.state[:, lanes],
            parameters=self.parameters[:, lanes],
            traits=np.stack(traits) if slots else np.zeros((0, len(SLOT_TRAITS), LANES)),
            nature=np.stack(nature) if slots else np.zeros((0, len(NATURE), LANES)),
            thresholds=self.thresholds[:, :, lanes] if slots else np.zeros((0, 1, LANES)),
            scale=self.scale,
            drawn=self.drawn[:, lanes],
        )

    def take(self, number: int) -> tuple[Block, Begun]:
        """Cut out the lanes of one block, with what is looked at afterwards."""
        return self.block(number), self.begun.lanes(slice(number * LANES, (number + 1) * LANES))

    @property
    def begun(self) -> Begun:
        """What was drawn for all members, as far as it is looked at afterwards."""
        return Begun(
            natures=[body.nature for body in self.bodies],
            parameters=self.parameters,
            bodies={key: self.drawn[row].copy() for key, row in self._newcomers.items()},
        )

    def _value(self, name: str, span: Range) -> Array:
        return self.draws.value(name, span.value, span.low, span.high)

    def _parameter(self, name: str) -> Array:
        return np.asarray(self.parameters[self.layout.parameter(name)])

    def _parameters(self) -> Array:
        values = np.zeros((len(self.layout.parameters), self.draws.members))
        for symbol, parameter in self.matrix.tables.parameters.items():
            span = Range(value=parameter.value, low=parameter.low, high=parameter.high)
            values[self.layout.parameter(symbol)] = self._value(symbol, span)
        ranges = system_ranges(self.plan)
        ranges["p_protein"] = fixed(self.matrix.tables.macronutrients["protein"]["phosphorus_per_carbon"])
        wandering = drifts(self.plan)
        for name in SYSTEM:
            to_either_side = name in wandering
            values[self.layout.parameter(name)] = (
                self.draws.around_nought(name, wandering[name])
                if to_either_side
                else self._value(name, ranges[name])
            )
        for food in range(1, FOOD_COUNT + 1):
            for trait, value in self._food(food).items():
                values[self.layout.parameter(f"food{food}_{trait}")] = value
        return values

    def _food(self, number: int) -> dict[str, float]:
        if number > len(self.prepared.foods):
            empty = dict.fromkeys(FOOD_TRAITS, 0.0)
            return empty | {"carbohydrate": 1.0, "settle": 1.0, "particle_mm": 1.0}
        food = self.prepared.foods[number - 1]
        return {**food.shares, "settle": food.settle_ratio, "particle_mm": food.particle_mm}

    def _state(self) -> Array:
        slots = len(self.bodies)
        state = np.zeros((self.layout.rows(slots), self.draws.members))
        begun = begins_as(self.plan)
        tank, lit = self.plan.tank, refugium_of(self.plan) is not None
        refugium = self._parameter("A_ref") if lit else 0.0
        per: dict[str, Array | float] = {"litre": tank.water_volume_l, "refugium": refugium}
        per["m2"] = self._parameter("A_rock")
        for row in start_table():
            state[self.layout.address(row["component"])] = float(row[begun]) * per[row["per"]]
        self._corals(state)
        self._registers(state)
        self._sorbed(state)
        self._residents(state, slots)
        return state

    def _corals(self, state: Array) -> None:
        scale = self._value("coral_scale", system_table()["coral_scale"].span)
        tissue = self._parameter("T_coral") * scale
        area = coral_area_m2(self.plan, self.prepared.catalogue)
        state[self.layout.address("C_T")] = area * tissue
        state[self.layout.address("C_S")] = area * scale
        state[self.layout.address("C_R")] = area * tissue * system_number("coral_reserve_ratio")

    def _registers(self, state: Array) -> None:
        tank = self.plan.tank
        values = {
            "one": 1.0,
            "V": tank.water_volume_l,
            "salt": tank.salinity_psu * tank.water_volume_l,
            "S": tank.salinity_psu,
            "T": tank.temperature_c,
            "reservoir": sum(top_offs(self.plan, self.prepared.catalogue).values()),
            "sock": 1.0 if any(device.kind in ("sock", "roller") for device in self.plan.devices) else 0.0,
            "light_fade": 1.0,
            **fresh_machines(self.plan),
            "resin_l": resin_litres(self.plan),
            "o2_least": NEVER_LOW,
            "ph_least": NEVER_ACID,
        }
        for name, value in values.items():
            state[self.layout.address(name)] = value

    def _sorbed(self, state: Array) -> None:
        """Phosphate on rock in balance with the first reading; none on new dry rock."""
        if self.plan.tank.start.kind in BARE_STARTS:
            return
        litres = self.plan.tank.water_volume_l
        given = self.plan.tank.start.readings.get("phosphate_mg_p_per_l")
        umol_per_l = (
            state[self.layout.address("S_PO4")] * UMOL_PER_MMOL / litres
            if given is None
            else given * UMOL_PER_MMOL / atomic_mass_g_per_mol()["P"]
        )
        full = self._parameter("q_rk") * self._parameter("m_carb")
        state[self.layout.address("P_RK")] = full * umol_per_l / (self._parameter("K_rk") + umol_per_l)

    def _residents(self, state: Array, slots: int) -> None:
        for slot, (cohort, body) in enumerate(zip(self.prepared.cohorts, self.bodies, strict=True)):
            if cohort.settled:
                count = cohort.entry.count
                state[self.layout.slot_address(slot, "structure", slots)] = count * body.structure_mmol
                state[self.layout.slot_address(slot, "reserve", slots)] = count * body.reserve_mmol
                state[self.layout.slot_address(slot, "arrived", slots)] = count

    def _thresholds(self) -> Array:
        """Cumulated hazards at which animals die, one after another, (slots, deaths, members)."""
        slots = len(self.bodies)
        most = max((cohort.entry.count for cohort in self.prepared.cohorts), default=1)
        result = np.full((max(slots, 1), most, self.draws.members), np.inf)
        for slot, cohort in enumerate(self.prepared.cohorts):
            count = cohort.entry.count
            steps = self.draws.exponential(f"deaths of {cohort.entry.id}", count)
            result[slot, :count] = np.cumsum(steps, axis=0)
        return result

    def _scale(self) -> Array:
        """Yardsticks of the step error, (rows that are marched,); the same however many members there are."""
        tank = self.plan.tank
        rock_m2 = system_number("rock_area_m2_per_kg") * tank.rock_kg
        per = {
            "litre": tank.water_volume_l,
            "m2": rock_m2 + tank.sand_area_m2,
            "kg": tank.rock_kg + 1.0,
        }
        scale = np.full(self.layout.shared + len(self.bodies) * len(SLOT_MARCHED), NO_ERROR_CONTROL)
        for place, component in enumerate(self.matrix.components):
            if component.typical is not None:
                scale[place] = component.typical * max(per[component.per], LEAST_YARDSTICK)
        for slot, cohort in enumerate(self.prepared.cohorts):
            typical = cohort.arrival_reserve_mmol * cohort.entry.count
            first = self.layout.shared + slot * len(SLOT_MARCHED)
            scale[first] = GUT_YARDSTICK_RATIO * cohort.arrival_gut_mmol * cohort.entry.count
            scale[first + 1] = typical
        return scale
