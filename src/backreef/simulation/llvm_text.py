"""Recorded programs as LLVM text: one line per operation, lanes side by side in a vector.

Exponential and logarithm are our own vector forms, written where they are used (LLVM would call the C library
lane by lane, and any call puts all rows in registers aside): range reduction and a polynomial for exp, the
classical f - s (f - R) form for log; both within 2 units in the last place (tested).
"""

from __future__ import annotations

import math
import struct
from collections.abc import Callable
from typing import Any

from backreef.simulation.program import Program

SCALAR_ARRAYS = frozenset({"f", "step"})
"""Arrays of one number per row for all lanes."""
ATTRIBUTES = (
    'attributes #0 = { nounwind "prefer-vector-width"="512" "min-legal-vector-width"="512" "stackrealign" }'
)
"""The stack is aligned to rows: one that is not makes each row put aside touch two lines of the cache."""
_NAMES = {"add": "fadd", "sub": "fsub", "mul": "fmul", "div": "fdiv"}


def hexadecimal(value: float) -> str:
    """Give a double as LLVM writes it exactly."""
    return f"0x{struct.unpack('<Q', struct.pack('<d', value))[0]:016X}"


def vector_type(lanes: int, element: str = "double") -> str:
    """Give the LLVM type of a row."""
    return element if lanes == 1 else f"<{lanes} x {element}>"


def splat(value: float | int, lanes: int, element: str = "double") -> str:
    """Give a constant in all lanes."""
    text = hexadecimal(value) if element == "double" else str(value)
    return text if lanes == 1 else "<" + ", ".join([f"{element} {text}"] * lanes) + ">"


def function_name(program: Program) -> str:
    """Give the name of a program's function."""
    return f"kernel_{program.name}"


def program_text(program: Program, lanes: int) -> str:
    """Give the function of a program; its arguments are pointers to its arrays in the order of names."""
    kind = vector_type(lanes)
    align = 8 * lanes
    arguments = ", ".join(f"ptr noalias %{array}" for array in program.arrays)
    lines = [f"define internal void @{function_name(program)}({arguments}) #0 {{"]
    operations = program.recorder.operations
    after: dict[int, list[int]] = {}
    for number, store in enumerate(program.stores):
        after.setdefault(store.place, []).append(number)
    used = set(program.used())

    def value(place: int) -> str:
        operation = operations[place]
        if operation[0] == "const":
            return splat(operation[1], lanes)  # type: ignore[arg-type]
        return value(operation[1]) if operation[0] == "implicit" else f"%v{place}"  # type: ignore[arg-type]

    for place, operation in enumerate(operations):
        if place in used:
            lines += _operation_lines(place, operation, value, lanes, kind)
        for number in after.get(place, ()):
            store = program.stores[number]
            pointer, stored = f"%p{number}", value(place)
            lines.append(f"  {pointer} = getelementptr {kind}, ptr %{store.array}, i64 {store.index}")
            if store.add or store.take:
                change = "fadd" if store.add else "fsub"
                lines.append(f"  %o{number} = load {kind}, ptr {pointer}, align {align}")
                lines.append(f"  %n{number} = {change} contract {kind} %o{number}, {stored}")
                stored = f"%n{number}"
            lines.append(f"  store {kind} {stored}, ptr {pointer}, align {align}")
    return "\n".join([*lines, "  ret void", "}"])


def _operation_lines(
    place: int, operation: Any, value: Callable[[int], str], lanes: int, kind: str
) -> list[str]:
    name = f"%v{place}"
    what = operation[0]
    if what in ("const", "implicit"):
        return []
    if what == "input":
        return _input_lines(place, operation, lanes, kind)
    if what in _NAMES:
        return [f"  {name} = {_NAMES[what]} contract {kind} {value(operation[1])}, {value(operation[2])}"]
    if what == "sqrt":
        return [f"  {name} = call {kind} @llvm.sqrt.{_suffix(lanes)}({kind} {value(operation[1])})"]
    if what in _SERIES:
        code = _Lines(lanes, value(operation[1]), name)
        _SERIES[what](code)
        return code.lines
    test, positive, otherwise = (value(argument) for argument in operation[1:])
    condition = vector_type(lanes, "i1")
    return [
        f"  %c{place} = fcmp ogt {kind} {test}, {splat(0.0, lanes)}",
        f"  {name} = select {condition} %c{place}, {kind} {positive}, {kind} {otherwise}",
    ]


def _input_lines(place: int, operation: Any, lanes: int, kind: str) -> list[str]:
    array, index, name = operation[1], operation[2], f"%v{place}"
    if array not in SCALAR_ARRAYS or lanes == 1:
        element = kind if array not in SCALAR_ARRAYS else "double"
        return [
            f"  %g{place} = getelementptr {element}, ptr %{array}, i64 {index}",
            f"  {name} = load {kind}, ptr %g{place}, align {8 * lanes}",
        ]
    return [
        f"  %g{place} = getelementptr double, ptr %{array}, i64 {index}",
        f"  %s{place} = load double, ptr %g{place}, align 8",
        f"  %t{place} = insertelement {kind} poison, double %s{place}, i32 0",
        f"  {name} = shufflevector {kind} %t{place}, {kind} poison, <{lanes} x i32> zeroinitializer",
    ]


def _suffix(lanes: int) -> str:
    return "f64" if lanes == 1 else f"v{lanes}f64"


_LOG_COEFFICIENTS = (
    6.666666666666735130e-01,
    3.999999999940941908e-01,
    2.857142874366239149e-01,
    2.222219843214978396e-01,
    1.818357216161805012e-01,
    1.531383769920937332e-01,
    1.479819860511658591e-01,
)
"""Minimax coefficients of the logarithm; published with the freely distributable C mathematics library
(1993)."""
_LN_2_HIGH, _LN_2_LOW = 6.93147180369123816490e-01, 1.90821492927058770002e-10
_ROUNDING = 6755399441055744.0
"""1.5 times 2^52: adding it leaves the nearest whole number in the low bits."""
_ROOT_HALF_BITS = 0x3FE6A09E667F3BCD


def mathematics_text(lanes: int) -> str:
    """Give the intrinsics that the programs call."""
    kind = vector_type(lanes)
    sqrt = f"declare {kind} @llvm.sqrt.{_suffix(lanes)}({kind})"
    fma = f"declare {kind} @llvm.fma.{_suffix(lanes)}({kind}, {kind}, {kind})"
    return f"{sqrt}\n{fma}"


class _Lines:
    """Lines that work out a function of `x`; what they name begins with the name of the result."""

    def __init__(self, lanes: int, x: str, result: str) -> None:
        self.lanes, self.x, self.result = lanes, x, result
        self.lines: list[str] = []
        self.double, self.whole = vector_type(lanes), vector_type(lanes, "i64")

    def line(self, text: str, *, last: bool = False) -> str:
        name = self.result if last else f"{self.result}_{len(self.lines)}"
        self.lines.append(f"  {name} = {text}")
        return name

    def binary(self, kind: str, left: str, right: str, *, whole: bool = False) -> str:
        return self.line(f"{kind} {self.whole if whole else self.double} {left}, {right}")

    def fused(self, a: str, b: str, c: str) -> str:
        d = self.double
        return self.line(f"call {d} @llvm.fma.{_suffix(self.lanes)}({d} {a}, {d} {b}, {d} {c})")

    def constant(self, value: float) -> str:
        return splat(value, self.lanes)

    def cast(self, value: str, *, to_whole: bool) -> str:
        source, target = (self.double, self.whole) if to_whole else (self.whole, self.double)
        return self.line(f"bitcast {source} {value} to {target}")

    def clamp(self, value: str, low: float, high: float) -> str:
        flag = vector_type(self.lanes, "i1")
        for test, bound in (("olt", low), ("ogt", high)):
            limit = self.constant(bound)
            outside = self.line(f"fcmp {test} {self.double} {value}, {limit}")
            value = self.line(f"select {flag} {outside}, {self.double} {limit}, {self.double} {value}")
        return value

    def or_no_number(self, test: str, bound: float, value: str, *, last: bool = False) -> str:
        """Give the value where the argument passes the test, no number elsewhere, also where it is none."""
        flag, limit = vector_type(self.lanes, "i1"), self.constant(bound)
        passes = self.line(f"fcmp {test} {self.double} {self.x}, {limit}")
        nan = self.constant(math.nan)
        return self.line(f"select {flag} {passes}, {self.double} {value}, {self.double} {nan}", last=last)


def _exponential(code: _Lines) -> None:
    lanes = code.lanes
    x = code.clamp(code.x, -700.0, 700.0)
    shifted = code.fused(x, code.constant(1.0 / math.log(2.0)), code.constant(_ROUNDING))
    whole = code.binary("fsub", shifted, code.constant(_ROUNDING))
    rest = code.fused(whole, code.constant(-_LN_2_HIGH), x)
    rest = code.fused(whole, code.constant(-_LN_2_LOW), rest)
    series = code.constant(1.0 / math.factorial(13))
    for order in range(12, -1, -1):
        series = code.fused(series, rest, code.constant(1.0 / math.factorial(order)))
    bits = code.cast(shifted, to_whole=True)
    exponent = code.binary("shl", bits, splat(52, lanes, "i64"), whole=True)
    scaled = code.binary("add", code.cast(series, to_whole=True), exponent, whole=True)
    code.or_no_number("ord", 0.0, code.cast(scaled, to_whole=False), last=True)


def _logarithm(code: _Lines) -> None:
    lanes = code.lanes
    bits = code.cast(code.x, to_whole=True)
    above = code.binary("sub", bits, splat(_ROOT_HALF_BITS, lanes, "i64"), whole=True)
    power = code.binary("ashr", above, splat(52, lanes, "i64"), whole=True)
    lifted = code.binary("shl", power, splat(52, lanes, "i64"), whole=True)
    mantissa = code.cast(code.binary("sub", bits, lifted, whole=True), to_whole=False)
    f = code.binary("fsub", mantissa, code.constant(1.0))
    s = code.binary("fdiv", f, code.binary("fadd", f, code.constant(2.0)))
    z = code.binary("fmul", s, s)
    series = code.constant(_LOG_COEFFICIENTS[-1])
    for coefficient in reversed(_LOG_COEFFICIENTS[:-1]):
        series = code.fused(series, z, code.constant(coefficient))
    r = code.binary("fmul", z, series)
    half = code.binary("fmul", code.binary("fmul", f, f), code.constant(0.5))
    number = code.line(f"sitofp {code.whole} {power} to {code.double}")
    inner = code.binary("fmul", s, code.binary("fadd", half, r))
    low = code.fused(number, code.constant(_LN_2_LOW), inner)
    rest = code.binary("fsub", code.binary("fsub", half, low), f)
    whole = code.fused(number, code.constant(_LN_2_HIGH), code.line(f"fneg {code.double} {rest}"))
    code.or_no_number("ogt", 0.0, code.or_no_number("olt", math.inf, whole), last=True)


_SERIES = {"exp": _exponential, "log": _logarithm}


def vector_function(name: str, lanes: int) -> str:
    """Give exp or log as a function of its own, `vector_exp` or `vector_log`, for code beside ours."""
    code = _Lines(lanes, "%x", "%y")
    _SERIES[name](code)
    head = f"define {code.double} @vector_{name}({code.double} %x) #0 {{"
    return "\n".join([head, *code.lines, f"  ret {code.double} %y", "}"])
