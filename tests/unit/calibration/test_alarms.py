from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from backreef.calibration.alarms import (
    Change,
    Field,
    Suspect,
    by_luck,
    greatest_change,
    is_alarm,
    likeness,
    shares_of,
    suspects,
)
from backreef.calibration.evidence import Scale, taken_of
from backreef.calibration.tables import Cause, all_causes, number
from backreef.calibration.workings import told_suspect
from backreef.units import ion_per_element_ratio
from backreef.working.record import recording
from backreef.working.steps import About
from backreef.working.tree import tree_of
from tests.number_census import check_tree
from tests.reconcile_world import entry, reading, small_plan

NITRATE, PHOSPHATE = "nitrate_mg_n_per_l", "phosphate_mg_p_per_l"
COUNT = 12


def field(nitrate: np.ndarray, phosphate: np.ndarray | None = None, *, error: float = 0.3) -> Field:
    """Weekly readings of a tank that stays as it is: misses in even units around what was foretold."""
    days = [7.0 * week + 3.0 for week in range(1, COUNT + 1)]
    entries = [entry(f"n{day}", day, reading(NITRATE, 3.0)) for day in days]
    entries += [entry(f"p{day}", day, reading(PHOSPHATE, 0.03)) for day in days]
    taken, _ = taken_of(entries, small_plan().start_on)
    both = {NITRATE: iter(nitrate), PHOSPHATE: iter(np.zeros(COUNT) if phosphate is None else phosphate)}
    return Field(
        taken=taken,
        missed=np.array([next(both[one.series.series]) for one in taken]),
        covariance=error**2 * np.eye(len(taken)),
        common_errors=np.full(len(taken), 0.2),
        scale=Scale(taken),
        errors=error**2 * np.eye(len(taken)),
        apart=np.zeros((len(taken), 40)),
    )


def noise(seed: int) -> np.ndarray:
    return 0.3 * np.random.default_rng(seed).standard_normal(COUNT)


def from_week(week: int, size: float) -> np.ndarray:
    return size * (np.arange(COUNT) >= week)


def change(found: Field) -> Change:
    result = greatest_change(found)
    assert result is not None
    return result


def test_a_step_is_told_with_its_day_and_its_size() -> None:
    seen = field(noise(1) + from_week(6, 1.2))
    found = change(seen)
    assert is_alarm(seen, found, seed=1)
    assert (found.series, found.kind) == (NITRATE, "step")
    assert found.since_d == pytest.approx(7 * 7 + 3, abs=7.1)
    assert found.amplitude == pytest.approx(1.2, abs=0.35)


def test_how_likely_a_cause_is_can_be_asked() -> None:
    """From the likelihood of each day that was tried and how often the cause happens."""
    tried = Suspect(
        id="one",
        what="one thing",
        check="look",
        minutes=2.0,
        since_day=3,
        odds_ratio=2.0,
        likelihoods=(-1.0, -2.0),
    )
    both = (tried, replace(tried, id="other", odds_ratio=0.5, likelihoods=(-1.5,)))
    with recording():
        share = shares_of([told_suspect(one, 4) for one in both])[0]
    plain = shares_of(both)
    assert share == pytest.approx(plain[0])
    assert sum(plain) == pytest.approx(1.0)
    odds = 2.0 * np.mean(np.exp([-1.0, -2.0])) / (0.5 * np.exp(-1.5))
    assert plain[0] / plain[1] == pytest.approx(odds)
    tree = tree_of(share, About(symbol="share", key="share", kind="law"))
    check_tree(tree)
    assert {node.about.kind for node in tree.leaves()} == {"constant", "simulated"}


def test_a_drift_is_told_from_a_step() -> None:
    slow = 0.3 * np.maximum(0, np.arange(COUNT) - 4)
    assert change(field(noise(2) + slow)).kind == "drift"


def test_noise_seldom_gives_an_alarm() -> None:
    fields = [field(noise(seed), noise(1000 + seed)) for seed in range(200)]
    assert sum(is_alarm(one, change(one), seed=1) for one in fields) <= 8


def test_few_members_give_no_more_false_alarms_than_many() -> None:
    """Tanks that differ in their levels and trends; in each of them nothing happens."""
    calm, rng, looks, members = field(np.zeros(COUNT)), np.random.default_rng(3), 400, 32
    when = np.array([one.at_d for one in calm.taken])
    trend = (when - when.mean()) / when.std()
    own = np.array([one.series.series == NITRATE for one in calm.taken])
    modes = np.stack([1.0 * own, own * trend, own * (trend**2 - 1), 1.0 * ~own, ~own * trend], axis=1)
    alarms = 0
    for seed in range(looks):
        truth, *rest = (modes @ (0.6 * rng.standard_normal((modes.shape[1], members + 1)))).T
        foretold = np.array(rest).T
        middle = foretold.mean(axis=1)
        apart = (foretold - middle[:, None]) / np.sqrt(members - 1)
        seen = truth + 0.3 * rng.standard_normal(len(truth))
        covariance = apart @ apart.T + calm.errors
        found = replace(calm, missed=seen - middle, apart=apart, covariance=covariance)
        alarms += is_alarm(found, change(found), seed=seed)
    assert alarms / looks <= 3 * number("alarm_luck_frac")


def test_where_a_member_did_the_same_though_nothing_happened_luck_gives_more() -> None:
    calm = field(noise(9) + from_week(6, 2.0))
    nitrate = np.array([one.series.series == NITRATE for one in calm.taken])
    members = np.zeros((len(calm.taken), 40))
    members[nitrate, 7] = from_week(6, 2.0)
    members -= members.mean(axis=1, keepdims=True)
    apart = members / np.sqrt(39)
    seldom = replace(calm, apart=apart, covariance=calm.errors + apart @ apart.T)
    assert by_luck(seldom, seed=1) > by_luck(calm, seed=1) > 0
    assert is_alarm(calm, change(calm), seed=1)
    assert not is_alarm(seldom, change(seldom), seed=1)


def test_members_like_what_came_have_more_say_and_never_one_alone() -> None:
    weights = likeness(np.arange(40.0)[None, :])
    assert weights[0] == weights.max()
    assert 1 / (weights**2).sum() >= 10


def test_nothing_is_said_of_two_readings() -> None:
    taken, _ = taken_of(
        [entry("a", 3.0, reading(NITRATE, 1.0)), entry("b", 9.0, reading(NITRATE, 9.0))],
        small_plan().start_on,
    )
    few = Field(
        taken=taken,
        missed=np.array([0.0, 3.0]),
        covariance=np.eye(2),
        common_errors=np.zeros(2),
        scale=Scale(taken),
        errors=np.eye(2),
        apart=np.zeros((2, 40)),
    )
    assert greatest_change(few) is None
    assert not is_alarm(few, None, seed=1)


def test_surprises_are_even_where_nothing_changed() -> None:
    found = field(noise(3), noise(4))
    assert np.std(found.surprises) == pytest.approx(1.0, abs=0.3)


def shape_of(found: Field, series: str, week: int, size: float) -> np.ndarray:
    mine = np.array([one.series.series == series and one.at_d >= 7 * week for one in found.taken])
    return np.repeat((size * mine)[:, None], 4, axis=1)


def ranked(found: Field, shapes: dict[str, np.ndarray]) -> list[str]:
    def signature(cause: Cause, _day: int) -> np.ndarray | None:
        return shapes.get(cause.id)

    return [one.id for one in suspects(found, change(found), all_causes(), signature)]


def test_the_cause_whose_shape_fits_both_series_is_suspected_first() -> None:
    found = field(noise(5) + from_week(6, 1.0), noise(6) + from_week(6, 1.0))
    both = shape_of(found, NITRATE, 7, 1.0) + shape_of(found, PHOSPHATE, 7, 1.0)
    order = ranked(found, {"double_food": both, "changes_missed": shape_of(found, NITRATE, 7, 0.4)})
    assert order[0] == "double_food"


def test_a_unit_mistaken_is_suspected_where_one_series_falls_by_its_ratio() -> None:
    fell = float(np.log(1 / ion_per_element_ratio("NO3", "N")))
    found = field(noise(7) + from_week(6, fell))
    assert ranked(found, {"half_food": shape_of(found, NITRATE, 7, -0.5)})[0] == "other_unit"


def test_a_unit_mistaken_is_reckoned_by_what_each_reading_shows() -> None:
    """Degrees instead of milliequivalents from week 7 on: 8.4 dKH was written as 3, which is 1.07 meq/L."""
    true_meq, factor = 3.0, 2.804
    days = [7.0 * week + 3.0 for week in range(1, COUNT + 1)]
    values = [true_meq if week < 6 else true_meq / factor for week in range(COUNT)]
    alkalinity = "alkalinity_meq_per_l"
    entries = [
        entry(f"a{day}", day, reading(alkalinity, value)) for day, value in zip(days, values, strict=True)
    ]
    taken, _ = taken_of(entries, small_plan().start_on)
    found = replace(
        field(np.zeros(COUNT)),
        taken=taken,
        missed=np.array(values) - true_meq,
        covariance=0.05**2 * np.eye(COUNT),
        common_errors=np.full(COUNT, 0.05),
        scale=Scale(taken),
    )
    (most, *_) = suspects(found, change(found), all_causes(), lambda *_: None)
    assert (most.id, most.what.endswith("milliequivalents were read from the kit, not degrees")) == (
        "other_unit",
        True,
    )


def test_shares_of_suspicion_sum_up() -> None:
    found = field(noise(8) + from_week(6, 1.2))
    shares = [one.share_frac for one in suspects(found, change(found), all_causes(), lambda *_: None)]
    assert sum(shares) == pytest.approx(1.0)
    assert shares == sorted(shares, reverse=True)
    assert number("alarm_ratio") > 0
