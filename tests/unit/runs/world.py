"""A plan made ready, and a tub of water in which the events of a plan can be carried out one by one."""

from __future__ import annotations

from dataclasses import dataclass, field
from functools import cache

import numpy as np
import numpy.typing as npt

from backreef.aquarium.plan import Plan
from backreef.models.matrix import food_composition, packaged_matrix
from backreef.models.tables import ELEMENTS
from backreef.simulation.bookings import Bookings
from backreef.simulation.chore_events import ChoreEvents
from backreef.simulation.draws import Draws
from backreef.simulation.events import OPERATIONS, Drawn, EventProgram
from backreef.simulation.layout import FOOD_TRAITS, LEDGER_ELEMENTS, OPERATORS, packaged_layout
from backreef.simulation.operators import Operators
from backreef.simulation.prepared import Prepared, prepare
from backreef.simulation.setting import Setting
from tests.unit.aquarium.plans import catalogue, plan_of

Array = npt.NDArray[np.float64]
LANES = 8
TANK = """\
start_on = 2027-01-04
[tank]
display = "200 L"
water_volume = "200 L"
rock = "20 kg"
start = {{ kind = "{kind}" }}
"""
PAIR = '[[animals]]\nid = "pair"\nspecies = "ocellaris_clown"\ncount = 2\n'
SNAILS = '[[animals]]\nid = "snails"\nspecies = "trochus"\ncount = 4\n'
MEAL = '[[meals]]\nid = "meal"\nfood = "pellet_small"\namount = "0.2 g"\ntimes = ["08:00", "18:00"]\n'
SIZED = MEAL.replace('amount = "0.2 g"', 'enough_for = "maintenance"')
SHORT = '[goals]\nhorizon = "0.1 years"\n'
DAYS = 37


def a_plan(lines: str = "", *, kind: str = "live_rock", horizon: str = SHORT) -> Plan:
    return plan_of(TANK.format(kind=kind) + lines + horizon)


@cache
def prepared(lines: str = "", *, kind: str = "live_rock") -> Prepared:
    return prepare(a_plan(lines, kind=kind), catalogue())


def operators(ready: Prepared, drawn: Drawn | None = None) -> Operators:
    return Operators(
        ready.plan,
        ready.catalogue,
        ready.layout,
        cohorts=ready.cohorts,
        foods=ready.foods,
        drawn=drawn or Drawn(),
    )


def chore_events(lines: str = "") -> ChoreEvents:
    ready = prepared(lines)
    book = Bookings(packaged_matrix(), ready.layout, Drawn())
    return ChoreEvents(ready.plan, ready.catalogue, book)


@dataclass
class Tub:
    """The water of a plan's first day; its lanes can be made to differ."""

    ready: Prepared
    state: Array = field(init=False)
    drawn: Array = field(init=False)
    noted: dict[int, Array] = field(default_factory=dict)

    def __post_init__(self) -> None:
        setting = Setting(self.ready, Draws(1, LANES, nominal=True))
        self.state, self.drawn = setting.state.copy(), np.ones((400, LANES))
        self.setting = setting

    def __getitem__(self, name: str) -> Array:
        return np.asarray(self.state[packaged_layout().address(name)])

    def __setitem__(self, name: str, value: float | Array) -> None:
        self.state[packaged_layout().address(name)] = value

    def slot(self, slot: int, name: str) -> Array:
        slots = len(self.ready.cohorts)
        return np.asarray(self.state[packaged_layout().slot_address(slot, name, slots)])

    def do(self, program: EventProgram) -> None:
        """Carry out a program as `events.py` says what its operations mean."""
        mask = np.ones(LANES, dtype=bool)
        for number, target, source, extra, factor in program.operations:
            name, amount = OPERATIONS[number], factor * self.state[source]
            if name == "everyone":
                mask = np.ones(LANES, dtype=bool)
            elif name == "where_above":
                mask = mask & (self.state[source] > factor)
            elif name == "where_below":
                mask = mask & (self.state[source] < factor)
            elif name == "note":
                self.noted[extra] = mask.astype(float)
            else:
                self.state[target] = np.where(
                    mask, self._new(name, target, amount, extra), self.state[target]
                )

    def _new(self, name: str, target: int, amount: Array, extra: int) -> Array:
        if name == "add":
            return np.asarray(self.state[target] + amount)
        if name == "add_drawn":
            return np.asarray(self.state[target] + amount * self.drawn[extra])
        if name == "read":
            return np.asarray(amount / self["V"] * self.drawn[extra])
        assert name == "set", name
        return amount

    def totals(self) -> Array:
        """Carbon, nitrogen, phosphorus, oxygen demand and charge in water, bodies and ledgers."""
        matrix, layout = packaged_matrix(), packaged_layout()
        total = np.zeros((len(ELEMENTS), LANES))
        for component in matrix.components:
            content = component.composition
            if content is None:
                food = int(component.name.removeprefix("Q_"))
                known = {
                    f"food{food}_{trait}": self.setting.parameters[layout.parameter(f"food{food}_{trait}")]
                    for trait in FOOD_TRAITS
                }
                content = food_composition(known, food, matrix.tables)
            total += np.stack([np.broadcast_to(part, LANES) * self[component.name] for part in content])
        for slot in range(len(self.ready.cohorts)):
            flesh = self.slot(slot, "structure") + self.slot(slot, "reserve")
            body = operators(self.ready).book.flesh
            total += np.stack([part * flesh for part in body])
        for door in OPERATORS:
            total += np.stack([self[f"{door}_{letter}"] for letter in LEDGER_ELEMENTS])
        return total


def assert_conserved(before: Array, after: Array) -> None:
    np.testing.assert_allclose(after, before, rtol=1e-10, atol=1e-7)
