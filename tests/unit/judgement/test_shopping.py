"""Food to buy: packs that are used before they go stale, what the freezer costs, and the trips."""

from __future__ import annotations

import pytest

from backreef.judgement.pantry_lines import ShoppingLine
from backreef.judgement.shopping import shopping_lines, stale_packs
from backreef.schedule.pantry import opened_life_d, packagings, sealed_life_d, trip_every_d
from backreef.simulation.prepared import Prepared, prepare
from backreef.usecases.check import catalogue_of
from tests.unit.aquarium.plans import catalogue, plan_of

PLAN = """\
start_on = 2027-01-04
[tank]
display = "300 L"
[keeper]
presence = ["Mon-Sun 7:00-22:00"]
[goals]
horizon = "1 years"
[[animals]]
species = "ocellaris_clown"
count = 2
"""


def meal(food: str, grams: float) -> str:
    return f'[[meals]]\nfood = "{food}"\namount = "{grams} g"\ntimes = ["12:00"]\n'


def ready(lines: str) -> Prepared:
    plan = plan_of(PLAN + lines)
    return prepare(plan, catalogue_of(plan))


def line_of(lines: str) -> ShoppingLine:
    return shopping_lines(ready(lines))[0]


def test_the_pack_is_the_largest_that_is_used_while_it_is_surely_good() -> None:
    # a sixth of a gram a day over two months, the low end of an opened pack of pellets: 10 g
    line = line_of(meal("pellet_small", 0.17))
    assert line.grams_per_month == pytest.approx(0.17 * 365.25 / 12, rel=0.01)
    assert (line.pack_g, line.stale_frac) == (10.0, 0.0)
    assert line_of(meal("pellet_small", 1.0)).pack_g == 50.0
    assert line_of(meal("pellet_small", 0.17)).packs_per_trip == 4  # 31 g in half a year


def test_a_pack_that_outlasts_its_life_is_partly_thrown_away_and_said_so() -> None:
    own = '[[foods]]\nid = "pellet_small"\npack = "100 g"\n'
    line = line_of(own + meal("pellet_small", 0.17))
    assert line.stale_frac == pytest.approx(1.0 - 0.17 * 2.5 * 365.25 / 12 / 100.0, rel=0.01)
    found = list(stale_packs(ready(own + meal("pellet_small", 0.17))))
    assert [one.id for one in found] == ["stale.pellet_small"]
    assert list(stale_packs(ready(meal("pellet_small", 0.17)))) == []


def test_what_keeps_light_air_and_damp_out_keeps_food_longer_and_never_longer_than_sealed() -> None:
    food = catalogue().foods["pellet_small"]
    lives = {kind: opened_life_d(food, kind) for kind in packagings()}
    days = {kind: life.value for kind, life in lives.items() if life is not None}
    assert days["clear_jar"] < days["usual"] < days["tin"] < days["portions"]
    assert days["zip_bag"] < days["foil_bag"]
    sealed = sealed_life_d(food)
    assert sealed is not None
    assert days["portions"] <= sealed.value


def test_frozen_food_keeps_less_at_home_loses_on_thawing_and_the_loss_is_bought() -> None:
    frozen = catalogue().foods["fz_mysid"]
    life = opened_life_d(frozen)
    assert life is not None
    assert life.value == pytest.approx(0.6 * 12 * 365.25 / 12)
    line = line_of(meal("fz_mysid", 1.0))
    assert line.thaw_loss_frac == pytest.approx(0.1)
    assert line.grams_per_month == pytest.approx(365.25 / 12 / 0.9, rel=0.01)


def test_trips_follow_the_food_with_the_shortest_life_and_are_a_chore() -> None:
    pellets, chilled = ready(meal("pellet_small", 0.2)), ready(meal("jarred_plankton", 0.2))
    assert trip_every_d(pellets.plan, pellets.catalogue) == 180.0
    # frozen food kept for six to twelve months at 0.4 of its life: sooner than half a year
    frozen = ready(meal("clam_halfshell", 0.5))
    assert trip_every_d(frozen.plan, frozen.catalogue) < 90.0
    for each in (pellets, chilled, frozen):
        trips = [chore for chore in each.keeper.chores if chore.task_id == "food_trip"]
        every = trip_every_d(each.plan, each.catalogue)
        assert len(trips) == pytest.approx(365 / every, abs=1.0)
        assert len(shopping_lines(each)[0].trips) == pytest.approx(365 / every, abs=1.0)


def test_what_the_tank_or_a_culture_gives_is_not_bought() -> None:
    assert shopping_lines(ready(meal("macro_fresh", 5.0))) == ()
    assert shopping_lines(ready(meal("live_pods", 0.5))) == ()
