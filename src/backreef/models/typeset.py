"""Python's text of an equation as TeX, for the pages that show equations to people.

What cannot be set as an equation (a loop, a table of names) is refused, and the page then shows the code.
"""

from __future__ import annotations

import ast
import inspect
import textwrap
from collections.abc import Callable, Iterator, Mapping
from typing import Any

GREEK = frozenset(("alpha", "beta", "gamma", "delta", "theta", "lambda", "mu", "nu", "rho", "sigma", "omega"))
LONGEST_SIGN = 3
"""Letters of a sign, as in `k_la` or `nh3_crit`; what is longer is a word."""
UNITS = frozenset(
    (
        *(
            "c",
            "k",
            "g",
            "h",
            "d",
            "y",
            "j",
            "l",
            "m",
            "n",
            "p",
            "m2",
            "m3",
            "cm",
            "mm",
            "kg",
            "kg2",
            "mg",
            "kj",
        ),
        *("ev", "psu", "atm", "umol", "umol2", "mmol", "o2", "per", "frac", "pct", "ratio"),
    )
)
SUM, PRODUCT, SIGN, POWER, ATOM = range(5)
"""How tightly a piece holds together; a looser one is set in brackets inside a tighter one."""
FORMS = {
    "exp": "\\exp",
    "log": "\\ln",
    "maximum": "\\max",
    "minimum": "\\min",
    "smooth_minimum": "\\text{smin}",
}
READ_FROM = frozenset(("number", "told_constant"))
"""Functions that give a number by its name: the name is what a reader wants."""


InItsUnit = float
"""A number in the unit that its place in the equation says."""


class Untold(Exception):
    """What was to be set is no equation."""


def tree_of(law: Callable[..., Any]) -> ast.FunctionDef:
    """Give the syntax tree of a function.

    Validity
    --------
    Functions whose source is at hand.

    Source
    ------
    The function's own text.
    """
    tree = ast.parse(textwrap.dedent(inspect.getsource(law))).body[0]
    if not isinstance(tree, ast.FunctionDef):
        raise TypeError(f"{law.__name__} is no function")
    return tree


def statements(law: Callable[..., Any]) -> list[ast.stmt]:
    """Give what a function does, without what it says of itself.

    Validity
    --------
    As `tree_of`.

    Source
    ------
    The function's own text.
    """
    return [one for one in tree_of(law).body if not _is_text(one)]


def equations(law: Callable[..., Any]) -> list[str]:
    """Give a function as lines of TeX, each with `&` before its sign of equality.

    Validity
    --------
    Functions of assignments and one result, in which no name means two things; `Untold` for others.

    Source
    ------
    The function's own text.
    """
    said = statements(law)
    if _assigned_names(said) & _member_names(said):
        raise Untold
    lines = [line for one in said for line in _statement(one, law.__name__)]
    return [line for line in lines if len(set(line.split(" &= "))) > 1]


def put_in(law: Callable[..., Any], given: Mapping[str, str]) -> str:
    """Give the result of a function of one line with other expressions in the place of its arguments.

    Validity
    --------
    Functions of a single expression; `Untold` for others.

    Source
    ------
    The function's own text.
    """
    said = statements(law)
    if len(said) != 1 or not isinstance(said[0], ast.Return) or said[0].value is None:
        raise Untold
    return tex(_Put(given).visit(said[0].value))


def name_tex(name: str) -> str:
    """Give a name as a symbol: below stands its unit, or whatever follows a short sign; words are words.

    Validity
    --------
    Names of Python.

    Source
    ------
    Own rule.
    """
    words = name.strip("_").split("_")
    if len(words) == 1 and name[:-1].isalpha() and name[-1].isdigit():
        return f"{_sign(name[:-1])}_{name[-1]}"
    if name.isupper() and len(words[0]) > LONGEST_SIGN:
        return f"\\text{{{' '.join(words)}}}"
    above = 1 if len(words[0]) <= LONGEST_SIGN else len(words)
    while above > 1 and words[above - 1].lower() in UNITS:
        above -= 1
    sign = _sign(" ".join(words[:above]))
    return f"{sign}_{{\\text{{{' '.join(words[above:])}}}}}" if words[above:] else sign


def _sign(head: str) -> str:
    return f"\\{head}" if head in GREEK else head if len(head) == 1 else f"\\text{{{head}}}"


def tex(node: ast.expr) -> str:
    """Give an expression as TeX.

    Validity
    --------
    What laws are written with; `Untold` for anything else.

    Source
    ------
    Own rule.
    """
    return _set(node)[0]


def _assigned_names(said: list[ast.stmt]) -> set[str]:
    """Names that get a value of their own, but for those that only shorten that of a member."""
    pairs = [
        pair
        for one in said
        if isinstance(one, ast.Assign)
        for target in one.targets
        for pair in _pairs(target, one.value)
    ]
    return {
        target.id
        for target, value in pairs
        if isinstance(target, ast.Name) and _member_name(value) != target.id
    }


def _pairs(target: ast.expr, value: ast.expr) -> list[tuple[ast.expr, ast.expr]]:
    """Each name with what it is given, where several are given at once."""
    if not isinstance(target, ast.Tuple):
        return [(target, value)]
    if isinstance(value, ast.Tuple):
        return list(zip(target.elts, value.elts, strict=True))
    return [(one, value) for one in target.elts]


def _member_names(said: list[ast.stmt]) -> set[str]:
    return {
        name
        for one in said
        for node in ast.walk(one)
        if isinstance(node, ast.expr) and (name := _member_name(node))
    }


def _member_name(node: ast.expr) -> str | None:
    match node:
        case ast.Attribute(attr=name) | ast.Subscript(slice=ast.Constant(value=str(name))):
            return name
        case _:
            return None


def _is_text(statement: ast.stmt) -> bool:
    return isinstance(statement, ast.Expr) and isinstance(statement.value, ast.Constant)


class _Put(ast.NodeTransformer):
    def __init__(self, given: Mapping[str, str]) -> None:
        self.given = given

    def visit_Name(self, node: ast.Name) -> ast.expr:
        """Put what was given in the place of an argument."""
        return ast.parse(self.given[node.id], mode="eval").body if node.id in self.given else node


def _statement(one: ast.stmt, name: str) -> Iterator[str]:
    if isinstance(one, ast.Return) and one.value is not None:
        yield from _lines(name_tex(name), one.value)
    elif isinstance(one, ast.Assign) and len(one.targets) == 1:
        together = isinstance(one.targets[0], ast.Tuple) and not isinstance(one.value, ast.Tuple)
        pairs = [(one.targets[0], one.value)] if together else _pairs(one.targets[0], one.value)
        for target, value in pairs:
            yield from _lines(tex(target), value)
    else:
        raise Untold


def _lines(left: str, value: ast.expr) -> Iterator[str]:
    """One line, or one for each key of a table."""
    if not isinstance(value, ast.Dict):
        yield f"{left} &= {tex(value)}"
        return
    for key, part in zip(value.keys, value.values, strict=True):
        if not isinstance(key, ast.Constant):
            raise Untold
        yield f"{name_tex(str(key.value))} &= {tex(part)}"


def _set(node: ast.expr) -> tuple[str, int]:
    match node:
        case ast.Name(id=name) | ast.Attribute(attr=name):
            return name_tex(name), ATOM
        case ast.Constant(value=value):
            return _constant(value)
        case ast.Subscript():
            return _member(node), ATOM
        case ast.Tuple(elts=parts):
            return ", ".join(tex(part) for part in parts), SUM
        case ast.UnaryOp(op=ast.USub(), operand=operand):
            return f"-{_within(operand, PRODUCT)}", SIGN
        case ast.BinOp(left=left, op=operator, right=right):
            return _operation(left, operator, right)
        case ast.IfExp(test=test, body=body, orelse=other):
            return _cases(_test(test), tex(body), tex(other)), ATOM
        case ast.Call(func=ast.Name(id=name), args=arguments):
            return _call(name, [*arguments, *(one.value for one in node.keywords)])
        case _:
            raise Untold


def _constant(value: object) -> tuple[str, int]:
    match value:
        case str(word):
            return f"\\text{{{word.replace('_', ' ')}}}", ATOM
        case bool() | None:
            raise Untold
        case _:
            return _number(float(str(value)))


def _within(node: ast.expr, bond: int) -> str:
    text, own = _set(node)
    return text if own >= bond else f"\\left({text}\\right)"


def _number(value: InItsUnit) -> tuple[str, int]:
    digits, _, exponent = f"{value:.10g}".partition("e")
    if not exponent:
        return digits, ATOM if value >= 0 else SIGN
    power = f"10^{{{int(exponent)}}}"
    return (power, POWER) if digits == "1" else (f"{digits} \\cdot {power}", PRODUCT)


def _member(node: ast.Subscript) -> str:
    """A named member is its name; one that is told by another name has that below."""
    key = node.slice
    if isinstance(key, ast.Constant) and isinstance(key.value, str):
        return name_tex(key.value)
    if isinstance(key, ast.JoinedStr) and len(key.values) == 2:
        start, end = key.values
        if isinstance(start, ast.Constant) and isinstance(end, ast.FormattedValue):
            return f"\\text{{{str(start.value).strip('_')}}}_{{{tex(end.value)}}}"
    if isinstance(key, ast.Name) or (isinstance(key, ast.Constant) and isinstance(key.value, int)):
        return f"{tex(node.value)}_{{{tex(key)}}}"
    raise Untold


def _operation(left: ast.expr, operator: ast.operator, right: ast.expr) -> tuple[str, int]:
    match operator:
        case ast.Add():
            return f"{_within(left, SUM)} + {_within(right, PRODUCT)}", SUM
        case ast.Sub():
            return f"{_within(left, SUM)} - {_within(right, PRODUCT)}", SUM
        case ast.Mult():
            if _is_one(left) or _is_one(right):
                return _set(right if _is_one(left) else left)
            return f"{_within(left, PRODUCT)} \\cdot {_within(right, POWER)}", PRODUCT
        case ast.Div():
            return f"\\frac{{{tex(left)}}}{{{tex(right)}}}", POWER
        case ast.Pow():
            return f"{_within(left, ATOM)}^{{{tex(right)}}}", POWER
        case _:
            raise Untold


def _is_one(node: ast.expr) -> bool:
    return isinstance(node, ast.Constant) and node.value == 1


def _call(name: str, arguments: list[ast.expr]) -> tuple[str, int]:
    """What laws are written with has a form of its own; any other function is shown as one."""
    if name == "sum":
        return f"\\sum {_summed(arguments)}", PRODUCT
    if name in READ_FROM:
        return name_tex(_named(arguments)), ATOM
    if name == "power":
        return f"{_within(arguments[0], ATOM)}^{{{tex(arguments[1])}}}", POWER
    parts = [tex(one) for one in arguments]
    if name == "saturation":
        return f"\\frac{{{parts[0]}}}{{{parts[1]} + {parts[0]}}}", POWER
    if name == "select":
        return _cases(f"{parts[0]} > 0", parts[1], parts[2]), ATOM
    if name == "sqrt":
        return f"\\sqrt{{{parts[0]}}}", ATOM
    return f"{FORMS.get(name) or name_tex(name)}\\left({', '.join(parts)}\\right)", ATOM


def _summed(arguments: list[ast.expr]) -> str:
    """`sum(parts[1:], parts[0])`, which begins with what is there so that any kind of number will do."""
    match arguments:
        case [ast.Subscript(value=ast.Name(id=name), slice=ast.Slice()), ast.Subscript()]:
            return name_tex(name)
        case _:
            raise Untold


def _named(arguments: list[ast.expr]) -> str:
    for one in arguments:
        if isinstance(one, ast.Constant) and isinstance(one.value, str):
            return one.value.replace(".", "_")
    raise Untold


def _cases(test: str, then: str, other: str) -> str:
    return f"\\begin{{cases}} {then} & \\text{{if }} {test} \\\\ {other} & \\text{{otherwise}} \\end{{cases}}"


def _test(node: ast.expr) -> str:
    signs: dict[type[ast.cmpop], str] = {
        ast.Gt: ">",
        ast.GtE: "\\geq",
        ast.Lt: "<",
        ast.LtE: "\\leq",
        ast.Eq: "=",
    }
    match node:
        case ast.Compare(left=left, ops=[sign], comparators=[right]) if type(sign) in signs:
            return f"{tex(left)} {signs[type(sign)]} {tex(right)}"
        case _:
            raise Untold
