"""Clean-up crew, feeding, condition, feeders and absence as keepers know them, through the public door.

Each is an outcome of the model on an ordinary plan. All are common practice without a source except where one
is named; the numbers are those of the list of phenomena that the model was asked to show.
"""

from __future__ import annotations

from functools import cache

import pytest

import backreef
from backreef.judgement.verdict import AnimalOutcome, Forecast
from tests.unit.aquarium.plans import plan_of

MEMBERS = 8
PLAN = """\
start_on = 2027-01-04
[tank]
display = "{litres} L"
rock = "{rock} kg"
sand_area = "{sand} m2"
sand_depth = "4 cm"
[tank.start]
kind = "{kind}"
age = "{age}"
[keeper]
presence = ["Mon-Sun 7:00-22:00"]
[goals]
horizon = "{years} years"
"""
REFUGIUM = """\
[[devices]]
id = "refugium"
kind = "refugium"
volume = "40 L"
area = "0.25 m2"
light_par = "150 umol/m2/s"
on_at = "20:00"
hours = "12 h"
"""
ONE_MEAL = ("12:00",)
FOUR_MEALS = ("11:00", "13:00", "15:00", "17:00")


def animal(species: str, count: int = 1, length: str = "5 cm") -> str:
    return f'[[animals]]\nid = "{species}"\nspecies = "{species}"\ncount = {count}\nlength = "{length}"\n'


def meal(food: str, grams_per_d: float, times: tuple[str, ...], by: str = "hand") -> str:
    hours = ", ".join(f'"{time}"' for time in times)
    each = f"{grams_per_d / len(times):.5f} g"
    return f'[[meals]]\nfood = "{food}"\namount = "{each}"\nby = "{by}"\ntimes = [{hours}]\n'


@cache
def forecast(
    lines: str,
    *,
    litres: int = 200,
    kind: str = "established",
    age: str = "12 months",
    years: float = 0.25,
    seed: int = 1,
) -> Forecast:
    tank = PLAN.format(
        litres=litres, rock=litres // 10, sand=0.3 if litres > 100 else 0.15, kind=kind, age=age, years=years
    )
    return backreef.forecast(plan_of(tank + lines), members=MEMBERS, seed=seed)


def outcome(found: Forecast, species: str) -> AnimalOutcome:
    return next(each for each in found.animals if each.species == species)


def condition(found: Forecast, species: str, day: int = -1) -> float:
    return float(outcome(found, species).condition.p50[day])


# -- B. Clean-up crew ----------------------------------------------------------------------------------------
def test_a_big_crew_in_a_young_tank_starves_and_feeds_the_algae() -> None:
    # 7: 100 of 2 cm in 200 L: at most 40 alive at day 120, nutrients at day 90 above those with 15, of which
    # at least 11 live
    many, few = (
        forecast(animal("trochus", count, "2 cm"), age="2 months", years=0.33) for count in (100, 15)
    )
    assert outcome(many, "trochus").count_end_p50 <= 40
    assert outcome(few, "trochus").count_end_p50 >= 11
    nitrate = [float(found.series["nitrate_mg_no3_per_l"].p50[89]) for found in (many, few)]
    assert nitrate[0] > nitrate[1]


# -- C. Feeding and condition --------------------------------------------------------------------------------
def anthias(times: tuple[str, ...]) -> float:
    found = forecast(animal("lyretail_anthias", 3, "7 cm") + meal("pellet_micro", 0.45, times), litres=400)
    return condition(found, "lyretail_anthias")


def hawkfish(times: tuple[str, ...]) -> float:
    found = forecast(animal("flame_hawkfish", 1, "6 cm") + meal("pellet_small", 0.1, times), litres=400)
    return condition(found, "flame_hawkfish")


def test_frequent_feeders_do_worse_on_one_meal_and_ambushers_do_not() -> None:
    # 19: the same grams a day for 90 days; anthias hold on four meals, a hawkfish within 3 % both ways
    assert anthias(FOUR_MEALS) >= 0.97
    assert anthias(ONE_MEAL) < anthias(FOUR_MEALS) - 0.05
    assert abs(hawkfish(ONE_MEAL) - 1.0) < 0.08
    assert abs(hawkfish(ONE_MEAL) - hawkfish(FOUR_MEALS)) <= 0.03


@pytest.mark.xfail(
    reason="one large meal still fills a gut that lasts them for most of the day: they lose 6 % of body "
    "energy in 90 days, where keepers see 15 %; neither rank nor a gut without stomach is modelled"
)
def test_anthias_on_one_meal_lose_15_percent() -> None:
    assert anthias(ONE_MEAL) <= 0.85


def test_the_gut_limits_a_meal() -> None:
    # 20: a small planktivore takes 1 to 3 % of its mass dry per meal, extra is left
    fish = animal("green_chromis", 5)
    small, large = (forecast(fish + meal("pellet_small", grams, ONE_MEAL), years=0.1) for grams in (0.1, 0.4))
    waste = [1.0 - found.meals[0].eaten_share_p50 for found in (small, large)]
    assert waste[1] >= 2.0 * waste[0]
    taken = [outcome(found, "green_chromis").ration_g_dry_per_d_p50 for found in (small, large)]
    assert taken[1] < 2.0 * taken[0]


def mandarin(count: int = 1, *, young: bool = False) -> Forecast:
    fish = animal("mandarin", count, "6 cm")
    if young:
        return forecast(
            fish + meal("pellet_small", 0.06, ("12:00", "17:00")), litres=120, age="3 months", years=0.33
        )
    company = animal("ocellaris_clown", 2, "6 cm") + animal("pajama_cardinal", 4, "5 cm")
    fed = meal("pellet_small", 0.4, ("12:00", "17:00"))
    return forecast(fish + company + fed + REFUGIUM, litres=350, years=0.33)


def test_a_picker_of_pods_fades_in_a_young_tank_and_holds_in_a_ripe_one() -> None:
    # 25: 120 L of 3 months without refugium against 350 L of a year with one
    assert condition(mandarin(), "mandarin") >= 0.95
    assert condition(mandarin(young=True), "mandarin") <= 0.88


def test_a_second_picker_lowers_the_pods_by_a_third() -> None:
    # 26: by 30 to 80 %
    pods = [float(mandarin(count).series["copepods_g_dry"].p50[-1]) for count in (1, 2)]
    assert 0.2 <= pods[1] / pods[0] <= 0.7


# -- D. Feeders and absence ----------------------------------------------------------------------------------
def three_days_of_nothing(species: str, length: str) -> float:
    found = forecast(animal(species, 1, length), litres=800, kind="dry_rock", age="1 day", years=0.05)
    bands = outcome(found, species).condition.p50
    return float(1.0 - bands[3] / bands[0])


def test_an_empty_weekend_costs_the_young_at_least_twice_as_much() -> None:
    # 38: 0.5 g against 100 g, in per cent of the body
    assert three_days_of_nothing("ocellaris_clown", "3 cm") >= 2.0 * three_days_of_nothing(
        "yellow_tang", "17 cm"
    )


def pair_by(feeder: str) -> Forecast:
    device = f'[[devices]]\nid = "feeder"\nkind = "{feeder}"\n'
    given = meal("pellet_small", 0.04, ("11:00", "17:00"), by="feeder")
    return forecast(animal("ocellaris_clown", 2, "4 cm") + device + given, litres=60)


def test_a_feeder_too_coarse_for_a_nano_overfeeds_it() -> None:
    # 37: two smallest portions a day are more than twice what a pair needs, and nutrients climb
    coarse, fine = pair_by("feeder_drum_batt"), pair_by("feeder_disc")
    assert coarse.meals[0].grams_as_fed_per_day.mean() > 2.0 * fine.meals[0].grams_as_fed_per_day.mean()
    phosphate = [float(found.series["phosphate_mg_po4_per_l"].p50[-1]) for found in (coarse, fine)]
    assert phosphate[0] > phosphate[1]


def test_a_pair_on_a_feeder_holds_through_three_weeks_of_absence() -> None:
    # common practice, no source: the same pair that is fed by hand goes hungry
    closed = 'presence = ["Mon-Sun 7:00-22:00"]\nclosed = [{ first = 2027-01-18, last = 2027-02-07 }]'
    fish = animal("ocellaris_clown", 2, "5 cm")
    device = '[[devices]]\nid = "feeder"\nkind = "feeder_auger"\nhopper = "40 g"\n'

    def lowest(lines: str) -> float:
        tank = PLAN.format(litres=200, rock=20, sand=0.3, kind="established", age="12 months", years=0.12)
        plan = plan_of(tank.replace('presence = ["Mon-Sun 7:00-22:00"]', closed) + lines)
        found = backreef.forecast(plan, members=MEMBERS, seed=1)
        return float(outcome(found, "ocellaris_clown").condition.p50.min())

    times = ("11:00", "17:00")
    assert lowest(fish + device + meal("pellet_small", 0.1, times, by="feeder")) > 0.95
    assert lowest(fish + meal("pellet_small", 0.1, times)) < 0.92


def test_a_small_pair_on_a_feeder_in_180_litres_is_fed() -> None:
    # common practice, no source: of a pinch twice a day little is lost, and it is their need
    device = '[[devices]]\nid = "feeder"\nkind = "feeder_disc"\n'
    given = meal("pellet_small", 0.02, ("11:00", "17:00"), by="feeder")
    found = forecast(animal("ocellaris_clown", 2, "4 cm") + device + given, litres=180)
    met = outcome(found, "ocellaris_clown").energy_met.p50
    assert 0.9 <= met[7:].min() <= met[7:].max() <= 1.6
    assert condition(found, "ocellaris_clown") > 0.95


def test_one_small_fish_in_a_thousand_litres_finds_its_food() -> None:
    sized = '[[meals]]\nfood = "pellet_small"\nenough_for = "maintenance"\ntimes = ["12:00", "17:00"]\n'
    found = forecast(animal("ocellaris_clown", 1, "4 cm") + sized, litres=1000)
    assert outcome(found, "ocellaris_clown").count_end_p50 == 1
    assert outcome(found, "ocellaris_clown").energy_met.p50[7:].min() >= 0.9
    assert condition(found, "ocellaris_clown") > 0.95


def test_forty_fish_in_a_hundred_litres_eat_all_and_the_march_goes_on() -> None:
    found = forecast(animal("ocellaris_clown", 40, "6 cm") + meal("pellet_small", 0.2, ONE_MEAL), litres=100)
    assert 0.85 < found.meals[0].eaten_share_p50 <= 1.0
    assert condition(found, "ocellaris_clown") < 0.9
