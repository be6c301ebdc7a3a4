"""Who gets the food when several sorts come to one meal, through the public door.

Common practice, no source: shy fish starve beside fierce ones although enough is given, and not beside
quiet ones; fish that are fed more than they need quarrel less, and the water pays for it.
"""

from __future__ import annotations

import backreef
from backreef.judgement.verdict import Forecast
from tests.phenomena.test_mouths import PLAN, animal, condition, forecast, meal, outcome
from tests.unit.aquarium.plans import plan_of

TIMES = ("12:00", "17:00")
SHY, BULLY = animal("firefish", 1, "6 cm"), animal("domino_damsel", 1, "7 cm")
FOR_SHY_G, FOR_BULLY_G = 0.03, 0.16
"""A day; each is enough for the one that has the tank alone."""


def fed(lines: str, grams_per_d: float) -> Forecast:
    return forecast(lines + meal("pellet_small", grams_per_d, TIMES))


def test_a_shy_feeder_starves_beside_a_bully_although_the_total_suffices() -> None:
    assert condition(fed(SHY, FOR_SHY_G), "firefish") > 0.95
    assert condition(fed(BULLY, FOR_BULLY_G), "domino_damsel") > 0.95
    both = fed(SHY + BULLY, FOR_SHY_G + FOR_BULLY_G)
    assert condition(both, "domino_damsel") > 0.95
    assert both.meals[0].eaten_share_p50 < 0.7  # food is left over, and the shy one does not get it
    shy = outcome(both, "firefish")
    assert condition(both, "firefish") < 0.92
    assert shy.condition.p50[45] > shy.condition.p50[-1]
    assert shy.count_end_p50 == 0 or shy.energy_met.p50[-1] < 0.95


def test_beside_a_quiet_fish_of_the_same_size_it_gets_its_share() -> None:
    quiet = animal("green_chromis", 1, "7 cm")
    assert condition(fed(SHY + quiet, FOR_SHY_G + FOR_BULLY_G), "firefish") > 0.95


def test_six_fish_eat_the_same_in_one_entry_or_in_six() -> None:
    tank = PLAN.format(litres=200, rock=20, sand=0.3, kind="established", age="12 months", years=0.06)
    six = animal("ocellaris_clown", 6, "5 cm")
    one = animal("ocellaris_clown", 1, "5 cm")
    each = "".join(one.replace('id = "', f'id = "fish{number}_') for number in range(6))
    given = meal("pellet_small", 0.5, TIMES)
    together, apart = (backreef.forecast(plan_of(tank + lines + given), members=1) for lines in (six, each))
    eaten = [sum(animal.ration_g_dry_per_d_p50 for animal in found.animals) for found in (together, apart)]
    assert abs(eaten[1] / eaten[0] - 1.0) < 0.01
    assert abs(condition(apart, "ocellaris_clown") - condition(together, "ocellaris_clown")) < 0.005


def test_fish_fed_a_surplus_quarrel_less_and_pay_for_it_in_water_changes() -> None:
    change = (
        '[[upkeep]]\ntask = "wc_do"\nshare = "15 %"\nevery = "week"\n'
        'when = "nitrate > 15 mg/L NO3 at the last test"\n'
        '[[upkeep]]\ntask = "test_quick"\nevery = "week"\n'
    )
    enough, surplus = (fed(SHY + BULLY + change, grams) for grams in (FOR_SHY_G + FOR_BULLY_G, 0.6))
    assert condition(surplus, "firefish") > condition(enough, "firefish") + 0.05
    changes = [
        next((line.times_per_year for line in found.minutes.by_chore if line.task == "wc_do"), 0.0)
        for found in (enough, surplus)
    ]
    assert changes[1] > changes[0] + 4.0
