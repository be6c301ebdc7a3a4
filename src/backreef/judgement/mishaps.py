"""What may go wrong in an absence: which mishaps a plan can have, when they begin and how likely they are."""

from __future__ import annotations

import tomllib
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from typing import Any

from backreef.aquarium.plan import Plan
from backreef.judgement.rehearsal import Chance
from backreef.judgement.scene import Scene, seen_h, visits
from backreef.schedule.feeders import feeders_of
from backreef.simulation.damp import jam_of
from backreef.simulation.day_light import HOURS, day_light
from backreef.units import DAYS_PER_YEAR
from backreef.working.members import Seen as OfMembers
from backreef.working.members import seen_once
from backreef.working.number import exp_of
from backreef.working.record import told_constant

MINUTE_H = 1.0 / 60.0

_AWAY = OfMembers(symbol="away_d", what="days of the absence", unit="d")


@cache
def mishap_table() -> Mapping[str, Any]:
    """Mishaps, pairs, mitigations and what is told on return."""
    with (files("backreef.judgement") / "data" / "mishaps.toml").open("rb") as file:
        return tomllib.load(file)


def amount(entry: Mapping[str, Any], key: str) -> float:
    """A number of the table, in the unit it is written with."""
    return float(entry[key]["value"])


@dataclass(frozen=True, slots=True, kw_only=True)
class Case:
    """One mishap of this plan."""

    id: str
    entry: Mapping[str, Any]
    what: str
    target: str
    """Id of the device or of the animals that it is about; empty for none."""
    begins_h: int
    ends_h: float
    chance: Chance
    word: str


def cases_of(scene: Scene) -> tuple[Case, ...]:
    """The mishaps of a plan, in the order of the table; those of devices that it has not are left out."""
    return tuple(case for entry in mishap_table()["mishaps"] for case in _cases(entry, scene))


def could_happen(entry: Mapping[str, Any], plan: Plan) -> bool:
    """Whether a plan has the device or the sump that a mishap is about."""
    devices = {device.kind for device in plan.devices}
    lacks = "devices" in entry and not devices.intersection(entry["devices"])
    return not lacks and (entry.get("needs") != "sump" or plan.tank.sump_l > 0)


def _cases(entry: Mapping[str, Any], scene: Scene) -> Iterator[Case]:
    if not could_happen(entry, scene.plan) or (entry.get("needs") == "helper" and not visits(scene)):
        return
    for target, name in _targets(entry, scene):
        begins = _begins_h(entry, scene, target)
        chance, word = _chance(entry, scene, target)
        yield Case(
            id=f"{entry['id']}.{target}" if entry.get("per") else str(entry["id"]),
            entry=entry,
            what=str(entry["what"]).format(device=name, animal=name),
            target=target,
            begins_h=begins,
            ends_h=_ends_h(entry, scene, begins),
            chance=chance,
            word=word,
        )


def _targets(entry: Mapping[str, Any], scene: Scene) -> Iterator[tuple[str, str]]:
    """Id and name of what a mishap is about."""
    if entry.get("per") == "feeder":
        for device_id in scene.prepared.keeper.meals.feeders:
            yield device_id, f"the feeder '{device_id.replace('_', ' ')}'"
    elif entry.get("needs") in ("fish", "crew"):
        found = _heaviest(scene, fish=entry["needs"] == "fish")
        if found is not None:
            yield found
    else:
        yield "", ""


def _heaviest(scene: Scene, *, fish: bool) -> tuple[str, str] | None:
    """The heaviest animal that is there when the keeper leaves."""
    there = [
        cohort
        for cohort in scene.prepared.cohorts
        if (cohort.species.kind == "fish") == fish
        and (cohort.settled or cohort.arrives_day < scene.first_day)
    ]
    if not there:
        return None
    most = max(there, key=lambda cohort: (cohort.arrival_mass_g, cohort.entry.id))
    return most.entry.id, most.species.common_name


def _begins_h(entry: Mapping[str, Any], scene: Scene, target: str) -> int:
    """When it begins; in an absence too short for that, as soon after leaving as it can. [h]"""
    if "begins_h" not in entry:
        return 0
    lasts = amount(entry, "hours") if "hours" in entry else 1.0
    for since_h in (amount(entry, "begins_h"), 0.0):
        moment = _moment_h(entry, scene, target, since_h)
        if moment + lasts <= scene.hours:
            return moment
    return moment if moment < scene.hours else 0


def _moment_h(entry: Mapping[str, Any], scene: Scene, target: str, since_h: float) -> int:
    """The next moment of the kind that the table names. [h]"""
    if entry.get("at") == "dusk":
        return _next(since_h, [day_light(scene.plan).off_at_h % HOURS])
    if entry.get("at") == "meal":
        hours = sorted({hour for meal in scene.plan.meals if meal.by == target for hour in meal.times})
        return _next(since_h, hours or [0.0])
    return int(since_h)


def _next(begins_h: float, hours: list[float]) -> int:
    """The first full hour from a moment on that holds one of these hours of the day."""
    day = int(begins_h // HOURS)
    later = [d * HOURS + hour for d in (day, day + 1) for hour in hours if d * HOURS + hour >= begins_h]
    return int(min(later))


def _ends_h(entry: Mapping[str, Any], scene: Scene, begins_h: int) -> float:
    """When it has run its time, is seen by a visitor who deals with it, or the keeper is back. [h]"""
    ends = [float(scene.hours)]
    if "hours" in entry:
        ends.append(begins_h + amount(entry, "hours"))
    if "seen_by" in entry:
        ends += [visit for visit in seen_h(entry["seen_by"], scene) if visit > begins_h]
    return min(ends)


# --- how likely ---------------------------------------------------------------------------------------------


def _chance(entry: Mapping[str, Any], scene: Scene, target: str) -> tuple[Chance, str]:
    if entry.get("jam"):
        return _jam_chance(scene, target)
    if "per_visit" in entry:
        each = entry["per_visit"]
        return _chance_of(each, 1.0), f"each absence; {each['place']}"
    rate = entry["per_year"]
    year_d = told_constant(DAYS_PER_YEAR, "DAYS_PER_YEAR", "backreef.units")
    years = seen_once(float(scene.absence.days), _AWAY, kind="plan", place=scene.plan.file) / year_d
    low, value, high = (1.0 - exp_of(-_stands(rate, key, "1/y") * years) for key in ("low", "value", "high"))
    return Chance(low=low, value=value, high=high), f"{rate['value']:g} a year; {rate['place']}"


def _chance_of(each: Mapping[str, Any], factor_ratio: float) -> Chance:
    low, value, high = (_stands(each, key) * factor_ratio for key in ("low", "value", "high"))
    return Chance(low=low, value=value, high=high)


def _stands(entry: Mapping[str, Any], key: str, unit: str = "") -> float:
    """A number of the table of mishaps."""
    seen = OfMembers(symbol=f"how_often_{key}", what=f"how often it comes: {entry['place']}", unit=unit)
    return seen_once(float(entry[key]), seen, kind="constant", place="judgement/data/mishaps.toml")


def _jam_chance(scene: Scene, device_id: str) -> tuple[Chance, str]:
    """From the feeder's own chance of a jam per portion."""
    feeder = feeders_of(scene.plan, scene.catalogue)[device_id]
    jam = jam_of(feeder, scene.plan, scene.catalogue)
    last = scene.first_day + scene.absence.days
    portions = sum(
        each.portions
        for each in scene.prepared.keeper.meals.occasions
        if each.by == device_id and scene.first_day <= each.day < last
    )
    if jam is None:
        return Chance(low=0.0, value=None, high=1.0), "nobody knows how often such a feeder jams"
    jams = OfMembers(symbol="jams", what="jams of a portion of this feeder")
    low, value, high = (
        1.0 - (1.0 - seen_once(rate, jams, kind="catalogue", place=device_id)) ** portions
        for rate in (jam.lowest, jam.value, jam.highest)
    )
    return Chance(low=low, value=value, high=high), f"{portions} portions; jams per portion are a guess"
