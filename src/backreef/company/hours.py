"""Rules of the hour and the warmth of meals: in the dark, and outside what is known of bodies."""

from __future__ import annotations

from collections.abc import Iterator

from backreef.aquarium.plan import Meal
from backreef.company.findings import CheckFinding, Found, Resident, Rule, Setting, rule_number, rule_source
from backreef.company.food import lives_from_food, times_words
from backreef.models.body_values import body_numbers

_H_PER_DAY = 24.0
_LOOSE = ("particles_in_water", "food_on_bottom")
"""Where food lies that is gone or rotten before it is light."""


def dark_meals(setting: Setting) -> Found:
    """A meal before the lamp is lit or after it is out, for animals that feed by day."""
    for meal in setting.plan.meals:
        food = setting.catalogue.foods[meal.food]
        dark = [hour for hour in meal.times if _is_dark(hour, setting)]
        blind = list(_feed_by_day(meal, setting)) if dark and food.pool in _LOOSE else []
        if not blind:
            continue
        source, status = rule_source("day_feeder_frac")
        names = ", ".join(dict.fromkeys(one.species.common_name for one in blind))
        tank = setting.plan.tank
        yield CheckFinding(
            id=f"dark_meal.{meal.id}",
            balance="mouths",
            weight="serious" if len(dark) == len(meal.times) else "caution",
            who=meal.id,
            what=f"{meal.id}: given in the dark, most of it sinks",
            why=f"{times_words(float(len(dark)))} it comes while the lamp is out (lit from "
            f"{_clock(tank.light_on_at)} for {tank.light_hours_h:g} hours), and by day feed: {names}",
            source=source,
            status=status,
        )


def _feed_by_day(meal: Meal, setting: Setting) -> Iterator[Resident]:
    kind = setting.catalogue.foods[meal.food].food_class
    for one in setting.residents:
        guild = setting.guild(one)
        by_day = guild.day_share_frac.value >= rule_number("day_feeder_frac") and not guild.dusk_feeder
        if lives_from_food(one) and by_day and one.species.takes.get(kind) not in ("no", "rarely"):
            yield one


def _is_dark(hour: float, setting: Setting) -> bool:
    tank, near_h = setting.plan.tank, rule_number("twilight_h")
    since_h = (hour - tank.light_on_at) % _H_PER_DAY
    return tank.light_hours_h + near_h < since_h < _H_PER_DAY - near_h


def _clock(hour: float) -> str:
    return f"{int(hour):02d}:{round(hour % 1 * 60):02d}"


def odd_warmth(setting: Setting) -> Found:
    """Water colder or warmer than what is known of how fast bodies burn and eat."""
    low, high = (body_numbers()[f"temperature.{end}_trusted_c"] for end in ("lowest", "highest"))
    held = setting.plan.tank.temperature_c
    if not setting.residents or low <= held <= high:
        return
    yield CheckFinding(
        id="warmth.tank",
        balance="mouths",
        weight="serious",
        who="all animals",
        what=f"at {held:g} °C nobody has measured what these animals burn",
        why=f"rates of bodies are known from {low:g} to {high:g} °C; rations, growth and days without food "
        "are drawn out beyond that and may be wrong by more than their bands",
        source="our rule: the range of the fit of oxygen uptake",
        status="calc",
    )


RULES = (
    Rule(
        name="dark_meal",
        look=dark_meals,
        reads=("guild", "takes", "food_class", "pool"),
        plan=("meals", "tank.light_on_at", "tank.light_hours"),
    ),
    Rule(name="warmth", look=odd_warmth, reads=(), plan=("tank.temperature",)),
)
