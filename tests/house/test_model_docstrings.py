import ast
import re
from itertools import pairwise

import pytest

from tests.house.repository import place, python_files, syntax

SECTIONS = ("Validity", "Source")
ELEMENTARY = "mathops.py"  # exp, log and their like hold for all numbers, on nobody's word


def public_functions(tree: ast.Module) -> list[ast.FunctionDef]:
    """The functions that other modules may call."""
    return [node for node in tree.body if isinstance(node, ast.FunctionDef) and not node.name.startswith("_")]


def missing_sections(function: ast.FunctionDef) -> list[str]:
    """Which of the sections a function of the models owes its reader."""
    lines = [line.strip() for line in (ast.get_docstring(function) or "").splitlines()]
    headings = {line for line, rule in pairwise(lines) if rule and set(rule) == {"-"}}
    return [section for section in SECTIONS if section not in headings]


def is_law(function: ast.FunctionDef) -> bool:
    """Whether the function computes a quantity, so that it has a range and a source."""
    return (
        function.returns is not None
        and re.search(r"\b(Quantity|float)\b", ast.unparse(function.returns)) is not None
    )


def test_every_law_of_the_models_says_where_it_holds_and_on_whose_word() -> None:
    found = [
        f"{place(path, function.lineno)}: {function.name} lacks {', '.join(gaps)}"
        for path in python_files("src/backreef/models/")
        for function in public_functions(syntax(path))
        if path.name != ELEMENTARY and is_law(function) and (gaps := missing_sections(function))
    ]
    assert not found, "\n".join(found)


@pytest.mark.parametrize(
    ("docstring", "missing"),
    [
        ("A rate.", ["Validity", "Source"]),
        ("A rate.\n\n    Validity\n    --------\n    Always.\n    ", ["Source"]),
        ("A rate. Validity and Source are given in prose.", ["Validity", "Source"]),
        ("A.\n\n    Validity\n    --------\n    Ever.\n\n    Source\n    ------\n    key, p. 1\n    ", []),
    ],
)
def test_it_notices_a_missing_section(docstring: str, missing: list[str]) -> None:
    function = ast.parse(f'def rate() -> float:\n    """{docstring}"""').body[0]
    assert isinstance(function, ast.FunctionDef)
    assert missing_sections(function) == missing
