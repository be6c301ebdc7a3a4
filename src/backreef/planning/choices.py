"""What may be changed beside the animals: how they are fed, how nutrients leave, which chores are rarer.

A choice is a change of a plan. Where the judgement already tries a remedy, the same function is used.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from functools import partial
from typing import Literal

from backreef.aquarium.phrases import SHORT_WEEKDAYS, write_nth
from backreef.aquarium.plan import BY_HAND, DeviceEntry, Meal, Plan, Rhythm, Upkeep
from backreef.catalogue.entries import Catalogue, known
from backreef.company.engine import setting_of
from backreef.company.food import given_g_per_d, needed_by_all_g_per_d
from backreef.judgement.remedies import mend, says
from backreef.planning.numbers import number, table
from backreef.planning.problem import lines_of
from backreef.simulation.tables import InItsUnit

Kind = Literal["feeding", "export", "chore"]
SELDOM = "times as seldom"
"""How a remedy ends the words of a rhythm that it made rarer."""
OWN_PREFIX, REMEDY_PREFIX = "proposed_", "remedy_"
REMEDIES: tuple[tuple[str, Kind], ...] = (
    ("start_water_changes", "export"),
    ("change_more_water", "export"),
    ("harvest_more", "export"),
    ("iron_oxide", "export"),
    ("dose_alkalinity", "export"),
    ("less_glass", "chore"),
)
"""Remedies of the judgement that the planner may take before anything breaks."""
BY_HAND_TASK = "feed_dry_hand"


@dataclass(frozen=True, slots=True, kw_only=True)
class Choice:
    """A change of a plan that is taken or left."""

    id: str
    kind: Kind
    words: str
    change: Callable[[Plan], Plan | None]

    def applied(self, plan: Plan) -> Plan:
        """The plan with it; the same plan where it changes nothing."""
        changed = self.change(plan)
        return plan if changed is None else _own_names(changed)


def _own_names(plan: Plan) -> Plan:
    """Lines that a remedy added are named after the proposal."""

    def name(old: str) -> str:
        return OWN_PREFIX + old.removeprefix(REMEDY_PREFIX) if old.startswith(REMEDY_PREFIX) else old

    return replace(
        plan,
        upkeep=tuple(
            replace(_one_size(line), id=name(line.id), rhythm=_readable(line.rhythm)) for line in plan.upkeep
        ),
        devices=tuple(replace(line, id=name(line.id)) for line in plan.devices),
    )


def _one_size(line: Upkeep) -> Upkeep:
    """A plan file says either an amount or a share."""
    both = line.share_frac is not None and (line.amount_g is not None or line.amount_l is not None)
    return replace(line, share_frac=None) if both else line


def _readable(rhythm: Rhythm) -> Rhythm:
    """A rhythm that a plan file can say: a remedy that makes a chore rarer speaks in its own words."""
    if not rhythm.text.endswith(SELDOM):
        return rhythm
    days = ", ".join(SHORT_WEEKDAYS[day] for day in rhythm.weekdays)
    if rhythm.kind == "interval":
        text = f"{rhythm.every_days:g} days"
    elif rhythm.kind == "weekly":
        text = f"{rhythm.every_weeks} weeks on {days}"
    else:
        text = f"{write_nth(rhythm.nth or 1)} {days} of every {rhythm.every_months} months"
    return replace(rhythm, text=f"{text} when present" if rhythm.only_when_present else text)


def feedings(plan: Plan, catalogue: Catalogue) -> tuple[Choice, ...]:
    """How the animals may be fed: as the plan has it, else by two feeders or by hand."""
    if plan.meals:
        return (Choice(id="as_planned", kind="feeding", words="meals as planned", change=_unchanged),)
    first_g = _first_ration_g_per_d(plan, catalogue)
    found = [
        Choice(
            id="two_feeders",
            kind="feeding",
            words="two feeders with half of the food each",
            change=lambda one: _two_feeders(one, first_g),
        )
    ]
    if plan.keeper.presence and BY_HAND_TASK not in plan.keeper.refuses:
        found.append(
            Choice(
                id="by_hand",
                kind="feeding",
                words="a meal by hand on each day somebody is there",
                change=lambda one: _by_hand(one, first_g),
            )
        )
    return tuple(found)


def _unchanged(plan: Plan) -> Plan:
    return plan


def _first_ration_g_per_d(plan: Plan, catalogue: Catalogue) -> InItsUnit:
    food = catalogue.foods[table("planning")["feeding"]["coarse_food"]]
    need = needed_by_all_g_per_d(setting_of(plan, catalogue), food, grown=True)
    return max(number("grown_ration_ratio") * need, number("least_ration_g_per_d"))


def _two_feeders(plan: Plan, grams_per_d: InItsUnit) -> Plan:
    usual = table("planning")["feeding"]
    times, pause_min = tuple(usual["hours"]), number("pause_min")
    each_g = round(grams_per_d / len(times) / 2, 3)
    meals = []
    devices = []
    for side, food in (("left", usual["coarse_food"]), ("right", usual["fine_food"])):
        feeder = f"{OWN_PREFIX}feeder_{side}"
        devices.append(_device(feeder, usual["feeder"], {"portion_g": each_g}))
        meals.append(_meal(f"{OWN_PREFIX}{side}", food, each_g, by=feeder, times=times, pause_min=pause_min))
    devices.append(_device(f"{OWN_PREFIX}pause", usual["pause"], {}))
    return replace(plan, meals=tuple(meals), devices=(*plan.devices, *devices))


def _device(device_id: str, kind: str, numbers: dict[str, float]) -> DeviceEntry:
    return DeviceEntry(id=device_id, kind=kind, count=1, numbers=numbers, on_at=None, hours=None)


def _meal(
    meal_id: str, food: str, grams: InItsUnit, *, by: str, times: tuple[float, ...], pause_min: float
) -> Meal:
    return Meal(
        id=meal_id,
        food=food,
        grams_as_fed=grams,
        enough_for=None,
        who=(),
        by=by,
        times=times,
        weekdays=tuple(range(7)),
        only_when_present=False,
        pump_pause_min=pause_min,
    )


def _by_hand(plan: Plan, grams_per_d: InItsUnit) -> Plan:
    opens = max(window.from_hour for window in plan.keeper.presence)
    meal = _meal(
        f"{OWN_PREFIX}by_hand",
        table("planning")["feeding"]["coarse_food"],
        round(grams_per_d, 3),
        by=BY_HAND,
        times=(opens,),
        pause_min=0.0,
    )
    return replace(plan, meals=(replace(meal, only_when_present=True),))


def others(plan: Plan, pinned: frozenset[str]) -> tuple[Choice, ...]:
    """Choices of export and chores that change this plan and no pinned line of it."""
    return tuple(choice for choice in _remedies() if _may(choice, plan, pinned))


def _remedies() -> Iterator[Choice]:
    for remedy, kind in REMEDIES:
        yield Choice(id=remedy, kind=kind, words=says(remedy), change=partial(mend, remedy))


def _may(choice: Choice, plan: Plan, pinned: frozenset[str]) -> bool:
    changed = choice.change(plan)
    if changed is None:
        return False
    after, before = lines_of(changed), lines_of(plan)
    return all(after.get(pin) == before[pin] for pin in pinned if pin in before)


def ration_g_per_d(plan: Plan) -> InItsUnit:
    """Food of all meals on an average day. [g/d]"""
    return sum(given_g_per_d(meal) or 0.0 for meal in plan.meals)


def ration_words(plan: Plan) -> str:
    """How much is fed in all."""
    if any(meal.grams_as_fed is None for meal in plan.meals):
        return "as they need"
    return f"{ration_g_per_d(plan):.2g} g"


def with_ration(plan: Plan, ratio: InItsUnit, pinned: frozenset[str] = frozenset()) -> Plan:
    """The plan with each meal that is not pinned so many times as large, and its feeder's portion too."""
    meals = tuple(meal if meal.id in pinned else _scaled(meal, ratio) for meal in plan.meals)
    portions = {
        old.by: (old.grams_as_fed, new.grams_as_fed) for old, new in zip(plan.meals, meals, strict=True)
    }
    devices = tuple(_with_portion(device, portions) for device in plan.devices)
    return replace(plan, meals=meals, devices=devices)


def _scaled(meal: Meal, ratio: InItsUnit) -> Meal:
    return (
        meal if meal.grams_as_fed is None else replace(meal, grams_as_fed=round(meal.grams_as_fed * ratio, 3))
    )


def _with_portion(device: DeviceEntry, portions: dict[str, tuple[float | None, float | None]]) -> DeviceEntry:
    """A feeder whose portion was the meal gives the new meal as one portion."""
    old, new = portions.get(device.id, (None, None))
    if old is None or new is None or device.numbers.get("portion_g") != old:
        return device
    return replace(device, numbers={**device.numbers, "portion_g": new})


def least_ratio(plan: Plan, catalogue: Catalogue) -> InItsUnit:
    """The smallest ration over that of the plan which its feeders can still give."""
    least = 0.0
    for meal in plan.meals:
        device = next((one for one in plan.devices if one.id == meal.by), None)
        smallest = known(catalogue.devices[device.kind].portion_min_g) if device is not None else None
        if smallest is not None and meal.grams_as_fed:
            least = max(least, smallest.value / meal.grams_as_fed)
    return least


def applied_all(plan: Plan, choices: Sequence[Choice]) -> Plan:
    """The plan with several choices, one after the other."""
    for choice in choices:
        plan = choice.applied(plan)
    return plan
