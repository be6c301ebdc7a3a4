"""The least set-ups and visits, against trying every choice and against an integer programme."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import combinations, product

import numpy as np
import pytest

from backreef.planning.programme import Programme, Row, Variable
from backreef.planning.solver import solve
from backreef.schedule.visit_days import Need, Standing, VisitDays, least_visits

DAYS = 5
LENGTHS = {"bench": (3.0, 1.0), "buckets": (8.0, 5.0, 2.0), "": (0.0,)}
NOTHING = Standing()


def a_need(first: int, last: int, group: str = "bench", minutes: float = 3.0) -> Need:
    return Need(first=first, last=last, group=group, setup_minutes=minutes)


def drawn(seed: int, *, days: int, count: int, longest: int) -> tuple[list[Need], Standing]:
    luck = np.random.default_rng(seed)
    needs = []
    for _ in range(count):
        group = str(luck.choice(list(LENGTHS)))
        first = int(luck.integers(0, days))
        last = min(days - 1, first + int(luck.integers(0, longest)))
        needs.append(a_need(first, last, group, float(luck.choice(LENGTHS[group]))))
    there = frozenset(int(day) for day in luck.integers(0, days, size=days // 5) if seed % 2)
    spent = {(int(luck.integers(0, days)), "buckets"): 2.0, (min(there, default=0), "bench"): 1.0}
    return needs, Standing(visits=there, set_ups=spent if seed % 3 else {})


def tried(needs: Sequence[Need], standing: Standing) -> tuple[float, int]:
    """Least minutes and visits over every set of days and, for each group, every length on each of them."""
    best = (float("inf"), 0)
    groups = {need.group for need in needs}
    for size in range(DAYS + 1):
        for days in combinations(range(DAYS), size):
            minutes = sum(_of_group(group, days, needs, standing) for group in groups)
            best = min(best, (minutes, len(set(days) - standing.visits)))
    return best


def _of_group(group: str, days: Sequence[int], needs: Sequence[Need], standing: Standing) -> float:
    own = [need for need in needs if need.group == group]
    least = float("inf")
    for lengths in product((0.0, *LENGTHS[group]), repeat=len(days)):
        stands = [standing.set_ups.get((day, group), 0.0) for day in days]
        spent = [max(pair) for pair in zip(lengths, stands, strict=True)]
        met = all(
            any(
                each.first <= day <= each.last and long >= each.setup_minutes
                for day, long in zip(days, spent, strict=True)
            )
            for each in own
        )
        if met:
            least = min(least, sum(spent) - sum(stands))
    return least


@pytest.mark.parametrize("seed", range(120))
def test_no_choice_of_days_and_lengths_is_less(seed: int) -> None:
    needs, standing = drawn(seed, days=DAYS, count=1 + seed % 7, longest=DAYS)
    found = least_visits(needs, standing)
    assert (found.setup_minutes, found.own_visits) == tried(needs, standing)
    _is_a_choice(found, needs, standing)


@pytest.mark.parametrize("seed", range(6))
def test_an_integer_programme_finds_no_less_in_half_a_year(seed: int) -> None:
    needs, standing = drawn(seed, days=180, count=90, longest=12)
    found = least_visits(needs, standing)
    solved = solve(_programme(needs, standing, days=180))
    assert solved.status == "optimal"
    assert 1000 * found.setup_minutes + found.own_visits == pytest.approx(-solved.value)
    _is_a_choice(found, needs, standing)


def _is_a_choice(found: VisitDays, needs: Sequence[Need], standing: Standing) -> None:
    """It meets every need, and takes what it says."""
    assert all(any(found.meets(need, day) for day in found.visits) for need in needs)
    assert len(set(found.visits) - standing.visits) == found.own_visits
    more = (spent - standing.set_ups.get(place, 0.0) for place, spent in found.set_ups.items())
    assert sum(more) == pytest.approx(found.setup_minutes)


def _programme(needs: Sequence[Need], standing: Standing, *, days: int) -> Programme:
    """The same as variables and rows: visits by day, set-ups by day, group and length; minutes count most."""
    visits = {day: f"visit {day}" for day in range(days)}
    aim = {name: 0.0 if day in standing.visits else -1.0 for day, name in visits.items()}
    set_ups = {}
    for day, group in product(range(days), LENGTHS):
        for minutes in LENGTHS[group]:
            name = f"{group} {minutes} on {day}"
            set_ups[day, group, minutes] = name
            aim[name] = -1000.0 * max(0.0, minutes - standing.set_ups.get((day, group), 0.0))
    rows = [
        Row(rule="there", about=name, terms={name: 1.0, visits[day]: -1.0}, high=0.0)
        for (day, _, _), name in set_ups.items()
    ]
    rows += [
        Row(rule="once", about=f"{group} {day}", terms=dict.fromkeys(names, 1.0), high=1.0)
        for (day, group), names in _together(set_ups)
    ]
    for number, need in enumerate(needs):
        within = {
            name: 1.0
            for (day, group, minutes), name in set_ups.items()
            if group == need.group and need.first <= day <= need.last and minutes >= need.setup_minutes
        }
        rows.append(Row(rule="met", about=str(number), terms=within, low=1.0))
    variables = tuple(Variable(name=name) for name in aim)
    return Programme(variables=variables, rows=tuple(rows), aim=aim)


def _together(set_ups: dict[tuple[int, str, float], str]) -> Iterator[tuple[tuple[int, str], list[str]]]:
    of_day: dict[tuple[int, str], list[str]] = {}
    for (day, group, _), name in set_ups.items():
        of_day.setdefault((day, group), []).append(name)
    yield from of_day.items()


def test_three_short_set_ups_can_be_less_than_two_long_ones() -> None:
    # by hand: the long ones share day 4 only; the short ones end before and begin after it
    needs = [a_need(3, 4), a_need(4, 5), a_need(1, 3, minutes=1.0), a_need(5, 7, minutes=1.0)]
    found = least_visits(needs)
    assert found.setup_minutes == 5.0
    assert sorted(found.set_ups.values()) == [1.0, 1.0, 3.0]


def test_minutes_come_before_visits() -> None:
    # by hand: one set-up serves both on day 4; to save a visit it would have to be spent twice
    needs = [a_need(0, 4), a_need(4, 8), Need(first=0, last=1), Need(first=7, last=8)]
    found = least_visits(needs)
    assert (found.setup_minutes, found.own_visits) == (3.0, 3)


def test_groups_meet_on_one_visit() -> None:
    needs = [a_need(0, 6), a_need(4, 9, "buckets", 8.0), Need(first=5, last=12)]
    found = least_visits(needs)
    assert (found.setup_minutes, found.own_visits) == (11.0, 1)
    assert set(found.visits) <= {5, 6}


def test_what_stands_is_free_and_may_be_made_longer() -> None:
    # by hand: a set-up of 2 stands on day 3; one of 8 there takes 6 more, and anew 8
    standing = Standing(visits=frozenset({3}), set_ups={(3, "buckets"): 2.0})
    needs = [a_need(0, 9, "buckets", 8.0), a_need(0, 5, "buckets", 2.0)]
    found = least_visits(needs, standing)
    assert (found.setup_minutes, found.own_visits) == (6.0, 0)
    assert found.set_ups == {(3, "buckets"): 8.0}


def test_nothing_wanted_needs_nothing() -> None:
    assert least_visits([]) == VisitDays(visits=(), set_ups={}, setup_minutes=0.0, own_visits=0)
    assert least_visits([], Standing(visits=frozenset({4}))).visits == (4,)


def test_a_shorter_window_never_needs_less() -> None:
    luck = np.random.default_rng(5)
    needs, _ = drawn(5, days=60, count=40, longest=9)
    before = least_visits(needs, NOTHING)
    for _ in range(10):
        at = int(luck.integers(len(needs)))
        tight = Need(
            first=needs[at].last,
            last=needs[at].last,
            group=needs[at].group,
            setup_minutes=needs[at].setup_minutes,
        )
        after = least_visits([*needs[:at], tight, *needs[at + 1 :]], NOTHING)
        assert (after.setup_minutes, after.own_visits) >= (before.setup_minutes, before.own_visits)


def test_years_of_chores_are_solved_at_once() -> None:
    # by hand: weekly windows of four days hold the monthly ones' last week; each long set-up takes 3 more
    needs = [a_need(7 * week, 7 * week + 3, "buckets", 5.0) for week in range(156)]
    needs += [a_need(30 * month, 30 * month + 20, "buckets", 8.0) for month in range(36)]
    found = least_visits(needs)
    assert found.setup_minutes == 156 * 5 + 36 * 3
    assert found.own_visits == 156
