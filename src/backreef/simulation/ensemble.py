"""A plan marched for all members: blocks of eight lanes on threads, reduced to daily series as they come back."""

from __future__ import annotations

import os
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from functools import cache

import numpy as np
import numpy.typing as npt

from backreef.aquarium.plan import Plan
from backreef.catalogue.entries import Catalogue
from backreef.models.matrix import FOOD_COUNT, packaged_matrix
from backreef.models.mouths import POOLS, SLOT_TRAITS
from backreef.schedule.build import Schedule as KeeperSchedule
from backreef.schedule.build import build_schedule
from backreef.simulation.block import Block, BlockResult, Tolerances, march_block
from backreef.simulation.cohorts import Cohort, CohortArrays, Range, cohort_arrays, cohorts_of
from backreef.simulation.draws import Draws
from backreef.simulation.engine import Engine, load_engine
from backreef.simulation.foods import FoodSlot, food_slots
from backreef.simulation.operators import reservoir_l
from backreef.simulation.layout import (
    FOOD_TRAITS,
    LANES,
    NATURE,
    REGISTERS,
    SLOT_MARCHED,
    SYSTEM,
    Layout,
    packaged_layout,
)
from backreef.simulation.bodies import body_of
from backreef.simulation.rations import ration_function
from backreef.simulation.system import start_table, coral_area_m2, fixed, system_ranges, system_table
from backreef.simulation.timeline import Timeline, build_timeline

Array = npt.NDArray[np.float64]
Progress = Callable[[int, int], None]
"""Called with blocks done and blocks in all."""
SPIN_UP_DAYS = {"established": 120, "live_rock": 0, "seeded": 0, "dry_rock": 0}
MOST_DEATHS = 200
NO_ERROR_CONTROL = 1e300


@dataclass(frozen=True, slots=True, kw_only=True)
class Prepared:
    """A plan made ready to march: everything that does not depend on the members."""

    plan: Plan
    catalogue: Catalogue
    keeper: KeeperSchedule
    foods: tuple[FoodSlot, ...]
    cohorts: list[Cohort]
    timeline: Timeline
    layout: Layout


@dataclass(slots=True, kw_only=True)
class Members:
    """What was drawn for the members and what came of them; the last axis is members."""

    count: int
    seed: int
    natures: list[Array]
    parameters: Array
    blocks: list[BlockResult]
    drawn: Array

    def row(self, place: int) -> Array:
        """Daily values of a state row, (days, members)."""
        return np.concatenate([block.days[:, place, :] for block in self.blocks], axis=1)[:, : self.count]

    @property
    def noted(self) -> Array:
        """Masks of conditional chores, (notes, members)."""
        return np.concatenate([block.noted for block in self.blocks], axis=1)[:, : self.count]


def prepare(plan: Plan, catalogue: Catalogue) -> Prepared:
    """Turn a plan into foods, cohorts, a schedule and a timeline."""
    matrix, layout = packaged_matrix(), packaged_layout()
    foods = food_slots(plan, catalogue, matrix)
    cohorts = cohorts_of(plan, catalogue, matrix, body_of(matrix), foods)
    keeper = build_schedule(plan, catalogue, ration_g=ration_function(plan, cohorts, foods))
    timeline = build_timeline(
        plan,
        catalogue,
        keeper,
        cohorts=cohorts,
        foods=foods,
        layout=layout,
        spin_up_days=SPIN_UP_DAYS[plan.tank.start.kind],
    )
    return Prepared(
        plan=plan,
        catalogue=catalogue,
        keeper=keeper,
        foods=foods,
        cohorts=cohorts,
        timeline=timeline,
        layout=layout,
    )


def march_members(
    prepared: Prepared,
    draws: Draws,
    tolerances: Tolerances,
    *,
    threads: int | None = None,
    progress: Progress | None = None,
) -> Members:
    """March all members; the same seed gives the same bits on any number of threads."""
    engine = load_engine()
    padded = Draws(draws.seed, -(-draws.members // LANES) * LANES, nominal=draws.nominal)
    setting = _Setting(prepared, padded)
    count = padded.members // LANES
    done = 0

    def run(number: int) -> BlockResult:
        return march_block(
            engine, prepared.layout, prepared.timeline.schedule, setting.block(number), tolerances
        )

    results: list[BlockResult] = []
    with ThreadPoolExecutor(threads or os.cpu_count() or 1) as pool:
        for result in pool.map(run, range(count)):
            results.append(result)
            done += 1
            if progress is not None:
                progress(done, count)
    return Members(
        count=draws.members,
        seed=draws.seed,
        natures=[arrays.nature[:, : draws.members] for arrays in setting.bodies],
        parameters=setting.parameters[:, : draws.members],
        blocks=results,
        drawn=setting.drawn[:, : draws.members],
    )


class _Setting:
    """Arrays of all members, from which blocks are cut."""

    def __init__(self, prepared: Prepared, draws: Draws) -> None:
        self.prepared, self.draws = prepared, draws
        self.plan, self.layout = prepared.plan, prepared.layout
        self.matrix = packaged_matrix()
        self.bodies: list[CohortArrays] = [cohort_arrays(cohort, draws) for cohort in prepared.cohorts]
        self.parameters = self._parameters()
        self.state = self._state()
        self.drawn = self._drawn()
        self.thresholds = self._thresholds()
        self.scale = self._scale()

    def block(self, number: int) -> Block:
        """Cut out the lanes of one block."""
        lanes = slice(number * LANES, (number + 1) * LANES)
        slots = len(self.bodies)
        shape = (slots, 1, LANES)
        traits = (
            np.stack([body.traits[:, lanes] for body in self.bodies])
            if slots
            else np.zeros((0, len(SLOT_TRAITS), LANES))
        )
        nature = (
            np.stack([body.nature[:, lanes] for body in self.bodies])
            if slots
            else np.zeros((0, len(NATURE), LANES))
        )
        return Block(
            state=self.state[:, lanes],
            parameters=self.parameters[:, lanes],
            traits=traits,
            nature=nature,
            thresholds=self.thresholds[:, :, lanes] if slots else np.zeros(shape),
            scale=self.scale,
            drawn=self.drawn[:, lanes],
        )

    def _value(self, name: str, span: Range) -> Array:
        return self.draws.value(name, span.value, span.low, span.high)

    def _parameters(self) -> Array:
        values = np.zeros((len(self.layout.parameters), self.draws.members))
        for symbol, parameter in self.matrix.tables.parameters.items():
            span = Range(value=parameter.value, low=parameter.low, high=parameter.high)
            values[self.layout.parameter(symbol)] = self._value(symbol, span)
        ranges = system_ranges(self.plan)
        ranges["p_protein"] = fixed(self.matrix.tables.macronutrients["protein"]["phosphorus_per_carbon"])
        for name in SYSTEM:
            values[self.layout.parameter(name)] = self._value(name, ranges[name])
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
        members, slots = self.draws.members, len(self.bodies)
        state = np.zeros((self.layout.rows(slots), members))
        tank = self.plan.tank
        rock, refugium = (self.parameters[self.layout.parameter(name)] for name in ("A_rock", "A_ref"))
        per = {"litre": tank.water_volume_l, "m2": rock, "refugium": refugium}
        for row in start_table():
            amount = float(row[tank.start.kind]) * per[row["per"]]
            if row["component"] == "A_R":
                amount = np.where(refugium > 1e-4, amount, 0.0)
            state[self.layout.address(row["component"])] = amount
        scale = self._value("coral_scale", system_table()["coral_scale"].span)
        tissue = self.parameters[self.layout.parameter("T_coral")] * scale
        area = coral_area_m2(self.plan, self.prepared.catalogue)
        state[self.layout.address("C_T")] = area * tissue
        state[self.layout.address("C_R")] = area * tissue * 0.1
        self._registers(state)
        self._sorbed(state)
        self._residents(state, slots)
        return state

    def _registers(self, state: Array) -> None:
        tank = self.plan.tank
        values = {
            "one": 1.0,
            "V": tank.water_volume_l,
            "salt": tank.salinity_psu * tank.water_volume_l,
            "S": tank.salinity_psu,
            "T": tank.temperature_c,
            "reservoir": reservoir_l(self.plan),
            "sock": 1.0 if any(device.kind in ("sock", "roller") for device in self.plan.devices) else 0.0,
            "light_fade": 1.0,
            "o2_least": 1e9,
            "ph_least": 99.0,
        }
        for name, value in values.items():
            state[self.layout.address(name)] = value

    def _sorbed(self, state: Array) -> None:
        """Phosphate on rock in balance with the first reading; none on new dry rock."""
        parameter = {
            name: self.parameters[self.layout.parameter(name)] for name in ("q_rk", "K_rk", "m_carb")
        }
        litres = self.plan.tank.water_volume_l
        given = self.plan.tank.start.readings.get("phosphate_mg_p_per_l")
        umol_per_l = (
            state[self.layout.address("S_PO4")] * 1000.0 / litres
            if given is None
            else given * 1000.0 / 30.973762
        )
        ripe = 0.0 if self.plan.tank.start.kind in ("dry_rock", "seeded") else 1.0
        held = parameter["q_rk"] * parameter["m_carb"] * umol_per_l / (parameter["K_rk"] + umol_per_l)
        state[self.layout.address("P_RK")] = ripe * held

    def _residents(self, state: Array, slots: int) -> None:
        for slot, (cohort, body) in enumerate(zip(self.prepared.cohorts, self.bodies, strict=True)):
            if cohort.settled:
                at = {
                    name: self.layout.slot_address(slot, name, slots)
                    for name in ("structure", "reserve", "arrived")
                }
                state[at["structure"]] = cohort.entry.count * body.structure_mmol
                state[at["reserve"]] = cohort.entry.count * body.reserve_mmol
                state[at["arrived"]] = cohort.entry.count

    def _thresholds(self) -> Array:
        slots = len(self.bodies)
        most = max((min(cohort.entry.count, MOST_DEATHS) for cohort in self.prepared.cohorts), default=1)
        result = np.full((max(slots, 1), most, self.draws.members), np.inf)
        for slot, cohort in enumerate(self.prepared.cohorts):
            count = min(cohort.entry.count, most)
            steps = self.draws.exponential(f"deaths of {cohort.entry.id}", count)
            result[slot, :count] = np.cumsum(steps, axis=0)
        return result

    def _scale(self) -> Array:
        tank = self.plan.tank
        per = {
            "litre": tank.water_volume_l,
            "m2": 0.15 * tank.rock_kg + tank.sand_area_m2,
            "kg": tank.rock_kg + 1.0,
        }
        scale = np.full(self.layout.shared + len(self.bodies) * len(SLOT_MARCHED), NO_ERROR_CONTROL)
        for place, component in enumerate(self.matrix.components):
            if component.typical is not None:
                scale[place] = component.typical * max(per[component.per], 0.1)
        for slot, (cohort, body) in enumerate(zip(self.prepared.cohorts, self.bodies, strict=True)):
            typical = float(np.median(body.reserve_mmol)) * cohort.entry.count
            first = self.layout.shared + slot * len(SLOT_MARCHED)
            scale[first] = 0.3 * typical
            scale[first + 1] = typical
        return scale

    def _drawn(self) -> Array:
        from backreef.simulation.portions import drawn_rows

        return drawn_rows(self.prepared, self.draws, self.bodies)
