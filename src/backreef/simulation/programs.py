"""The straight-line programs of the kernel, recorded from the process table and the laws.

Each `Program` reads rows of named arrays and writes rows of named arrays; nothing in it depends on a plan. The slots
are kept apart from the shared system: a slot's rates touch its own two states and a fixed list of shared ones, so the
matrix of a step is bordered block-diagonal and is eliminated slot by slot before one small sparse LU (docs/adr/0012).
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, field

from backreef.models.matrix import Matrix
from backreef.models.midnight import midnight
from backreef.models.mouths import (
    BOTTOM,
    POOLS,
    SLOT_STATES,
    SLOT_TOTALS,
    SLOT_TRAITS,
    Feast,
    feast,
)
from backreef.models.room import after
from backreef.models.symbols import Recorder, Symbol
from backreef.models.water import OBSERVED_NAMES, SEGMENT_NAMES, segment_terms, water_terms
from backreef.simulation.bodies import BOTTOM_PARTS, body_of, pool_compositions
from backreef.simulation.driven import driven
from backreef.simulation.layout import FORCINGS, NATURE, REGISTERS, SLOT_KEPT, SLOT_MARCHED, Layout

LONGEST_PROGRAM = 900
"""Operations after which a long program is cut; see docs/adr/0012."""
SLOT_COLUMNS = tuple(pool for pool in POOLS if pool != BOTTOM) + BOTTOM_PARTS + ("S_O2",)
"""Shared states that a slot's rates depend on."""
SLOT_SHARED_ROWS = (
    *(pool for pool in POOLS if pool != BOTTOM),
    *BOTTOM_PARTS,
    "X_DR",
    "S_O2",
    "S_DIC",
    "S_ALK",
    "N_BL",
    "P_BL",
)
"""Shared active states that a slot changes."""
MINERAL = "B_PM"
"""The ledger that a slot changes."""


@dataclass(slots=True)
class Store:
    """Write a recorded value to a row of an array, or add it there."""

    array: str
    index: int
    place: int
    add: bool = False


@dataclass(slots=True)
class Program:
    """A recorded kernel."""

    name: str
    recorder: Recorder = field(default_factory=Recorder)
    stores: list[Store] = field(default_factory=list)

    def read(self, array: str, index: int) -> Symbol:
        """Read a row of an array."""
        return self.recorder.input(array, index)

    def write(self, array: str, index: int, value: object, *, add: bool = False) -> None:
        """Write a value to a row of an array."""
        self.stores.append(Store(array, index, self.recorder.symbol(value).place, add))

    @property
    def arrays(self) -> tuple[str, ...]:
        """Names of all arrays it reads or writes, sorted."""
        names = {store.array for store in self.stores}
        names |= {str(op[1]) for op in self.recorder.operations if op[0] == "input"}
        return tuple(sorted(names))


class Kernel:
    """All programs for one matrix, and the sparse pattern of the shared step matrix."""

    def __init__(self, matrix: Matrix, layout: Layout) -> None:
        self.matrix = matrix
        self.layout = layout
        self.body = body_of(matrix)
        self.active = matrix.active
        self.place = {name: number for number, name in enumerate(self.active)}
        self.columns = tuple(self.place[name] for name in SLOT_COLUMNS)
        self.slot_rows = tuple(self.place[name] for name in SLOT_SHARED_ROWS)
        self._shared_entries: dict[tuple[int, int], int] = {}
        self.order: list[int] = []
        self.pattern: dict[tuple[int, int], int] = {}
        self.ledger_pattern: dict[tuple[int, int], int] = {}
        self.total_entries = self._find_totals()
        self._find_patterns()

    # -- what the laws may name ----------------------------------------------------------------------------
    def known(self, program: Program) -> dict[str, object]:
        """Give every name that laws and table cells use, as reads of the arrays."""
        layout = self.layout
        names: dict[str, object] = {name: program.read("p", i) for i, name in enumerate(layout.parameters)}
        names |= {name: program.read("y", i) for i, name in enumerate(layout.components)}
        names |= {name: program.read("r", i) for i, name in enumerate(REGISTERS)}
        names |= {name: program.read("s", i) for i, name in enumerate(SEGMENT_NAMES)}
        names |= {name: program.read("f", i) for i, name in enumerate(FORCINGS)}
        return names | driven(names)

    # -- programs of the shared system ---------------------------------------------------------------------
    def segment(self) -> Program:
        """Terms that hold for a segment, from temperature, salinity, volume and pumps."""
        program = Program("segment")
        known = self.known(program)
        for name in SEGMENT_NAMES:
            del known[name]
        terms = segment_terms(known)
        for index, name in enumerate(SEGMENT_NAMES):
            program.write("out", index, terms[name])
        return program

    def shared_rates(self) -> Program:
        """Change of every component by the table, and what is observed at this instant."""
        program = Program("shared_rates")
        known = self.known(program)
        known |= water_terms(known)
        change = self.matrix.derivatives(known)
        for index, name in enumerate(self.layout.components):
            program.write("out", index, change[name])
        for index, name in enumerate(OBSERVED_NAMES):
            program.write("seen", index, known[name])
        return program

    def _shared_gradients(
        self, program: Program
    ) -> tuple[dict[tuple[int, int], Symbol], dict[int, Symbol]]:
        """Derivatives of components (by row) to active states (by place), and to time."""
        known = self.known(program)
        states = [known[name] for name in self.active]
        lights = {"day_shape": "day_slope", "refugium_shape": "refugium_slope"}
        wanted = [*states, *(known[name] for name in lights)]
        known |= water_terms(known)
        rates = self.matrix.rates(known)
        recorder = program.recorder
        at = {symbol.place: number for number, symbol in enumerate(states)}  # type: ignore[attr-defined]
        slope = {known[shape].place: known[change] for shape, change in lights.items()}  # type: ignore[attr-defined]
        entries: dict[tuple[int, int], Symbol] = {}
        in_time: dict[int, Symbol] = {}
        outputs = [recorder.symbol(rates[process.row.id]) for process in self.matrix.processes]
        gradients = recorder.gradients(outputs, wanted)  # type: ignore[arg-type]
        for process, gradient in zip(self.matrix.processes, gradients, strict=True):
            for name in process.changes:
                row = self.layout.component(name)
                coefficient = process.coefficient(name, known)
                for place, derivative in sorted(gradient.items()):
                    term = coefficient * derivative
                    if place in at:
                        key = (row, at[place])
                        entries[key] = entries[key] + term if key in entries else term
                    else:
                        moved = term * slope[place]
                        in_time[row] = in_time[row] + moved if row in in_time else moved
        return entries, in_time

    def shared_slopes(self) -> Program:
        """The step matrix of the shared system before elimination, ledger rows of the Jacobian, slopes in time."""
        program = Program("shared_slopes")
        entries, in_time = self._shared_gradients(program)
        shift = program.read("step", 0)
        for (row, column), index in self.pattern.items():
            value = entries.get((row, column))
            negative = 0.0 if value is None else -value
            program.write("m", index, shift + negative if row == column else negative)
        for (row, column), index in self.ledger_pattern.items():
            program.write("ml", index, entries.get((row, column), 0.0))
        for row in range(self.layout.shared):
            program.write("ft", row, in_time.get(row, 0.0))
        return program

    def shared_factors(self) -> list[Program]:
        """LU of the shared step matrix in place, in the order of least fill; the diagonal is kept inverted.

        Cut into programs of a few pivots each: one long list of operations takes LLVM several times longer to compile.
        """
        rank = {place: position for position, place in enumerate(self.order)}
        below, right = self._neighbours(rank)
        programs: list[Program] = []
        work = LONGEST_PROGRAM
        for pivot in self.order:
            if work >= LONGEST_PROGRAM:
                programs.append(Program(f"shared_factors_{len(programs)}"))
                matrix: dict[tuple[int, int], Symbol] = {}
                work = 0
            program = programs[-1]
            self._eliminate(program, matrix, pivot, below[pivot], right[pivot])
            work += len(below[pivot]) * (2 * len(right[pivot]) + 1)
            _rewrite(program, self.pattern, matrix)
        return programs

    def _eliminate(
        self,
        program: Program,
        matrix: dict[tuple[int, int], Symbol],
        pivot: int,
        rows: list[int],
        columns: list[int],
    ) -> None:
        """Take one pivot out of the rows below it."""

        def entry(row: int, column: int) -> Symbol:
            key = (row, column)
            if key not in matrix:
                matrix[key] = program.read("m", self.pattern[key])
            return matrix[key]

        inverse = 1.0 / entry(pivot, pivot)
        matrix[pivot, pivot] = inverse
        for row in rows:
            factor = entry(row, pivot) * inverse
            matrix[row, pivot] = factor
            for column in columns:
                matrix[row, column] = entry(row, column) - factor * entry(pivot, column)

    def shared_solution(self) -> Program:
        """Solve the factored shared system; rows of ledgers follow from the active ones."""
        program = Program("shared_solution")
        rank = {place: position for position, place in enumerate(self.order)}
        below, right = self._neighbours(rank)
        x = {place: program.read("b", place) for place in self.order}
        for pivot in self.order:
            for row in below[pivot]:
                x[row] = x[row] - program.read("m", self.pattern[row, pivot]) * x[pivot]
        for pivot in reversed(self.order):
            for column in right[pivot]:
                x[pivot] = x[pivot] - program.read("m", self.pattern[pivot, column]) * x[column]
            x[pivot] = x[pivot] * program.read("m", self.pattern[pivot, pivot])
        for place, value in x.items():
            program.write("out", place, value)
        ledger = {row: program.read("b", row) for row in range(len(self.active), self.layout.shared)}
        for (row, column), index in self.ledger_pattern.items():
            ledger[row] = ledger[row] + program.read("ml", index) * x[column]
        for row, value in ledger.items():
            program.write("out", row, value * program.read("step", 1))
        return program

    def _neighbours(self, rank: Mapping[int, int]) -> tuple[dict[int, list[int]], dict[int, list[int]]]:
        below: dict[int, list[int]] = {place: [] for place in self.order}
        right: dict[int, list[int]] = {place: [] for place in self.order}
        for row, column in self.pattern:
            if rank[row] > rank[column]:
                below[column].append(row)
            elif rank[column] > rank[row]:
                right[row].append(column)
        return below, right

    # -- programs of one slot ------------------------------------------------------------------------------
    def _feast(self, program: Program) -> tuple[Feast, dict[str, object], list[Symbol]]:
        known = self.known(program)
        columns = [known[name] for name in SLOT_COLUMNS]
        known["O2"] = known["S_O2"] * known["per_l"]  # type: ignore[operator]
        known["nh3"] = program.read("seen", OBSERVED_NAMES.index("nh3"))
        slot: dict[str, object] = {name: program.read("traits", i) for i, name in enumerate(SLOT_TRAITS)}
        states = [program.read("ys", i) for i in range(len(SLOT_STATES))]
        slot |= dict(zip(SLOT_STATES, states, strict=True))
        result = feast(slot, known, self.body, pool_compositions(known, self.matrix))
        return result, known, [*states, *columns]  # type: ignore[list-item]

    def slot_rates(self) -> Program:
        """Change of a slot's amounts, added to the change of the shared ones; what it eats of each pool."""
        program = Program("slot_rates")
        result, _, _ = self._feast(program)
        for name, value in result.shared.items():
            program.write("out", self.layout.component(name), value, add=True)
        for index, name in enumerate((*SLOT_STATES, *SLOT_TOTALS)):
            program.write("outs", index, getattr(result, name))
        for index, eaten in enumerate(result.eaten):
            program.write("ate", index, eaten)
        return program

    @property
    def slot_store_rows(self) -> int:
        """Rows of the store that keeps a slot's eliminated block."""
        return _StoreAt(self).totals + len(self.total_entries)

    def _slot_slopes(self, program: Program) -> _SlotSlopes:
        """Derivatives of everything a slot does, with eagerness kept as an unknown of its own.

        What a slot eats of all pools hangs on one number, its eagerness; left in the system as an unknown, it makes
        the derivatives sparse instead of every pool acting on every other.
        """
        result, known, wanted = self._feast(program)
        recorder = program.recorder
        eagerness = recorder.symbol(result.eagerness)
        gut, reserve, *columns = wanted
        unknowns = [gut, reserve, eagerness, *columns]

        names = (*SLOT_STATES, *SLOT_TOTALS)
        values = [getattr(result, name) for name in names] + list(result.shared.values())
        at = {symbol.place: number for number, symbol in enumerate(unknowns)}
        rows = [
            {at[place]: slope for place, slope in gradient.items()}
            for gradient in recorder.gradients([recorder.symbol(value) for value in values], unknowns)
        ]
        own_way = recorder.gradient(eagerness, [gut, reserve, *columns])
        day, slope = known["day_shape"], known["day_slope"]
        in_time = recorder.gradient(eagerness, [day])  # type: ignore[list-item]
        moved = in_time.get(day.place, recorder.constant(0.0)) * slope  # type: ignore[attr-defined,operator]
        return _SlotSlopes(
            own=rows[: len(SLOT_STATES)],
            eagerness={at[place]: slope for place, slope in own_way.items()},
            shared={self.layout.component(n): row for n, row in zip(result.shared, rows[len(names) :], strict=True)},
            totals=rows[len(SLOT_STATES) : len(names)],
            eagerness_in_time=moved,
        )

    def slot_slopes(self) -> Program:
        """Eliminate a slot from the step matrix: its block inverted, its borders kept, the shared part updated."""
        program = Program("slot_slopes")
        slopes = self._slot_slopes(program)
        _eliminate_slot(program, self, slopes)
        at = _StoreAt(self).totals
        rows = [*slopes.totals, slopes.shared[self.layout.component(MINERAL)]]
        for index, (total, unknown) in enumerate(self.total_entries):
            program.write("store", at + index, rows[total][unknown])
        for index, row in enumerate((*slopes.own, *slopes.totals)):
            program.write("fts", index, row[EAGERNESS] * slopes.eagerness_in_time if EAGERNESS in row else 0.0)
        for place, row in slopes.shared.items():
            if EAGERNESS in row:
                program.write("ft", place, row[EAGERNESS] * slopes.eagerness_in_time, add=True)
        return program

    def slot_forward(self) -> Program:
        """Take a slot's right-hand side into the shared one."""
        program = Program("slot_forward")
        gut, reserve = program.read("bs", 0), program.read("bs", 1)
        at = _StoreAt(self).border
        for index, row in enumerate(self.slot_rows):
            left, right = program.read("store", at + 2 * index), program.read("store", at + 2 * index + 1)
            program.write("b", row, left * gut + right * reserve, add=True)
        return program

    def slot_backward(self) -> Program:
        """Give a slot's solution once the shared one is known, and its share of the ledger."""
        program = Program("slot_backward")
        at = _StoreAt(self)
        columns = [program.read("k", column) for column in self.columns]
        right = [program.read("bs", 0), program.read("bs", 1)]

        def along(start: int) -> Symbol:
            return program.recorder.total(program.read("store", start + i) * k for i, k in enumerate(columns))

        inverse = [program.read("store", at.inverse + index) for index in range(4)]
        gut = inverse[0] * right[0] + inverse[1] * right[1] + along(at.gut)
        reserve = inverse[2] * right[0] + inverse[3] * right[1] + along(at.reserve)
        eager = [program.read("store", at.eagerness + index) for index in range(2)]
        eagerness = eager[0] * gut + eager[1] * reserve + along(at.eagerness + 2)
        unknowns = [gut, reserve, eagerness, *columns]
        program.write("outs", 0, gut)
        program.write("outs", 1, reserve)
        hg = program.read("step", 1)
        values = [program.read("bs", 2 + total) for total in range(len(SLOT_TOTALS))]
        values.append(program.recorder.constant(0.0))
        for index, (total, unknown) in enumerate(self.total_entries):
            values[total] = values[total] + program.read("store", at.totals + index) * unknowns[unknown]
        for total in range(len(SLOT_TOTALS)):
            program.write("outs", 2 + total, values[total] * hg)
        program.write("k", self.layout.component(MINERAL), values[-1] * hg, add=True)
        return program

    # -- programs between the steps ------------------------------------------------------------------------
    def room(self) -> Program:
        """Temperature, volume, salinity and fading media after a segment of `step[0]` days."""
        program = Program("room")
        changed = after(self.known(program), program.read("step", 0))
        for name, value in changed.items():
            program.write("r", REGISTERS.index(name), value)
        return program

    def midnight(self) -> Program:
        """Deaths, growth and new traits of a slot; carcasses go to the bottom."""
        program = Program("midnight")
        known = self.known(program)
        slot = {name: program.read("ys", i) for i, name in enumerate(SLOT_MARCHED)}
        slot |= {name: program.read("kept", i) for i, name in enumerate(SLOT_KEPT)}
        nature = {name: program.read("nature", i) for i, name in enumerate(NATURE)}
        amounts, traits, given = midnight(slot, nature, known, program.read("fallen", 0), self.body)
        for name, value in amounts.items():
            if name in SLOT_MARCHED:
                program.write("ys", SLOT_MARCHED.index(name), value)
            else:
                program.write("kept", SLOT_KEPT.index(name), value)
        for name, value in traits.items():
            program.write("traits", SLOT_TRAITS.index(name), value)
        for name, value in given.items():
            program.write("out", self.layout.component(name), value, add=True)
        return program

    # -- patterns ------------------------------------------------------------------------------------------
    def _find_totals(self) -> list[tuple[int, int]]:
        """Which unknowns of a slot its totals and the mineral ledger depend on."""
        slopes = self._slot_slopes(Program("pattern"))
        rows = [*slopes.totals, slopes.shared[self.layout.component(MINERAL)]]
        return [(total, unknown) for total, row in enumerate(rows) for unknown in sorted(row)]

    def _find_patterns(self) -> None:
        entries, _ = self._shared_gradients(Program("pattern"))
        count = len(self.active)
        filled = {key for key in entries if key[0] < count} | {(i, i) for i in range(count)}
        filled |= {(row, column) for row in self.slot_rows for column in self.columns}
        self.order = _least_fill_order(filled, count)
        rank = {place: position for position, place in enumerate(self.order)}
        for pivot in self.order:
            rows = [r for r in range(count) if rank[r] > rank[pivot] and (r, pivot) in filled]
            columns = [c for c in range(count) if rank[c] > rank[pivot] and (pivot, c) in filled]
            filled |= {(row, column) for row in rows for column in columns}
        self.pattern = {key: index for index, key in enumerate(sorted(filled))}
        ledger = sorted(key for key in entries if key[0] >= count)
        self.ledger_pattern = {key: index for index, key in enumerate(ledger)}


def _rewrite(
    program: Program, pattern: Mapping[tuple[int, int], int], matrix: Mapping[tuple[int, int], Symbol]
) -> None:
    """Let a program store what it has changed of the matrix."""
    program.stores.clear()
    for key, value in matrix.items():
        if program.recorder.operations[value.place][0] != "input":
            program.write("m", pattern[key], value)


EAGERNESS = 2
"""Place of eagerness among a slot's unknowns: gut, reserve, eagerness, then the shared columns."""


@dataclass(slots=True)
class _SlotSlopes:
    """Derivatives by unknown, sparse."""

    own: list[dict[int, Symbol]]
    eagerness: dict[int, Symbol]
    shared: dict[int, dict[int, Symbol]]
    totals: list[dict[int, Symbol]]
    eagerness_in_time: Symbol


class _StoreAt:
    """Where the parts of a slot's store begin."""

    def __init__(self, kernel: Kernel) -> None:
        width = len(kernel.columns)
        self.inverse = 0
        self.gut = 4
        self.reserve = 4 + width
        self.eagerness = 4 + 2 * width
        self.border = 6 + 3 * width
        self.totals = self.border + 2 * len(kernel.slot_rows)


def _keep(program: Program, at: int, values: Iterable[Symbol]) -> None:
    for index, value in enumerate(values):
        program.write("store", at + index, value)


def _eliminate_slot(program: Program, kernel: Kernel, slopes: _SlotSlopes) -> None:
    """Invert a slot's block and write what the shared matrix and the later solves need of it.

    With e = Eg g + Er r + Ec k for eagerness, gut and reserve follow from their 2 x 2 block after e is put in; a shared
    row then is R_k + R_e (dependence of e on k) + R_r (dependence of r on k).
    """
    recorder, shift, at = program.recorder, program.read("step", 0), _StoreAt(kernel)
    zero = recorder.constant(0.0)
    width = range(len(kernel.columns))
    first = EAGERNESS + 1
    e_g, e_r = slopes.eagerness.get(0, zero), slopes.eagerness.get(1, zero)
    e_k = [slopes.eagerness.get(first + i, zero) for i in width]
    (g_g, g_r, g_e), (r_g, r_r, r_e) = ([row.get(i, zero) for i in range(3)] for row in slopes.own)
    a, b = shift - g_g - g_e * e_g, -(g_r + g_e * e_r)
    c, d = -(r_g + r_e * e_g), shift - r_r - r_e * e_r
    scale = 1.0 / (a * d - b * c)
    inverse = [d * scale, -(b * scale), -(c * scale), a * scale]
    border = [
        [row.get(first + i, zero) + row.get(EAGERNESS, zero) * e_k[i] for i in width] for row in slopes.own
    ]
    gut_k = [inverse[0] * border[0][i] + inverse[1] * border[1][i] for i in width]
    reserve_k = [inverse[2] * border[0][i] + inverse[3] * border[1][i] for i in width]
    eager_k = [e_k[i] + e_g * gut_k[i] + e_r * reserve_k[i] for i in width]
    _keep(program, at.inverse, inverse)
    _keep(program, at.gut, gut_k)
    _keep(program, at.reserve, reserve_k)
    _keep(program, at.eagerness, [e_g, e_r, *e_k])
    from_gut = e_g * inverse[0] + e_r * inverse[2]
    from_reserve = e_g * inverse[1] + e_r * inverse[3]
    for index, place in enumerate(kernel.slot_rows):
        row = slopes.shared[place]
        r_0, r_1, r_2 = (row.get(i, zero) for i in range(3))
        left = r_2 * from_gut + r_0 * inverse[0] + r_1 * inverse[2]
        right = r_2 * from_reserve + r_0 * inverse[1] + r_1 * inverse[3]
        _keep(program, at.border + 2 * index, [left, right])
        for i, column in enumerate(kernel.columns):
            gain = row.get(first + i, zero) + r_2 * eager_k[i] + r_1 * reserve_k[i] + r_0 * gut_k[i]
            program.write("m", kernel.pattern[place, column], -gain, add=True)


def _least_fill_order(filled: set[tuple[int, int]], count: int) -> list[int]:
    """Markowitz order on the diagonal."""
    pattern, left, order = set(filled), set(range(count)), []
    while left:
        rows: dict[int, int] = dict.fromkeys(left, 0)
        columns: dict[int, int] = dict.fromkeys(left, 0)
        for row, column in pattern:
            if row != column:
                rows[row] += 1
                columns[column] += 1
        pivot = min(left, key=lambda place: (rows[place] * columns[place], place))
        order.append(pivot)
        left.discard(pivot)
        above = [row for row, column in pattern if column == pivot and row in left]
        beside = [column for row, column in pattern if row == pivot and column in left]
        pattern = {(r, c) for r, c in pattern if r in left and c in left}
        pattern |= {(row, column) for row in above for column in beside}
    return order


SINGLE_PROGRAMS: tuple[Callable[[Kernel], Program], ...] = (
    Kernel.segment,
    Kernel.shared_rates,
    Kernel.shared_slopes,
    Kernel.shared_solution,
    Kernel.slot_rates,
    Kernel.slot_slopes,
    Kernel.slot_forward,
    Kernel.slot_backward,
    Kernel.room,
    Kernel.midnight,
)


def all_programs(kernel: Kernel) -> dict[str, Program]:
    """Record every program of a kernel, by name."""
    programs = [make(kernel) for make in SINGLE_PROGRAMS]
    return {program.name: program for program in (*programs, *kernel.shared_factors())}
