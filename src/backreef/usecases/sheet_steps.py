"""Each chore of a sitter as a sentence with amounts that can be counted: pots, jugs, handfuls."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterable, Iterator, Sequence
from typing import Any

from backreef.aquarium.phrases import write_hour
from backreef.aquarium.plan import BY_HAND, Plan
from backreef.catalogue.entries import Catalogue
from backreef.schedule.away import Absence
from backreef.schedule.build import Schedule
from backreef.schedule.chores import Chore
from backreef.schedule.effects import Effect, FeederRefill, Harvest, TopOffRefill, WaterChange
from backreef.schedule.upkeep import evaporation_l_per_d
from backreef.usecases.sheet_page import SheetVisit, sheet_number, sheet_words

FROZEN = "freezer"
_PARTS = 4
"""Into so many a jug is parted by eye."""
SHARES = ((0.15, "1 handful in every 8"), (0.22, "1 handful in every 5"), (0.28, "1 handful in every 4"))
MORE_SHARES = (
    (0.40, "1 handful in every 3"),
    (0.60, "1 handful in every 2"),
    (0.80, "2 handfuls in every 3"),
)


class Amounts:
    """What a sitter needs of each thing, from the schedule of the absence."""

    def __init__(self, plan: Plan, schedule: Schedule, catalogue: Catalogue, absence: Absence) -> None:
        self.plan, self.schedule, self.catalogue, self.absence = plan, schedule, catalogue, absence
        self.meals = {meal.id: meal for meal in plan.meals}
        self.first_day = absence.first_day(plan)

    def hand_meals(self) -> Iterator[Any]:
        """Meals that a person gives during the absence."""
        last = self.first_day + self.absence.days
        for occasion in self.schedule.meals.occasions:
            if occasion.by == BY_HAND and self.first_day <= occasion.day < last and occasion.food_g > 0:
                yield occasion

    def refills(self) -> Iterator[tuple[str, float]]:
        """Feeder and grams of each refill during the absence: what it gave since the one before."""
        for chore in self.schedule.chores:
            if isinstance(chore.effect, FeederRefill) and self._within(chore.done_day):
                for feeder in self.feeders_of(chore):
                    yield feeder, self.grams_since(chore, feeder)

    def feeders_of(self, chore: Chore) -> tuple[str, ...]:
        """The feeders that a refill is for."""
        effect = chore.effect
        named = effect.device if isinstance(effect, FeederRefill) else None
        return tuple(self.schedule.meals.feeders) if named is None else (named,)

    def grams_since(self, chore: Chore, feeder: str) -> float:
        """Grams that a feeder gave since it was last filled. [g]"""
        fillings = (each for each in self._of_kind(FeederRefill) if feeder in self.feeders_of(each))
        since, day = _days_between(fillings, chore)
        return sum(
            each.food_g
            for each in self.schedule.meals.occasions
            if each.by == feeder and since <= each.day < day
        )

    def litres_since(self, chore: Chore) -> float:
        """Litres that evaporated since water was last poured in. [L]"""
        poured = (each for each in self._of_kind(TopOffRefill) if each.merged_into is None)
        since, day = _days_between(poured, chore)
        return (day - since) * evaporation_l_per_d(self.plan)

    def _of_kind(self, kind: type[Effect]) -> Iterator[Chore]:
        return (each for each in self.schedule.chores if isinstance(each.effect, kind))

    def _within(self, day: int | None) -> bool:
        return day is not None and self.first_day <= day < self.first_day + self.absence.days


def _days_between(fillings: Iterable[Chore], chore: Chore) -> tuple[int, int]:
    """The day of the last of some fillings before a chore, the start where there was none, and its own."""
    day = chore.done_day or 0
    before = (each.done_day for each in fillings if each.done_day is not None and each.done_day < day)
    return max(before, default=0), day


def step_of(chore: Chore, amounts: Amounts) -> str:
    """The sentence of one chore."""
    words = sheet_words()["tasks"]
    key = chore.task_id
    if isinstance(chore.effect, TopOffRefill) and chore.effect.device is None:
        key = "top_off_by_hand"
    if key not in words:
        return f"{chore.name}, as you were shown."
    return str(words[key]).format(**_fill(chore, amounts))


def _fill(chore: Chore, amounts: Amounts) -> dict[str, str]:
    filled = {"jug_l": f"{sheet_number('jug_l'):g}", "meal": chore.entry_id.replace("_", " ")}
    filled |= {"pots": "1 pot", "hours": write_hour(chore.hour)}
    effect = chore.effect
    if isinstance(effect, TopOffRefill):
        filled["jugs"] = poured(amounts.litres_since(chore))
    elif isinstance(effect, WaterChange):
        filled["jugs"] = jugs(effect.share_frac * amounts.plan.tank.water_volume_l)
    elif isinstance(effect, Harvest):
        filled["handfuls"] = handfuls(effect.take_frac)
    elif isinstance(effect, FeederRefill):
        feeders = [name.replace("_", " ") for name in amounts.feeders_of(chore)]
        filled["feeder"] = " and ".join(feeders)
        filled["pots"] = counted(len(feeders), "pot")
    return filled


def jugs(volume_l: float) -> str:
    """A volume in whole jugs, rounded up."""
    return counted(max(1, math.ceil(volume_l / sheet_number("jug_l") - 0.05)), "jug")


def poured(volume_l: float) -> str:
    """A volume in whole jugs, or less than one in quarters: nobody is to pour five litres for half a one."""
    parts = max(1, round(_PARTS * volume_l / sheet_number("jug_l")))
    return f"{parts / _PARTS:g} jug" if parts < _PARTS else jugs(volume_l)


def handfuls(share_frac: float) -> str:
    """A share of a growth as something one can count out."""
    for bound, words in (*SHARES, *MORE_SHARES):
        if share_frac <= bound:
            return words
    return "all but 1 handful"


def counted(count: int, what: str) -> str:
    """1 pot, 2 pots."""
    return f"{count} {what}" if count == 1 else f"{count} {what}s"


# --- before leaving -----------------------------------------------------------------------------------------


def preparations(amounts: Amounts, visits: Sequence[SheetVisit]) -> tuple[str, ...]:
    """What the keeper weighs, fills and marks before leaving, in order."""
    words = sheet_words()["before"]
    lines = [*_pots(amounts, words), *_refill_pots(amounts, words), *_water(amounts, words)]
    lines.append(words["mark"])
    if any(visit.only_if for visit in visits):
        lines.append(words["conditional"])
    return (*lines, words["hide"], words["names"])


def _pots(amounts: Amounts, words: dict[str, str]) -> Iterator[str]:
    given: dict[str, Counter[float]] = {}
    for occasion in amounts.hand_meals():
        given.setdefault(occasion.meal_id, Counter())[round(occasion.food_g, 2)] += 1
    for meal_id, portions in given.items():
        food = amounts.catalogue.foods[amounts.meals[meal_id].food]
        key = "frozen" if food.cold_chain == FROZEN else "pots"
        for grams, count in portions.items():
            name = meal_id.replace("_", " ")
            yield words[key].format(
                count=counted(count, "pot"), name=name, amount=f"{grams:g} g of {food.name.lower()}"
            )


def _refill_pots(amounts: Amounts, words: dict[str, str]) -> Iterator[str]:
    for feeder, grams in amounts.refills():
        yield words["refill"].format(
            count="1 pot", feeder=feeder.replace("_", " "), amount=f"{math.ceil(grams):.0f} g"
        )


def _water(amounts: Amounts, words: dict[str, str]) -> Iterator[str]:
    litres = amounts.absence.days * evaporation_l_per_d(amounts.plan)
    jug_l = sheet_number("jug_l")
    yield words["jugs"].format(jugs=jugs(litres), jug_l=f"{jug_l:g}", litres=f"{litres:.0f}")
