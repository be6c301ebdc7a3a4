"""What may be changed of a plan beside animals and food, and how often chores come round."""

from __future__ import annotations

from dataclasses import replace

import pytest

from backreef.aquarium.dump import dump_plan
from backreef.aquarium.load import load_plan_text
from backreef.aquarium.phrases import read_rhythm
from backreef.aquarium.plan import Plan
from backreef.planning.choices import Choice, a_device, choices_of, depth_cm
from backreef.planning.chores import chore_choices, is_work_only, paced
from backreef.planning.feeding import feedings
from backreef.planning.numbers import number
from backreef.schedule.rhythm import mean_interval_d
from backreef.units import DAYS_PER_MONTH
from tests.planning_world import SHORT_PLAN, a_short_plan, the_catalogue

NONE: frozenset[str] = frozenset()


def read(text: str) -> Plan:
    return load_plan_text(text, "plan.toml", the_catalogue())


def with_lines(lines: str) -> Plan:
    return read(SHORT_PLAN.format(minutes=300, days="Mon-Sun").replace("[goals]", f"{lines}\n[goals]"))


def by_id(plan: Plan, *pins: str) -> dict[str, Choice]:
    found = choices_of(plan, frozenset(pins), *chore_choices(plan, the_catalogue()))
    return {choice.id: choice for choice in found}


@pytest.mark.parametrize(
    ("text", "ratio", "said"),
    [
        ("14 days", 2.0, "28 days"),
        ("Thursday", 2.0, "2 weeks on Thu"),
        ("2 weeks on Tue, Fri", 2.0, "4 weeks on Tue, Fri"),
        ("5 weeks on Friday when present", 0.5, "2 weeks on Fri when present"),
        ("first Tuesday", 2.0, "first Tue of every 2 months"),
        ("last Friday of every 3 months", 0.5, "last Fri of every 1 months"),
    ],
)
def test_a_rhythm_of_another_pace_is_one_that_a_plan_can_say(text: str, ratio: float, said: str) -> None:
    found = paced(read_rhythm(text), ratio)
    assert found is not None
    assert found == read_rhythm(said)


def test_a_chore_is_made_rarer_only_as_far_as_it_may_be_left() -> None:
    # glass is harmed after 30 days: once a week may become once in two, once in three weeks not once in six
    def glass(days: int) -> Plan:
        return with_lines(f'[[upkeep]]\nid = "glass"\ntask = "glass_inner"\nevery = "{days} days"\n')

    assert the_catalogue().tasks["glass_inner"].harm_after_days.value == 30  # type: ignore[union-attr]
    rarer = by_id(glass(7))["rarer:glass"].applied(glass(7))
    (line,) = (one for one in rarer.upkeep if one.id == "glass")
    assert mean_interval_d(line.rhythm) == 14.0
    assert "rarer:glass" not in by_id(glass(21))


def test_a_stretched_chore_may_come_oftener_and_a_usual_one_not() -> None:
    stretched = with_lines('[[upkeep]]\nid = "test"\ntask = "test_quick"\nevery = "60 days"\n')
    usual = with_lines('[[upkeep]]\nid = "test"\ntask = "test_quick"\nevery = "14 days"\n')
    assert "oftener:test" in by_id(stretched)
    assert "oftener:test" not in by_id(usual)


def test_a_chore_that_is_only_implied_is_stated_when_it_becomes_rarer() -> None:
    plan = a_short_plan()
    assert not any(line.task == "food_stock" for line in plan.upkeep)
    choice = by_id(plan)["rarer:proposed_food_stock"]
    after = read(dump_plan(choice.applied(plan)))
    (line,) = (one for one in after.upkeep if one.task == "food_stock")
    assert (line.rhythm.every_days, line.id) == (60.0, "proposed_food_stock")
    assert is_work_only(plan, after)


def test_what_the_water_notices_is_more_than_work() -> None:
    plan = a_short_plan()
    rarer = by_id(plan)
    changes = {name: is_work_only(plan, choice.applied(plan)) for name, choice in rarer.items()}
    assert changes["rarer:proposed_food_stock"]
    assert not changes["change_more_water"]
    assert not changes["automatic_change"]


def test_a_line_that_is_pinned_is_changed_by_no_choice() -> None:
    plan = a_short_plan()
    pinned = by_id(plan, "wc_do")
    assert "change_more_water" in by_id(plan)
    assert "change_more_water" not in pinned
    assert "automatic_change" not in pinned  # it would take the change by hand away
    for choice in pinned.values():
        assert next(one for one in choice.applied(plan).upkeep if one.id == "wc_do") == plan.upkeep[0]


def test_an_automatic_change_takes_the_place_of_that_by_hand() -> None:
    after = by_id(a_short_plan())["automatic_change"].applied(a_short_plan())
    assert all(line.task != "wc_do" for line in after.upkeep)
    (pumps,) = (one for one in after.devices if one.kind == "awc")
    assert pumps.numbers == {"share_frac_per_d": number("automatic_change_frac_per_d")}
    assert "automatic_change" not in by_id(after)


def test_a_refugium_grows_as_long_as_it_stays_deep() -> None:
    def plan(area_m2: float) -> Plan:
        made = a_device("refugium", "refugium", {"area_m2": area_m2, "volume_l": 30.0})
        return replace(a_short_plan(), devices=(*a_short_plan().devices, replace(made, hours=14.0)))

    assert depth_cm(30.0, 0.2 * 1.5) == pytest.approx(10.0)
    after = by_id(plan(0.19))["larger_refugium"].applied(plan(0.19))
    assert after.devices[-1].numbers["area_m2"] == pytest.approx(0.285)
    assert "larger_refugium" not in by_id(plan(0.21))
    longer = by_id(plan(0.19))["refugium_lit_longer"].applied(plan(0.19))
    assert longer.devices[-1].hours == number("refugium_most_h")
    assert "new_refugium" not in by_id(plan(0.19))
    assert "new_refugium" in by_id(a_short_plan())


def test_a_sock_may_give_way_to_a_roll_of_fleece() -> None:
    sock = a_device("sock", "sock", {})
    plan = replace(a_short_plan(), devices=(*a_short_plan().devices, sock))
    kinds = [one.kind for one in by_id(plan)["roller"].applied(plan).devices]
    assert "roller" in kinds
    assert "sock" not in kinds
    assert "roller" not in by_id(a_short_plan())


def test_dry_food_by_hand_may_come_from_a_feeder() -> None:
    (meal,) = a_short_plan().meals
    by_hand = replace(a_short_plan(), meals=(replace(meal, by="hand", only_when_present=True),))
    ways = feedings(by_hand, the_catalogue())
    assert [way.id for way in ways] == ["as_planned", "feeder"]
    after = ways[1].applied(by_hand)
    assert (after.meals[0].by, after.meals[0].only_when_present) == ("proposed_feeder", False)
    assert after.devices[-1].id == "proposed_feeder"
    assert [way.id for way in feedings(a_short_plan(), the_catalogue())] == ["as_planned"]


def test_every_choice_can_be_written_and_read_again() -> None:
    plan = a_short_plan()
    for choice in by_id(plan).values():
        after = choice.applied(plan)
        assert read(dump_plan(after)) == after, choice.id


@pytest.mark.parametrize(("times", "offered"), [(1.5, False), (2.5, True)])
def test_a_chore_becomes_rarer_only_if_half_of_its_minutes_are_worth_it(times: float, offered: bool) -> None:
    minutes = times * number("least_chore_min_per_month") * 7.0 / DAYS_PER_MONTH
    line = f'[[upkeep]]\nid = "glass"\ntask = "glass_inner"\nevery = "7 days"\nminutes = "{minutes} min"\n'
    assert ("rarer:glass" in by_id(with_lines(line))) is offered
