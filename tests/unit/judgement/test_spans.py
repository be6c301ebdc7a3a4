import numpy as np
import pytest
from scipy.stats import binomtest

from backreef.judgement.spans import (
    day_when_share_passed,
    earliest,
    first_day,
    first_run_end,
    hits_allowed,
    share,
    wilson_interval,
)


def by_day(*members: str) -> np.ndarray[tuple[int, ...], np.dtype[np.bool_]]:
    """One string per member, one letter per day; x is outside."""
    return np.array([[letter == "x" for letter in member] for member in members]).T


def test_a_run_ends_on_its_last_day() -> None:
    assert first_run_end(by_day("..xxx.", "xxx...", "......"), 3).tolist() == [4, 2, -1]


def test_a_run_that_is_broken_begins_anew() -> None:
    assert first_run_end(by_day("xx.xx.", "x.x.x."), 3).tolist() == [-1, -1]


def test_the_first_of_two_runs_counts() -> None:
    assert first_run_end(by_day("xx.xxx"), 2).tolist() == [1]


def test_a_single_day_is_a_run_of_one() -> None:
    outside = by_day("..x", "x..", "...")
    assert first_run_end(outside, 1).tolist() == first_day(outside).tolist() == [2, 0, -1]


def test_a_share_counts_the_members_that_are_hit() -> None:
    assert share(np.array([True, False, False, True])) == 0.5
    assert share(np.zeros(0, dtype=bool)) == 0.0


def test_the_earliest_day_ignores_what_never_came() -> None:
    days = [np.array([5, -1, 7]), np.array([3, -1, -1])]
    assert earliest(days, 3).tolist() == [3, -1, 7]
    assert earliest([], 2).tolist() == [-1, -1]


def test_a_share_is_passed_by_one_member_more_than_it_holds() -> None:
    """One in twenty is allowed: of 64 members that is three, so the fourth breaks the plan."""
    never = np.full(64, -1)
    for broken, expected in ((3, None), (4, 40)):
        first = never.copy()
        first[:broken] = [10, 20, 30, 40][:broken]
        assert day_when_share_passed(first, 0.05) == expected


def test_rounding_does_not_count_a_member_twice() -> None:
    first = np.full(20, -1)
    first[0] = 5
    assert day_when_share_passed(first, 1 - 0.95) is None
    first[1] = 9
    assert day_when_share_passed(first, 1 - 0.95) == 9


@pytest.mark.parametrize(("hits", "members"), [(61, 64), (0, 10), (10, 10), (3, 7)])
def test_its_interval_is_that_of_wilson(hits: int, members: int) -> None:
    """Against scipy's interval of the same name, which knows nothing of ours."""
    expected = binomtest(hits, members).proportion_ci(0.95, method="wilson")
    assert wilson_interval(hits, members) == pytest.approx((expected.low, expected.high), abs=1e-12)


def test_nothing_is_known_of_no_members() -> None:
    assert wilson_interval(0, 0) == (0.0, 1.0)


def test_one_in_twenty_may_be_hit() -> None:
    # 5 % of 64 are 3.2, of 20 exactly one, of 8 none
    assert [hits_allowed(members, 0.05) for members in (64, 20, 8)] == [3, 1, 0]
