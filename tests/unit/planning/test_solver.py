from __future__ import annotations

import math
import sys
from subprocess import run

import pytest

from backreef.planning.programme import Programme, Row, Variable, violated
from backreef.planning.solver import solve

# 3a + 4b with 2a + 3b <= 11 and whole a <= 3, b <= 5: a = 1 and b = 3 fill it exactly and give 15;
# a = 3 leaves room for b = 1 (13), a = 2 for b = 2 (14), a = 0 for b = 3 (12).
KNAPSACK = Programme(
    variables=(Variable(name="a", high=3.0), Variable(name="b", high=5.0)),
    rows=(Row(rule="room", about="all", terms={"a": 2.0, "b": 3.0}, high=11.0),),
    aim={"a": 3.0, "b": 4.0},
)


def test_it_finds_and_proves_the_best_choice() -> None:
    solved = solve(KNAPSACK)
    assert (solved.status, solved.value, solved.bound, solved.gap) == ("optimal", 15.0, 15.0, 0.0)
    assert solved.chosen == {"a": 1.0, "b": 3.0}
    assert violated(KNAPSACK, solved.chosen) == []


def test_it_says_when_there_is_none() -> None:
    rows = Row(rule="least", about="all", terms={"a": 1.0}, low=4.0)
    solved = solve(KNAPSACK.aiming(KNAPSACK.aim, rows))
    assert (solved.status, solved.found) == ("infeasible", False)
    assert math.isnan(solved.gap)


def test_a_continuous_variable_may_be_broken() -> None:
    programme = Programme(
        variables=(Variable(name="t", low=-10.0, high=10.0, whole=False),),
        rows=(Row(rule="room", about="t", terms={"t": 3.0}, high=1.0),),
        aim={"t": 1.0},
    )
    assert solve(programme).value == pytest.approx(1 / 3)


@pytest.mark.parametrize(("low", "status"), [(0.0, "optimal"), (1.0, "infeasible")])
def test_nothing_to_decide_holds_or_not(low: float, status: str) -> None:
    rows = (Row(rule="least", about="all", terms={}, low=low),)
    assert solve(Programme(variables=(), rows=rows)).status == status


def test_a_broken_row_is_named() -> None:
    assert [row.name for row in violated(KNAPSACK, {"a": 3.0, "b": 2.0})] == ["room.all"]


def test_it_writes_nothing_to_standard_output() -> None:
    code = (
        "from backreef.planning.programme import Programme, Variable;"
        "from backreef.planning.solver import solve;"
        "solve(Programme(variables=(Variable(name='a'),), rows=(), aim={'a': 1.0}))"
    )
    done = run([sys.executable, "-c", code], capture_output=True, check=True)
    assert done.stdout == b""
