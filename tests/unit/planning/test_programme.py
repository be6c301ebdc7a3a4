"""Programmes as plain data, and what the one door to the solver makes of them."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest

from backreef.planning.programme import WHOLE, Programme, Row, Solved, Variable, violated
from backreef.planning.solver import solve
from tests.planning_parts import near

ONE = Solved(status="feasible", value=3.0, bound=4.0, chosen={"a": 2.0000001, "b": 0.4})


@pytest.mark.parametrize(
    ("value", "bound", "gap"),
    [(3.0, 4.0, 0.25), (3.0, 3.0, 0.0), (5.0, 4.0, 0.0), (-3.0, -2.0, 0.5), (-1.0, 0.0, 1e6)],
)
def test_a_gap_is_what_is_missing_over_the_bound(value: float, bound: float, gap: float) -> None:
    assert replace(ONE, value=value, bound=bound).gap == near(gap)


def test_nothing_found_has_no_gap_and_counts_nothing() -> None:
    nothing = replace(ONE, chosen={})
    assert (nothing.found, math.isnan(nothing.gap), nothing.count("a")) == (False, True, 0)
    assert (ONE.found, ONE.count("a"), ONE.count("b"), ONE.count("none")) == (True, 2, 0, 0)


def row(low: float = -math.inf, high: float = math.inf, **terms: float) -> Row:
    return Row(rule="r", about="x", terms=terms, low=low, high=high)


def broken(one: Row, **chosen: float) -> bool:
    return bool(violated(Programme(variables=(), rows=(one,)), chosen))


def test_a_row_is_broken_by_more_than_the_solver_may_be_off() -> None:
    assert row().name == "r.x"
    assert not broken(row(a=2.0, b=-1.0, low=3.0, high=3.0), a=2.0, b=1.0)
    assert broken(row(a=1.0, low=1.0), b=5.0), "what was not chosen is none"
    for off, said in ((0.9 * WHOLE, False), (1.1 * WHOLE, True)):
        assert broken(row(a=1.0, low=1.0), a=1.0 - off) is said
        assert broken(row(a=1.0, high=1.0), a=1.0 + off) is said
        # the larger a coefficient, or the sum, the farther
        assert broken(row(a=-10.0, low=-10.0), a=1.0 + off) is said
        assert broken(row(a=1.0, high=50.0), a=50.0 + 50.0 * off) is said
        assert broken(row(a=0.1, high=1.0), a=10.0 + 10.0 * off) is said


def test_more_rows_and_another_aim_are_added_to_what_is_there() -> None:
    base = Programme(variables=(Variable(name="a", high=9.0),), rows=(row(a=1.0, high=7.0),))
    assert solve(base.aiming({"a": 1.0})).chosen == {"a": 7.0}
    assert solve(base.aiming({"a": 1.0}, row(a=2.0, high=7.0))).chosen == {"a": 3.0}
    assert solve(base.aiming({"a": -1.0}, row(a=1.0, low=1.5))).chosen == {"a": 2.0}
    assert solve(base).chosen == {"a": solve(base).chosen["a"]}


def test_whole_and_broken_variables_are_each_what_they_are() -> None:
    programme = Programme(
        variables=(
            Variable(name="whole", high=9.0),
            Variable(name="broken", low=-2.5, high=9.0, whole=False),
        ),
        rows=(row(whole=1.0, broken=1.0, low=-1.0, high=5.75),),
    )
    solved = solve(programme.aiming({"whole": 2.0, "broken": 1.0}))
    # nine whole ones and 2.5 less than none would be 6.5: eight and -2.25
    assert solved.chosen == {"whole": 8.0, "broken": near(-2.25)}
    assert (solved.value, solved.bound, solved.status) == (
        near(13.75),
        near(13.75),
        "optimal",
    )
    least = solve(programme.aiming({"whole": -2.0, "broken": -1.0}))
    assert least.chosen == {"whole": 0.0, "broken": near(-1.0)}


def test_without_whole_variables_there_is_an_answer_and_a_bound_too() -> None:
    programme = Programme(
        variables=(Variable(name="a", high=9.0, whole=False),), rows=(row(a=2.0, high=5.0),), aim={"a": 3.0}
    )
    solved = solve(programme)
    assert (solved.value, solved.bound) == (near(7.5), near(7.5))


def test_what_cannot_be_is_no_answer() -> None:
    never = Programme(variables=(Variable(name="a"),), rows=(row(a=1.0, low=2.0),))
    solved = solve(never)
    assert (solved.status, solved.found, solved.bound) == ("infeasible", False, -math.inf)
    assert math.isnan(solved.value)


def test_no_time_is_no_answer_or_one_without_proof() -> None:
    names = [f"x{number}" for number in range(60)]
    many = Programme(
        variables=tuple(Variable(name=name) for name in names),
        rows=tuple(
            row(
                low=-math.inf,
                high=17.3 + number,
                **{name: (7.0 * place * number) % 11.0 + 0.37 for place, name in enumerate(names)},
            )
            for number in range(1, 20)
        ),
        aim={name: (place * 13.0) % 7.0 + 1.0 for place, name in enumerate(names)},
    )
    solved = solve(many, limit_s=0.0)
    assert solved.status in ("unsolved", "feasible")
    assert not solved.found or solved.bound >= solved.value


@pytest.mark.parametrize(
    ("low", "high", "status"),
    [
        (-1.0, 1.0, "optimal"),
        (0.0, 0.0, "optimal"),
        (0.5 * WHOLE, 1.0, "optimal"),
        (2.0 * WHOLE, 1.0, "infeasible"),
        (-1.0, -2.0 * WHOLE, "infeasible"),
        (-1.0, -0.5 * WHOLE, "optimal"),
    ],
)
def test_nothing_to_decide_is_zero(low: float, high: float, status: str) -> None:
    solved = solve(Programme(variables=(), rows=(row(low=low, high=high),)))
    assert solved.status == status
    assert (solved.value, solved.bound) == (0.0, 0.0) or (
        math.isnan(solved.value) and solved.bound == -math.inf
    )
