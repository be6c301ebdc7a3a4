import pytest

from backreef.aquarium.plan import Plan
from backreef.judgement.findings import words
from backreef.judgement.remedies import ADVICE, MENDS, applies, mend, remedy_table, says
from backreef.schedule.effects import share_frac_of
from backreef.units import ion_per_element_ratio
from tests.unit.aquarium.plans import plan_of, with_tank

PAIR = '[[animals]]\nid = "pair"\nspecies = "ocellaris_clown"\ncount = 2\n'
SHOAL = '[[animals]]\nid = "shoal"\nspecies = "green_chromis"\ncount = 6\narrives_on = 2027-03-01\n'
GOBY = '[[animals]]\nid = "goby"\nspecies = "yellow_watchman"\narrives_on = 2027-02-01\n'
SNAILS = '[[animals]]\nid = "snails"\nspecies = "trochus"\ncount = 4\n'
MEAL = '[[meals]]\nid = "meal"\nfood = "pellet_small"\namount = "1 g"\ntimes = ["08:00", "18:00"]\n'
SIZED = MEAL.replace('amount = "1 g"', 'enough_for = "growth"')


def upkeep(task: str, rest: str = 'every = "14 days"\n') -> str:
    return f'[[upkeep]]\nid = "{task}"\ntask = "{task}"\n{rest}'


def mended(name: str, lines: str) -> Plan:
    found = mend(name, with_tank(lines))
    assert found is not None
    return found


def grams(plan: Plan) -> list[float | None]:
    return [meal.grams_as_fed for meal in plan.meals]


def test_every_remedy_says_something_of_its_own() -> None:
    said = [entry["says"] for entry in remedy_table().values() if "says" in entry]
    assert len(set(said)) == len(said)
    assert says("sitter") == remedy_table()["sitter"]["says"]


def test_every_remedy_that_a_finding_names_is_known() -> None:
    entries = [side for sides in words()["water"].values() for side in sides.values()]
    entries += [*words()["mouths"].values(), *words()["hands"].values()]
    wanted = {name for entry in entries for name in entry["remedies"]}
    assert wanted <= set(remedy_table())
    assert set(MENDS) | set(ADVICE) <= set(remedy_table())
    assert wanted == {name for name, entry in remedy_table().items() if "says" in entry}, "none is idle"


@pytest.mark.parametrize("name", ["sitter", "first_meal", "pray", ""])
def test_what_has_no_function_is_never_simulated(name: str) -> None:
    assert mend(name, with_tank(PAIR + MEAL)) is None


@pytest.mark.parametrize(
    "name",
    [
        "feed_less",
        "feed_more",
        "more_meals",
        "harvest_more",
        "harvest_less",
        "fewer_fish",
        "wait_longer",
        "more_grazers",
        "larger_reservoir",
        "less_glass",
    ],
)
def test_it_does_not_mend_what_is_not_there(name: str) -> None:
    assert mend(name, with_tank(PAIR)) is None


def test_less_and_more_food_are_scaled_at_every_meal() -> None:
    assert grams(mended("feed_less", MEAL)) == [pytest.approx(0.8)]
    assert grams(mended("feed_more", MEAL)) == [pytest.approx(1.25)]


def test_a_sized_meal_is_sized_anew_instead() -> None:
    assert [meal.enough_for for meal in mended("feed_less", SIZED).meals] == ["maintenance"]
    assert mend("feed_more", with_tank(SIZED)) is None, "it is enough for growth already"


def test_a_sized_meal_beside_a_weighed_one_stays_as_it_is() -> None:
    both = mended("feed_less", MEAL + SIZED.replace('id = "meal"', 'id = "other"'))
    assert [meal.enough_for for meal in both.meals] == [None, "growth"]


@pytest.mark.parametrize(
    ("hours", "expected"),
    [
        (["08:00", "18:00"], (8.0, 13.0, 18.0)),
        (["08:00", "13:00", "19:00"], (8.0, 13.0, 16.0, 19.0)),
        (["12:00"], (12.0, 16.0)),
        (["22:00"], (18.0, 22.0)),
    ],
)
def test_one_more_meal_shares_the_food_of_the_day(hours: list[str], expected: tuple[float, ...]) -> None:
    times = ", ".join(f'"{hour}"' for hour in hours)
    (meal,) = mended("more_meals", MEAL.replace('"08:00", "18:00"', times)).meals
    assert meal.times == expected
    assert (meal.grams_as_fed or 0.0) * len(expected) == pytest.approx(1.0 * len(hours))


CHANGES = upkeep("wc_do", 'every = "60 days"\nshare = "20 %"\n')


def test_more_water_is_half_as_much_again_of_the_plans_own_changes() -> None:
    (change,) = mended("change_more_water", CHANGES).upkeep
    assert change.share_frac == pytest.approx(0.3)
    assert change.rhythm.every_days == 60.0


@pytest.mark.parametrize(("share", "more"), [("40 %", 0.5), ("50 %", None), ("80 %", None)])
def test_no_remedy_changes_most_of_the_water_at_once(share: str, more: float | None) -> None:
    changed = mend("change_more_water", with_tank(CHANGES.replace("20 %", share)))
    assert (None if changed is None else changed.upkeep[0].share_frac) == more


def test_water_changes_begin_only_where_there_are_none() -> None:
    (change,) = mended("start_water_changes", "").upkeep
    assert (change.task, change.share_frac, change.rhythm.every_days) == ("wc_do", 0.15, 30.0)
    assert mend("start_water_changes", with_tank(CHANGES)) is None
    assert mend("change_more_water", with_tank("")) is None


def test_more_harvest_leaves_something_to_grow_again() -> None:
    plain = upkeep("harvest_macro", 'every = "14 days"\nshare = "30 %"\n')
    assert [one.share_frac for one in mended("harvest_more", plain).upkeep] == [pytest.approx(0.399)]
    assert [one.share_frac for one in mended("harvest_less", plain).upkeep] == [pytest.approx(0.15)]
    most = mended("harvest_more", plain.replace("30 %", "90 %") + upkeep("scrub_screen"))
    usual = share_frac_of("scrub_screen", plan=with_tank(""))
    assert usual is not None
    assert [one.share_frac for one in most.upkeep] == [0.9, pytest.approx(usual * 1.33)]


def test_iron_oxide_waits_for_a_test_and_brings_one_where_there_is_none() -> None:
    medium, test = mended("iron_oxide", 'water_volume = "200 L"\n').upkeep
    assert (medium.task, test.task) == ("gfo_change", "test_quick")
    assert medium.amount_g == pytest.approx(50.0)
    assert medium.when is not None
    assert (medium.when.series, medium.when.comparison) == ("phosphate_mg_p_per_l", ">")
    assert medium.when.value * ion_per_element_ratio("PO4", "P") == pytest.approx(0.12)
    tested = mended("iron_oxide", upkeep("test_lab")).upkeep
    assert [one.task for one in tested] == ["test_lab", "gfo_change"]


def test_a_second_doser_helps_nobody() -> None:
    assert [device.kind for device in mended("dose_alkalinity", "").devices] == ["doser"]
    assert mend("dose_alkalinity", with_tank('[[devices]]\nkind = "doser"\n')) is None


def test_it_leaves_out_the_largest_group_that_is_to_come_and_feeds_it_no_more() -> None:
    fed = SIZED + 'who = ["shoal", "goby"]\n'
    plan = mended("fewer_fish", PAIR + SHOAL + GOBY + fed)
    assert [entry.id for entry in plan.animals] == ["pair", "goby"]
    assert plan.meals[0].who == ("goby",)


def test_only_arrivals_wait() -> None:
    plan, before = mended("wait_longer", PAIR + GOBY), with_tank(PAIR + GOBY)
    assert plan.animals[0] == before.animals[0]
    came, comes = before.animals[1].arrives_on, plan.animals[1].arrives_on
    assert came is not None
    assert comes is not None
    assert (comes - came).days == 56


def test_grazers_become_half_as_many_again_and_at_least_one_more() -> None:
    counts = {entry.id: entry.count for entry in mended("more_grazers", PAIR + SNAILS).animals}
    assert counts == {"pair": 2, "snails": 6}
    single = mended("more_grazers", SNAILS.replace("count = 4", "count = 1"))
    assert single.animals[0].count == 2


COLD = 'room_temperature = "17 degC"\nroom_temperature_swing = "4 degC"\n'


def test_the_heater_takes_the_place_of_a_weaker_one_and_holds_the_coldest_room() -> None:
    weak = COLD + '[[devices]]\nkind = "heater_ctl"\npower = "50 W"\n'
    (heater,) = mended("stronger_heater", weak).devices
    assert heater.numbers["power_w"] > 50.0
    # 8 W per K and m2 of glass and surface, 12 K above the room, and a litre a day or so that evaporates
    plan = with_tank(weak)
    through_glass_w = 8.0 * (plan.tank.glass_area_m2 + plan.tank.surface_area_m2) * 12.0
    assert 1.5 * through_glass_w < heater.numbers["power_w"] < 4.0 * through_glass_w


@pytest.mark.parametrize("display", ["5 L", "20 L", "300 L"])
def test_no_heater_is_named_that_is_weaker_than_the_one_there(display: str) -> None:
    strong = plan_of(
        f'start_on = 2027-01-04\n[tank]\ndisplay = "{display}"\n{COLD}'
        '[[devices]]\nkind = "heater_ctl"\npower = "2000 W"\n'
    )
    assert mend("stronger_heater", strong) is None


def test_a_sump_is_kept_full_where_there_is_one_and_nothing_tops_it_up() -> None:
    (device,) = mended("fuller_sump", 'sump = "40 L"\n').devices
    assert device.kind == "ato"
    assert mend("fuller_sump", with_tank('sump = "0 L"\n')) is None
    assert mend("fuller_sump", with_tank('sump = "40 L"\n[[devices]]\nkind = "ato"\n')) is None


def test_a_device_tops_up_where_none_does() -> None:
    (device,) = mended("top_off", "").devices
    assert (device.kind, device.numbers) == ("ato", {})
    assert mend("top_off", with_tank('[[devices]]\nkind = "ato"\n')) is None


HARVEST = upkeep("harvest_macro", 'every = "14 days"\nshare = "30 %"\n')


@pytest.mark.parametrize(
    ("name", "fits", "does_not"),
    [
        ("larger_reservoir", '[[devices]]\nkind = "ato"\nreservoir = "20 L"\n', ""),
        ("more_grazers", SNAILS, PAIR),
        ("first_grazers", PAIR, SNAILS),
        ("harvest_more", HARVEST, ""),
        ("start_harvest", "", HARVEST),
        ("first_meal", PAIR, PAIR + MEAL),
        ("feed_more", PAIR + MEAL, PAIR + SIZED),
    ],
)
def test_only_what_fits_a_plan_is_named(name: str, fits: str, does_not: str) -> None:
    assert applies(name, with_tank(fits))
    assert not applies(name, with_tank(does_not))


def test_the_reservoir_is_doubled() -> None:
    devices = '[[devices]]\nkind = "ato"\nreservoir = "20 L"\n[[devices]]\nkind = "skimmer_sump"\n'
    plan = mended("larger_reservoir", devices)
    assert [device.numbers for device in plan.devices] == [{"reservoir_l": 40.0}, {}]


@pytest.mark.parametrize(
    ("rhythm", "expected"),
    [
        ('every = "7 days"\n', (14.0, 1, 1)),
        ('every = "Mon"\n', (None, 2, 1)),
        ('every = "first Monday"\n', (None, 1, 2)),
    ],
)
def test_glass_is_wiped_half_as_often_and_nothing_else_is(
    rhythm: str, expected: tuple[float | None, int, int]
) -> None:
    lines = upkeep("glass_inner", rhythm) + upkeep("test_quick")
    before, after = with_tank(lines).upkeep, mended("less_glass", lines).upkeep
    assert after[1] == before[1]
    slower = after[0].rhythm
    assert (slower.every_days, slower.every_weeks, slower.every_months) == expected
    assert (slower.kind, slower.weekdays) == (before[0].rhythm.kind, before[0].rhythm.weekdays)


def test_more_time_is_a_quarter_more() -> None:
    before = with_tank("")
    after = mended("more_time", "")
    assert after.keeper.minutes_per_month == pytest.approx(1.25 * before.keeper.minutes_per_month)


def test_a_chiller_cools_where_none_does() -> None:
    (device,) = mended("cooler", "").devices
    assert (device.kind, device.numbers) == ("chiller", {})
    assert mend("cooler", with_tank('[[devices]]\nkind = "chiller"\n')) is None


def test_air_comes_before_fewer_animals_and_before_doses() -> None:
    water = words()["water"]
    assert water["oxygen_mg_per_l"]["low"]["remedies"][0] == "more_air"
    assert water["ph_total"]["low"]["remedies"][0] == "more_air"
    assert mend("more_air", with_tank(PAIR)) is None, "how much air a surface lets in is not in the plan"
    assert applies("more_air", with_tank(PAIR))
