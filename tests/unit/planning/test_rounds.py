"""The rounds of a carer: fewest visits first, then the shortest longest day; all choices of days agree."""

from __future__ import annotations

from itertools import product

import hypothesis.strategies as st
import pytest
from hypothesis import given

from backreef.planning.rounds import Job, Rounds, _stops, rounds_of
from tests.searching import tries


def job(tank: str, *days: int, minutes: float = 10.0, setup: float = 5.0, group: str = "wet") -> Job:
    return Job(
        tank=tank, what="work", minutes=minutes, setup_group=group, setup_minutes=setup, days=tuple(days)
    )


def worth(week: Rounds) -> tuple[int, float]:
    return len(week.stops), max(week.minutes_by_day.values(), default=0.0)


def best_of_all(jobs: list[Job]) -> tuple[int, float]:
    """Visits and longest day of the best of all choices of days."""
    every = product(*(one.days for one in jobs))
    return min(worth(Rounds(stops=_stops(jobs, dict(enumerate(days))), proven=True)) for days in every)


def test_work_at_one_tank_is_done_on_one_visit() -> None:
    week = rounds_of([job("a", 0, 1, 2), job("a", 2, 3), job("a", 2, 6)])
    assert [(stop.day, stop.tank, len(stop.jobs)) for stop in week.stops] == [(2, "a", 3)]
    assert week.stops[0].minutes == 35.0
    assert week.proven


def test_tanks_are_spread_over_the_days() -> None:
    week = rounds_of([job("a", 0, 1), job("b", 0, 1), job("c", 0, 1, minutes=20.0)])
    assert worth(week) == (3, 30.0)
    assert sorted(week.minutes_by_day.values()) == [25.0, 30.0]


def test_settled_work_stays_where_it_is() -> None:
    week = rounds_of([job("a", 4), job("a", 0, 1, 2, 3, 4), job("b", 1)])
    assert [(stop.day, stop.tank) for stop in week.stops] == [(1, "b"), (4, "a")]


def test_a_week_without_work_is_empty() -> None:
    assert rounds_of([]) == Rounds(stops=(), proven=True)


def test_work_without_a_day_is_refused() -> None:
    with pytest.raises(ValueError, match="no day for work at a"):
        rounds_of([job("a")])


jobs_of_a_week = st.lists(
    st.builds(
        job,
        st.sampled_from("abc"),
        st.integers(0, 3),
        minutes=st.sampled_from((5.0, 10.0, 20.0)),
        setup=st.sampled_from((0.0, 5.0)),
        group=st.sampled_from(("wet", "dry")),
    ).flatmap(
        lambda one: st.sets(st.integers(0, 3), min_size=1, max_size=3).map(
            lambda days: Job(
                tank=one.tank,
                what=one.what,
                minutes=one.minutes,
                setup_group=one.setup_group,
                setup_minutes={"wet": 5.0, "dry": 2.0}[one.setup_group],
                days=tuple(sorted(days)),
            )
        )
    ),
    min_size=1,
    max_size=6,
)


@tries(30)
@given(jobs_of_a_week)
def test_no_choice_of_days_is_better_and_the_order_of_the_work_changes_nothing(jobs: list[Job]) -> None:
    week = rounds_of(jobs)
    assert week.proven
    assert sorted(one.what for stop in week.stops for one in stop.jobs) == sorted(one.what for one in jobs)
    assert all(stop.day in one.days for stop in week.stops for one in stop.jobs)
    visits, longest = best_of_all(jobs)
    assert worth(week)[0] == visits
    assert worth(week)[1] == pytest.approx(longest, abs=1e-6)
    assert worth(rounds_of(jobs[::-1])) == pytest.approx(worth(week), abs=1e-6)
