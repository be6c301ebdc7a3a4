"""One step of a working as a formula of quantities that have names, and the number that a formula gives."""

from __future__ import annotations

import ast
import math
from collections.abc import Callable, Mapping

from backreef.errors import BackreefError
from backreef.working.steps import LEAF, LITERAL, NAMED, InItsUnit, Step

_BINDS = {"+": 1, "-": 1, "*": 2, "/": 2, "**": 4}
_CALL, _SIGN = 9, 3
_OPERATORS: dict[type[ast.operator], Callable[[float, float], float]] = {
    ast.Add: lambda a, b: a + b,
    ast.Sub: lambda a, b: a - b,
    ast.Mult: lambda a, b: a * b,
    ast.Div: lambda a, b: a / b,
    ast.Pow: lambda a, b: a**b,
}
_FUNCTIONS: dict[str, Callable[..., float]] = {
    "exp": math.exp,
    "log": math.log,
    "sqrt": math.sqrt,
    "round": lambda value, digits=None: round(value, None if digits is None else int(digits)),
    "select": lambda test, positive, otherwise: positive if test > 0.0 else otherwise,
    "sum": lambda *terms: sum(terms),
    "floor": lambda value: float(math.floor(value)),
    "ceil": lambda value: float(math.ceil(value)),
}


class NotAFormula(BackreefError):
    """A text is no formula of names, numbers, + - * / ** and the functions that workings use."""


class Written:
    """A formula with the symbols that it calls its inputs by; two inputs never share one."""

    def __init__(self) -> None:
        self.symbols: dict[str, Step] = {}
        self._of: dict[int, str] = {}

    def text(self, step: Step) -> str:
        """Give the formula of a step, down to what has a name."""
        return self._text(step)[0]

    def _text(self, step: Step) -> tuple[str, int]:
        """The text and how tightly it binds."""
        if step.op in (NAMED, LEAF):
            return self._symbol(step), _CALL
        if step.op == LITERAL:
            return literal(step.value), _CALL if step.value >= 0 else _SIGN
        if step.op not in _BINDS:
            return f"{step.op}({', '.join(self._text(arg)[0] for arg in step.args)})", _CALL
        return self._between(step)

    def _between(self, step: Step) -> tuple[str, int]:
        first, second = step.args
        binds = _BINDS[step.op]
        if step.op == "-" and first.op == LITERAL and first.value == 0.0:
            turned, tight = self._text(second)
            return f"-{turned if tight > _SIGN else f'({turned})'}", _SIGN
        left, loose = self._text(first)
        right, tight = self._text(second)
        power = step.op == "**"
        left = f"({left})" if loose < binds or (power and loose == binds) else left
        right = f"({right})" if tight < binds or (tight == binds and (power or step.op in "-/")) else right
        return f"{left} {step.op} {right}", binds

    def _symbol(self, step: Step) -> str:
        if id(step) not in self._of:
            wanted = step.about.symbol if step.about is not None else "x"
            name, number = wanted, 1
            while name in self.symbols:
                number += 1
                name = f"{wanted}_{number}"
            self._of[id(step)] = name
            self.symbols[name] = step
        return self._of[id(step)]


def literal(value: InItsUnit) -> str:
    """Give a number of a formula, whole where it is whole."""
    return repr(int(value)) if value.is_integer() and abs(value) < 1e15 else repr(value)  # noqa: PLR2004


def value_of(formula: str, known: Mapping[str, InItsUnit]) -> InItsUnit:
    """Give the number of a formula for the numbers that its symbols stand for.

    Raises
    ------
    NotAFormula
        If it holds anything but names that are known, numbers, + - * / ** and functions of workings.
    """
    try:
        tree = ast.parse(formula, mode="eval")
    except SyntaxError as error:
        raise NotAFormula(f"'{formula}' is no formula: {error.msg}") from error
    return _value(tree.body, known)


def _value(node: ast.expr, known: Mapping[str, InItsUnit]) -> InItsUnit:
    match node:
        case ast.Constant(value=int() | float() as number):
            return float(number)
        case ast.Name(id=name) if name in known:
            return known[name]
        case ast.UnaryOp(op=ast.USub(), operand=operand):
            return -_value(operand, known)
        case ast.BinOp(left=left, op=operator, right=right) if type(operator) in _OPERATORS:
            return _OPERATORS[type(operator)](_value(left, known), _value(right, known))
        case ast.Call(func=ast.Name(id=name), args=args) if name in _FUNCTIONS:
            return float(_FUNCTIONS[name](*(_value(arg, known) for arg in args)))
    raise NotAFormula(f"'{ast.unparse(node)}' has no place in a formula of a working")
