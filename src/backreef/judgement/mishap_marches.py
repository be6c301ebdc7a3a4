"""What a mishap does to a plan that is marched: changes of its schedule and of the march."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass, replace
from datetime import timedelta

from backreef.aquarium.plan import BY_HAND, DeviceEntry
from backreef.aquarium.plan import Mishap as Failing
from backreef.catalogue.entries import known
from backreef.judgement.mishaps import MINUTE_H, Case, amount
from backreef.judgement.scene import Scene, comes_at, visits
from backreef.schedule.chores import Chore
from backreef.schedule.effects import TopOffRefill
from backreef.schedule.meals import MealOccasion
from backreef.schedule.people import KEEPER
from backreef.simulation.day_light import HOURS
from backreef.simulation.prepared import Prepared
from backreef.simulation.system import swapped_frac_per_d, top_offs
from backreef.simulation.windows import NOTHING, Switched, Trial


@dataclass(frozen=True, slots=True, kw_only=True)
class Softened:
    """What a mitigation leaves of a mishap."""

    share_frac: float = 1.0
    until_h: float = math.inf
    """It ends then at the latest. [h]"""
    most_g: float = math.inf
    """So much food there is at most. [g]"""
    devices: tuple[DeviceEntry, ...] = ()
    """They are there besides."""


AS_IT_COMES = Softened()


@dataclass(frozen=True, slots=True, kw_only=True)
class Marching:
    """What a case does to the march."""

    prepared: Prepared
    trial: Trial


def marching(case: Case, scene: Scene, softened: Softened = AS_IT_COMES) -> Marching:
    """What a case does, as far as a mitigation leaves it."""
    return _DO[str(case.entry["kind"])](
        case, scene, softened, Marching(prepared=scene.prepared, trial=NOTHING)
    )


def together(cases: tuple[Case, ...], scene: Scene, softened: tuple[Softened, ...] = ()) -> Marching:
    """Several cases at once, as far as mitigations leave them; where nobody comes, nobody ends the others."""
    left = softened or (AS_IT_COMES,) * len(cases)
    if any(case.entry["kind"] == "skips" for case in cases):
        cases = tuple(replace(case, ends_h=float(scene.hours)) for case in cases)
    prepared, trial = scene.prepared, NOTHING
    for case, softer in zip(cases, left, strict=True):
        more = marching(case, replace(scene, prepared=prepared), softer)
        prepared = more.prepared
        trial = Trial(
            switched=(*trial.switched, *more.trial.switched),
            set_at_start={**trial.set_at_start, **more.trial.set_at_start},
            dies={**trial.dies, **more.trial.dies},
        )
    return Marching(prepared=prepared, trial=trial)


def _feeder(case: Case, scene: Scene, softened: Softened, clear: Marching) -> Marching:
    """Meals of one feeder are smaller or larger for a time."""
    factor = 1.0 + softened.share_frac * (amount(case.entry, "factor_ratio") - 1.0)
    until = min(case.ends_h, softened.until_h)
    return _with_meals(clear, [_scaled(meal, case, scene, until, factor) for meal in _meals(clear)])


def _scaled(
    meal: MealOccasion, case: Case, scene: Scene, until_h: float, factor_ratio: float
) -> MealOccasion:
    at = scene.since_h(meal.day, meal.hour)
    if meal.by != case.target or not case.begins_h - MINUTE_H <= at < until_h:
        return meal
    return replace(meal, food_g=meal.food_g * factor_ratio)


def _dump(case: Case, scene: Scene, softened: Softened, clear: Marching) -> Marching:
    """All that a feeder holds falls in at one meal; nothing comes after, until somebody fills it."""
    until = min(case.ends_h, softened.until_h)
    meals = _meals(clear)
    struck = next(
        (
            meal
            for meal in meals
            if meal.by == case.target and scene.since_h(meal.day, meal.hour) >= case.begins_h - MINUTE_H
        ),
        None,
    )
    hopper_g = scene.prepared.keeper.meals.feeders[case.target].hopper_g
    if struck is None or hopper_g is None:
        return clear
    holds_g = min(hopper_g * struck.hopper_frac, softened.most_g) * softened.share_frac
    changed = []
    for meal in meals:
        at = scene.since_h(meal.day, meal.hour)
        inside = meal.by == case.target and case.begins_h - MINUTE_H <= at < until
        if meal is struck:
            changed.append(replace(meal, food_g=max(holds_g, meal.food_g), portions=1))
        elif inside:
            changed.append(replace(meal, food_g=meal.food_g * (1.0 - softened.share_frac)))
        else:
            changed.append(meal)
    return _with_meals(clear, changed)


def _overfeed(case: Case, scene: Scene, softened: Softened, clear: Marching) -> Marching:
    """At each visit many times the day's food, of the kind that is given most."""
    meals = _meals(clear)
    last = scene.first_day + scene.absence.days
    given = [meal for meal in meals if scene.first_day <= meal.day < last and meal.food_g > 0]
    if not given or softened.share_frac <= 0:
        return clear
    usual = max(given, key=lambda meal: (meal.food_g, meal.meal_id))
    per_day_g = sum(meal.food_g for meal in given) / scene.absence.days
    extra = [
        replace(
            usual,
            day=day,
            hour=comes_at(scene, day),
            by=BY_HAND,
            food_g=per_day_g * (amount(case.entry, "factor_ratio") - 1.0) * softened.share_frac,
            portions=1,
            note="too much",
        )
        for day in visits(scene)
        if scene.since_h(day, comes_at(scene, day)) < softened.until_h
    ]
    return _with_meals(clear, sorted([*meals, *extra], key=lambda meal: (meal.day, meal.hour)))


def _skips(case: Case, scene: Scene, softened: Softened, clear: Marching) -> Marching:
    """What others do in the absence is not done: no chore, no meal."""
    del case
    if softened.share_frac <= 0:
        return clear
    last = scene.first_day + scene.absence.days
    kept = [chore for chore in clear.prepared.keeper.chores if not _is_visit(chore, scene, last)]
    meals = [
        replace(meal, food_g=0.0)
        if meal.by == BY_HAND and meal.who not in ("", KEEPER) and scene.first_day <= meal.day < last
        else meal
        for meal in _meals(clear)
    ]
    keeper = replace(clear.prepared.keeper, chores=tuple(kept))
    return _with_meals(replace(clear, prepared=replace(clear.prepared, keeper=keeper)), meals)


def _is_visit(chore: Chore, scene: Scene, last: int) -> bool:
    helpers = {helper.name for helper in scene.plan.keeper.helpers}
    return chore.by in helpers and chore.done_day is not None and scene.first_day <= chore.done_day < last


def _switches(case: Case, scene: Scene, softened: Softened, clear: Marching) -> Marching:
    """Forcings are held for a time."""
    del scene
    until = min(case.ends_h, softened.until_h)
    if softened.share_frac <= 0 or until <= case.begins_h:
        return clear
    held = Switched(from_h=case.begins_h, until_h=math.ceil(until), values=dict(case.entry["values"]))
    return replace(clear, trial=replace(clear.trial, switched=(held,)))


def _hours(case: Case, scene: Scene, softened: Softened, clear: Marching) -> Marching:
    """Something of the tank's machines fails for a time."""
    until = min(case.ends_h, softened.until_h)
    if softened.share_frac <= 0 or until <= case.begins_h:
        return clear
    plan = clear.prepared.plan
    failing = list(_spells(case, scene, until))
    changed = replace(plan, mishaps=(*plan.mishaps, *failing), devices=(*plan.devices, *softened.devices))
    return replace(clear, prepared=replace(clear.prepared, plan=changed))


def _spells(case: Case, scene: Scene, until_h: float) -> Iterator[Failing]:
    """What fails from when to when; where a box runs out meanwhile, what comes then."""
    turns_h = until_h
    if "runs_out" in case.entry:
        turns_h = min(until_h, case.begins_h + _box_h(scene))
    yield _failing(str(case.entry["mishap"]), scene, case.begins_h, turns_h)
    if turns_h < until_h:
        yield _failing(str(case.entry["runs_out"]), scene, turns_h, until_h)


def _failing(kind: str, scene: Scene, begins_h: float, until_h: float) -> Failing:
    return Failing(
        kind=kind,
        starts_on=scene.absence.first_on + timedelta(days=int(begins_h // HOURS)),
        at_hour=begins_h % HOURS,
        hours=until_h - begins_h,
    )


def _box_h(scene: Scene) -> float:
    """Hours after which the box of an automatic water change is empty, if it was full on leaving. [h]"""
    boxes = [device for device in scene.plan.devices if device.kind == "awc"]
    swapped_l = swapped_frac_per_d(scene.plan) * scene.plan.tank.water_volume_l
    stated = [
        device.count * device.numbers["reservoir_l"] for device in boxes if "reservoir_l" in device.numbers
    ]
    if stated and swapped_l > 0:
        return HOURS * sum(stated) / swapped_l
    days = known(scene.catalogue.devices["awc"].runs_unattended_days)
    return math.inf if days is None else HOURS * days.value


def _reservoir(case: Case, scene: Scene, softened: Softened, clear: Marching) -> Marching:
    """The top-off has nothing to give until somebody fills it."""
    del case
    full_l = sum(top_offs(scene.plan, scene.catalogue).values())
    left_l = full_l * (1.0 - softened.share_frac)
    trial = replace(clear.trial, set_at_start={"reservoir": left_l})
    if softened.until_h == math.inf:
        return replace(clear, trial=trial)
    day = scene.first_day + int(softened.until_h // HOURS)
    device = next(device.id for device in scene.plan.devices if device.kind == "ato")
    filled = _filling(scene, device, full_l, day, softened.until_h % HOURS)
    if filled is None:
        return replace(clear, trial=trial)
    keeper = replace(clear.prepared.keeper, chores=(*clear.prepared.keeper.chores, filled))
    return Marching(prepared=replace(clear.prepared, keeper=keeper), trial=trial)


def _filling(scene: Scene, device: str, full_l: float, day: int, hour: float) -> Chore | None:
    """One more filling of the top-off, as the plan's own are done."""
    pattern = next(
        (chore for chore in scene.prepared.keeper.chores if isinstance(chore.effect, TopOffRefill)), None
    )
    if pattern is None:
        return None
    effect = TopOffRefill(water_l=full_l, device=device)
    return replace(
        pattern,
        id=f"{pattern.id}.once_more",
        due_day=day,
        done_day=day,
        hour=hour,
        effect=effect,
        condition=None,
        merged_into=None,
    )


def _dies(case: Case, scene: Scene, softened: Softened, clear: Marching) -> Marching:
    """One animal dies when the keeper has left, and its body stays."""
    del scene
    if softened.share_frac <= 0:
        return clear
    return replace(clear, trial=replace(clear.trial, dies={case.target: 1}))


def _meals(clear: Marching) -> list[MealOccasion]:
    return list(clear.prepared.keeper.meals.occasions)


def _with_meals(clear: Marching, meals: list[MealOccasion]) -> Marching:
    keeper = clear.prepared.keeper
    changed = replace(keeper, meals=replace(keeper.meals, occasions=tuple(meals)))
    return replace(clear, prepared=replace(clear.prepared, keeper=changed))


_DO = {
    "feeder": _feeder,
    "dump": _dump,
    "overfeed": _overfeed,
    "skips": _skips,
    "switches": _switches,
    "hours": _hours,
    "reservoir": _reservoir,
    "dies": _dies,
}
