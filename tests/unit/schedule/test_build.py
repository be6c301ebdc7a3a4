"""The whole schedule with the catalogue that ships and the plans that ship."""

import time
from pathlib import Path

import numpy as np
import pytest

from backreef.aquarium.load import load_plan
from backreef.aquarium.plan import Meal, Plan
from backreef.catalogue.entries import Catalogue
from backreef.catalogue.load import load_catalogue
from backreef.schedule.build import Schedule, build_schedule
from tests.unit.schedule.world import a_meal, a_plan, an_animal, an_upkeep, every, with_device

EXAMPLES = sorted((Path(__file__).parents[3] / "examples").glob("*.toml"))


def some_food(meal: Meal, _: int) -> float:
    return 0.2 / len(meal.times)


@pytest.fixture(scope="module")
def catalogue() -> Catalogue:
    return load_catalogue()


@pytest.fixture(scope="module", params=EXAMPLES, ids=lambda path: path.stem)
def plan(request: pytest.FixtureRequest, catalogue: Catalogue) -> Plan:
    return load_plan(request.param, catalogue)


@pytest.fixture(scope="module")
def schedule(plan: Plan, catalogue: Catalogue) -> Schedule:
    return build_schedule(plan, catalogue, ration_g=some_food)


def test_it_makes_the_schedule_of_every_example(schedule: Schedule) -> None:
    assert schedule.chores
    assert schedule.ledger.mean_per_month > 0
    assert np.isfinite(schedule.ledger.per_day).all()


def test_its_ids_are_unique(schedule: Schedule) -> None:
    ids = [chore.id for chore in schedule.chores]
    assert len(set(ids)) == len(ids)


def test_it_is_the_same_each_time(plan: Plan, catalogue: Catalogue, schedule: Schedule) -> None:
    again = build_schedule(plan, catalogue, ration_g=some_food)
    assert again.chores == schedule.chores
    assert again.meals.occasions == schedule.meals.occasions


def test_three_years_take_less_than_the_blink_of_an_eye(plan: Plan, catalogue: Catalogue) -> None:
    times = []
    for _ in range(3):
        start = time.process_time()
        build_schedule(plan, catalogue, ration_g=some_food)
        times.append(time.process_time() - start)
    # 0.15 s is what the schedule may take of a forecast; it needs a third of that on an idle machine.
    assert min(times) < 0.15


def test_a_larger_crew_takes_longer_to_look_through(catalogue: Catalogue) -> None:
    """2 minutes for 50 snails (common practice, no source)."""
    for count, minutes in ((10, 2.0), (100, 4.0)):
        plan = a_plan(
            animals=(an_animal("trochus", count=count), an_animal("ocellaris_clown")), horizon_days=20
        )
        found = [chore for chore in build_schedule(plan, catalogue).chores if chore.task_id == "crew_check"]
        assert [(chore.done_day, chore.minutes) for chore in found] == [(7, minutes), (14, minutes)]


def test_doubling_the_food_costs_minutes(catalogue: Catalogue) -> None:
    """More food fills cups, hoppers and refugia sooner (common practice, no source)."""

    def minutes(ration_g: float) -> float:
        fed = a_plan(meals=(a_meal(food="pellet_small", grams_as_fed=ration_g, by="feeder"),))
        for kind in ("skimmer_sump", "refugium"):
            fed = with_device(fed, kind, kind)
        fed = with_device(fed, "feeder", "feeder_drum_mains", numbers={"hopper_g": 40.0})
        return build_schedule(fed, catalogue).ledger.mean_per_month

    assert minutes(6.0) > 1.1 * minutes(3.0)


def test_a_tank_with_a_fuller_programme_takes_what_keepers_report(catalogue: Catalogue) -> None:
    """A usual tank of 300 L: 250 to 400 min a month without looks (common practice, no source)."""
    usual = a_plan(
        meals=(
            a_meal(food="pellet_small", times=(9.0, 17.0)),
            a_meal("frozen", food="fz_mysid", weekdays=(2, 5)),
        ),
        upkeep=(
            an_upkeep("wc_do", every(14), share_frac=0.15),
            an_upkeep("glass_inner", every(4)),
            an_upkeep("test_quick", every(14)),
            an_upkeep("salinity_cal", every(14)),
        ),
        devices=(),
    )
    for kind in ("ato", "skimmer_sump", "sock", "heater_ctl", "light_timer"):
        usual = with_device(usual, kind, kind)
    usual = with_device(usual, "pumps", "stream_pump_dc", count=2)
    assert 250 <= build_schedule(usual, catalogue).ledger.mean_per_month <= 400
