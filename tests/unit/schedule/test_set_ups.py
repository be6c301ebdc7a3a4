"""The least set-up minutes, against trying every choice of days and lengths."""

from __future__ import annotations

from itertools import product

import numpy as np
import pytest

from backreef.schedule.set_ups import SetUp, Wish, least_set_ups, served_by

DAYS = 6


def wish(first: int, last: int, minutes: float) -> Wish:
    return Wish(first=first, last=last, setup_minutes=minutes)


def tried(wishes: list[Wish]) -> float:
    """Least minutes over every choice of a length, or none, for each day."""
    lengths = (0.0, *sorted({each.setup_minutes for each in wishes}))
    best = float("inf")
    for choice in product(lengths, repeat=DAYS):
        served = all(
            any(choice[day] >= each.setup_minutes for day in range(each.first, each.last + 1))
            for each in wishes
        )
        if served:
            best = min(best, sum(choice))
    return best


@pytest.mark.parametrize("seed", range(60))
def test_no_choice_of_days_and_lengths_takes_fewer_minutes(seed: int) -> None:
    luck = np.random.default_rng(seed)
    lengths = [(8.0, 5.0), (3.0, 1.0), (7.0, 4.0, 2.0)][seed % 3]
    wishes = []
    for _ in range(int(luck.integers(1, 7))):
        first = int(luck.integers(0, DAYS))
        wishes.append(wish(first, int(luck.integers(first, DAYS)), float(luck.choice(lengths))))
    found = least_set_ups(wishes)
    assert sum(each.minutes for each in found) == pytest.approx(tried(wishes))
    assert all(served_by(each, found) in found for each in wishes)


def test_three_short_set_ups_can_be_less_than_two_long_ones() -> None:
    # by hand: the long ones share day 4 only; the short ones end before and begin after it
    wishes = [wish(3, 4, 3.0), wish(4, 5, 3.0), wish(1, 3, 1.0), wish(5, 7, 1.0)]
    found = least_set_ups(wishes)
    assert sum(each.minutes for each in found) == 5.0
    assert [each.minutes for each in found] == [1.0, 3.0, 1.0]


def test_of_one_length_it_takes_the_fewest() -> None:
    found = least_set_ups([wish(0, 2, 5.0), wish(2, 4, 5.0), wish(4, 5, 5.0)])
    assert found[0] == SetUp(day=2, minutes=5.0)
    assert len(found) == 2


def test_nothing_wanted_needs_nothing() -> None:
    assert least_set_ups([]) == ()


def test_years_of_chores_are_solved_at_once() -> None:
    wishes = [wish(7 * week, 7 * week + 3, 5.0) for week in range(156)]
    wishes += [wish(30 * month, 30 * month + 20, 8.0) for month in range(36)]
    found = least_set_ups(wishes)
    assert sum(each.minutes for each in found) == 156 * 5 + 36 * 3
