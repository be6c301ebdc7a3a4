"""Food of a stated pack grows stale once open, unless somebody looks at the dates."""

from __future__ import annotations

import numpy as np

from backreef.judgement.books import conservation
from backreef.judgement.course import run_course
from backreef.schedule.pantry import opened_life_d
from backreef.schedule.staleness import overdue_ratios
from backreef.simulation.draws import Draws
from backreef.simulation.prepared import Prepared, prepare
from backreef.usecases.check import catalogue_of
from tests.unit.aquarium.plans import catalogue, plan_of

PLAN = """\
start_on = 2027-01-04
[tank]
display = "200 L"
start = {{ kind = "seeded" }}
[keeper]
presence = ["Mon-Sun 7:00-22:00"]
refuses = [{refused}]
[goals]
horizon = "1 years"
[[animals]]
species = "ocellaris_clown"
count = 2
[[meals]]
food = "pellet_small"
amount = "0.014 g"
times = ["12:00"]
{pack}
"""
BIG = '[[foods]]\nid = "pellet_small"\npack = "20 g"\n'
SMALL = '[[foods]]\nid = "pellet_small"\npack = "1 g"\n'
NOBODY_LOOKS = '"food_stock"'


def ready(pack: str, refused: str = "") -> Prepared:
    plan = plan_of(PLAN.format(pack=pack, refused=refused))
    return prepare(plan, catalogue_of(plan))


def overdue(pack: str, refused: str = "") -> dict[int, float]:
    prepared = ready(pack, refused)
    found = overdue_ratios(prepared.plan, prepared.catalogue, prepared.keeper)
    return {day: ratio for (_, day), ratio in found.items()}


def test_a_pack_that_is_used_in_time_and_one_of_no_stated_size_are_always_fresh() -> None:
    assert overdue("", NOBODY_LOOKS) == {}
    assert overdue(SMALL, NOBODY_LOOKS) == {}


def test_a_pack_that_lasts_too_long_is_stale_from_the_end_of_its_life_on() -> None:
    life = opened_life_d(catalogue().foods["pellet_small"])
    assert life is not None
    found = overdue(BIG, NOBODY_LOOKS)
    assert min(found) == int(life.value) + 1
    assert max(found) == 364, "20 g last for years at 0.014 g a day"
    assert found[int(2 * life.value)] == np.float64(int(2 * life.value) / life.value - 1.0)


def test_whoever_checks_the_stock_opens_a_new_pack() -> None:
    looked = overdue(BIG)
    assert 0 < len(looked) < 0.5 * len(overdue(BIG, NOBODY_LOOKS))
    assert max(looked.values()) < 0.6, "somebody looks once a month"


def test_stale_food_leaves_less_for_the_animals_and_all_of_it_in_the_water() -> None:
    fresh, stale = (
        run_course(each.plan, each.catalogue, Draws(1, 8))
        for each in (ready("", NOBODY_LOOKS), ready(BIG, NOBODY_LOOKS))
    )
    eaten = [float(np.median(course.courses[0].eaten_mmol["Q_1"])) for course in (fresh, stale)]
    assert eaten[1] < 0.9 * eaten[0]
    assert stale.courses[0].fullness[-30:].mean() < fresh.courses[0].fullness[-30:].mean()
    waste = [float(np.median(course.series["waste_food_g_dry"][-90:])) for course in (fresh, stale)]
    assert waste[1] > waste[0]
    for course in (fresh, stale):
        assert max(conservation(course.members).values()) < 1e-8
