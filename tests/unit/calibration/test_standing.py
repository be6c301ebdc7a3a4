"""A fit that goes on: what it takes in, what it refuses, and that it says what a fresh one says."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from functools import cache

import numpy as np
import pytest

from backreef.calibration import standing as standing_module
from backreef.calibration.evidence import course_of
from backreef.calibration.fit import Fit, fit_log, march_lived
from backreef.calibration.lives import Window, window_of
from backreef.calibration.smoother import Evidence, transform_of
from backreef.calibration.standing import (
    Standing,
    StartsAfresh,
    go_on,
    log_sum,
    moved_amounts,
    since_then,
    standing_of,
)
from backreef.logbook.entries import Chore, Entry, Feeding, Reading
from backreef.simulation.ensemble import Members
from tests.reconcile_world import entry, reading, small_plan, twin_log
from tests.twins import KITS, WentOn, go_on_with_twin, rms
from tests.unit.aquarium.plans import catalogue

MEMBERS = 32
FITTED, SINCE = [day + 0.8 for day in range(3, 39, 5)], [40.8, 44.8]
NITRATE = "nitrate_mg_n_per_l"
FED_DOUBLE = Feeding(portion_ratio=2.0, written="double")


@cache
def log() -> tuple[Entry, ...]:
    change = entry("change", 20.5, Chore(task="wc_do", share_frac=0.2, written="20 %"))
    return (*twin_log(1, FITTED + SINCE), change)


def before(day: float) -> list[Entry]:
    return [one for one in log() if one.at < entry("then", day, one.what).at]


def window(entries: Sequence[Entry]) -> Window:
    return window_of(small_plan(), catalogue(), entries, since_day=0, weeks_ahead=2)


@cache
def fitted() -> tuple[Fit, Standing]:
    here = window(before(40))
    fit = fit_log(here.lived, here.taken, members=MEMBERS, seed=1)
    planned = march_lived(here.planned, fit.before, here.rows, morning=here.last_day)
    return fit, standing_of(fit, planned, here)


def at_the_end(members: Members, here: Window) -> dict[str, np.ndarray]:
    return {name: course_of(name, here.lived.prepared.layout, members)[-1] for name in KITS}


def test_with_nothing_since_it_is_the_fit_that_stands() -> None:
    fit, standing = fitted()
    here = window([*before(40), entry("fed", 41.5, FED_DOUBLE)])
    on, planned = go_on(standing, here)
    assert all(np.array_equal(on.after.learned[name], fit.after.learned[name]) for name in standing.names)
    assert np.allclose(on.foretold_after, fit.foretold_after, atol=0.02)
    now, then = at_the_end(on.marched, here), at_the_end(fit.marched, here)
    assert all(now[name] == pytest.approx(then[name], rel=0.01) for name in KITS)
    assert planned.row(here.lived.prepared.layout.address("V")).shape == fit.marched.row(0 + 1).shape


def test_with_readings_since_it_says_what_a_fresh_fit_says() -> None:
    here = window(log())
    on, _ = go_on(fitted()[1], here)
    fresh = fit_log(here.lived, here.taken, members=MEMBERS, seed=1)
    one, other = at_the_end(on.marched, here), at_the_end(fresh.marched, here)
    for name in KITS:
        apart = abs(np.median(one[name]) - np.median(other[name]))
        assert apart < other[name].std(), name
        assert 0.5 < one[name].std() / other[name].std() < 2.0, name
    assert on.taken == here.taken
    assert on.foretold_after.shape == fresh.foretold_after.shape
    assert all(np.all(np.isfinite(values)) for values in on.after.learned.values())


def corrected(entries: Sequence[Entry]) -> list[Entry]:
    first = entries[0]
    assert isinstance(first.what, Reading)
    return [replace(first, revision=2, what=replace(first.what, value=first.what.value + 1)), *entries[1:]]


@pytest.mark.parametrize(
    ("entries", "why"),
    [
        (lambda: corrected(log()), "is not as it was"),
        (lambda: log()[1:], "is not as it was"),
        (lambda: [*log(), entry("old", 12.8, reading(NITRATE, 2.0))], "is not as it was"),
        (
            lambda: [*log(), entry("fed", 12.8, Feeding(portion_ratio=2.0, written="double"))],
            "is not as it was",
        ),
        (lambda: [*log(), entry("late", 70.8, reading(NITRATE, 2.0))], "older than 28 days"),
        (
            lambda: [*log(), entry("next", 43.5, Chore(task="wc_do", share_frac=0.1, written="10 %"))],
            "counts as done before",
        ),
        (lambda: [*log(), entry("high", 44.9, reading("alkalinity_meq_per_l", 9.0))], ""),
    ],
    ids=["corrected", "withdrawn", "old date", "old feeding", "weeks later", "work between", "a slip since"],
)
def test_what_was_before_is_fitted_afresh_where_it_is_otherwise(entries: object, why: str) -> None:
    assert callable(entries)
    here = window(entries())
    if why:
        with pytest.raises(StartsAfresh, match=why):
            go_on(fitted()[1], here)
        return
    on, _ = go_on(fitted()[1], here)
    assert [here.taken[doubt.place].entry.id for doubt in on.doubts] == ["high"]


def test_a_reading_from_before_the_window_counts_by_what_the_plan_begins_with() -> None:
    sums = []
    for value in (2.0, 2.0, 3.0):
        early = entry("early", 5.8, reading(NITRATE, value))
        here = window_of(small_plan(), catalogue(), [early, *log()], since_day=10, weeks_ahead=1)
        assert early not in here.entries
        sums.append(log_sum(here, here.last_day, ()))
    assert sums[0] == sums[1] != sums[2]


def test_readings_that_say_too_much_for_one_step_are_taken_in_twice() -> None:
    since = [entry(f"m{day}", day + 0.9, reading(NITRATE, 5.0, "photometer")) for day in (40, 43)]
    on, _ = go_on(fitted()[1], window([*before(40), *since]))
    assert len(on.steps) == len(fitted()[1].steps) + 2


def test_readings_that_say_too_much_for_two_steps_are_fitted_afresh() -> None:
    since = [entry(f"m{day}", day + 0.9, reading(NITRATE, 30.0, "photometer")) for day in range(39, 46)]
    with pytest.raises(StartsAfresh):
        go_on(fitted()[1], window([*before(40), *since]))


def test_a_fit_whose_last_readings_were_all_withdrawn_is_not_gone_on_from() -> None:
    """Not even where its window holds no reading any more."""
    here = window_of(small_plan(), catalogue(), before(20), since_day=30, weeks_ahead=2)
    assert here.since_day == 0
    with pytest.raises(StartsAfresh, match="is not as it was"):
        go_on(fitted()[1], here)


def test_going_on_has_a_luck_of_its_own(monkeypatch: pytest.MonkeyPatch) -> None:
    """The members bear the luck of their fit: with the same again they would not be independent of it."""
    lucks = []

    def noted(
        foretold: np.ndarray, evidence: Evidence, *, inflation: float, rng: np.random.Generator
    ) -> object:
        lucks.append(rng.standard_normal(MEMBERS))
        raise StartsAfresh

    monkeypatch.setattr(standing_module, "transform_of", noted)
    with pytest.raises(StartsAfresh):
        go_on(fitted()[1], window(log()))
    of_fit = np.random.default_rng(np.random.Philox(key=1)).standard_normal(MEMBERS)
    assert not np.array_equal(lucks[0], of_fit)


def test_a_kit_that_read_too_high_before_is_expected_to_do_so_again() -> None:
    """The conditional mean and variance of two errors with a common part, in closed form."""
    common, whole = 0.5, 1.0
    errors = np.array([[whole, common], [common, whole]])
    evidence = Evidence(seen=np.array([3.0, 5.0]), errors=errors)
    foretold = np.array([[2.0, 3.0], [5.0, 5.0]])
    known = np.array([True, False])
    said, left = since_then(foretold, evidence, known=known, new=~known)
    assert said == pytest.approx(np.array([[5.0 + common / whole, 5.0]]))
    assert left.errors == pytest.approx(np.array([[whole - common**2 / whole]]))
    assert left.seen.tolist() == [5.0]


def test_amounts_are_moved_within_what_some_member_had_and_none_where_one_has_none() -> None:
    rng = np.random.default_rng(4)
    amounts = np.exp(rng.standard_normal((3, 64)))
    amounts[1, 0], amounts[2] = 0.0, 7.0
    seen = Evidence(seen=np.array([3.0]), errors=np.array([[0.01]]))
    step = transform_of(np.log(amounts[:1]), seen, inflation=1.0, rng=rng)
    moved = moved_amounts(amounts, step)
    assert np.median(moved[0]) > 3 * np.median(amounts[0])
    assert moved[0].max() <= amounts[0].max()
    assert np.array_equal(moved[1:], amounts[1:])


@cache
def twins(kind: str) -> tuple[WentOn, ...]:
    """Both ends of a hundred tanks whose log of the last weeks was gone on with, where it could be."""
    found = [
        go_on_with_twin(kind, number // 8, number % 8, members=96, since_day=64)[0] for number in range(100)
    ]
    return tuple(one for each in found for one in each.values())


def error(rows: Sequence[WentOn], which: str) -> float:
    return rms([getattr(one, which) - one.truth for one in rows])


@pytest.mark.long
@pytest.mark.parametrize("kind", ["established", "seeded"])
def test_a_hundred_twins_that_go_on_are_as_near_and_as_sure_as_those_fitted_afresh(kind: str) -> None:
    rows = twins(kind)
    assert len(rows) > 100
    assert error(rows, "on") < 1.1 * error(rows, "fresh")
    assert 0.85 <= np.mean([one.on_within for one in rows]) <= 0.97
