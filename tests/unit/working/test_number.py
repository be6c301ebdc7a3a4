from __future__ import annotations

import copy
import pickle

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from backreef.models.mathops import exp, log, ramp, select, smooth_minimum, sqrt
from backreef.working.formula import NotAFormula, value_of
from backreef.working.number import Worked, total
from backreef.working.record import leaf
from backreef.working.steps import About
from backreef.working.tree import literals_of, tree_of

ROOT = About(symbol="result", key="result", kind="law")
NUMBERS = st.floats(min_value=0.01, max_value=100.0)


def read(name: str, value: float) -> Worked:
    return leaf(value, About(symbol=name, key=name, kind="constant"))


def formula_of(value: float) -> str:
    return tree_of(value, ROOT).root.formula


@pytest.mark.parametrize(
    ("value", "formula"),
    [
        (read("a", 2.0) + read("b", 3.0) * 4.0, "a + b * 4"),
        ((read("a", 2.0) + read("b", 3.0)) * 4.0, "(a + b) * 4"),
        (1.0 - (read("a", 2.0) - read("b", 3.0)), "1 - (a - b)"),
        (8.0 / (read("a", 2.0) / read("b", 3.0)), "8 / (a / b)"),
        ((read("a", 2.0) ** 2.0) ** 3.0, "(a ** 2) ** 3"),
        ((-read("a", 2.0)) ** 2.0, "(-a) ** 2"),
        (-(read("a", 2.0) * 3.0), "-(a * 3)"),
        (read("a", 2.0) - -1.5, "a - -1.5"),
        (round(read("a", 2.345), 2), "round(a, 2)"),
        (read("a", 2.0) * read("a", 5.0), "a * a_2"),
        (sum([read("a", 2.0), read("b", 3.0)]), "a + b"),
    ],
)
def test_a_formula_says_what_was_computed(value: float, formula: str) -> None:
    tree = tree_of(value, ROOT)
    assert tree.root.formula == formula
    assert tree.recomputed() == tree.root.value == value


def test_a_number_that_changes_nothing_leaves_no_step() -> None:
    a = read("a", 2.0)
    assert (a + 0.0) is a
    assert (0.0 + a) is a
    assert (a * 1.0) is a
    assert (a / 1.0) is a


@given(NUMBERS, NUMBERS, NUMBERS)
def test_a_law_leaves_its_working_and_gives_the_same_number(a: float, b: float, c: float) -> None:
    def law(x: float, y: float, z: float) -> float:
        shrunk = smooth_minimum(x, ramp(y - z, 0.5)) + select(x - y, exp(-z / 100.0), sqrt(z))
        found: float = (shrunk + log(x + 1.0)) / (1.0 + y**0.8)
        return found

    found = law(read("a", a), read("b", b), read("c", c))
    assert isinstance(found, Worked)
    assert found == pytest.approx(float(law(a, b, c)), rel=1e-12)
    assert tree_of(found, ROOT).recomputed() == pytest.approx(found, rel=1e-12)


def test_a_sum_counts_what_stands_there_several_times() -> None:
    a, b = read("a", 2.0), read("b", 3.0)
    assert formula_of(total([a, b, a, a])) == "sum(3 * a, b)"
    assert total([a, b, a, a]) == 9.0
    assert total([1.0, 2.0]) == 3.0
    assert not isinstance(total([1.0, 2.0]), Worked)


def test_arrays_take_it_as_a_plain_number() -> None:
    found = np.array([1.0, 2.0]) * read("a", 2.0)
    assert found.tolist() == [2.0, 4.0]
    assert np.array([read("a", 2.0)]).dtype == np.float64


def test_copies_are_plain() -> None:
    for other in (copy.deepcopy(read("a", 2.0)), pickle.loads(pickle.dumps(read("a", 2.0)))):
        assert type(other) is float
        assert other == 2.0


def test_it_prints_as_a_number() -> None:
    assert f"{read('a', 2.5):.2f} {read('a', 2.5)}" == "2.50 2.5"


def test_it_tells_the_numbers_without_a_name() -> None:
    assert literals_of(read("a", 2.0) * 7.0 + 0.83112) == {7.0, 0.83112}


@pytest.mark.parametrize(
    "text", ["a + c", "open('x')", "a.b", "a[0]", "a if b else a", "'a'", "a +", "a and b"]
)
def test_nothing_else_is_a_formula(text: str) -> None:
    with pytest.raises(NotAFormula):
        value_of(text, {"a": 1.0, "b": 2.0})
