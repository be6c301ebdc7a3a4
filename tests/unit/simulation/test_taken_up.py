"""A march that takes up another one gives the bits of a march from the first day."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from functools import cache

import numpy as np
import pytest

from backreef.aquarium.plan import AnimalEntry, Plan
from backreef.simulation.block import FORECAST, Block, BlockResult
from backreef.simulation.draws import Draws
from backreef.simulation.ensemble import marcher
from backreef.simulation.layout import LANES
from backreef.simulation.prepared import Prepared, prepare
from backreef.simulation.setting import Setting
from backreef.simulation.taken_up import MARK_DAYS, Memory, Taking
from tests.rehearsal_world import FEEDER, LAMP, SMALL
from tests.unit.aquarium.plans import catalogue, plan_of

DAYS = 100
COMES_ON_DAY = 90
TAKEN_UP_ON_DAY = 84
"""The last mark before."""


@cache
def as_it_is() -> Plan:
    plan = replace(plan_of(SMALL + FEEDER + LAMP), horizon_days=DAYS)
    return with_more(plan, "m_later", COMES_ON_DAY - 20)


def day(plan: Plan, number: int) -> date:
    return date.fromordinal(plan.start_on.toordinal() + number)


def with_more(plan: Plan, ident: str, on_day: int, species: str = "cerith", count: int = 3) -> Plan:
    comes_on = day(plan, on_day)
    entry = AnimalEntry(
        id=ident, species=species, count=count, length_cm=None, arrives_on=comes_on, gate=None
    )
    return replace(plan, animals=(*plan.animals, entry))


def begun(plan: Plan) -> tuple[Prepared, Block]:
    prepared = prepare(plan, catalogue())
    return prepared, Setting(prepared, Draws(1, LANES)).block(0)


def taken_up(plan: Plan, *memories: Memory) -> tuple[Taking, BlockResult]:
    prepared, block = begun(plan)
    march = Taking(prepared, FORECAST, memories)
    return march, march(block)


@cache
def remembered() -> Memory:
    memory = taken_up(as_it_is())[0].memory
    assert memory is not None
    return memory


def from_the_first_day(plan: Plan) -> BlockResult:
    prepared, block = begun(plan)
    return marcher(prepared, FORECAST)(block)


def without(plan: Plan, ident: str) -> Plan:
    return replace(plan, animals=tuple(one for one in plan.animals if one.id != ident))


def same(one: BlockResult, other: BlockResult) -> bool:
    return (
        np.array_equal(one.days, other.days)
        and np.array_equal(one.noted, other.noted)
        and one.report == other.report
    )


CHANGES = {
    "one more, first in the row of cohorts": (with_more(as_it_is(), "a_new", COMES_ON_DAY), TAKEN_UP_ON_DAY),
    "one more, last in it": (with_more(as_it_is(), "z_new", COMES_ON_DAY, "peppermint_shrimp"), 84),
    "one more on the very day of a mark": (with_more(as_it_is(), "a_new", MARK_DAYS * 3 + 1), MARK_DAYS * 3),
    "one more on the day before": (with_more(as_it_is(), "a_new", MARK_DAYS * 3), MARK_DAYS * 2),
    "one more while the days before the first are lived as well": (with_more(as_it_is(), "a_new", 56), 0),
    "one less": (without(as_it_is(), "m_later"), 56),
    "more of them": (with_more(without(as_it_is(), "m_later"), "m_later", 75, count=5), 56),
    "one more from the first day": (with_more(as_it_is(), "a_new", 0), 0),
    "another tank": (replace(as_it_is(), tank=replace(as_it_is().tank, rock_kg=9.0)), 0),
    "a meal less": (replace(as_it_is(), meals=as_it_is().meals[1:]), 0),
}


@pytest.mark.parametrize("change", CHANGES)
def test_it_gives_the_same_bits_as_from_the_first_day(change: str) -> None:
    plan, day_of_mark = CHANGES[change]
    march, found = taken_up(plan, remembered())
    assert march.first_day == day_of_mark
    assert same(found, from_the_first_day(plan))


def test_room_for_more_changes_nothing() -> None:
    assert same(taken_up(as_it_is())[1], from_the_first_day(as_it_is()))


def test_what_was_taken_up_can_be_taken_up_again() -> None:
    changed = with_more(as_it_is(), "a_new", COMES_ON_DAY)
    memory = taken_up(changed, remembered())[0].memory
    assert memory is not None
    again = with_more(changed, "b_new", COMES_ON_DAY + 5)
    march, found = taken_up(again, remembered(), memory)
    assert march.first_day == TAKEN_UP_ON_DAY
    assert same(found, from_the_first_day(again))


def test_days_are_handed_on_as_they_come() -> None:
    prepared, block = begun(with_more(as_it_is(), "a_new", COMES_ON_DAY))
    handed = list[np.ndarray]()
    found = Taking(prepared, FORECAST, (remembered(),))(block, lambda days: handed.append(days.copy()))
    assert not len(found.days)
    assert np.array_equal(np.concatenate(handed), from_the_first_day(prepared.plan).days)


def test_more_newcomers_than_there_is_room_for_are_marched_from_the_first_day() -> None:
    plan = as_it_is()
    for number in range(3):
        plan = with_more(plan, f"new_{number}", COMES_ON_DAY)
    march, found = taken_up(plan, remembered())
    assert march.first_day == 0
    assert same(found, from_the_first_day(plan))


def test_a_plan_without_animals_takes_up_nothing() -> None:
    empty = replace(as_it_is(), animals=(), meals=())
    march, found = taken_up(empty, remembered())
    assert same(found, from_the_first_day(empty))
    assert march.memory is not None
    assert taken_up(as_it_is(), march.memory)[0].first_day == 0
