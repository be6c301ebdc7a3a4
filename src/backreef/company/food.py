"""Checks of food: portions, hoppers, meals a day, days without anybody, too much of it."""

from __future__ import annotations

from collections.abc import Iterator

from backreef.aquarium.plan import BY_HAND, DeviceEntry, Meal
from backreef.catalogue.entries import Food, Species, known
from backreef.company.findings import (
    CheckFinding,
    Found,
    Resident,
    Rule,
    Setting,
    rule_number,
    rule_source,
    source_text,
)

FED_BY_TANK = ("mostly", "fully")
_DAYS_PER_WEEK = 7
_FEEDING = "feed_"
"""How tasks of feeding by hand begin."""
_BY_HAND = (
    "give it by hand what it takes, as often as it needs, or leave it out",
    "ask somebody who comes to feed it, from portions prepared beforehand",
)
"""What helps an animal that no feeder keeps."""
_G_PER_KG = 1000.0
_WHOLE_FROM_KJ = 10.0
"""Below, two digits are told; a reading rule of ours."""


def needed_g_per_d(species: Species, length_cm: float, *, energy_kj_per_g: float) -> float | None:
    """Food as fed that one growing fish needs in a day; None where its mass is not known. [g/d]

    Validity
    --------
    Reef fish of 0.3 to 300 g at 24 to 27 degC; others only roughly.

    Source
    ------
    Lupatsch et al. 2013 for clownfish: 43.2 kJ per kg^0.80 a day; activity and growth by common practice.
    """
    a, b = known(species.weight_a_g), known(species.weight_b_ratio)
    if a is None or b is None:
        return None
    mass_kg = a.value * length_cm**b.value / _G_PER_KG
    rest_kj = rule_number("maintenance_kj_per_d") * mass_kg ** rule_number("maintenance_exponent")
    return float(rest_kj * rule_number("activity_ratio") * rule_number("growth_ratio") / energy_kj_per_g)


def needed_by_all_g_per_d(setting: Setting, food: Food, *, grown: bool = False) -> float:
    """Food as fed that the fish which live from it need in a day, at arrival or grown up. [g/d]"""
    energy = known(food.gross_energy_kj_per_g)
    total = 0.0
    for one in setting.residents:
        length = _length_cm(one, grown=grown)
        if not lives_from_food(one) or length is None or energy is None:
            continue
        total += one.entry.count * (needed_g_per_d(one.species, length, energy_kj_per_g=energy.value) or 0.0)
    return total


def lives_from_food(one: Resident) -> bool:
    """Whether it is a fish that what grows in the tank does not feed."""
    return one.species.kind == "fish" and one.species.forage_replaces not in FED_BY_TANK


def _length_cm(one: Resident, *, grown: bool) -> float | None:
    adult = known(one.species.adult_length_cm)
    return (adult.value if adult is not None else None) if grown else one.length_cm


def given_g_per_d(meal: Meal) -> float | None:
    """Grams of a meal on an average day; None where the plan leaves it to the need. [g/d]"""
    if meal.grams_as_fed is None:
        return None
    return meal.grams_as_fed * len(meal.times) * len(meal.weekdays) / _DAYS_PER_WEEK


def _feeders(setting: Setting) -> Iterator[tuple[DeviceEntry, list[Meal]]]:
    for device in setting.plan.devices:
        meals = [meal for meal in setting.plan.meals if meal.by == device.id]
        if meals:
            yield device, meals


def finest_portion(setting: Setting) -> Found:
    """A meal that is smaller than the smallest portion of its feeder."""
    for device, meals in _feeders(setting):
        least = known(setting.catalogue.devices[device.kind].portion_min_g)
        for meal in meals:
            if least is None or meal.grams_as_fed is None or meal.grams_as_fed >= least.value:
                continue
            yield CheckFinding(
                id=f"portion.{meal.id}",
                balance="water",
                weight="serious",
                who=meal.id,
                what=f"{meal.id}: the feeder cannot give so little",
                why=f"the meal is {meal.grams_as_fed:g} g and its smallest portion {least.value:g} g",
                source=source_text(setting.catalogue, least.source),
                status=least.status,
            )


def coarse_portions(setting: Setting) -> Found:
    """Feeders whose smallest portions together are more than the animals eat."""
    smallest_g = 0.0
    for device, meals in _feeders(setting):
        least = known(setting.catalogue.devices[device.kind].portion_min_g)
        times = sum(len(meal.times) * len(meal.weekdays) for meal in meals) / _DAYS_PER_WEEK
        smallest_g += least.value * times if least is not None else 0.0
    fed = [meal for meal in setting.plan.meals if meal.by != BY_HAND]
    if not fed or smallest_g <= 0:
        return
    need_g = needed_by_all_g_per_d(setting, setting.catalogue.foods[fed[0].food])
    if need_g <= 0 or smallest_g <= rule_number("coarse_ratio") * need_g:
        return
    source, status = rule_source("coarse_ratio")
    yield CheckFinding(
        id="portions.coarse",
        balance="water",
        weight="caution",
        who="feeders",
        what="the feeders' smallest portions are more than these animals eat",
        why=f"at their smallest they give {smallest_g:.2g} g a day, the fish need about {need_g:.2g} g "
        "while small; fewer meals a day or a finer feeder",
        source=source,
        status=status,
    )


def given_kj_per_d(setting: Setting) -> float | None:
    """Energy of all meals on an average day; None where a meal is left to the need or not known. [kJ/d]"""
    total = 0.0
    for meal in setting.plan.meals:
        grams, energy = given_g_per_d(meal), known(setting.catalogue.foods[meal.food].gross_energy_kj_per_g)
        if grams is None or energy is None:
            return None
        total += grams * energy.value
    return total


def needed_kj_per_d(setting: Setting, *, grown: bool = False) -> float:
    """Energy that the fish which live from food need in a day, at arrival or grown up. [kJ/d]"""
    total = 0.0
    for one in setting.residents:
        length = _length_cm(one, grown=grown)
        if lives_from_food(one) and length is not None:
            total += one.entry.count * (needed_g_per_d(one.species, length, energy_kj_per_g=1.0) or 0.0)
    return total


def too_much(setting: Setting) -> Found:
    """Far more food than the animals need even when grown up."""
    given_kj, need_kj = given_kj_per_d(setting), needed_kj_per_d(setting, grown=True)
    if given_kj is None or need_kj <= 0 or given_kj <= rule_number("overfed_ratio") * need_kj:
        return
    source, status = rule_source("overfed_ratio")
    yield CheckFinding(
        id="food.too_much",
        balance="water",
        weight="caution",
        who="all",
        what="far more food than the animals eat",
        why=f"the meals hold {_said(given_kj)} kJ a day, all fish when grown need about {_said(need_kj)} kJ",
        source=source,
        status=status,
    )


def _said(energy_kj: float) -> str:
    """Whole kilojoules, and two digits of the few that the smallest fish need."""
    return f"{energy_kj:.0f}" if energy_kj >= _WHOLE_FROM_KJ else f"{energy_kj:.2g}"


def too_seldom(setting: Setting) -> Found:
    """An animal that needs food more often than there are meals."""
    for one in setting.residents:
        needs = known(one.species.feedings_per_day)
        if needs is None or needs.value <= 0 or one.species.forage_replaces in FED_BY_TANK:
            continue
        meals = meals_a_day(setting, one)
        if meals >= needs.lowest:
            continue
        none = meals == 0
        strains = none and bool(setting.plan.meals) and _strains(one, setting)
        hungry = "lives from what floats alone" if strains else "nothing to eat"
        yield CheckFinding(
            id=f"meals.{one.entry.id}",
            balance="mouths",
            weight="serious" if none and not strains else "caution",
            who=one.species.common_name,
            what=f"{one.called}: {hungry if none else 'too few meals a day'}",
            why=(
                "no meal is food that it takes, "
                if none
                else f"fed {times_words(meals)} with food it takes, "
            )
            + f"and it needs that {times_words(needs.value)}",
            source=source_text(setting.catalogue, needs.source),
            status=needs.status,
            remedies=_BY_HAND if one.species.feeder_alone == "no" else (),
            condition=one.species.feeder_condition if one.species.feeder_alone == "no" else "",
        )


def _strains(one: Resident, setting: Setting) -> bool:
    """Whether it strains from the water what others leave, so that meals for others feed it in part."""
    eats = setting.guild(one).feeds_on["suspended_matter"].value
    return not one.is_fish and eats >= rule_number("strains_frac") and one.species.forage_replaces != "none"


def times_words(meals_per_d: float) -> str:
    """So many times a day, or a week where that is less than once a day."""
    if meals_per_d <= 0:
        return "never"
    count, span = (meals_per_d, "day") if meals_per_d >= 1 else (meals_per_d * _DAYS_PER_WEEK, "week")
    told = f"{count:.1f}".removesuffix(".0")
    return {"1": f"once a {span}", "2": f"twice a {span}"}.get(told, f"{told} times a {span}")


def meals_a_day(setting: Setting, one: Resident) -> float:
    """Different hours a day, on average over the week, at which food comes that it takes."""
    hours: set[tuple[int, float]] = set()
    for meal in setting.plan.meals:
        food = setting.catalogue.foods[meal.food]
        if one.species.takes.get(food.food_class) in ("no", "rarely"):
            continue
        days = set(meal.weekdays) & _feeding_days(setting) if meal.by == BY_HAND else set(meal.weekdays)
        hours |= {(day, hour) for day in days for hour in meal.times}
    return len(hours) / _DAYS_PER_WEEK


def _feeding_days(setting: Setting) -> set[int]:
    """Weekdays on which the keeper is there, or a helper who feeds."""
    keeper, tasks = setting.plan.keeper, setting.catalogue.tasks
    any_sitter = {task for task, entry in tasks.items() if entry.sitter_can_do == "yes"}
    days = {window.weekday for window in keeper.presence}
    for helper in keeper.helpers:
        if any(task.startswith(_FEEDING) for task in helper.tasks or any_sitter):
            days.update(helper.weekdays)
    return days


def empty_hopper(setting: Setting) -> Found:
    """A feeder that runs empty, or damp, in the longest absence."""
    for device, meals in _feeders(setting):
        days, why = _feeder_days(setting, device, meals)
        if days is None or days >= setting.absence_days:
            continue
        yield CheckFinding(
            id=f"hopper.{device.id}",
            balance="mouths",
            weight="serious",
            who=device.id,
            what=f"{device.id}: its food does not last the longest absence",
            why=f"{why}; {setting.absence_label}",
            source="common practice, no source",
            status="practice",
        )


def _feeder_days(setting: Setting, device: DeviceEntry, meals: list[Meal]) -> tuple[float | None, str]:
    """Days a full feeder lasts, and by what; None where nobody can tell."""
    kind = setting.catalogue.devices[device.kind]
    limits: list[tuple[float, str]] = []
    usual_hopper, cells = known(kind.hopper_g), known(kind.compartments_count)
    hopper_g = device.numbers.get("hopper_g", usual_hopper.value if usual_hopper is not None else None)
    grams = [given_g_per_d(meal) for meal in meals]
    if hopper_g is not None and None not in grams and sum(gram or 0.0 for gram in grams) > 0:
        days = hopper_g * device.count / sum(gram or 0.0 for gram in grams)
        limits.append((days, f"its hopper is empty after {days:.0f} days"))
    if cells is not None and cells.value > 1:
        count = device.numbers.get("cells_count", cells.value) * device.count
        portions = sum(len(meal.times) * len(meal.weekdays) for meal in meals) / _DAYS_PER_WEEK
        if portions > 0:
            limits.append((count / portions, f"its cells are empty after {count / portions:.0f} days"))
    runs = known(kind.runs_unattended_days)
    if runs is not None:
        limits.append((runs.value, f"its food stays good and it runs by itself for {runs.value:g} days"))
    return min(limits) if limits else (None, "")


def unfed(setting: Setting) -> Found:
    """An animal that nobody feeds for longer than it bears."""
    if any(meal.by != BY_HAND for meal in setting.plan.meals):
        return
    for one in setting.residents:
        bears = known(one.species.max_days_unfed)
        if bears is None or not lives_from_food(one) or setting.absence_days <= bears.lowest:
            continue
        yield CheckFinding(
            id=f"unfed.{one.entry.id}",
            balance="mouths",
            weight="serious",
            who=one.species.common_name,
            what=f"{one.called}: unfed for longer than it bears",
            why=f"all meals are by hand; {setting.absence_label}; "
            f"it bears {bears.lowest:.0f} to {bears.highest:.0f} days",
            source=source_text(setting.catalogue, bears.source),
            status=bears.status,
        )


RULES = (
    Rule(
        name="meals",
        look=too_seldom,
        reads=("feedings_per_day", "forage_replaces", "takes", "food_class", "guild"),
        plan=("meals", "keeper.presence"),
    ),
    Rule(
        name="unfed",
        look=unfed,
        reads=("max_days_unfed", "forage_replaces"),
        plan=("meals", "keeper.presence", "keeper.closed"),
    ),
    Rule(
        name="hopper",
        look=empty_hopper,
        reads=("hopper_g", "compartments_count", "runs_unattended_days"),
        plan=("devices", "meals", "keeper.presence", "keeper.closed"),
    ),
    Rule(name="portion", look=finest_portion, reads=("portion_min_g",), plan=("devices", "meals")),
    Rule(
        name="portions",
        look=coarse_portions,
        reads=("portion_min_g", "weight_a_g", "weight_b_ratio", "gross_energy_kj_per_g"),
        plan=("devices", "meals"),
    ),
    Rule(
        name="food",
        look=too_much,
        reads=("gross_energy_kj_per_g", "adult_length_cm", "weight_a_g", "weight_b_ratio"),
        plan=("meals",),
    ),
)
