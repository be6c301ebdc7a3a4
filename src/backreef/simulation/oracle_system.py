"""The rates of a block by plain numpy, from the tables and laws themselves; nothing is recorded or compiled.

Laws are called with arrays whose last axis is lanes. Derivatives come from the complex step: a tiny
imaginary change of each state in turn, all states side by side, leaves its derivative in the imaginary
part, exact to the last digits.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np
import numpy.typing as npt

from backreef.models.matrix import Matrix
from backreef.models.mouths import MEAL_SUMS, SLOT_STATES, SLOT_TOTALS, SLOT_TRAITS, Feast, feast
from backreef.models.water import segment_terms, water_terms
from backreef.simulation.bodies import body_of, pool_compositions
from backreef.simulation.driven import driven
from backreef.simulation.layout import FORCINGS, LIGHTS, REGISTERS, SLOT_MARCHED, Layout

Array = npt.NDArray[np.float64]
Known = dict[str, Any]
TINY_CHANGE = 1e-100
"""Size of the imaginary change; its square vanishes beside every number of a law."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Rates:
    """What changes at an instant."""

    change: Array
    """(marched rows, lanes) per day"""
    seen: Mapping[str, Array]
    """pH and concentrations by name, (lanes,)"""


@dataclass(frozen=True, slots=True, kw_only=True)
class Slopes:
    """Derivatives of the rates by the moving rows (those that rates depend on), lanes first, and by time."""

    moving: Array
    """(lanes, moving, moving)"""
    summed: Array
    """(lanes, summed, moving): rows that no rate depends on"""
    in_time: Array
    """(marched rows, lanes) per day squared"""


class OracleSystem:
    """The rates of one block; `begin` sets what holds for a segment."""

    def __init__(self, matrix: Matrix, layout: Layout, parameters: Array) -> None:
        self.matrix, self.layout = matrix, layout
        self.body = body_of(matrix)
        self.lanes = parameters.shape[-1]
        self.parameters: Known = dict(zip(layout.parameters, parameters, strict=True))
        self.contents = pool_compositions(self.parameters, matrix)
        self.coefficients = self._coefficients()
        self.fixed: Known = {}

    def _coefficients(self) -> Array:
        """Stoichiometry, (lanes, components, processes): parts of foods differ between lanes."""
        processes = self.matrix.processes
        table = np.zeros((self.lanes, self.layout.shared, len(processes)))
        for column, process in enumerate(processes):
            for name in process.changes:
                table[:, self.layout.component(name), column] = process.coefficient(name, self.parameters)
        return table

    def begin(self, registers: Array, forcings: Mapping[str, float]) -> None:
        """Work out what temperature, salinity, volume and the pumps fix for a segment."""
        known = self.parameters | dict(zip(REGISTERS, registers, strict=True)) | dict(forcings)
        self.fixed = known | segment_terms(known | driven(known))

    def known(self, registers: Array, forcings: Mapping[str, float]) -> Known:
        """Give the names that hold between steps: parameters, registers, forcings, what follows from them."""
        known = self.parameters | dict(zip(REGISTERS, registers, strict=True)) | dict(forcings)
        return self.fixed | known | driven(known)

    # -- rows ----------------------------------------------------------------------------------------------
    def moving_rows(self, slots: int) -> npt.NDArray[np.int64]:
        """Give the marched rows that rates depend on: active components, then gut and reserve of slots."""
        own = [self._slot_row(slot, name) for slot in range(slots) for name in SLOT_STATES]
        return np.array([*range(self.layout.active), *own], dtype=np.int64)

    def summed_rows(self, slots: int) -> npt.NDArray[np.int64]:
        """Give the marched rows that only collect: ledgers, then the totals of each slot."""
        own = [self._slot_row(slot, name) for slot in range(slots) for name in SLOT_TOTALS]
        return np.array([*range(self.layout.active, self.layout.shared), *own], dtype=np.int64)

    def _slot_row(self, slot: int, name: str) -> int:
        return self.layout.shared + slot * len(SLOT_MARCHED) + SLOT_MARCHED.index(name)

    # -- rates ---------------------------------------------------------------------------------------------
    def rates(self, marched: Array, traits: Array, lights: Mapping[str, float]) -> Rates:
        """Give the rates at a state."""
        shared, own = self._split(marched, traits.shape[0])
        processes, known = self._processes(shared[:, None, :], lights)
        feasts = self._feasts(own[:, None], traits, known)
        change = np.zeros_like(marched)
        change[: self.layout.shared] = self._made(processes)[:, 0]
        if feasts is not None:
            for name, amount in feasts.shared.items():
                change[self.layout.component(name)] += self._per_slot(amount, 1, traits.shape[0])[0].sum(
                    axis=0
                )
            per_slot = change[self.layout.shared :].reshape(-1, len(SLOT_MARCHED), self.lanes)
            for place, name in enumerate(SLOT_MARCHED):
                per_slot[:, place] = self._per_slot(feasts.change(name), 1, traits.shape[0])[0]
        seen = {name: known[name][0] for name in ("O2", "nh3", "ph")}
        return Rates(change=change, seen=seen)

    def slopes(self, marched: Array, traits: Array, lights: Mapping[str, float]) -> Slopes:
        """Give the derivatives of the rates at a state."""
        slots, active = traits.shape[0], self.layout.active
        shared, own = self._split(marched, slots)
        columns = active + 1 + len(SLOT_STATES)
        points = np.repeat(shared[:active, None, :], columns, axis=1).astype(complex)
        points[range(active), range(active)] += 1j * TINY_CHANGE
        bodies = np.repeat(own[:, None], columns, axis=1).astype(complex)
        for place in range(len(SLOT_STATES)):
            bodies[place, active + 1 + place] += 1j * TINY_CHANGE
        later = np.zeros((columns, 1), dtype=complex)
        later[active] = 1j * TINY_CHANGE
        moved = {name: lights[name] + later * self.fixed[slope] for name, slope in LIGHTS.items()}
        processes, known = self._processes(points, moved)
        known["nh3"] = known["nh3"].real  # only the hazard depends on it, and no rate on the hazard
        feasts = self._feasts(bodies, traits, known)
        return self._gathered(self._made(processes.imag) / TINY_CHANGE, feasts, slots)

    def _gathered(self, water: Array, feasts: Feast | None, slots: int) -> Slopes:
        """Sort derivatives into the rows and columns of the whole system."""
        active, shared, lanes = self.layout.active, self.layout.shared, self.lanes
        whole = np.zeros((shared + slots * len(SLOT_MARCHED), active + slots * len(SLOT_STATES), lanes))
        in_time = np.zeros((whole.shape[0], lanes))
        whole[:shared, :active], in_time[:shared] = water[:, :active], water[:, active]
        columns = active + 1 + len(SLOT_STATES)
        if feasts is not None:
            for name, amount in feasts.shared.items():
                slope = self._per_slot(amount, columns, slots).imag / TINY_CHANGE
                row = self.layout.component(name)
                whole[row, :active] += slope[:active].sum(axis=1)
                in_time[row] += slope[active].sum(axis=0)
                whole[row, active:] += slope[active + 1 :].swapaxes(0, 1).reshape(-1, lanes)
            for name in SLOT_MARCHED:
                slope = self._per_slot(feasts.change(name), columns, slots).imag / TINY_CHANGE
                for slot in range(slots):
                    row, first = self._slot_row(slot, name), active + slot * len(SLOT_STATES)
                    whole[row, :active], in_time[row] = slope[:active, slot], slope[active, slot]
                    whole[row, first : first + len(SLOT_STATES)] = slope[active + 1 :, slot]
        by_lane = whole.transpose(2, 0, 1)
        return Slopes(
            moving=by_lane[:, self.moving_rows(slots)],
            summed=by_lane[:, self.summed_rows(slots)],
            in_time=in_time,
        )

    # -- pieces --------------------------------------------------------------------------------------------
    def _split(self, marched: Array, slots: int) -> tuple[Array, Array]:
        """Give the shared rows, and gut and reserve as (2, slots, lanes)."""
        own = marched[self.layout.shared :].reshape(slots, len(SLOT_MARCHED), self.lanes)
        return marched[: self.layout.shared], own[:, : len(SLOT_STATES)].swapaxes(0, 1)

    def _processes(
        self, shared: npt.NDArray[Any], lights: Mapping[str, Any]
    ) -> tuple[npt.NDArray[Any], Known]:
        """Give the rate of every process, (processes, columns, lanes), and all names."""
        known = self.fixed | dict(zip(self.layout.components, shared, strict=False)) | dict(lights)
        known |= driven(known)
        known |= water_terms(known)
        rates = np.empty((len(self.matrix.processes), *shared.shape[1:]), dtype=shared.dtype)
        for place, rate in enumerate(self.matrix.rates(known).values()):
            rates[place] = rate
        return rates, known

    def _made(self, rates: Array) -> Array:
        """Give the change of every component by the table, (components, columns, lanes)."""
        by_lane = np.ascontiguousarray(rates.transpose(2, 0, 1))
        return np.asarray(np.matmul(self.coefficients, by_lane).transpose(1, 2, 0))

    def _feasts(self, own: npt.NDArray[Any], traits: Array, known: Known) -> Feast | None:
        """Give what all slots do; their arrays are (columns, slots, lanes)."""
        if traits.shape[0] == 0:
            return None
        beside = {name: _beside_slots(value) for name, value in known.items()}
        contents = {name: tuple(map(_beside_slots, parts)) for name, parts in self.contents.items()}
        slot: Known = dict(zip(SLOT_TRAITS, traits.swapaxes(0, 1), strict=True))
        slot |= dict(zip(SLOT_STATES, own, strict=True))
        return feast(slot, beside, self.body, contents)

    def _per_slot(self, value: Any, columns: int, slots: int) -> npt.NDArray[Any]:
        return np.broadcast_to(value, (columns, slots, self.lanes))


def _beside_slots(value: Any) -> Any:
    """Give a value of (columns, lanes) room for slots in between."""
    return value[:, None, :] if getattr(value, "ndim", 0) == 2 else value  # noqa: PLR2004 - columns and lanes


def forcings_of(segment: npt.NDArray[np.float64]) -> dict[str, float]:
    """Give the forcings of a row of the schedule's segments, at its start."""
    return dict(zip(FORCINGS, segment[1 : 1 + len(FORCINGS)].tolist(), strict=True))


def meal_sums(traits: Array) -> dict[str, Array]:
    """Give who is at a meal, summed over all slots, from (slots, traits, lanes)."""
    named = dict(zip(SLOT_TRAITS, traits.swapaxes(0, 1), strict=True))
    return {
        name: (named["count"] * np.prod([named[trait] for trait in parts], axis=0)).sum(axis=0)
        for name, parts in MEAL_SUMS.items()
    }
