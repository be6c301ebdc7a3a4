"""Responses come from the simulation: they change when its kinetics do."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

import numpy as np
import numpy.typing as npt
import pytest

from backreef.aquarium.plan import AnimalEntry
from backreef.planning.candidates import newcomer
from backreef.planning.feeding import with_ration
from backreef.planning.programme import Row
from backreef.planning.responses import CORALS, held_level, limits_of, measured, response, with_animals
from backreef.planning.stock import level_of, water_stays
from backreef.simulation.draws import Draws
from backreef.simulation.setting import Setting
from tests.planning_world import NITRATE, a_short_plan, some_facts, the_catalogue

Array = npt.NDArray[np.float64]
DRAWS = Draws(1, 8)


def test_the_level_that_is_held_is_the_worst_of_the_runs() -> None:
    values = np.array([[1.0], [5.0], [4.0], [9.0], [2.0]])
    assert held_level(values, days=2, upper=True) == [4.0]  # 5 and 4 in a row; 9 stands alone
    assert held_level(values, days=2, upper=False) == [5.0]  # 1 and 5 in a row
    assert held_level(values, days=9, upper=True) == [1.0]


def nitrate_row() -> Row:
    """The row of nitrate, made from two blocks of a hundred days."""
    plan = a_short_plan(horizon_days=100)
    before = measured(plan, the_catalogue(), DRAWS)
    lean = measured(with_ration(plan, 0.4), the_catalogue(), DRAWS)
    facts = replace(some_facts(candidates=()), base=before, food_response=response(before, lean, per=-0.6))
    assert level_of(NITRATE, facts)[0] == before.water[NITRATE.name].max()
    (row,) = water_stays(facts)
    return row


def test_a_change_of_a_kinetic_parameter_changes_the_row(monkeypatch: pytest.MonkeyPatch) -> None:
    usual = nitrate_row()
    real = Setting._parameters  # noqa: SLF001  a test turns one of the model's knobs

    def faster(self: Setting) -> Array:
        values = real(self)
        for name in ("D_rock", "D_sand"):
            values[self.layout.parameter(name)] *= 4.0
        return values

    monkeypatch.setattr(Setting, "_parameters", faster)
    ripe = nitrate_row()
    (food,) = [name for name in usual.terms if name.startswith("steps:")]
    assert 0.0 < ripe.terms[food] < usual.terms[food]
    assert ripe.high > usual.high


def test_one_more_animal_takes_food_and_time() -> None:
    plan = a_short_plan(horizon_days=100)
    before = measured(plan, the_catalogue(), DRAWS)
    entry = newcomer("neon_goby", 2, date(2027, 3, 2))
    after = measured(with_animals(plan, [entry]), the_catalogue(), DRAWS)
    found = response(before, after, per=2.0, who=entry.id)
    assert found.eaten_g_per_d > 0.0
    assert found.minutes_per_month > 0.0
    assert before.offered_g_per_d == pytest.approx(after.offered_g_per_d)


def test_corals_are_a_limit_where_the_plan_keeps_any() -> None:
    bare = a_short_plan()
    leathers = AnimalEntry(id="l", species="leathers", count=1, length_cm=None, arrives_on=None, gate=None)
    kept = replace(bare, animals=(*bare.animals, leathers))
    assert all(each.series != CORALS for each in limits_of(bare, the_catalogue()))
    limit = next(each for each in limits_of(kept, the_catalogue()) if each.series == CORALS)
    assert (limit.name, limit.bound, limit.act) == ("coral_surface_ratio.low", 0.5, 0.8)
    found = measured(replace(kept, horizon_days=70), the_catalogue(), DRAWS)
    surface = found.water[limit.name]
    assert surface.shape == (8,)
    assert (surface > 0.5).all()
