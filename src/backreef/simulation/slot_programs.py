"""Programs of one slot: what its animals do, and how its unknowns are eliminated from the step matrix.

A slot's rates touch its own two states and a fixed list of shared ones, so the matrix of a step is bordered
block-diagonal and is eliminated slot by slot before one small sparse LU (docs/adr/0012). What a slot eats of
all pools hangs on one number, its eagerness; left in the system as an unknown, it keeps the derivatives
sparse instead of letting every pool act on every other.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from backreef.models.mathops import Quantity
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
from backreef.simulation.shared_programs import LENGTH, SHIFT, SUM_TIME_WEIGHT, SUM_WEIGHT
from backreef.simulation.step_matrix import Key, StepMatrix

POOL_ROWS = (*(pool for pool in POOLS if pool != BOTTOM), *BOTTOM_PARTS)
COLUMNS = (*POOL_ROWS, "S_O2")
"""Shared states that a slot's rates depend on."""
SHARED_ROWS = (*POOL_ROWS, "X_DR", "S_O2", "S_DIC", "S_ALK", "N_BL", "P_BL")
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
    totals: dict[int, dict[int, Symbol]]
    """Rows that only collect, by place among the totals, and the ledger last."""
    eagerness_in_time: Symbol


def columns_of(recording: Recording) -> tuple[str, ...]:
    """Give those of `COLUMNS` that this kernel has."""
    return tuple(name for name in COLUMNS if name in recording.active)


def shared_rows_of(recording: Recording) -> tuple[str, ...]:
    """Give those of `SHARED_ROWS` that this kernel has."""
    return tuple(name for name in SHARED_ROWS if name in recording.active)


@dataclass(frozen=True, slots=True)
class StoreAt:
    """Where the parts of a slot's store begin, for so many shared columns and rows."""

    columns: int
    rows: int
    inverse = 0
    """Of the 2 x 2 block of gut and reserve."""
    gut = 4
    """How the gut follows the shared columns."""

    @property
    def reserve(self) -> int:
        """How the reserve does."""
        return self.gut + self.columns

    @property
    def eager_right(self) -> int:
        """How eagerness follows the two right-hand sides, then the shared columns."""
        return self.reserve + self.columns

    @property
    def eager(self) -> int:
        """How eagerness follows the shared columns."""
        return self.eager_right + 2

    @property
    def effect(self) -> int:
        """How shared rows follow eagerness."""
        return self.eager + self.columns

    @property
    def burden(self) -> int:
        """How some of them follow the reserve."""
        return self.effect + self.rows


def store_at(recording: Recording) -> StoreAt:
    """Give the places in a slot's store."""
    return StoreAt(len(columns_of(recording)), len(shared_rows_of(recording)))


@dataclass(frozen=True, slots=True, kw_only=True)
class SlotPattern:
    """Which derivatives of a slot are not 0."""

    totals: tuple[tuple[int, int], ...]
    """Total, then the mineral ledger, and the unknown it follows, which may be eagerness."""
    eager: tuple[int, ...]
    """Unknowns that eagerness itself follows."""
    burdened: tuple[str, ...]
    """Shared rows that follow the reserve itself."""
    at: StoreAt

    @property
    def eager_at(self) -> int:
        """Where the derivatives of eagerness itself begin in a slot's store."""
        return self.at.burden + len(self.burdened)

    @property
    def totals_at(self) -> int:
        """Where the derivatives of the totals begin in a slot's store."""
        return self.eager_at + len(self.eager)

    @property
    def store_rows(self) -> int:
        """Rows of a slot's store."""
        return self.totals_at + len(self.totals)


def coupled(recording: Recording) -> list[Key]:
    """Give the entries of the shared step matrix that slots touch."""
    place = {name: number for number, name in enumerate(recording.active)}
    return [
        (place[row], place[column]) for row in shared_rows_of(recording) for column in columns_of(recording)
    ]


def _feast(recording: Recording, program: Program) -> tuple[Feast, Known, list[Symbol]]:
    known = recording.known(program)
    columns = [known[name] for name in columns_of(recording)]
    known["O2"] = known["S_O2"] * known["per_l"]
    known["nh3"] = program.read("seen", OBSERVED_NAMES.index("nh3"))
    slot: Known = {name: program.read("traits", i) for i, name in enumerate(SLOT_TRAITS)}
    states = [program.read("ys", i) for i in range(len(SLOT_STATES))]
    slot |= dict(zip(SLOT_STATES, states, strict=True))
    result = feast(slot, known, recording.body, pool_compositions(known, recording.matrix))
    for name in set(result.shared) - set(recording.layout.components):
        del result.shared[name]
    return result, known, [*states, *columns]


def totals_of(recording: Recording) -> list[int]:
    """Give the places in `SLOT_TOTALS` of what this kernel has: what is eaten of foods it lacks stays 0."""
    absent = {f"ate_{pool}" for pool in POOLS if pool != BOTTOM and pool not in recording.active}
    return [place for place, name in enumerate(SLOT_TOTALS) if name not in absent]


def slot_rates(recording: Recording) -> Program:
    """Record the change of a slot's amounts, added to the change of the shared ones."""
    program = Program("slot_rates")
    result, _, _ = _feast(recording, program)
    weight = program.read("step", SUM_WEIGHT)
    for name, value in result.shared.items():
        if name in recording.active:
            program.write("out", recording.active.index(name), value, add=True)
        else:
            program.write("sums", _ledger(recording, name), value * weight, add=True)
    for index, name in enumerate(SLOT_STATES):
        program.write("outs", index, getattr(result, name))
    for index in totals_of(recording):
        program.write("own_sums", index, result.change(SLOT_TOTALS[index]) * weight, add=True)
    return program


def _ledger(recording: Recording, name: str) -> int:
    return recording.layout.component(name) - len(recording.active)


def _slopes(recording: Recording, program: Program) -> SlotSlopes:
    """Record the derivatives of everything a slot does."""
    result, known, wanted = _feast(recording, program)
    recorder = program.recorder
    eagerness = recorder.symbol(result.eagerness)
    gut, reserve, *columns = wanted
    unknowns = [gut, reserve, eagerness, *columns]
    totals = totals_of(recording)
    names = (*SLOT_STATES, *(SLOT_TOTALS[place] for place in totals))
    values = [result.change(name) for name in names] + list(result.shared.values())
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
    eager = {at[place]: slope for place, slope in own_way.items()}
    return SlotSlopes(
        own=rows[: len(SLOT_STATES)],
        eagerness=eager,
        totals=dict(zip(totals, rows[len(SLOT_STATES) : len(names)], strict=True))
        | {len(SLOT_TOTALS): shared[recording.layout.component(MINERAL)]},
        shared=shared,
        eagerness_in_time=in_time.get(day.place, recorder.constant(0.0)) * slope,
    )


def slot_pattern(recording: Recording) -> SlotPattern:
    """Find which derivatives of a slot are not 0."""
    slopes = _slopes(recording, Program("pattern"))
    rows = {name: slopes.shared[recording.layout.component(name)] for name in shared_rows_of(recording)}
    if any(GUT in row for row in rows.values()):
        raise AssertionError("a shared row follows the gut itself; the elimination has no place for that")
    return SlotPattern(
        totals=tuple((total, unknown) for total, row in slopes.totals.items() for unknown in sorted(row)),
        eager=tuple(sorted(slopes.eagerness)),
        burdened=tuple(name for name, row in rows.items() if RESERVE in row),
        at=store_at(recording),
    )


def slot_slopes(recording: Recording, matrix: StepMatrix, pattern: SlotPattern) -> Program:
    """Record how a slot leaves the step matrix: block inverted, borders kept, sparse part taken off.

    What all shared rows owe to eagerness is a product of a column and a row; `slot_update` of the march takes
    it off for all slots together.
    """
    program = Program("slot_slopes")
    slopes = _slopes(recording, program)
    reserve_k = _eliminate_slot(program, slopes, pattern.at)
    _take_sparse_part(program, recording, matrix, slopes, reserve_k)
    for index, name in enumerate(shared_rows_of(recording)):
        row = slopes.shared[recording.layout.component(name)]
        program.write("store", pattern.at.effect + index, row.get(EAGERNESS, 0.0))
    for index, name in enumerate(pattern.burdened):
        row = slopes.shared[recording.layout.component(name)]
        program.write("store", pattern.at.burden + index, row[RESERVE])
    _keep(program, pattern.eager_at, (slopes.eagerness[unknown] for unknown in pattern.eager))
    _keep(program, pattern.totals_at, (slopes.totals[total][unknown] for total, unknown in pattern.totals))
    _write_slopes_in_time(program, recording, slopes)
    return program


def _write_slopes_in_time(program: Program, recording: Recording, slopes: SlotSlopes) -> None:
    """Everything moves with the light through eagerness alone."""
    weight = program.read("step", SUM_TIME_WEIGHT)

    def moved(row: dict[int, Symbol]) -> Quantity:
        return row[EAGERNESS] * slopes.eagerness_in_time if EAGERNESS in row else 0.0

    for index, row in enumerate(slopes.own):
        program.write("fts", index, moved(row))
    for index, row in slopes.totals.items():
        if EAGERNESS in row and index < len(SLOT_TOTALS):
            program.write("own_sums", index, moved(row) * weight, add=True)
    for name in (*shared_rows_of(recording), MINERAL):
        row = slopes.shared[recording.layout.component(name)]
        if EAGERNESS in row and name == MINERAL:
            program.write("sums", _ledger(recording, name), moved(row) * weight, add=True)
        elif EAGERNESS in row:
            program.write("ft", recording.active.index(name), moved(row), add=True)


def _keep(program: Program, at: int, values: Iterable[Symbol]) -> None:
    for index, value in enumerate(values):
        program.write("store", at + index, value)


def _eliminate_slot(program: Program, slopes: SlotSlopes, at: StoreAt) -> list[Symbol]:
    """Invert a slot's block and keep what the later solves need; give how the reserve follows the columns.

    With e = Eg g + Er r + Ec k for eagerness, gut and reserve follow from their 2 x 2 block after e is put
    in; a shared row then is R_k + R_e (dependence of e on k) + R_r (dependence of r on k).
    """
    zero = program.recorder.constant(0.0)
    shift, width, first = program.read("step", SHIFT), range(at.columns), FIRST_COLUMN
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
    _keep(program, at.inverse, inverse)
    _keep(program, at.gut, gut_k)
    _keep(program, at.reserve, reserve_k)
    from_right = [e_g * inverse[i] + e_r * inverse[i + 2] for i in range(2)]
    eager_k = [e_k[i] + e_g * gut_k[i] + e_r * reserve_k[i] for i in width]
    _keep(program, at.eager_right, [*from_right, *eager_k])
    return reserve_k


def _take_sparse_part(
    program: Program, recording: Recording, matrix: StepMatrix, slopes: SlotSlopes, reserve_k: list[Symbol]
) -> None:
    """Take off the step matrix what shared rows owe to the shared columns and to the reserve themselves."""
    place = {name: number for number, name in enumerate(recording.active)}
    for name in shared_rows_of(recording):
        row = slopes.shared[recording.layout.component(name)]
        for i, column in enumerate(columns_of(recording)):
            parts = [row[FIRST_COLUMN + i]] if FIRST_COLUMN + i in row else []
            parts += [row[RESERVE] * reserve_k[i]] if RESERVE in row else []
            if parts:
                gain = program.recorder.total(parts)
                program.write("m", matrix.pattern[place[name], place[column]], gain, take=True)


def slot_forward(recording: Recording, pattern: SlotPattern) -> Program:
    """Record how a slot's right-hand side enters the shared one."""
    program = Program("slot_forward")
    gut, reserve = program.read("bs", 0), program.read("bs", 1)
    right = [program.read("store", pattern.at.eager_right + index) for index in range(2)]
    inverse = [program.read("store", pattern.at.inverse + index) for index in (2, 3)]
    eagerness = right[0] * gut + right[1] * reserve
    own_reserve = inverse[0] * gut + inverse[1] * reserve
    for index, name in enumerate(shared_rows_of(recording)):
        value = program.read("store", pattern.at.effect + index) * eagerness
        if name in pattern.burdened:
            burden = program.read("store", pattern.at.burden + pattern.burdened.index(name))
            value = value + burden * own_reserve
        program.write("b", recording.active.index(name), value, add=True)
    return program


def slot_backward(recording: Recording) -> Program:
    """Record a slot's solution once the shared one is known."""
    program, at = Program("slot_backward"), store_at(recording)
    columns = [program.read("k", recording.active.index(name)) for name in columns_of(recording)]
    right = [program.read("bs", 0), program.read("bs", 1)]

    def along(factors: tuple[int, int], start: int) -> Symbol:
        own = [program.read("store", at) * value for at, value in zip(factors, right, strict=True)]
        return program.recorder.total(
            [*own, *(program.read("store", start + i) * k for i, k in enumerate(columns))]
        )

    gut = along((at.inverse, at.inverse + 1), at.gut)
    reserve = along((at.inverse + 2, at.inverse + 3), at.reserve)
    program.write("outs", 0, gut)
    program.write("outs", 1, reserve)
    return program


def slot_sums(recording: Recording, pattern: SlotPattern) -> Program:
    """Record what a step adds to a slot's totals and to the mineral ledger."""
    program = Program("slot_sums")
    own = [program.read("own_mean", index) for index in range(len(SLOT_STATES))]
    columns = [program.read("mean", recording.active.index(name)) for name in columns_of(recording)]
    zero = program.recorder.constant(0.0)
    mean = dict(enumerate((*own, zero, *columns)))
    for index, unknown in enumerate(pattern.eager):
        mean[EAGERNESS] = mean[EAGERNESS] + program.read("store", pattern.eager_at + index) * mean[unknown]
    length, present = program.read("step", LENGTH), totals_of(recording)
    values = {total: program.read("own_sums", total) * length for total in present}
    values[len(SLOT_TOTALS)] = zero
    for index, (total, unknown) in enumerate(pattern.totals):
        slope = program.read("store", pattern.totals_at + index)
        values[total] = values[total] + slope * mean[unknown]
    for total in range(len(SLOT_TOTALS)):
        program.write("own_more", total, values.get(total, zero))
    program.write("more", _ledger(recording, MINERAL), values[len(SLOT_TOTALS)], add=True)
    return program
