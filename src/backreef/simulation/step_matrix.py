"""The step matrix of the shared system: its pattern, the order of its elimination, and its solution."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from backreef.models.symbols import Symbol
from backreef.simulation.program import Program
from backreef.simulation.recording import Recording
from backreef.simulation.shared_programs import LENGTH, SHIFT, SUM_TIME_WEIGHT, shared_gradients

LONGEST_RUN = 400
"""Operations after which the factorisation is cut into another program; see docs/adr/0012."""
Key = tuple[int, int]


@dataclass(frozen=True, slots=True, kw_only=True)
class StepMatrix:
    """Rows and columns of the matrix that are not 0, elimination included."""

    order: tuple[int, ...]
    """Places of active states in the order in which they are eliminated."""
    pattern: dict[Key, int]
    """Row and column -> place in the array `m`: first what the slots touch, row by row, then in the order in
    which a solution reads it."""
    ledgers: dict[Key, int]
    """Row of a ledger and column -> place in the array `ml`."""
    below: dict[int, list[int]]
    """Rows that a pivot is taken out of."""
    right: dict[int, list[int]]
    """Columns to the right of a pivot in its row."""


def step_matrix(recording: Recording, coupled: Sequence[Key]) -> StepMatrix:
    """Find the pattern from the recorded derivatives and the entries that the slots touch."""
    entries, _ = shared_gradients(recording, Program("pattern"))
    count = len(recording.active)
    filled = {key for key in entries if key[0] < count} | {(i, i) for i in range(count)} | set(coupled)
    order = least_fill_order(filled, count)
    rank = {place: position for position, place in enumerate(order)}
    for pivot in order:
        rows = [row for row, column in filled if column == pivot and rank[row] > rank[pivot]]
        columns = [column for row, column in filled if row == pivot and rank[column] > rank[pivot]]
        filled |= {(row, column) for row in rows for column in columns}
    ahead = sorted(filled, key=lambda key: (rank[key[1]], rank[key[0]]))
    below = {
        pivot: [row for row, column in ahead if column == pivot and rank[row] > rank[pivot]]
        for pivot in order
    }
    right = {
        pivot: [column for row, column in ahead if row == pivot and rank[column] > rank[pivot]]
        for pivot in order
    }
    used = [*coupled, *((row, pivot) for pivot in order for row in below[pivot])]
    used += [
        key for pivot in reversed(order) for key in ((pivot, c) for c in (*reversed(right[pivot]), pivot))
    ]
    ledgers = sorted(key for key in entries if key[0] >= count)
    return StepMatrix(
        order=tuple(order),
        pattern={key: index for index, key in enumerate(dict.fromkeys(used))},
        ledgers={key: index for index, key in enumerate(ledgers)},
        below=below,
        right=right,
    )


def least_fill_order(filled: set[Key], count: int) -> list[int]:
    """Give the Markowitz order on the diagonal: next the state whose elimination fills least."""
    rows = {place: {column for row, column in filled if row == place} - {place} for place in range(count)}
    columns = {place: {row for row, column in filled if column == place} - {place} for place in range(count)}
    left, order = set(range(count)), []
    while left:
        pivot = min(left, key=lambda place: (len(rows[place]) * len(columns[place]), place))
        order.append(pivot)
        left.discard(pivot)
        for row in columns[pivot]:
            rows[row] = (rows[row] | rows[pivot]) - {pivot, row}
        for column in rows[pivot]:
            columns[column] = (columns[column] | columns[pivot]) - {pivot, column}
    return order


def shared_slopes(recording: Recording, matrix: StepMatrix) -> Program:
    """Record the step matrix before elimination, ledger rows of the Jacobian, slopes in time; by columns."""
    program = Program("shared_slopes")
    entries, in_time = shared_gradients(recording, program)
    shift, weight = program.read("step", SHIFT), program.read("step", SUM_TIME_WEIGHT)
    for (row, column), index in sorted(matrix.pattern.items(), key=lambda item: item[0][::-1]):
        value = entries.get((row, column), program.recorder.constant(0.0))
        program.write("m", index, shift + value if row == column else value)
    for (row, column), index in sorted(matrix.ledgers.items(), key=lambda item: item[0][::-1]):
        program.write("ml", index, entries.get((row, column), 0.0))
    for row in range(len(recording.active)):
        program.write("ft", row, in_time.get(row, 0.0))
    for row, slope in in_time.items():
        if row >= len(recording.active):
            program.write("sums", row - len(recording.active), slope * weight, add=True)
    return program


def shared_factors(matrix: StepMatrix) -> list[Program]:
    """Record the LU of the step matrix in place; the diagonal is kept inverted.

    Cut into programs of a few pivots each: one long list takes LLVM several times longer to compile.
    """
    programs: list[Program] = []
    work = LONGEST_RUN
    for pivot in matrix.order:
        if work >= LONGEST_RUN:
            programs.append(Program(f"shared_factors_{len(programs)}"))
            known: dict[Key, Symbol] = {}
            work = 0
        _eliminate(programs[-1], matrix, known, pivot)
        work += len(matrix.below[pivot]) * (2 * len(matrix.right[pivot]) + 1)
        _keep_changed(programs[-1], matrix, known)
    return programs


def _eliminate(program: Program, matrix: StepMatrix, known: dict[Key, Symbol], pivot: int) -> None:
    """Take one pivot out of the rows below it."""

    def entry(row: int, column: int) -> Symbol:
        key = (row, column)
        if key not in known:
            known[key] = program.read("m", matrix.pattern[key])
        return known[key]

    inverse = 1.0 / entry(pivot, pivot)
    known[pivot, pivot] = inverse
    for row in matrix.below[pivot]:
        factor = entry(row, pivot) * inverse
        known[row, pivot] = factor
        for column in matrix.right[pivot]:
            known[row, column] = entry(row, column) - factor * entry(pivot, column)


def _keep_changed(program: Program, matrix: StepMatrix, known: dict[Key, Symbol]) -> None:
    program.stores.clear()
    for key, value in known.items():
        if program.recorder.operations[value.place][0] != "input":
            program.write("m", matrix.pattern[key], value)


def shared_solution(matrix: StepMatrix) -> Program:
    """Record the solution of the factored system.

    On the way back what is known first is taken off first, so that little waits for the last one.
    """
    program = Program("shared_solution")
    x = {place: program.read("b", place) for place in matrix.order}
    for pivot in matrix.order:
        for row in matrix.below[pivot]:
            x[row] = x[row] - program.read("m", matrix.pattern[row, pivot]) * x[pivot]
    for pivot in reversed(matrix.order):
        for column in reversed(matrix.right[pivot]):
            x[pivot] = x[pivot] - program.read("m", matrix.pattern[pivot, column]) * x[column]
        x[pivot] = x[pivot] * program.read("m", matrix.pattern[pivot, pivot])
    for place, value in x.items():
        program.write("out", place, value)
    return program


def shared_sums(recording: Recording, matrix: StepMatrix) -> Program:
    """Record what a step adds to the ledgers: their weighted rates, and their share in the mean stage."""
    program = Program("shared_sums")
    length, active = program.read("step", LENGTH), len(recording.active)
    change = {
        row: program.read("sums", row - active) * length for row in range(active, recording.layout.shared)
    }
    for (row, column), index in matrix.ledgers.items():
        change[row] = change[row] + program.read("ml", index) * program.read("mean", column)
    for row, value in change.items():
        program.write("more", row - active, value)
    return program
