"""Protein eaten, day by day, against what keeps the flesh of a fish."""

from __future__ import annotations

import numpy as np
import pytest

from backreef.judgement.books import conservation
from backreef.judgement.course import Course, run_course
from backreef.judgement.findings import findings_of
from backreef.simulation.draws import Draws
from backreef.usecases.check import catalogue_of
from tests.unit.aquarium.plans import plan_of

PLAN = """\
start_on = 2027-01-04
[tank]
display = "200 L"
start = {{ kind = "seeded" }}
[keeper]
presence = ["Mon-Sun 7:00-22:00"]
[goals]
horizon = "0.3 years"
[[animals]]
id = "pair"
species = "ocellaris_clown"
count = 2
length = "6 cm"
[[animals]]
id = "snails"
species = "trochus"
count = 2
[[meals]]
food = "pellet_small"
amount = "{grams} g"
times = ["9:00", "17:00"]
{food}
"""
POOR = '[[foods]]\nid = "pellet_small"\nprotein = "4 %"\nfat = "30 %"\n'


def lived(grams: float, food: str = "") -> Course:
    plan = plan_of(PLAN.format(grams=grams, food=food))
    return run_course(plan, catalogue_of(plan), Draws(1, 8))


def test_a_fed_pair_has_its_protein_and_an_invertebrate_is_not_judged() -> None:
    course = lived(0.05)
    assert set(course.proteins) == {"pair"}
    assert np.median(course.proteins["pair"][-1]) > 1.0
    assert course.protein_lacks == []
    assert max(conservation(course.members).values()) < 1e-8


def test_what_is_counted_is_what_was_eaten() -> None:
    course = lived(0.05)
    (slot,) = course.prepared.foods
    eaten = sum(float(course.courses[0].eaten_mmol[pool][0]) for pool in ("Q_1", "bottom"))
    # by the label, all of it pellets: 6.25 g of protein to a gram of nitrogen
    by_label = eaten * slot.composition[1] * 14.007 * 6.25
    counted = float(course.members.daily(0)[:, 0].sum())
    assert counted == pytest.approx(by_label, rel=0.1)


def test_food_without_protein_is_found_however_much_of_it_there_is() -> None:
    course = lived(0.05, POOR)
    (lack,) = course.protein_lacks
    assert lack.lowest_ratio < 1.0
    (found,) = (each for each in findings_of(course) if each.id.startswith("mouths.pair.protein"))
    assert not found.breaks
    assert "protein" in found.what
