"""The simulated equations as text: the balance of each component, rates, laws, recorded programs.

What is printed is read from what is compiled: the closed process matrix and the recorded programs.
"""

from __future__ import annotations

import inspect
from collections import Counter
from collections.abc import Callable, Iterator, Mapping, Sequence

from backreef.models.matrix import Matrix, packaged_matrix
from backreef.models.mouths import SLOT_TRAITS
from backreef.models.symbols import Operation, Recorder, Symbol
from backreef.models.water import OBSERVED_NAMES, SEGMENT_NAMES
from backreef.simulation.layout import FORCINGS, NATURE, REGISTERS, packaged_layout
from backreef.simulation.programs import Kernel, Program

_SIGNS = {"add": "+", "sub": "-", "mul": "*", "div": "/"}
_BINDS = {"add": 1, "sub": 1, "mul": 2, "div": 2}
NAMED = -1
"""Index of an input that is no row of an array but known by its name."""
_WHOLE = 3
"""How tightly a name, a number or a call holds together; no sign around it needs brackets."""
_SHOWN: tuple[Callable[[Kernel], Program], ...] = (
    Kernel.segment,
    Kernel.acidity,
    Kernel.shared_rates,
    Kernel.slot_rates,
    Kernel.room,
    Kernel.midnight,
)
"""Programs that compute; the others are their derivatives and the elimination of the step matrix."""


def kernel_equations() -> str:
    """All equations as text, ending with a line break."""
    matrix = packaged_matrix()
    kernel = Kernel(matrix, packaged_layout())
    lines = [
        *_balances(matrix),
        "",
        *_rates(matrix),
        "",
        *_laws(matrix),
        "",
        "# Recorded programs: what is compiled, one operation after the other; animals are in slot_rates.",
    ]
    for make in _SHOWN:
        lines += ["", *program_lines(make(kernel), names=row_names(kernel))]
    return "\n".join(lines) + "\n"


def _balances(matrix: Matrix) -> Iterator[str]:
    yield "# What changes each component, per day; food1_... is what the label of a food says"
    for component in matrix.components:
        yield ""
        yield f"d {component.name} / dt =    # {component.meaning}, {component.unit}"
        for process in matrix.processes:
            if component.name in process.food_coefficients:
                yield f"    + ({process.food_coefficients[component.name].text}) * {process.row.id}"
            elif component.name in process.coefficients:
                yield f"    {_signed(process.coefficients[component.name])} * {process.row.id}"


def _signed(coefficient_ratio: float) -> str:
    return f"{'-' if coefficient_ratio < 0 else '+'} {abs(coefficient_ratio):.6g}"


def _rates(matrix: Matrix) -> Iterator[str]:
    yield "# Rate of each process, mmol per day in the whole system"
    for process in matrix.processes:
        yield ""
        yield f"{process.row.id} =    # {process.row.about}"
        yield f"    {process.rate_words}"


def _laws(matrix: Matrix) -> Iterator[str]:
    yield "# Laws that the rates name"
    laws = {process.row.law: process.law for process in matrix.processes}
    for name, law in sorted(laws.items()):
        recorder = Recorder()
        names = list(inspect.signature(law).parameters)
        result = law(**{argument: recorder.input(argument, NAMED) for argument in names})
        steps, value = _expressions(recorder, [recorder.symbol(result)], names={})
        yield ""
        yield f"{name}({', '.join(names)}) ="
        yield from (f"    {step}" for step in steps)
        yield f"    {value[0]}"


def row_names(kernel: Kernel) -> Mapping[str, Sequence[str]]:
    """What the rows of the arrays are called that the programs read."""
    return {
        "p": kernel.layout.parameters,
        "y": kernel.layout.components,
        "r": REGISTERS,
        "s": SEGMENT_NAMES,
        "f": FORCINGS,
        "nature": NATURE,
        "traits": SLOT_TRAITS,
        "seen": OBSERVED_NAMES,
        "acidity": ("hydrogen", "hydrogen_before"),
    }


def program_lines(program: Program, *, names: Mapping[str, Sequence[str]]) -> Iterator[str]:
    """A recorded program as assignments, with shared parts as t1, t2, ...; `names` are of rows, by array."""
    outputs = [Symbol(program.recorder, store.place) for store in program.stores]
    steps, values = _expressions(program.recorder, outputs, names=names)
    yield f"## {program.name}"
    yield from (f"    {step}" for step in steps)
    for store, value in zip(program.stores, values, strict=True):
        yield f"    {_row(store.array, store.index, names)} {'+=' if store.add else '='} {value}"


def _row(array: str, index: int, names: Mapping[str, Sequence[str]]) -> str:
    """A row of an array by its name, or by its place where it has none."""
    if array in names and 0 <= index < len(names[array]):
        return f"{array}.{names[array][index]}"
    return array if index == NAMED else f"{array}[{index}]"


def _expressions(
    recorder: Recorder, outputs: Sequence[Symbol], *, names: Mapping[str, Sequence[str]]
) -> tuple[list[str], list[str]]:
    """Steps for what is used more than once, and the outputs written with them."""
    needed = _needed(recorder, outputs)
    uses = Counter(argument for place in needed for argument in _reads(recorder, place))
    steps: list[str] = []
    texts: dict[int, tuple[str, int]] = {}
    for place in needed:
        text, binds = _operation(recorder.operations[place], texts, names)
        if uses[place] > 1 and recorder.operations[place][0] not in ("const", "input"):
            steps.append(f"t{len(steps) + 1} = {text}")
            text, binds = f"t{len(steps)}", _WHOLE
        texts[place] = (text, binds)
    return steps, [texts[output.place][0] for output in outputs]


def _needed(recorder: Recorder, outputs: Sequence[Symbol]) -> list[int]:
    """Places of the operations that the outputs rest on, in order of evaluation."""
    found: set[int] = set()
    waiting = [output.place for output in outputs]
    while waiting:
        place = waiting.pop()
        if place not in found:
            found.add(place)
            waiting += _reads(recorder, place)
    return sorted(found)


def _reads(recorder: Recorder, place: int) -> tuple[int, ...]:
    """What an operation reads for its value."""
    kind, *rest = recorder.operations[place]
    if kind in ("const", "input"):
        return ()
    arguments = rest[:1] if kind == "implicit" else rest
    return tuple(argument for argument in arguments if isinstance(argument, int))


def _exactly(number_ratio: float) -> str:
    """A number in as few digits as give it back exactly."""
    short = f"{number_ratio:.12g}"
    return short if float(short) == number_ratio else repr(number_ratio)


def _operation(
    operation: Operation, texts: Mapping[int, tuple[str, int]], names: Mapping[str, Sequence[str]]
) -> tuple[str, int]:
    """An operation as text, and how tightly that holds together."""
    kind, *rest = operation
    if kind == "const":
        return _exactly(float(str(rest[0]))), _WHOLE
    if kind == "input":
        array, index = rest
        return _row(str(array), int(str(index)), names), _WHOLE
    parts = [texts[place] for place in rest if isinstance(place, int)]
    if kind == "implicit":
        return parts[0]
    if kind in _SIGNS:
        binds = _BINDS[str(kind)]
        (left, left_binds), (right, right_binds) = parts
        left = f"({left})" if left_binds < binds else left
        right = f"({right})" if right_binds <= binds and kind != "add" else right
        return f"{left} {_SIGNS[str(kind)]} {right}", binds
    if kind == "select":
        test, positive, otherwise = (text for text, _ in parts)
        return f"({positive} if {test} > 0 else {otherwise})", _WHOLE
    return f"{kind}({parts[0][0]})", _WHOLE
