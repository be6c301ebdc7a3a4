"""The schedule's own numbers and rules, read once from the files beside this module."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Any, Literal

from backreef.catalogue.entries import Catalogue, Food, Quantity, Value, known
from backreef.errors import BackreefError, Fault
from backreef.working.record import told

_DATA = Path(__file__).parent / "data"
DEVICE_UPKEEP = "device_upkeep"
"""Task id of a device's general care, where the catalogue has no task of its own for it."""

ImpliedRhythm = Literal[
    "task",
    "device",
    "battery",
    "fixed",
    "feed",
    "refill",
    "food",
    "present_day",
    "arrival",
    "before_arrival",
    "before_absence",
    "after_absence",
    "with_task",
]


class MissingNumber(BackreefError):
    """The catalogue does not know a number without which no schedule can be made."""

    def __init__(self, what: str, reason: str) -> None:
        super().__init__(
            f"{what} is unknown ({reason}); the minutes of a plan cannot be counted without it: enter a "
            "value in the catalogue"
        )


def number(quantity: Quantity, what: str) -> Value:
    """The value of a quantity, or an error that says which number is missing."""
    if isinstance(quantity, Value):
        return quantity
    raise MissingNumber(what, quantity.reason)


@dataclass(frozen=True, slots=True, kw_only=True)
class ImpliedRule:
    """One kind of work that a plan brings without saying so; `implied_tasks.toml` explains the fields."""

    task: str
    rhythm: ImpliedRhythm
    name: str
    devices: tuple[str, ...]
    without_devices: tuple[str, ...]
    replaced_by: tuple[str, ...]
    animal_kinds: tuple[str, ...]
    needs: str
    skip_if_number: str
    with_task: str
    minutes: Literal["task", "device"]
    per_count: bool
    numbers: Mapping[str, Value]
    """`every_days`, `own_minutes`, `lead_days`, ... as far as the rule has them."""
    why: str
    status: str


@dataclass(frozen=True, slots=True, kw_only=True)
class EffectRule:
    """What a task does in the water by default; `effects.toml` explains the fields."""

    kind: str
    of: str
    series: tuple[str, ...]
    numbers: Mapping[str, Value]


@dataclass(frozen=True, slots=True, kw_only=True)
class ByHandRule:
    """Which task a meal by hand is, by where the food is found or by its class."""

    pool: str
    food_class: str
    task: str

    def fits(self, food: Food) -> bool:
        """Whether this rule speaks of the food."""
        return (not self.pool or self.pool == food.pool) and (
            not self.food_class or self.food_class == food.food_class
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class Workload:
    """How minutes scale, what shares a set-up, and how far a chore may be moved."""

    size: tuple[tuple[float, Value], ...]
    """(display volume in litres, factor on the catalogue's minutes), rising."""
    by_size: frozenset[str]
    by_litres: Mapping[str, tuple[Value, Value]]
    """Task -> (base minutes, minutes per litre)."""
    by_glass: Mapping[str, Value]
    """Task -> minutes per square metre."""
    group_of: Mapping[str, str]
    """Task -> the group it shares a set-up with."""
    numbers: Mapping[str, Value]


def _read(name: str) -> dict[str, Any]:
    with (_DATA / name).open("rb") as file:
        return tomllib.load(file)


def _values(table: Mapping[str, Any]) -> dict[str, Value]:
    return {key: Value(**entry) for key, entry in table.items() if isinstance(entry, dict)}


def implied_rules() -> tuple[ImpliedRule, ...]:
    """All rules of implied work, in the order of the file."""
    return told(_implied_rules(), "schedule.implied_tasks")


@cache
def _implied_rules() -> tuple[ImpliedRule, ...]:
    return tuple(
        ImpliedRule(
            task=entry["task"],
            rhythm=entry["rhythm"],
            name=entry.get("name", ""),
            devices=tuple(entry.get("devices", ())),
            without_devices=tuple(entry.get("without_devices", ())),
            replaced_by=tuple(entry.get("replaced_by", ())),
            animal_kinds=tuple(entry.get("animal_kinds", ())),
            needs=entry.get("needs", ""),
            skip_if_number=entry.get("skip_if_number", ""),
            with_task=entry.get("with_task", ""),
            minutes=entry.get("minutes", "task"),
            per_count=entry.get("per_count", False),
            numbers=_values(entry),
            why=entry["why"],
            status=entry["status"],
        )
        for entry in _read("implied_tasks.toml")["implied"]
    )


@cache
def effect_rules() -> Mapping[str, EffectRule]:
    """Task id -> its default effect."""
    return {
        task: EffectRule(
            kind=entry["kind"],
            of=entry.get("of", ""),
            series=tuple(entry.get("series", ())),
            numbers=_values(entry),
        )
        for task, entry in _read("effects.toml").items()
    }


def workload() -> Workload:
    """The table of scaling, sharing and moving."""
    return told(_workload(), "schedule.workload", source="workload.toml", status="practice")


@cache
def _workload() -> Workload:
    table = _read("workload.toml")
    return Workload(
        size=tuple((float(point["display_l"]), Value(**point["factor_ratio"])) for point in table["size"]),
        by_size=frozenset(table["by_size"]["tasks"]),
        by_litres={
            task: (Value(**entry["base_min"]), Value(**entry["per_l_min"]))
            for task, entry in table["by_litres"].items()
        },
        by_glass={task: Value(**entry["per_m2_min"]) for task, entry in table["by_glass"].items()},
        group_of={task: group for group, tasks in table["groups"].items() for task in tasks},
        numbers=_values(table["moving"]) | _values(table["spread"]) | _values(table["hours"]),
    )


@cache
def feeder_drift() -> Mapping[str, tuple[Value, Value]]:
    """Device kind -> mean portion of the first and of the last third of a filling over the mean."""
    return {
        kind: (Value(**entry["first_third_ratio"]), Value(**entry["last_third_ratio"]))
        for kind, entry in _read("feeders.toml")["drift"].items()
    }


@cache
def segregation_exponent() -> Value:
    """How much sooner finer grains leave a hopper, as a power of the size ratio."""
    return Value(**_read("feeders.toml")["segregation"]["exponent"])


@cache
def laid_out_feeders() -> frozenset[str]:
    """Device kinds whose food is laid out meal by meal, so that nothing in it can part."""
    return frozenset(_read("feeders.toml")["segregation"]["laid_out"])


@cache
def by_hand_rules() -> tuple[ByHandRule, ...]:
    """Which task a meal by hand is; the first rule that fits decides."""
    return tuple(
        ByHandRule(pool=entry.get("pool", ""), food_class=entry.get("food_class", ""), task=entry["task"])
        for entry in _read("feeders.toml")["by_hand"]
    )


def hand_task(food: Food) -> str:
    """Id of the task that a meal of this food by hand is."""
    for rule in by_hand_rules():
        if rule.fits(food):
            return rule.task
    raise MissingNumber(f"foods.{food.id}: the task of feeding it by hand", f"class {food.food_class}")


def check_tables(catalogue: Catalogue) -> tuple[Fault, ...]:
    """Every task and device that the tables name and the catalogue does not have; none if all is well."""
    rules = implied_rules()
    tasks = {("implied_tasks.toml", rule.task) for rule in rules if rule.task != DEVICE_UPKEEP}
    tasks |= {("implied_tasks.toml", rule.with_task) for rule in rules if rule.with_task}
    tasks |= {("effects.toml", task) for task in effect_rules()}
    load = workload()
    scaled = [*load.by_size, *load.by_litres, *load.by_glass, *load.group_of]
    tasks |= {("workload.toml", task) for task in scaled}
    tasks |= {("feeders.toml", rule.task) for rule in by_hand_rules()}
    devices = {("implied_tasks.toml", kind) for rule in rules for kind in _kinds(rule)}
    devices |= {("feeders.toml", kind) for kind in feeder_drift() if kind != "other"}
    devices |= {("feeders.toml", kind) for kind in laid_out_feeders()}
    return tuple(
        Fault(
            file=file,
            line=None,
            key=name,
            message=f"no {sort} of this id stands in the catalogue; add or rename it",
        )
        for sort, wanted, have in (("task", tasks, catalogue.tasks), ("device", devices, catalogue.devices))
        for file, name in sorted(wanted)
        if name not in have
    )


def _kinds(rule: ImpliedRule) -> tuple[str, ...]:
    return rule.devices + rule.without_devices + rule.replaced_by


def value_or_none(quantity: Quantity) -> float | None:
    """The plain number, or None where it is unknown."""
    found = known(quantity)
    return None if found is None else found.value
