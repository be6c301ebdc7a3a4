"""A value that a forecast used: its name, its range, on whose word it stands, and whether that is only ours.

Words, and the conditions under which a value counts as used, stand in `data/changes.toml`.
"""

from __future__ import annotations

import re
import tomllib
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from typing import Any

from backreef.aquarium.plan import BY_HAND
from backreef.catalogue.entries import Value
from backreef.models.body_values import BodyValue
from backreef.schedule.effects import Calibration, Test
from backreef.simulation.prepared import Prepared

InItsUnit = float
"""A number in the unit that is said beside it."""
WEAK_STATUSES = ("practice", "memory")
_PLURALS = ("days", "hours", "months", "years")


@dataclass(frozen=True, slots=True, kw_only=True)
class UsedValue:
    """One number or word that stands behind what is shown."""

    key: str
    """Group first, as `model.nitrification.K_A`; values with one key belong together."""
    topic: str
    """Entry of `data/changes.toml`."""
    title: str
    name: str
    """What it is called within its title; empty where the title says all."""
    text: str
    """The value with unit and range."""
    status: str
    source_keys: tuple[str, ...] = ()
    source_text: str = ""
    """Where the table has words instead of keys."""
    remark: str = ""
    ranged: bool = True
    """False: no range is known, so a spread is assumed or none is drawn."""

    @property
    def rests_on_us(self) -> bool:
        """Whether it is remembered, common practice, without a range, or moved or bounded by our own hand."""
        return self.status in WEAK_STATUSES or not self.ranged or _by_own_hand(self.remark)


@dataclass(frozen=True, slots=True, kw_only=True)
class Topic:
    """What `data/changes.toml` says of some values."""

    name: str
    title: str
    changes: str
    matters: int
    """3: the verdict may turn on them; 2: they move it; 1: they hardly show."""
    items: tuple[str, ...]
    any_of: frozenset[str]
    none_of: frozenset[str]

    def is_used(self, marks: frozenset[str]) -> bool:
        """Whether a plan with these marks uses the values."""
        return (not self.any_of or bool(self.any_of & marks)) and not self.none_of & marks


@cache
def words() -> Mapping[str, Any]:
    """Give the whole file of words."""
    with (files("backreef.judgement") / "data" / "changes.toml").open("rb") as file:
        return tomllib.load(file)


@cache
def topics() -> Mapping[str, Topic]:
    """Give every topic by its dotted name."""
    return {name: _topic(name, entry) for name, entry in _topic_tables(words())}


def _topic_tables(table: Mapping[str, Any], prefix: str = "") -> Iterator[tuple[str, Mapping[str, Any]]]:
    for key, entry in table.items():
        if isinstance(entry, dict):
            if "changes" in entry:
                yield prefix + key, entry
            yield from _topic_tables(entry, f"{prefix}{key}.")


def _topic(name: str, entry: Mapping[str, Any]) -> Topic:
    items = next((entry[key] for key in ("symbols", "names", "fields") if key in entry), ())
    return Topic(
        name=name,
        title=entry.get("title", ""),
        changes=entry["changes"],
        matters=entry["matters"],
        items=tuple(items),
        any_of=frozenset(entry.get("any", ())),
        none_of=frozenset(entry.get("none", ())),
    )


@cache
def topics_of(room: str) -> tuple[Topic, ...]:
    """Give the topics of one room (`model`, `species`, ...) in the order of the file."""
    return tuple(topic for name, topic in topics().items() if name.startswith(f"{room}."))


def field_words(field: str) -> str:
    """Give the name of a field in plain words."""
    return str(words()["fields"].get(field, field.replace("_", " ")))


@cache
def _by_own_hand(remark: str) -> bool:
    return any(re.search(rf"\b{word}\b", remark) for word in words()["own_hand"])


def spelled(value: InItsUnit, low: InItsUnit | None, high: InItsUnit | None, unit: str) -> str:
    """Give a number with unit and range as text."""
    said = words()["units"].get(unit, unit)
    if value == 1.0 and said in _PLURALS:
        said = said.removesuffix("s")
    number = f"{value:.4g} {said}".strip()
    if low is None and high is None:
        return f"{number} (no range known)"
    least, most = value if low is None else low, value if high is None else high
    return f"{number} (taken as exact)" if least == most else f"{number} ({least:.3g} to {most:.3g})"


def has_range(low: InItsUnit | None, high: InItsUnit | None) -> bool:
    """Whether something is known of how far a number may be off."""
    return not (low is None and high is None) and low != high


def keys_of(source: str) -> tuple[str, ...]:
    """Give the source keys of a cell."""
    return tuple(key for key in re.split(r"[;\s]+", source) if key)


def used(value: Value | BodyValue, *, key: str, topic: Topic, title: str, name: str) -> UsedValue:
    """Give a value of the catalogue, the schedule or the bodies as a used one."""
    remarks = (value.place, value.note if isinstance(value, Value) else "")
    return UsedValue(
        key=key,
        topic=topic.name,
        title=title,
        name=name,
        text=spelled(value.value, value.low, value.high, value.unit),
        status=value.status,
        source_keys=keys_of(value.source),
        remark="; ".join(remark for remark in remarks if remark),
        ranged=has_range(value.low, value.high) or value.value == 0.0,  # nought is so by its formula
    )


def marks_of(prepared: Prepared) -> frozenset[str]:
    """Give what a plan has and does, as the marks that `data/changes.toml` speaks of."""
    plan, cohorts = prepared.plan, prepared.cohorts
    chores = prepared.keeper.chores
    marks = {f"start:{plan.tank.start.kind}"} | ({"outage"} if plan.mishaps else set())
    for device in plan.devices:
        marks |= {f"device:{device.kind}", *(f"states:{device.kind}.{number}" for number in device.numbers)}
        marks |= {f"hours:{device.kind}"} if device.hours else set()
    marks |= {f"task:{task}" for task in {chore.task_id for chore in chores}}
    marks |= {f"upkeep:{upkeep.task}" for upkeep in plan.upkeep}
    marks |= {f"test:{series}" for series in _tested(prepared)}
    marks |= {f"animal:{cohort.species.kind}" for cohort in cohorts} | ({"animal:any"} if cohorts else set())
    marks |= {"animal:lit"} if len(plan.animals) > len(cohorts) else set()
    marks |= {"meal:hand" if meal.by == BY_HAND else "meal:feeder" for meal in plan.meals}
    marks |= {"cover"} if plan.tank.lid != "open" else set()
    marks |= {"sand"} if plan.tank.sand_area_m2 > 0 else set()
    shapeless = (c for c in cohorts if c.species.kind == "fish" and "weight for its length" in c.assumed)
    return frozenset(marks | ({"shape"} if any(shapeless) else set()))


def _tested(prepared: Prepared) -> set[str]:
    """Series that a test of the plan reads."""
    effects = (chore.effect for chore in prepared.keeper.chores)
    return {
        series for effect in effects if isinstance(effect, Test | Calibration) for series in effect.series
    }
