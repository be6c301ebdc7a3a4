"""Each rule of stage 2 on the smallest problem that shows it."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from itertools import pairwise
from typing import Any

import pytest

from backreef.aquarium.plan import Helper
from backreef.catalogue.entries import Unknown, Value
from backreef.planning.arrivals import RULES, Month, Timing, arrivals_programme, comes, months_of
from backreef.planning.candidates import Candidate
from backreef.planning.choices import a_device
from backreef.planning.solver import solve
from tests.planning_world import a_candidate, a_short_plan

MONTHS = tuple(Month(number=number, on=date(2027, number + 2, 2), fish=True) for number in range(6))


def some_timing(*chosen: Candidate, **changes: Any) -> Timing:
    """Six months; each eats 0.02 g beside 0.1 g before, and takes 60 minutes; ample minutes."""
    timing = Timing(
        plan=a_short_plan(),
        chosen=chosen,
        months=MONTHS,
        eats_g_per_d={one.id: 0.02 for one in chosen},
        eaten_before_g_per_d=0.1,
        arrival_min={one.id: 60.0 for one in chosen},
        further_frac=0.3,
        day_months=0.0,
        month_min=(20.0,) * len(MONTHS),
        budget_min_per_month=200.0,
    )
    return replace(timing, **changes)


def months(timing: Timing) -> dict[str, int] | None:
    solved = solve(arrivals_programme(timing))
    if not solved.found:
        return None
    return {
        one.id: month.number
        for one in timing.chosen
        for month in timing.months
        if solved.count(comes(one.id, month.number))
    }


def from_months(age_months: float) -> Value:
    return Value(value=age_months, unit="months", source="practice", status="practice")


def length_cm(value: float) -> Value:
    return Value(value=value, unit="cm", source="practice", status="practice")


def test_all_come_once_and_soon() -> None:
    assert months(some_timing(a_candidate("a"), a_candidate("b"))) == {"a": 0, "b": 0}


def test_none_comes_to_a_tank_that_is_too_young() -> None:
    least = from_months(14.0)
    # the tank is 12 months old on 4 January; 14 are full early in March, so on 2 April it may come
    assert months(some_timing(a_candidate("a", min_tank_age_months=least))) == {"a": 2}


def test_no_fish_comes_before_nobody_is_there() -> None:
    first = (replace(MONTHS[0], fish=False), *MONTHS[1:])
    timing = some_timing(a_candidate("fish"), a_candidate("snail", kind="snail"), months=first)
    assert months(timing) == {"fish": 1, "snail": 0}


def test_a_bold_fish_waits_for_the_peaceful_one() -> None:
    bold = a_candidate("bold", aggression="high", add_stage="late")
    shy_least = from_months(14.0)
    shy = a_candidate("shy", aggression="none", add_stage="early", min_tank_age_months=shy_least)
    assert months(some_timing(bold, shy)) == {"bold": 2, "shy": 2}


def test_food_is_raised_by_half_at_most_in_one_step() -> None:
    # 0.1 g before: 0.05 more at once; two of 0.04 g come one after the other, two of 0.02 g together
    both = (a_candidate("a"), a_candidate("b"))
    apart = months(some_timing(*both, eats_g_per_d={"a": 0.04, "b": 0.04}))
    assert apart is not None
    assert sorted(apart.values()) == [0, 1]
    assert months(some_timing(*both)) == {"a": 0, "b": 0}


def test_days_of_arrivals_fit_the_minutes_of_each_quarter() -> None:
    # 3 x 40 - 3 x 20 = 60 minutes are free in a quarter: an arrival of 60, a second of 18 that day not
    timing = some_timing(a_candidate("a"), a_candidate("b"), budget_min_per_month=40.0)
    found = months(timing)
    assert found is not None
    assert abs(found["a"] - found["b"]) >= 3
    assert months(replace(timing, budget_min_per_month=30.0)) is None


def test_what_was_refused_is_not_proposed_again() -> None:
    banned = (frozenset({("a", 0)}),)
    assert months(some_timing(a_candidate("a"), banned=banned)) == {"a": 1}


def test_every_rule_says_in_a_sentence_what_it_asks() -> None:
    assert all(rule.__doc__ and rule.__doc__.strip().endswith(".") for rule in RULES)


@pytest.mark.parametrize(("days", "weekdays"), [("Mon-Sun", range(7)), ("Tue-Thu", (1, 2))])
def test_newcomers_come_on_days_with_somebody_there_and_the_day_after(days: str, weekdays: range) -> None:
    found = months_of(a_short_plan(days=days))
    assert found
    assert all(month.on.weekday() in weekdays for month in found)
    gaps = [(later.on - one.on).days for one, later in pairwise(found)]
    assert min(gaps) >= 21


def test_newcomers_come_when_the_helper_is_there_who_receives_them() -> None:
    plan = a_short_plan()
    tuesdays = Helper(
        name="cleaner", tasks=("acclimate",), weekdays=(1,), when_closed=False, minutes_per_visit=None
    )
    refuses = replace(plan.keeper, refuses=("acclimate",))
    assert months_of(replace(plan, keeper=refuses)) == (), "nobody would receive them"
    found = months_of(replace(plan, keeper=replace(refuses, helpers=(tuesdays,))))
    assert found
    assert {month.on.weekday() for month in found} == {1}


def test_fish_leave_the_quarantine_tank_before_the_next_batch_fills_it() -> None:
    box = a_device("apart", "quarantine_tank", {})
    plan = replace(a_short_plan(), devices=(*a_short_plan().devices, box))
    fish = tuple(a_candidate(name) for name in ("a", "b"))
    # each eats as much as may be added at once, so they come one after the other: 2 February, 2 March
    timing = some_timing(*fish, eats_g_per_d={"a": 0.05, "b": 0.075})
    assert months(timing) == {"a": 0, "b": 1}
    # 28 days lie between 2 February and 2 March, and a quarantine takes 30
    apart = months(replace(timing, plan=plan))
    assert apart is not None
    days = sorted(MONTHS[number].on for number in apart.values())
    assert all((later - earlier).days >= 30 for earlier, later in pairwise(days))
    # the first of 30 days is 4 January; on 2 February 29 have passed, so a batch of both is out on 2 March
    assert months(some_timing(*fish, plan=plan)) == {"a": 1, "b": 1}


def test_kinds_share_a_quarantine_tank_only_as_far_as_it_holds_them() -> None:
    box = a_device("apart", "quarantine_tank", {})
    plan = replace(a_short_plan(), devices=(*a_short_plan().devices, box))
    # 30 cm of fish: 2 of 7 cm beside 4 of 4 cm fill it just, and 5 of those are too many
    long, short = (
        a_candidate(name, purchase_length_cm=length_cm(each)) for name, each in (("a", 7.0), ("b", 4.0))
    )
    timing = some_timing(long, short, plan=plan, heads={"a": 2, "b": 4})
    assert months(timing) == {"a": 1, "b": 1}
    apart = months(replace(timing, heads={"a": 2, "b": 5}))
    assert apart is not None
    assert apart["a"] != apart["b"]
    # a shoal of its own is never parted, and a kind of unknown length comes alone
    assert months(replace(timing, chosen=(short,), heads={"b": 20})) == {"b": 1}
    nobody_knows = Unknown(reason="not looked up")
    strange = a_candidate("c", purchase_length_cm=nobody_knows, adult_length_cm=nobody_knows)
    alone = months(some_timing(short, strange, plan=plan))
    assert alone is not None
    assert alone["b"] != alone["c"]
    # where nobody is kept apart there is nothing to share
    assert months(some_timing(long, short, heads={"a": 2, "b": 20})) == {"a": 0, "b": 0}


def test_no_quarantine_begins_before_the_plan() -> None:
    box = a_device("apart", "quarantine_tank", {})
    plan = replace(a_short_plan(), devices=(*a_short_plan().devices, box))
    early = (Month(number=0, on=date(2027, 1, 25), fish=True), *MONTHS[1:])
    assert months(some_timing(a_candidate("a"), plan=plan, months=early)) == {"a": 1}
