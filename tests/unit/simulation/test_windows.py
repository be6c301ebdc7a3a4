from __future__ import annotations

from dataclasses import replace
from functools import cache

import numpy as np
import pytest

from backreef.simulation.block import FORECAST
from backreef.simulation.draws import Draws
from backreef.simulation.ensemble import march_members
from backreef.simulation.layout import LANES
from backreef.simulation.prepared import Prepared, prepare
from backreef.simulation.trajectories import cohort_course, water_series
from backreef.simulation.windows import (
    Kept,
    Stretch,
    Switched,
    Trial,
    Watched,
    keep_state,
    march_stretch,
)
from backreef.simulation.worked_out import WorkedOut
from tests.rehearsal_world import FEEDER, LAMP, SMALL
from tests.unit.aquarium.plans import catalogue, plan_of

STRETCH = Stretch(first_day=20, until_day=25)


@cache
def prepared() -> Prepared:
    return prepare(replace(plan_of(SMALL + FEEDER + LAMP), horizon_days=26), catalogue())


@cache
def kept(members: int = LANES) -> Kept:
    return keep_state(prepared(), Draws(1, members), STRETCH.first_day)


@cache
def watched(trial: Trial = Trial()) -> Watched:  # noqa: B008  frozen
    return march_stretch(prepared(), STRETCH, kept(), trial)


def test_a_stretch_goes_on_where_the_days_before_ended() -> None:
    # nominal: portions err by the number of meals that are drawn, and a stretch draws fewer
    nominal = Draws(1, LANES, nominal=True)
    days = water_series(prepared(), WorkedOut(march_members(prepared(), nominal, FORECAST)))
    going_on = march_stretch(prepared(), STRETCH, keep_state(prepared(), nominal, STRETCH.first_day))
    hours = water_series(going_on.prepared, WorkedOut(going_on.members))
    for name in ("nitrate_mg_no3_per_l", "phosphate_mg_po4_per_l", "alkalinity_dkh", "film_algae_g_dry"):
        # the same march with steps that begin elsewhere: within the tolerance of a step
        assert hours[name][-1] == pytest.approx(days[name][STRETCH.until_day - 1], rel=0.02), name


def test_it_writes_a_row_for_each_hour() -> None:
    oxygen = water_series(watched().prepared, WorkedOut(watched().members))["oxygen_mg_per_l"]
    assert oxygen.shape == (STRETCH.hours, LANES)
    daily = oxygen.reshape(5, 24, LANES)
    assert (daily.max(axis=1) - daily.min(axis=1) > 0.05).all(), "light is seen within the day"


def test_members_beyond_a_whole_block_are_left_out() -> None:
    few = march_stretch(prepared(), STRETCH, kept(3))
    assert few.members.row(0).shape == (STRETCH.hours, 3)
    for name, values in water_series(few.prepared, WorkedOut(few.members)).items():
        all_of_them = water_series(watched().prepared, WorkedOut(watched().members))[name]
        assert np.array_equal(values, all_of_them[:, :3]), name


def test_a_forcing_is_held_from_its_first_hour_to_its_last() -> None:
    dark = Switched(from_h=30, until_h=60, values={"day_shape": 0.0, "day_slope": 0.0})
    schedule = march_stretch(prepared(), STRETCH, kept(), Trial(switched=(dark,))).prepared.timeline.schedule
    usual = watched().prepared.timeline.schedule
    starts_h = 24.0 * np.concatenate([[0.0], np.cumsum(usual.segments[:, 0])[:-1]])
    changed = (schedule.segments != usual.segments).any(axis=1)
    lit = (usual.segments[:, 1:] > 0)[:, 0]
    inside = (starts_h > 30 - 1e-6) & (starts_h < 60 - 1e-6)
    assert changed.any()
    assert not changed[~inside].any()
    assert changed[inside & lit].all()


def test_so_many_of_an_entry_die_and_feed_the_water() -> None:
    dead = march_stretch(prepared(), STRETCH, kept(), Trial(dies={"pair": 1}))
    slot = [cohort.entry.id for cohort in prepared().cohorts].index("pair")
    before, after = (
        cohort_course(each.prepared, WorkedOut(each.members), slot).count for each in (watched(), dead)
    )
    assert np.array_equal(before[0] - after[0], np.ones(LANES))
    ammonia = [
        water_series(each.prepared, WorkedOut(each.members))["ammonia_total_mg_n_per_l"].max(axis=0)
        for each in (watched(), dead)
    ]
    assert (ammonia[1] > ammonia[0]).all()


def test_a_register_is_set_when_the_stretch_begins() -> None:
    address = prepared().layout.address("reservoir")
    dry = march_stretch(prepared(), STRETCH, kept(), Trial(set_at_start={"reservoir": 0.0}))
    assert (dry.members.row(address)[0] == 0).all()
