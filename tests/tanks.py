"""A bare tank for tests of the engines: what it holds, what happens to it, and how it is marched."""

from __future__ import annotations

import tomllib
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from functools import cache
from itertools import pairwise
from pathlib import Path

import numpy as np
import numpy.typing as npt

from backreef.models.matrix import FOOD_COUNT, Matrix, food_composition, packaged_matrix
from backreef.models.mouths import FOOD_POOLS, POOLS, SLOT_TRAITS
from backreef.simulation.block import (
    Block,
    BlockResult,
    Schedule,
    Tolerances,
    make_schedule,
    march_block,
)
from backreef.simulation.bodies import body_of
from backreef.simulation.engine import Engine, load_engine
from backreef.simulation.events import EventProgram
from backreef.simulation.layout import (
    FORCINGS,
    LEDGER_ELEMENTS,
    NATURE,
    OPERATORS,
    SLOT_MARCHED,
    Layout,
    layout_of,
)
from backreef.simulation.oracle import Oracle, march_slowly

Array = npt.NDArray[np.float64]
Action = Callable[[EventProgram, Layout], None]
HOURS = 24.0
NO_CONTROL = 1e300
NEVER_DIES = 1e9
KEPT = {"A_T": 0.08, "A_N": 0.08, "A_C": 0.08, "X_DL": 0.15, "X_POM": 0.15}
"""Share of poor food that bodies can keep: no more than its nitrogen and phosphorus allow."""
EXACT = Tolerances(
    relative=1e-4, absolute_share=0.3, first_step_min=1.0, longest_step_min=60.0, shortest_step_s=0.1
)
USUAL = Tolerances(
    relative=0.003, absolute_share=0.3, first_step_min=2.0, longest_step_min=180.0, shortest_step_s=1.0
)


@cache
def reference_tank() -> dict[str, dict[str, float]]:
    """The numbers of the tank that the model was first tried in."""
    path = Path(__file__).with_name("data") / "reference_tank.toml"
    return tomllib.loads(path.read_text(encoding="utf-8"))


@dataclass(frozen=True, kw_only=True)
class Animal:
    """One cohort slot: numbers of the slot's own tables, and its body on the first day."""

    traits: Mapping[str, float | Array]
    nature: Mapping[str, float | Array]
    structure_mmol: float
    reserve_mmol: float
    count: float = 1.0
    dies_at: Sequence[float] = ()
    """Cumulated hazards at which one animal dies."""


def an_animal(
    count: float = 1.0,
    *,
    likes: Mapping[str, float],
    burn_mmol_per_d: float = 2.0,
    intake_mmol_per_d: float = 6.0,
    body_mmol: float = 100.0,
    base_hazard_per_d: float = 0.0,
    dies_at: Sequence[float] = (),
    day: float = 1.0,
    night: float = 0.05,
    push: float = 0.0,
    yields: float = 0.0,
) -> Animal:
    """A made-up animal that neither grows nor dies of age; amounts are per head."""
    mass_g = body_mmol / 9.5
    capacity = intake_mmol_per_d / 6.0
    nature = dict.fromkeys(NATURE, 0.0) | {
        "weight_a": 0.02,
        "weight_b": 3.0,
        "adult_cm": (mass_g / 0.02) ** (1.0 / 3.0),
        "carbon_per_g": 9.5,
        "burn_coefficient": burn_mmol_per_d,
        "capacity_coefficient": capacity,
        "speed_coefficient": 40.0 * intake_mmol_per_d,
        "reserve_share": 0.2,
        "gape_share": 1.0,
        "smallest_share": 1e-3,
        "push": push,
    }
    nature |= {f"liking_{pool}": likes.get(pool, 0.0) for pool in POOLS}
    traits = dict.fromkeys(SLOT_TRAITS, 0.0) | {
        "count": count,
        "speed": 40.0 * intake_mmol_per_d,
        "capacity": capacity,
        "gut_rate": 6.0,
        "burn": burn_mmol_per_d,
        "goal": 0.2 * body_mmol,
        "day": day,
        "night": night,
        "base_hazard": base_hazard_per_d,
        "refractory": 0.6,
        "comes": max((liking for pool, liking in likes.items() if pool in FOOD_POOLS), default=0.0),
        "pushes": push,
        "yields": yields,
    }
    for pool in POOLS:
        traits |= {
            f"weight_{pool}": likes.get(pool, 0.0),
            f"keep_{pool}": KEPT.get(pool, 0.3),
            f"faeces_{pool}": 0.2,
        }
    return Animal(
        traits=traits,
        nature=nature,
        structure_mmol=count * body_mmol,
        reserve_mmol=count * 0.1 * body_mmol,
        count=count,
        dies_at=dies_at,
    )


@dataclass(kw_only=True)
class Tank:
    """What a block starts from; every mapping says what differs from the reference tank."""

    start: Mapping[str, float | Array] = field(default_factory=dict)
    system: Mapping[str, float | Array] = field(default_factory=dict)
    parameters: Mapping[str, float | Array] = field(default_factory=dict)
    registers: Mapping[str, float | Array] = field(default_factory=dict)
    animals: Sequence[Animal] = ()
    lanes: int = 8
    matrix: Matrix = field(default_factory=packaged_matrix)
    empty: bool = False
    """Whether what `start` does not name is 0 instead of as in the reference tank."""
    scale_factor: float = 1.0
    """Size against the reference tank, for the typical sizes of amounts."""

    @property
    def layout(self) -> Layout:
        """Places of all rows."""
        return layout_of(self.matrix)

    @property
    def composition(self) -> dict[str, tuple[float, ...]]:
        """Content of every component."""
        known = self.food_numbers()
        contents: dict[str, tuple[float, ...]] = {}
        for component in self.matrix.components:
            food = component.composition is None
            place = int(component.name.removeprefix("Q_")) if food else 0
            own = food_composition(known, place, self.matrix.tables) if food else component.composition
            contents[component.name] = tuple(own or ())
        return contents

    def food_numbers(self) -> dict[str, float]:
        """Traits of all offered foods; each is the same pellet."""
        pellet = reference_tank()["food"].items()
        return {f"food{food}_{name}": value for food in range(1, FOOD_COUNT + 1) for name, value in pellet}

    def all_parameters(self) -> Array:
        """Rows of parameters."""
        values: dict[str, float | Array] = {
            name: parameter.value for name, parameter in self.matrix.tables.parameters.items()
        }
        values |= reference_tank()["system"] | self.food_numbers()
        values |= {
            "mg_p_per_umol": 0.030973762,
            "p_protein": self.matrix.tables.macronutrients["protein"]["phosphorus_per_carbon"],
        }
        values |= {**self.system, **self.parameters}
        rows = np.zeros((len(self.layout.parameters), self.lanes))
        for name, value in values.items():
            rows[self.layout.parameter(name)] = value
        return rows

    def state(self) -> Array:
        """Rows of the state."""
        layout, slots = self.layout, len(self.animals)
        rows = np.zeros((layout.rows(slots), self.lanes))
        values: dict[str, float | Array] = {} if self.empty else dict(reference_tank()["start"])
        values |= reference_tank()["registers"] | {"o2_least": 1e9, "ph_least": 99.0}
        values |= {**self.start, **self.registers}
        for name, value in values.items():
            rows[layout.address(name)] = value
        for slot, animal in enumerate(self.animals):
            for name, value in (
                ("structure", animal.structure_mmol),
                ("reserve", animal.reserve_mmol),
                ("arrived", animal.count),
            ):
                rows[layout.slot_address(slot, name, slots)] = value
        return rows

    def block(self, drawn: Array | None = None) -> Block:
        """The tank as a block of lanes."""
        return Block(
            state=self.state(),
            parameters=self.all_parameters(),
            traits=self._of_animals(SLOT_TRAITS, [animal.traits for animal in self.animals]),
            nature=self._of_animals(NATURE, [animal.nature for animal in self.animals]),
            thresholds=self._thresholds(),
            scale=self._scale(),
            drawn=np.ones((1, self.lanes)) if drawn is None else drawn,
        )

    def _of_animals(self, names: Sequence[str], values: Sequence[Mapping[str, float | Array]]) -> Array:
        rows = np.zeros((len(values), len(names), self.lanes))
        for slot, own in enumerate(values):
            for place, name in enumerate(names):
                rows[slot, place] = own[name]
        return rows

    def _thresholds(self) -> Array:
        most = max((len(animal.dies_at) for animal in self.animals), default=0)
        rows = np.full((max(1, len(self.animals)), max(1, most), self.lanes), NEVER_DIES)
        for slot, animal in enumerate(self.animals):
            rows[slot, : len(animal.dies_at)] = np.array(animal.dies_at)[:, None]
        return rows

    def _scale(self) -> Array:
        """Typical sizes: of the component table times litres, rock and sand, or kilograms of the tank."""
        typical = {"litre": 200.0, "m2": 3.35, "kg": 25.0}
        scale = np.full(self.layout.shared + len(self.animals) * len(SLOT_MARCHED), NO_CONTROL)
        for place, component in enumerate(self.matrix.components):
            if component.typical is not None:
                scale[place] = self.scale_factor * component.typical * typical[component.per]
        for slot, animal in enumerate(self.animals):
            first = self.layout.shared + slot * len(SLOT_MARCHED)
            scale[first : first + 2] = 0.3 * animal.reserve_mmol, animal.reserve_mmol
        return scale


@dataclass(kw_only=True)
class Life:
    """What happens to a tank; hours run from midnight of the first day."""

    days: int
    hours: float = HOURS
    """Length of a day; less for a test of a part of one."""
    midnights: bool = True
    light: tuple[float, ...] = (8.5, 9.5, 18.5, 19.5)
    """Hours at which light begins to rise, is full, begins to fall, is out; empty for darkness."""
    refugium: tuple[float, float] | None = (20.0, 10.0)
    """Hours at which its light turns on and off."""
    pumps: bool = True
    overflow: bool = False
    switches: Mapping[str, float] = field(default_factory=dict)
    """What mishaps moved, all the time."""
    longest_h: float = 3.0
    daily: Mapping[float, Action] = field(default_factory=dict)
    """Hour of the day: what happens."""
    once: Mapping[tuple[int, float], Action] = field(default_factory=dict)
    """Day and hour: what happens."""
    notes: int = 0
    written: tuple[float, ...] = ()
    """Hours at which the state is written besides midnight."""

    def schedule(self, layout: Layout) -> Schedule:
        """Give segments and events; a day is written at each midnight and at the end."""
        segments: list[list[float]] = []
        events: list[EventProgram] = []
        for day in range(self.days):
            for start, end in pairwise(self._edges(day)):
                program = EventProgram()
                if start == 0.0 and self.midnights:
                    program.put("midnight")
                if start == 0.0:
                    program.put("write_day")
                for action in (self.once.get((day, start)), self.daily.get(start)):
                    if action is not None:
                        action(program, layout)
                if start in self.written:
                    program.put("write_day")
                segments.append(self._segment(start, end))
                events.append(program)
        last = EventProgram()
        last.put("write_day")
        segments.append([1e-13, *([0.0] * len(FORCINGS))])
        events.append(last)
        written = self.days * (1 + len(self.written)) + 1
        return make_schedule(segments, events, notes=self.notes, days=written)

    def _edges(self, day: int) -> list[float]:
        corners = {*self.light, *(self.refugium or ()), *self.daily, *self.written}
        corners |= {hour for on, hour in self.once if on == day}
        edges = sorted({0.0, self.hours, *(hour for hour in corners if 0.0 < hour < self.hours)})
        result = list(edges)
        for start, end in pairwise(edges):
            pieces = int(np.ceil((end - start) / self.longest_h - 1e-9))
            result += [start + (end - start) * piece / pieces for piece in range(1, pieces)]
        return sorted(result)

    def _shape(self, hour: float) -> float:
        if not self.light:
            return 0.0
        return float(np.interp(hour, self.light, [0.0, 1.0, 1.0, 0.0], left=0.0, right=0.0))

    def _segment(self, start: float, end: float) -> list[float]:
        length, middle = (end - start) / HOURS, (start + end) / 2.0
        values = dict.fromkeys(FORCINGS, 0.0) | {"pumps": float(self.pumps), "overflow": float(self.overflow)}
        values |= self.switches
        values["day_shape"] = self._shape(start)
        values["day_slope"] = (self._shape(end) - self._shape(start)) / length
        if self.refugium is not None:
            on, off = self.refugium
            lit = on <= middle < off if on < off else middle >= on or middle < off
            values["refugium_shape"] = float(lit)
        return [length, *(values[name] for name in FORCINGS)]


@dataclass(frozen=True, kw_only=True)
class Course:
    """What came of it."""

    tank: Tank
    result: BlockResult

    def row(self, name: str) -> Array:
        """Values of a register or component, (days + 1, lanes)."""
        return self.result.days[:, self.tank.layout.address(name)]

    def umol_per_l(self, name: str) -> Array:
        """Concentration of a component."""
        return self.row(name) / self.row("V") * 1000.0

    def animal(self, slot: int, name: str) -> Array:
        """Values of a slot."""
        return self.result.days[:, self.tank.layout.slot_address(slot, name, len(self.tank.animals))]

    def totals(self) -> tuple[Array, Array]:
        """Give the sums of C, N, P, oxygen demand and charge over rows and ledgers, and of their sizes."""
        shape = (len(LEDGER_ELEMENTS), *self.row("V").shape)
        total, sizes = np.zeros(shape), np.zeros(shape)

        def count(amount: Array, content: Sequence[float]) -> None:
            for element, part in enumerate(content):
                total[element] += part * amount
                sizes[element] += np.abs(part * amount)

        for name, content in self.tank.composition.items():
            count(self.row(name), content)
        body = body_of(self.tank.matrix)
        for slot in range(len(self.tank.animals)):
            flesh = self.animal(slot, "structure") + self.animal(slot, "reserve")
            count(flesh, (1.0, body.nitrogen, body.phosphorus, body.oxygen_demand))
        for door in OPERATORS:
            for element, letter in enumerate(LEDGER_ELEMENTS):
                count(self.row(f"{door}_{letter}"), np.eye(len(LEDGER_ELEMENTS))[element].tolist())
        return total, sizes

    def drift(self) -> Array:
        """Largest change of each element's total over the sizes that make it up."""
        total, sizes = self.totals()
        return np.asarray(np.max(np.abs(total - total[:, :1]) / sizes, axis=(1, 2)))


def run(
    tank: Tank,
    life: Life,
    *,
    tolerances: Tolerances = USUAL,
    engine: Engine | None = None,
    drawn: Array | None = None,
) -> Course:
    """March a tank with the compiled engine."""
    result = march_block(
        engine or load_engine(tank.lanes),
        tank.layout,
        life.schedule(tank.layout),
        tank.block(drawn),
        tolerances,
    )
    return Course(tank=tank, result=result)


def run_slowly(
    tank: Tank, life: Life, *, tolerances: Tolerances = USUAL, drawn: Array | None = None
) -> Course:
    """March a tank with the reference engine."""
    result = march_slowly(
        Oracle(matrix=tank.matrix), tank.layout, life.schedule(tank.layout), tank.block(drawn), tolerances
    )
    return Course(tank=tank, result=result)


# -- what can happen to a tank -------------------------------------------------------------------------------
