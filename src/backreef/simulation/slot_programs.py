"""Programs of one slot: what its animals do, and how its unknowns are eliminated from the step matrix.

A slot's rates touch its own two states and a fixed list of shared ones, so the matrix of a step is bordered
block-diagonal and is eliminated slot by slot before one small sparse LU (docs/adr/0012). What a slot eats of
all pools hangs on one number, its eagerness; left in the system as an unknown, it keeps the derivatives
sparse instead of letting every pool act on every other.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from backreef.models.mouths import (
    BOTTOM,
    POOLS,
    SLOT_STATES,
    SLOT_TOTALS,
    SLOT_TRAITS,
    Feast,
    feast,
)
from backreef.models.symbols import Symbol
from backreef.models.water import OBSERVED_NAMES
from backreef.simulation.bodies import BOTTOM_PARTS, pool_compositions
from backreef.simulation.program import Program
from backreef.simulation.recording import Known, Recording
from backreef.simulation.step_matrix import Key, StepMatrix

COLUMNS = (*(pool for pool in POOLS if pool != BOTTOM), *BOTTOM_PARTS, "S_O2")
"""Shared states that a slot's rates depend on."""
SHARED_ROWS = (
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
GUT, RESERVE, EAGERNESS, FIRST_COLUMN = range(4)
"""Places of a slot's unknowns; the shared columns follow."""


@dataclass(slots=True)
class SlotSlopes:
    """Derivatives by unknown, sparse."""

    own: list[dict[int, Symbol]]
    eagerness: dict[int, Symbol]
    shared: dict[int, dict[int, Symbol]]
    totals: list[dict[int, Symbol]]
    """Rows that only collect, and the ledger last."""
    eagerness_in_time: Symbol


class StoreAt:
    """Where the parts of a slot's store begin."""

    inverse = 0
    gut = 4
    reserve = gut + len(COLUMNS)
    eagerness = reserve + len(COLUMNS)
    border = eagerness + 2 + len(COLUMNS)
    totals = border + 2 * len(SHARED_ROWS)


def coupled(recording: Recording) -> list[Key]:
    """Give the entries of the shared step matrix that slots touch."""
    place = {name: number for number, name in enumerate(recording.active)}
    return [(place[row], place[column]) for row in SHARED_ROWS for column in COLUMNS]


def _feast(recording: Recording, program: Program) -> tuple[Feast, Known, list[Symbol]]:
    known = recording.known(program)
    columns = [known[name] for name in COLUMNS]
    known["O2"] = known["S_O2"] * known["per_l"]
    known["nh3"] = program.read("seen", OBSERVED_NAMES.index("nh3"))
    slot: Known = {name: program.read("traits", i) for i, name in enumerate(SLOT_TRAITS)}
    states = [program.read("ys", i) for i in range(len(SLOT_STATES))]
    slot |= dict(zip(SLOT_STATES, states, strict=True))
    result = feast(slot, known, recording.body, pool_compositions(known, recording.matrix))
    return result, known, [*states, *columns]


def slot_rates(recording: Recording) -> Program:
    """Record the change of a slot's amounts, added to the change of the shared ones; what it eats."""
    program = Program("slot_rates")
    result, _, _ = _feast(recording, program)
    for name, value in result.shared.items():
        program.write("out", recording.layout.component(name), value, add=True)
    for index, name in enumerate((*SLOT_STATES, *SLOT_TOTALS)):
        program.write("outs", index, getattr(result, name))
    for index, eaten in enumerate(result.eaten):
        program.write("ate", index, eaten)
    return program


def _slopes(recording: Recording, program: Program) -> SlotSlopes:
    """Record the derivatives of everything a slot does."""
    result, known, wanted = _feast(recording, program)
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
    in_time = recorder.gradient(eagerness, [day])
    shared = {
        recording.layout.component(name): row
        for name, row in zip(result.shared, rows[len(names) :], strict=True)
    }
    return SlotSlopes(
        own=rows[: len(SLOT_STATES)],
        eagerness={at[place]: slope for place, slope in own_way.items()},
        totals=[*rows[len(SLOT_STATES) : len(names)], shared[recording.layout.component(MINERAL)]],
        shared=shared,
        eagerness_in_time=in_time.get(day.place, recorder.constant(0.0)) * slope,
    )


def total_entries(recording: Recording) -> list[tuple[int, int]]:
    """Give which unknowns of a slot its totals and the mineral ledger depend on."""
    slopes = _slopes(recording, Program("pattern"))
    return [(total, unknown) for total, row in enumerate(slopes.totals) for unknown in sorted(row)]


def slot_slopes(recording: Recording, matrix: StepMatrix) -> Program:
    """Record how a slot leaves the step matrix: block inverted, borders kept, shared part updated."""
    program = Program("slot_slopes")
    slopes = _slopes(recording, program)
    _eliminate_slot(program, recording, matrix, slopes)
    for index, (total, unknown) in enumerate(total_entries(recording)):
        program.write("store", StoreAt.totals + index, slopes.totals[total][unknown])
    for index, row in enumerate((*slopes.own, *slopes.totals[: len(SLOT_TOTALS)])):
        moved = row[EAGERNESS] * slopes.eagerness_in_time if EAGERNESS in row else 0.0
        program.write("fts", index, moved)
    for place, row in slopes.shared.items():
        if EAGERNESS in row:
            program.write("ft", place, row[EAGERNESS] * slopes.eagerness_in_time, add=True)
    return program


def _keep(program: Program, at: int, values: Iterable[Symbol]) -> None:
    for index, value in enumerate(values):
        program.write("store", at + index, value)


def _eliminate_slot(program: Program, recording: Recording, matrix: StepMatrix, slopes: SlotSlopes) -> None:
    """Invert a slot's block and write what the shared matrix and the later solves need of it.

    With e = Eg g + Er r + Ec k for eagerness, gut and reserve follow from their 2 x 2 block after e is put
    in; a shared row then is R_k + R_e (dependence of e on k) + R_r (dependence of r on k).
    """
    zero = program.recorder.constant(0.0)
    shift, width, first = program.read("step", 0), range(len(COLUMNS)), FIRST_COLUMN
    e_g, e_r = slopes.eagerness.get(GUT, zero), slopes.eagerness.get(RESERVE, zero)
    e_k = [slopes.eagerness.get(first + i, zero) for i in width]
    (g_g, g_r, g_e), (r_g, r_r, r_e) = ([row.get(i, zero) for i in range(first)] for row in slopes.own)
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
    _keep(program, StoreAt.inverse, inverse)
    _keep(program, StoreAt.gut, gut_k)
    _keep(program, StoreAt.reserve, reserve_k)
    _keep(program, StoreAt.eagerness, [e_g, e_r, *e_k])
    from_gut = e_g * inverse[0] + e_r * inverse[2]
    from_reserve = e_g * inverse[1] + e_r * inverse[3]
    place = {name: number for number, name in enumerate(recording.active)}
    for index, name in enumerate(SHARED_ROWS):
        row = slopes.shared[recording.layout.component(name)]
        r_g, r_r, r_e = (row.get(i, zero) for i in range(first))
        left = r_e * from_gut + r_g * inverse[0] + r_r * inverse[2]
        right = r_e * from_reserve + r_g * inverse[1] + r_r * inverse[3]
        _keep(program, StoreAt.border + 2 * index, [left, right])
        for i, column in enumerate(COLUMNS):
            gain = row.get(first + i, zero) + r_e * eager_k[i] + r_r * reserve_k[i] + r_g * gut_k[i]
            program.write("m", matrix.pattern[place[name], place[column]], -gain, add=True)


def slot_forward(recording: Recording) -> Program:
    """Record how a slot's right-hand side enters the shared one."""
    program = Program("slot_forward")
    gut, reserve = program.read("bs", 0), program.read("bs", 1)
    for index, name in enumerate(SHARED_ROWS):
        left, right = (program.read("store", StoreAt.border + 2 * index + side) for side in (0, 1))
        program.write("b", recording.active.index(name), left * gut + right * reserve, add=True)
    return program


def slot_backward(recording: Recording) -> Program:
    """Record a slot's solution once the shared one is known, and its share of the ledger."""
    program = Program("slot_backward")
    columns = [program.read("k", recording.active.index(name)) for name in COLUMNS]
    right = [program.read("bs", 0), program.read("bs", 1)]

    def along(start: int) -> Symbol:
        return program.recorder.total(program.read("store", start + i) * k for i, k in enumerate(columns))

    inverse = [program.read("store", StoreAt.inverse + index) for index in range(4)]
    gut = inverse[0] * right[0] + inverse[1] * right[1] + along(StoreAt.gut)
    reserve = inverse[2] * right[0] + inverse[3] * right[1] + along(StoreAt.reserve)
    eager = [program.read("store", StoreAt.eagerness + index) for index in range(2)]
    eagerness = eager[0] * gut + eager[1] * reserve + along(StoreAt.eagerness + 2)
    unknowns = [gut, reserve, eagerness, *columns]
    program.write("outs", 0, gut)
    program.write("outs", 1, reserve)
    weight = program.read("step", 1)
    values = [program.read("bs", len(SLOT_STATES) + total) for total in range(len(SLOT_TOTALS))]
    values.append(program.recorder.constant(0.0))
    for index, (total, unknown) in enumerate(total_entries(recording)):
        values[total] = values[total] + program.read("store", StoreAt.totals + index) * unknowns[unknown]
    for total in range(len(SLOT_TOTALS)):
        program.write("outs", len(SLOT_STATES) + total, values[total] * weight)
    program.write("k", recording.layout.component(MINERAL), values[-1] * weight, add=True)
    return program
