from dataclasses import replace

import pytest

from backreef.catalogue.entries import Catalogue, Unknown
from backreef.catalogue.load import load_catalogue
from backreef.schedule.tables import MissingNumber, check_tables, hand_task, implied_rules, number, workload
from tests.unit.schedule.world import a_catalogue, a_food


@pytest.fixture(scope="module")
def catalogue() -> Catalogue:
    return load_catalogue()


def test_every_task_and_device_they_name_stands_in_the_catalogue(catalogue: Catalogue) -> None:
    assert check_tables(catalogue) == ()


def test_a_name_that_the_catalogue_does_not_have_is_a_fault() -> None:
    faults = check_tables(replace(a_catalogue(without=("wc_mix",)), devices={}))
    assert any(fault.key == "wc_mix" and fault.file == "implied_tasks.toml" for fault in faults)
    assert any(fault.key == "roller" for fault in faults)


def test_every_kind_of_food_has_its_task_by_hand(catalogue: Catalogue) -> None:
    assert {hand_task(food) for food in catalogue.foods.values()} <= set(catalogue.tasks)
    assert hand_task(a_food("nori", food_class="algae", pool="seaweed_sheet")) == "feed_sheet"
    assert hand_task(a_food("algae_pellet", food_class="algae")) == "feed_dry_hand"


def test_every_rule_has_the_numbers_its_rhythm_needs() -> None:
    needed = {
        "feed": {"reference_g_dry_per_100l_per_d", "shortest_days", "longest_days"},
        "fixed": {"every_days"},
        "before_arrival": {"lead_days"},
        "before_absence": {"lead_days", "longer_than_days"},
        "after_absence": {"longer_than_days"},
    }
    assert [
        (rule.task, rule.rhythm)
        for rule in implied_rules()
        if not needed.get(rule.rhythm, set()) <= set(rule.numbers)
    ] == []


def test_sizes_rise() -> None:
    volumes = [volume for volume, _ in workload().size]
    assert volumes == sorted(set(volumes))


def test_a_missing_number_names_itself() -> None:
    with pytest.raises(MissingNumber, match=r"tasks\.x: minutes is unknown \(nobody measured\)"):
        number(Unknown(reason="nobody measured"), "tasks.x: minutes")
