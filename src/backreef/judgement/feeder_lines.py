"""What feeders are set to, when they are filled, and who goes hungry in each stretch with nobody there."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator
from datetime import date, timedelta

from backreef.judgement.rules import rule
from backreef.judgement.verdict import FastingLine, FeederLine, GapLine, RationStep
from backreef.models.mouths import FOOD_POOLS
from backreef.schedule.feeder_meals import REFILL
from backreef.schedule.feeders import FeederTraits
from backreef.schedule.meals import MealOccasion
from backreef.simulation.prepared import Prepared
from backreef.simulation.tables import animal_number
from backreef.units import DAYS_PER_MONTH
from backreef.working.members import Seen, seen_once, whole
from backreef.working.number import total

BATTERY = "feeder_battery"


def ration_steps(prepared: Prepared) -> tuple[RationStep, ...]:
    """Give, for each meal that is 'enough for' its animals, what it is first and every noticeable step."""
    steps: list[RationStep] = []
    sized = {meal.id: meal for meal in prepared.plan.meals if meal.grams_as_fed is None}
    for meal in sized.values():
        grams = _grams_by_day(prepared, meal.id)
        told = 0.0
        for day in sorted(grams):
            if told and abs(grams[day] / told - 1.0) < rule("ration_step_frac"):
                continue
            told = grams[day]
            steps.append(
                RationStep(
                    meal_id=meal.id,
                    label=prepared.catalogue.foods[meal.food].name,
                    on=_on(prepared, day),
                    month=int(day / DAYS_PER_MONTH) + 1,
                    grams_as_fed_per_d=told,
                )
            )
    return tuple(steps)


def _grams_by_day(prepared: Prepared, meal_id: str) -> dict[int, float]:
    """Grams of a meal by day; days on which fewer of its hours come are left out."""
    grams: dict[int, list[float]] = defaultdict(list)
    for each in prepared.keeper.meals.occasions:
        if each.meal_id == meal_id and each.food_g > 0:
            grams[each.day].append(each.food_g)
    most = max((len(parts) for parts in grams.values()), default=0)
    return {day: total(parts) for day, parts in grams.items() if len(parts) == most}


def feeder_lines(prepared: Prepared) -> tuple[FeederLine, ...]:
    """Give what each feeder of the plan is set to and when somebody has to see to it."""
    return tuple(_feeder(prepared, traits) for traits in prepared.keeper.meals.feeders.values())


def _feeder(prepared: Prepared, traits: FeederTraits) -> FeederLine:
    own = [each for each in prepared.keeper.meals.occasions if each.by == traits.device_id]
    given = [each for each in own if each.food_g > 0]
    days = len({each.day for each in given})
    grams_per_d = total(each.food_g for each in given) / _days_fed(prepared, days) if days else 0.0
    return FeederLine(
        device_id=traits.device_id,
        name=prepared.catalogue.devices[traits.kind].name,
        settings=tuple(_settings(prepared, given)),
        portions_g=tuple(each.food_g / each.portions for each in _first_day(given)),
        grams_as_fed_per_d=grams_per_d,
        covered_d=_covered_d(traits, given, grams_per_d),
        refills=_done(prepared, REFILL, traits.device_id),
        batteries=_done(prepared, BATTERY, traits.device_id),
    )


def _days_fed(prepared: Prepared, days: int) -> float:
    seen = Seen(symbol="days_fed", what="days of the plan on which it gives anything", unit="d")
    return seen_once(float(days), seen, kind="plan", place=prepared.plan.file)


def _days_with_food(prepared: Prepared, days: int) -> float:
    seen = Seen(symbol="days_with_food", what="days of the stretch on which a meal is given", unit="d")
    return seen_once(float(days), seen, kind="plan", place=prepared.plan.file)


def _first_day(given: list[MealOccasion]) -> Iterator[MealOccasion]:
    """Each meal at its hours on its first day."""
    first: dict[str, int] = {}
    for each in given:
        if first.setdefault(each.meal_id, each.day) == each.day:
            yield each


def _settings(prepared: Prepared, given: list[MealOccasion]) -> Iterator[str]:
    for each in _first_day(given):
        portions = f"{each.portions} x " if each.portions > 1 else ""
        hour, minute = divmod(round(each.hour * 60), 60)
        food = prepared.catalogue.foods[each.food_id].name
        yield f"{hour:02d}:{minute:02d} {portions}{each.food_g / each.portions:.2g} g {food}"


def _covered_d(traits: FeederTraits, given: list[MealOccasion], grams_per_d: float) -> float | None:
    """Days that a full feeder feeds with nobody there: its hopper, its cells, or how long it stays good."""
    lasts = [traits.unattended_days] if traits.unattended_days is not None else []
    if traits.hopper_g is not None and grams_per_d > 0:
        lasts.append(traits.hopper_g / grams_per_d)
    if traits.cells_count is not None and given:
        lasts.append(traits.cells_count * len({each.day for each in given}) / sum(g.portions for g in given))
    return whole(min(lasts)) if lasts else None


def _done(prepared: Prepared, task: str, device_id: str) -> tuple[date, ...]:
    """Days on which a chore is done, of this device or by an entry that names none."""
    others = set(prepared.keeper.meals.feeders) - {device_id}
    return tuple(
        _on(prepared, chore.done_day)
        for chore in prepared.keeper.chores
        if chore.task_id == task and chore.done_day is not None and chore.entry_id not in others
    )


def _on(prepared: Prepared, day: int) -> date:
    return prepared.plan.start_on + timedelta(days=day)


def gap_lines(prepared: Prepared, fasting: tuple[FastingLine, ...]) -> tuple[GapLine, ...]:
    """Give, for each stretch away that is longer than a weekend, who is fed and who suffers first."""
    return tuple(
        _gap(prepared, fasting, (stretch.first_on - prepared.plan.start_on).days, stretch.days)
        for stretch in prepared.keeper.presence.away
        if stretch.days > rule("weekend_d")
    )


def _gap(prepared: Prepared, fasting: tuple[FastingLine, ...], first: int, days: int) -> GapLine:
    inside = [e for e in prepared.keeper.meals.occasions if first <= e.day < first + days and e.food_g > 0]
    start = _on(prepared, first)
    there = {line.animal_id: line for line in fasting if line.on <= start}
    unfed = _takers(prepared, {meal.food for meal in prepared.plan.meals})
    unfed -= _takers(prepared, {each.food_id for each in inside})
    hungry = [line for name, line in there.items() if name in unfed]
    worst = min(hungry, key=lambda line: line.quarter_gone_d_p05, default=None)
    return GapLine(
        first_on=start,
        last_on=_on(prepared, first + days - 1),
        fed_days=whole(_days_with_food(prepared, len({each.day for each in inside}))),
        hungry="" if worst is None else worst.common_name,
        hungry_quarter_gone_d_p05=None if worst is None else worst.quarter_gone_d_p05,
    )


def _takers(prepared: Prepared, foods: set[str]) -> set[str]:
    """Entries whose animals take one of these foods."""
    pools = [pool for slot, pool in zip(prepared.foods, FOOD_POOLS, strict=False) if slot.food.id in foods]
    least = animal_number("eats_from_frac")
    return {
        cohort.entry.id for cohort in prepared.cohorts if any(cohort.likings[pool] >= least for pool in pools)
    }
