"""Plans of feeding as keepers make them, each by `forecast`: who holds, who fades, and what is said of it.

All common practice, no source. Clownfish through an absence stand in test_mouths, shy eaters and bullies in
test_bullies.
"""

from __future__ import annotations

import backreef
from backreef.judgement.verdict import Forecast
from tests.phenomena.test_mouths import (
    ONE_MEAL,
    PLAN,
    REFUGIUM,
    animal,
    condition,
    forecast,
    meal,
    outcome,
)
from tests.unit.aquarium.plans import plan_of

FEEDER = '[[devices]]\nid = "feeder"\nkind = "feeder_auger"\nhopper = "80 g"\n'
FIVE_MEALS = ("10:00", "12:00", "14:00", "16:00", "18:00")
TWO_MEALS = ("12:00", "17:00")


def ids(found: Forecast) -> set[str]:
    return {finding.id for finding in found.findings}


def test_five_plankton_pickers_fade_on_one_meal_and_hold_on_five_from_a_feeder() -> None:
    for species, length, grams in (("lyretail_anthias", "7 cm", 0.6), ("green_chromis", "5 cm", 0.3)):
        fish = animal(species, 5, length) + FEEDER
        one, five = (
            forecast(fish + meal("pellet_micro", grams, times, by="feeder"), litres=400, years=0.5)
            for times in (ONE_MEAL, FIVE_MEALS)
        )
        assert condition(five, species) > 0.98
        assert condition(one, species) < condition(five, species) - 0.05
        assert f"plan.meals.{species}" in ids(one)


def test_a_picker_of_pods_holds_with_a_mature_refugium_only() -> None:
    fish = animal("mandarin", 1, "6 cm")
    company = animal("ocellaris_clown", 2, "6 cm") + meal("pellet_small", 0.3, TWO_MEALS)
    alone = fish + meal("pellet_small", 0.06, TWO_MEALS)
    without = forecast(alone, litres=120, age="3 months", years=0.5)
    young = forecast(fish + company + REFUGIUM, litres=250, kind="live_rock", age="1 day", years=0.5)
    mature = forecast(fish + company + REFUGIUM, litres=250, age="18 months", years=0.5)
    assert condition(mature, "mandarin") > 0.95
    assert outcome(mature, "mandarin").count_end_p50 == 1
    # it needs nothing of what the others are fed
    assert sum(share for food, share in outcome(mature, "mandarin").eats if "ellets" in food) < 0.05
    for found in (without, young):
        assert condition(found, "mandarin") < 0.85
        assert outcome(found, "mandarin").count_end_p50 == 0
        assert any(finding.breaks and finding.balance == "mouths" for finding in found.findings)


def test_a_grazer_on_meat_pellets_alone_eats_its_fill_and_is_said_to_lack_plants() -> None:
    tang = animal("yellow_tang", 1, "9 cm")
    meat = forecast(tang + meal("pellet_medium", 1.0, TWO_MEALS), litres=500)
    weed = forecast(tang + meal("pellet_medium", 0.5, TWO_MEALS) + meal("nori", 0.5, ("11:00",)), litres=500)
    assert condition(meat, "yellow_tang") > 0.98
    assert "plan.plants.yellow_tang" in ids(meat)
    assert "plan.plants.yellow_tang" not in ids(weed)


def test_a_hopper_of_two_sizes_is_said_to_part_with_the_day_and_what_helps() -> None:
    fish = animal("trimma_goby", 2, "2.5 cm") + animal("yellow_coris", 1, "9 cm")
    fine = meal("pellet_micro", 0.1, ("11:00",), by="feeder")
    coarse = meal("pellet_medium", 0.2, TWO_MEALS, by="feeder")
    mixed = forecast(fish + FEEDER + fine + coarse, litres=300)
    (told,) = [finding for finding in mixed.findings if finding.id == "plan.mixed.feeder"]
    assert "off by a tenth from day" in told.why
    assert any("second feeder" in remedy.what for remedy in told.remedies)
    apart = FEEDER + FEEDER.replace('"feeder"', '"other"') + fine + coarse.replace('"feeder"', '"other"')
    assert not any(name.startswith("plan.mixed") for name in ids(forecast(fish + apart, litres=300)))


def test_a_fish_that_is_fed_by_hand_suffers_in_closed_days_and_is_named_for_them() -> None:
    presence = 'presence = ["Mon-Sun 7:00-22:00"]'
    tank = PLAN.format(litres=400, rock=40, sand=0.3, kind="established", age="12 months", years=0.12)
    fish = animal("copperband", 1, "10 cm") + meal("fz_mysid", 4.0, TWO_MEALS)
    closed = f"{presence}\nclosed = [{{ first = 2027-01-18, last = 2027-02-03 }}]"
    shut, open_ = (
        backreef.forecast(plan_of(text + fish), members=8, seed=1)
        for text in (tank.replace(presence, closed), tank)
    )
    lowest = [float(outcome(found, "copperband").condition.p50.min()) for found in (shut, open_)]
    assert lowest[0] < lowest[1] - 0.05
    (gap,) = shut.gaps
    assert (gap.hungry, gap.fed_days) == ("Copperband butterflyfish", 0)
    assert "plan.unfed.copperband" in ids(shut)
    assert open_.gaps == ()
