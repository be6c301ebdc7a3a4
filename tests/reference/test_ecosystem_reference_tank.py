"""The tank that the model was first tried in: what came out then must come out again, in order of magnitude.

None of it is data (project checks R1 to R4). The trial had fish and grazers as fixed flows; here they are
animals that can take as much. Denitrification is our default, and rock and sand as ripe as its detritus was.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from functools import cache

import numpy as np
import pytest

from backreef.simulation.events import EventProgram
from backreef.simulation.layout import Layout
from tests.tank_acts import change_water, feed, together
from tests.tanks import Action, Animal, Array, Course, Life, Tank, an_animal, run

MG_N_PER_UMOL = 14.007e-3
MEALS = (9.0, 12.0, 15.0, 18.0)
MEALS_MMOL_PER_D = 25.0
EVERY_TWO_HOURS = tuple(float(hour) for hour in range(2, 24, 2))
WEEK_8 = 56


def always_hungry(likes: Mapping[str, float], most_mmol_per_d: float) -> Animal:
    """A grazer that takes what it finds, up to so much, and is never full."""
    plain = an_animal(1.0, likes=likes, day=1.0, night=1.0)
    traits = {"speed": most_mmol_per_d / 0.912, "capacity": 1e9, "goal": 1e9, "burn": 1e3}
    return replace(plain, traits={**plain.traits, **traits}, reserve_mmol=0.0)


def the_tank(*, film_mmol_per_d: float, start: Mapping[str, float | Array] | None = None) -> Tank:
    """Fish for 25 mmol C a day, grazers for 25 of turf, so much of film, 3 of nuisance algae."""
    fish = an_animal(
        5.0,
        likes={"Q_1": 1.0, "bottom": 0.3},
        burn_mmol_per_d=2.6,
        intake_mmol_per_d=12.0,
        body_mmol=120.0,
    )
    grazers = (("A_T", 25.0), ("A_F", film_mmol_per_d), ("A_N", 3.0))
    return Tank(
        animals=[fish, *(always_hungry({pool: 1.0}, most) for pool, most in grazers)],
        start=start or {},
    )


def buffer(program: EventProgram, layout: Layout) -> None:
    """Alkalinity made up to 2.6 meq/L, with carbon and calcium."""
    volume, alkalinity = layout.address("V"), layout.address("S_ALK")
    program.put("where_below", source=alkalinity, factor=2.6 * 200.0)
    for name, part in (("S_DIC", 1.0), ("S_Ca", 0.5), ("S_ALK", 1.0)):
        program.put("add", target=layout.address(name), source=volume, factor=2.6 * part)
        if name != "S_ALK":
            program.put("add", target=layout.address(name), source=alkalinity, factor=-part)
    program.put("set", target=alkalinity, source=volume, factor=2.6)
    program.put("everyone")


def harvest_to_60(program: EventProgram, layout: Layout) -> None:
    """Refugium algae cut back to 60 mmol C."""
    at = layout.address("A_R")
    program.put("where_above", source=at, factor=60.0)
    program.put("set", target=at, source=0, factor=60.0)
    program.put("everyone")


def the_life(
    tank: Tank,
    days: int,
    *,
    fed_mmol_per_d: float = MEALS_MMOL_PER_D,
    upkeep: bool = True,
    written: tuple[float, ...] = (),
) -> Life:
    """Four meals a day, alkalinity kept, and each week a tenth of the water and the refugium's harvest."""
    weekly = together(change_water(0.1, tank=tank), harvest_to_60)
    meals: dict[float, Action] = {hour: feed(fed_mmol_per_d / len(MEALS), tank=tank) for hour in MEALS}
    return Life(
        days=days,
        midnights=False,
        daily={**meals, 20.5: buffer},
        once={(day, 11.0): weekly for day in range(6, days, 7)} if upkeep else {},
        written=written,
    )


# -- R1: start-up without animals, ammonia once --------------------------------------------------------------
def test_a_start_up_takes_as_long_as_it_took_then() -> None:
    # ammonia under 0.05 mg N/L on day 15 to 16 (within 3 days), nitrite on day 31 to 32 (within 6). Phosphate
    # 1 umol/L, because the nitrifiers need it here and did not then
    water = {"S_O2": 41.2, "S_DIC": 440.0, "S_ALK": 520.0, "S_Ca": 2080.0, "S_PO4": 0.2}
    start = {**water, "S_NH": 2.0 / MG_N_PER_UMOL * 0.2, "X_AOB": 0.004, "X_NOB": 0.002}
    course = run(Tank(empty=True, start=start), Life(days=60))
    ammonia, nitrite = (course.umol_per_l(name)[:, 0] * MG_N_PER_UMOL for name in ("S_NH", "S_NO2"))
    after_peak = nitrite.argmax()
    assert int(np.argmax(ammonia < 0.05)) == pytest.approx(15.5, abs=3.5)
    assert int(after_peak + np.argmax(nitrite[after_peak:] < 0.05)) == pytest.approx(31.5, abs=6.5)
    assert nitrite.max() == pytest.approx(1.98, rel=0.15)


# -- R2: week 8 ----------------------------------------------------------------------------------------------
@cache
def week_8(film_mmol_per_d: float) -> Course:
    """The tank after eight weeks, its last days hour by hour."""
    tank = the_tank(film_mmol_per_d=film_mmol_per_d)
    return run(tank, the_life(tank, WEEK_8, written=EVERY_TWO_HOURS))


RANGES = {
    "S_NH": (0.8, 2.0),
    "S_NO2": (1.0, 4.0),
    "S_NO3": (60.0, 250.0),
    "S_PO4": (0.5, 3.0),
    "S_O2": (0.85 * 205.0, 1.15 * 205.0),
}
CROPPED, AS_THEN = 30.0, 4.0


@pytest.mark.parametrize("name", RANGES)
@pytest.mark.parametrize("film_mmol_per_d", [CROPPED, AS_THEN])
def test_week_8_is_as_it_was_then(name: str, film_mmol_per_d: float) -> None:
    low, high = RANGES[name]
    last_day = week_8(film_mmol_per_d).umol_per_l(name)[-13:, 0]
    assert low <= last_day.mean() <= high


def swing(film_mmol_per_d: float) -> float:
    """How far pH moves in a day."""
    course = week_8(film_mmol_per_d)
    low, high = (course.row(name)[-12:, 0] for name in ("ph_least", "ph_most"))
    return float(high.max() - low.min())


def test_in_week_8_ph_moves_as_far_as_then_where_film_is_kept_short() -> None:
    assert 0.1 <= swing(CROPPED) <= 0.2


@pytest.mark.xfail(
    strict=True,
    reason="with 4 mmol C of film eaten a day, film covers glass and rock and moves pH by 0.37. No default "
    "within its range mends that: film all in reach of pods gives 0.26, most gas exchange 0.34, and six "
    "numbers at the kind ends of their ranges at once (pods, gas, light of corals) still 0.21",
)
def test_in_week_8_ph_moves_as_far_as_then_with_as_few_grazers() -> None:
    assert 0.1 <= swing(AS_THEN) <= 0.2


# -- R3: twice the food for a week ---------------------------------------------------------------------------
def highest_ammonia_mg_n_per_l(course: Course) -> float:
    """The peak of a week."""
    return float(course.umol_per_l("S_NH").max() * MG_N_PER_UMOL)


def continued(course: Course) -> dict[str, float | Array]:
    """What a tank held at the end."""
    layout = course.tank.layout
    return {name: course.row(name)[-1] for name in layout.components[: layout.active]}


def a_week_of_plenty(course: Course) -> float:
    """The peak of ammonia in a week of twice the food of the grown tank."""
    tank = the_tank(film_mmol_per_d=CROPPED, start=continued(course))
    life = the_life(tank, 7, fed_mmol_per_d=2.0 * MEALS_MMOL_PER_D, written=EVERY_TWO_HOURS)
    return highest_ammonia_mg_n_per_l(run(tank, life))


def test_a_grown_tank_bears_twice_the_food_and_a_young_one_less_well() -> None:
    # below 0.1 mg N/L (then 0.04); at least 1.5 times as much after three weeks of light feeding (then 0.075)
    young = the_tank(film_mmol_per_d=CROPPED, start={"X_AOB": 0.02, "X_NOB": 0.01})
    light = run(young, the_life(young, 21, fed_mmol_per_d=5.0))
    grown, new = a_week_of_plenty(week_8(CROPPED)), a_week_of_plenty(light)
    assert grown < 0.1
    assert new >= 1.5 * grown


# -- R4: no export -------------------------------------------------------------------------------------------
def test_without_harvest_and_water_changes_nutrients_pile_up() -> None:
    tank = the_tank(film_mmol_per_d=CROPPED)
    kept, left = (run(tank, the_life(tank, 183, upkeep=upkeep)) for upkeep in (True, False))
    for name in ("S_NO3", "S_PO4"):
        assert (left.umol_per_l(name)[-1] > kept.umol_per_l(name)[-1]).all()
