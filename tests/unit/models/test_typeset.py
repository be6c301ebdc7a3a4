"""Equations that are set as mathematics say what the code does."""

from __future__ import annotations

import ast
import itertools
import re

import pytest

from backreef.models.mathops import Quantity, saturation, select
from backreef.models.matrix import packaged_matrix
from backreef.models.typeset import Untold, equations, name_tex, put_in, tex

SIGNS = ("+", "-", "*", "/", "**")


def of(text: str) -> str:
    return tex(ast.parse(text, mode="eval").body)


def read_back(said: str) -> str:
    """Python from TeX of sums, products, fractions and powers; fractions from the innermost on."""
    said = said.replace("\\left(", "(").replace("\\right)", ")").replace("\\cdot", "*")
    while (step := re.sub(r"\\frac\{([^{}]*)\}\{([^{}]*)\}|\^\{([^{}]*)\}", _plain, said)) != said:
        said = step
    return said


def _plain(found: re.Match[str]) -> str:
    over, under, exponent = found.groups()
    return f"**({exponent})" if exponent else f"(({over})/({under}))"


@pytest.mark.parametrize("signs", list(itertools.product(SIGNS, repeat=3)), ids=" ".join)
def test_brackets_are_where_they_are_needed(signs: tuple[str, str, str]) -> None:
    a, b, c = signs
    for text in (
        f"x {a} y {b} z {c} w",
        f"(x {a} y) {b} (z {c} w)",
        f"x {a} (y {b} (z {c} w))",
        f"-(x {a} y) {b} -z {c} w",
    ):
        here = {"x": 1.1, "y": 1.3, "z": 1.7, "w": 0.6}
        assert eval(read_back(of(text)), {}, here) == pytest.approx(eval(text, {}, here)), text


def test_names_become_signs_with_their_units_below() -> None:
    assert name_tex("V") == "V"
    assert name_tex("k_la") == r"k_{\text{la}}"
    assert name_tex("O2") == "O_2"
    assert name_tex("omega") == r"\omega"
    assert name_tex("temperature_c") == r"\text{temperature}_{\text{c}}"
    assert name_tex("half_oxygen") == r"\text{half oxygen}"
    assert name_tex("KELVIN_AT_0_C") == r"\text{KELVIN AT 0 C}"


def monod(x: Quantity, half: Quantity) -> Quantity:
    share = saturation(x, half)
    return select(x - half, 2.0 * share, 1e-9)


CASES = (
    r"\begin{cases} 2 \cdot \text{share} & \text{if } x - \text{half} > 0 \\ "
    r"10^{-9} & \text{otherwise} \end{cases}"
)


def test_a_function_is_a_line_for_each_thing_that_it_names() -> None:
    assert equations(monod) == [
        r"\text{share} &= \frac{x}{\text{half} + x}",
        r"\text{monod} &= " + CASES,
    ]


def pace(rate: Quantity, amount: Quantity) -> Quantity:
    return rate * amount


def test_arguments_give_way_to_what_they_are_called_with() -> None:
    assert put_in(pace, {"rate": "k_a + k_b", "amount": "X_POM/V"}) == (
        r"\left(k_{\text{a}} + k_{\text{b}}\right) \cdot \frac{X_{\text{POM}}}{V}"
    )
    with pytest.raises(Untold):
        put_in(monod, {"x": "a", "half": "b"})


def _one_name_for_two_things(known: dict[str, float]) -> float:
    heads = 1.0 + known["heads"]
    return heads * known["heads"]


def _in_a_loop(x: float) -> float:
    for _ in range(3):
        x = x / 2.0
    return x


@pytest.mark.parametrize("law", [_one_name_for_two_things, _in_a_loop])
def test_what_is_no_equation_is_refused(law: object) -> None:
    assert callable(law)
    with pytest.raises(Untold):
        equations(law)


def test_every_law_of_the_matrix_is_set() -> None:
    for process in packaged_matrix().processes:
        assert equations(process.law)
