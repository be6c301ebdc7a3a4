from dataclasses import replace

import pytest

from backreef.aquarium.differences import Difference, differences
from backreef.usecases.check import load_plan
from tests.unit.aquarium.plans import EXAMPLES, with_tank

SNAILS = '[[animals]]\nid = "snails"\nspecies = "trochus"\ncount = {count}\nwhy = "{why}"\n'
MEAL = '[[meals]]\nid = "meal"\nfood = "pellet_small"\namount = "0.3 g"\ntimes = ["08:00", "18:00"]\n'


def only(first: str, other: str) -> Difference:
    (found,) = differences(with_tank(first), with_tank(other))
    return found


def test_a_plan_does_not_differ_from_itself() -> None:
    plan = load_plan(EXAMPLES / "reading_room.toml")
    assert differences(plan, plan) == ()


def test_a_key_that_both_set_shows_what_each_says() -> None:
    found = only(SNAILS.format(count=3, why="grazes"), SNAILS.format(count=5, why="grazes"))
    assert (found.section, found.entry, found.key) == ("animals", "snails", "count")
    assert (found.first, found.other) == ("3", "5")


def test_a_key_that_one_leaves_to_its_default_is_not_said_there() -> None:
    found = only("", 'rock = "12 kg"\n')
    assert (found.section, found.entry, found.key) == ("tank", "", "rock")
    assert (found.first, found.other) == (None, "12 kg")


def test_an_entry_of_one_plan_alone_is_one_difference() -> None:
    found = only("", SNAILS.format(count=3, why="grazes"))
    assert (found.entry, found.key, found.first) == ("snails", "", None)
    assert found.other == "species trochus, count 3"


def test_entries_are_compared_by_id_and_not_by_place() -> None:
    other = MEAL.replace('"meal"', '"late"')
    assert differences(with_tank(MEAL + other), with_tank(other + MEAL)) == ()


def test_lists_and_times_stand_as_a_plan_says_them() -> None:
    found = only(MEAL, MEAL.replace(', "18:00"', ""))
    assert (found.key, found.first, found.other) == ("times", "08:00, 18:00", "08:00")


@pytest.mark.parametrize(
    ("written", "told"),
    [("6 mg/L NO3", "6 mg/L NO3"), ("1.3554286 mg/L NO3-N", "1.355 mg/L NO3-N")],
    ids=["as a keeper says it", "as no keeper says it"],
)
def test_numbers_that_no_kit_could_read_are_rounded(written: str, told: str) -> None:
    plan = with_tank(f'[tank.start]\nkind = "live_rock"\nnitrate = "{written}"\n')
    said = {one.key: one.other for one in differences(with_tank(""), plan)}
    assert said["start.nitrate"] == told


def test_names_stories_and_reasons_change_nothing() -> None:
    plan = with_tank(SNAILS.format(count=3, why="grazes"))
    renamed = replace(plan, story="Another one.", tank=replace(plan.tank, name="Elsewhere"))
    assert differences(plan, renamed) == ()
    assert differences(plan, with_tank(SNAILS.format(count=3, why="its shell"))) == ()
