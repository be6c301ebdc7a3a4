"""`[[foods]]` of a plan file: read, written again, refused, and fed in a forecast."""

from __future__ import annotations

import pytest

import backreef
from backreef.aquarium.dump import dump_plan
from backreef.aquarium.load import load_plan_text
from backreef.catalogue.load import load_catalogue
from backreef.errors import InputFaults
from backreef.usecases.check import catalogue_of
from tests.unit.aquarium.plans import plan_of

PLAN = """\
start_on = 2027-01-04
[tank]
display = "200 L"
[[animals]]
species = "ocellaris_clown"
count = 2
[[meals]]
food = "mine"
amount = "0.1 g"
"""
FOOD = """\
[[foods]]
id = "mine"
like = "pellet_small"
basis = "dry"
protein = "50 %"
fat = "15 %"
moisture = "8 %"
grain = "1.2 mm"
pack = "100 g"
packaging = "tin"
"""


def faults_of(text: str) -> list[str]:
    with pytest.raises(InputFaults) as refused:
        plan_of(text)
    return [fault.message for fault in refused.value.faults]


def test_a_label_is_read_and_comes_back_when_written() -> None:
    plan = plan_of(PLAN + FOOD)
    label = plan.foods[0]
    assert (label.id, label.like, label.basis, label.pack_g) == ("mine", "pellet_small", "dry", 100.0)
    assert label.printed_frac == {"protein": 0.5, "fat": 0.15, "moisture": 0.08}
    assert label.grain_mm == pytest.approx(1.2)
    again = load_plan_text(dump_plan(plan), plan.file, load_catalogue())
    assert again.foods == plan.foods


def test_a_label_of_a_food_of_the_catalogue_needs_no_like() -> None:
    text = PLAN.replace('"mine"', '"pellet_small"') + '[[foods]]\nid = "pellet_small"\nfat = "9 %"\n'
    assert plan_of(text).foods[0].like == "pellet_small"


def test_each_mistake_of_a_label_is_told() -> None:
    assert "name the food of the catalogue" in faults_of(PLAN + '[[foods]]\nid = "mine"\n')[0]
    wrong = faults_of(PLAN + '[[foods]]\nid = "mine"\nlike = "pellet_smal"\n')
    assert any("did you mean pellet_small" in message for message in wrong)
    heavy = FOOD.replace('"50 %"', '"80 %"').replace('"15 %"', '"30 %"')
    assert "basis" in faults_of(PLAN + heavy)[0]
    assert any("already the id" in message for message in faults_of(PLAN + FOOD + FOOD))
    assert "not believable" in faults_of(PLAN + FOOD.replace('"50 %"', '"500 %"'))[0]


def test_a_forecast_feeds_the_food_of_the_label() -> None:
    found = backreef.forecast(plan_of(PLAN + FOOD + '[goals]\nhorizon = "0.06 years"\n'), members=1)
    assert found.meals[0].label == "Slow-sinking pellets of about 1 mm (mine)"
    assert found.meals[0].eaten_share_p50 > 0.1


def test_a_label_that_holds_too_much_is_told_with_the_faults_of_the_rest() -> None:
    text = PLAN.replace('"ocellaris_clown"', '"blue dori"') + FOOD.replace('"50 %"', '"90 %"')
    said = faults_of(text)
    assert any("add up to" in message for message in said)
    about = [message for message in said if "blue dori" in message]
    assert len(about) == 1
    assert "is no animal of the catalogue" in about[0]


def test_an_own_food_without_a_name_is_told_from_what_it_is_like() -> None:
    plan = plan_of(PLAN + FOOD)
    shipped, own = load_catalogue().foods["pellet_small"], catalogue_of(plan).foods["mine"]
    assert own.name != shipped.name
    assert shipped.name in own.name
