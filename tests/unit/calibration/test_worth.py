from __future__ import annotations

from typing import Any, cast

import numpy as np
import pytest

from backreef.calibration import worth
from backreef.calibration.evidence import taken_of
from backreef.calibration.tables import reading_minutes
from backreef.calibration.worth import choices_of, next_readings, settled
from backreef.logbook.kits import KitTrust, all_kits
from tests.reconcile_world import entry, reading, small_plan

MEMBERS = 400


def kit(error: float) -> KitTrust:
    return KitTrust(series="x", kit="k", resolution=0.0, absolute_error=error, relative_error_frac=0.0)


def even(values: np.ndarray) -> np.ndarray:
    ranks = values.argsort().argsort()
    return np.asarray((ranks - ranks.mean()) / ranks.std())


def test_a_perfect_reading_of_the_thing_itself_settles_all() -> None:
    values = 10 + np.random.default_rng(1).standard_normal(MEMBERS)
    assert settled(values, kit(0.0), even(values)[None, :])[0] == pytest.approx(1.0, abs=1e-6)


def test_a_kit_as_wrong_as_the_spread_settles_half() -> None:
    values = 10 + np.random.default_rng(2).standard_normal(MEMBERS)
    assert settled(values, kit(float(values.std())), even(values)[None, :])[0] == pytest.approx(0.5, abs=1e-6)


def test_a_reading_without_a_link_settles_nothing() -> None:
    rng = np.random.default_rng(3)
    shares = [
        settled(rng.standard_normal(64), kit(0.0), even(rng.standard_normal(64))[None, :])[0]
        for _ in range(300)
    ]
    assert np.mean(shares) < 0.012


def test_a_reading_that_is_sure_already_settles_nothing() -> None:
    assert settled(np.full(64, 3.0), kit(0.1), np.ones((1, 64)))[0] == 0.0


def test_what_is_settled_most_is_named_though_another_series_is_sure_already(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """Two series are read; of the first all members say the same."""
    values = np.tile(1 + 0.3 * np.random.default_rng(5).standard_normal(64), (30, 1))
    courses = {"nitrate_mg_n_per_l": np.full((30, 64), 3.0), "phosphate_mg_p_per_l": values}
    monkeypatch.setattr(worth, "course_of", lambda name, *_: courses.get(name, values))
    taken, _ = taken_of(
        [
            entry("n", 5.0, reading("nitrate_mg_n_per_l", 3.0)),
            entry("p", 5.0, reading("phosphate_mg_p_per_l", 0.1)),
        ],
        small_plan().start_on,
    )
    read = [one.series for one in taken]
    found = next_readings(cast("Any", None), cast("Any", None), taken=taken, read=read, last_day=20)
    assert {one.most_about for one in found} == {"phosphate"}


def test_the_keepers_own_kits_are_offered_before_others() -> None:
    taken, _ = taken_of(
        [entry("a", 5.0, reading("nitrate_mg_n_per_l", 2.0, "photometer"))], small_plan().start_on
    )
    choices = {(one.series.word, one.trust.kit): one.own for one in choices_of(taken)}
    assert choices[("nitrate", "photometer")]
    assert ("nitrate", "colour_card") not in choices
    assert choices[("phosphate", "colour_card")] is False


def test_every_reading_that_takes_minutes_has_a_kit() -> None:
    kits = {(one.series.split("_")[0], one.kit) for one in all_kits()}
    assert {(word, name) for word, name in reading_minutes()} <= kits
