"""The cautions that go with a plan: what can hurt people, animals and buildings, and whom to ask first."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from typing import Any

from backreef.aquarium.plan import Plan
from backreef.catalogue.entries import Catalogue, Food, Species
from backreef.company.place import floor_load_kn_per_m2, mass_in_service_kg

MANY = 4
"""More names than this are counted instead of listed."""
STATUS_WORDS = {"practice": "common practice, no source", "memory": "from memory"}
TRIGGERS = ("hazard_words", "tags", "foods", "food_words", "devices", "tasks")


@dataclass(frozen=True, slots=True, kw_only=True)
class Caution:
    """One caution and what brings it up."""

    id: str
    text: str
    asks: str
    """The figure by which its numbers are asked; empty for none."""
    always: bool
    triggers: Mapping[str, frozenset[str]]
    status: str
    source_keys: tuple[str, ...]


@cache
def all_cautions() -> tuple[Caution, ...]:
    """Give every caution, the gravest first."""
    with (files("backreef.judgement") / "data" / "cautions.toml").open("rb") as file:
        table = tomllib.load(file)
    return tuple(_caution(entry) for entry in table["cautions"])


def _caution(entry: Mapping[str, Any]) -> Caution:
    return Caution(
        id=entry["id"],
        text=entry["text"],
        asks=entry.get("asks", ""),
        always=entry.get("always", False),
        triggers={name: frozenset(entry[name]) for name in TRIGGERS if name in entry},
        status=entry["status"],
        source_keys=tuple(entry["source"].split()),
    )


def cautions_of(plan: Plan, catalogue: Catalogue) -> tuple[str, ...]:
    """Give the cautions that apply to a plan, the gravest first, each with its cause and its source."""
    return tuple(
        f"{_filled(caution, who, plan)} ({_word(caution, catalogue)})"
        for caution, who in applying(plan, catalogue)
    )


def applying(plan: Plan, catalogue: Catalogue) -> list[tuple[Caution, tuple[str, ...]]]:
    """Give each caution that applies with the names that brought it up; none where it always applies."""
    found = []
    for caution in all_cautions():
        who = _who(caution, plan, catalogue)
        if caution.always or who:
            found.append((caution, who))
    return found


def _word(caution: Caution, catalogue: Catalogue) -> str:
    """On whose word a caution stands."""
    named = [catalogue.sources[key].text for key in caution.source_keys if key in catalogue.sources]
    if caution.status == "practice" or not named:
        return STATUS_WORDS[caution.status]
    return "; ".join([*named, *([STATUS_WORDS["memory"]] if caution.status == "memory" else [])])


def _who(caution: Caution, plan: Plan, catalogue: Catalogue) -> tuple[str, ...]:
    names: list[str] = []
    for trigger, wanted in caution.triggers.items():
        names += _FINDERS[trigger](plan, catalogue, wanted)
    return tuple(dict.fromkeys(names))


def _species(plan: Plan, catalogue: Catalogue) -> Iterable[Species]:
    return (catalogue.species[name] for name in dict.fromkeys(entry.species for entry in plan.animals))


def _foods(plan: Plan, catalogue: Catalogue) -> Iterable[Food]:
    return (catalogue.foods[name] for name in dict.fromkeys(meal.food for meal in plan.meals))


def _holds(text: str, words: frozenset[str]) -> bool:
    return any(re.search(rf"\b{re.escape(word)}\b", text.lower()) for word in words)


Finder = Callable[[Plan, Catalogue, frozenset[str]], list[str]]


def _by_hazard(plan: Plan, catalogue: Catalogue, words: frozenset[str]) -> list[str]:
    return [one.common_name for one in _species(plan, catalogue) if _holds(one.human_hazard, words)]


def _by_tag(plan: Plan, catalogue: Catalogue, tags: frozenset[str]) -> list[str]:
    return [one.common_name for one in _species(plan, catalogue) if tags & one.tags]


def _by_food(plan: Plan, catalogue: Catalogue, ids: frozenset[str]) -> list[str]:
    return [food.name for food in _foods(plan, catalogue) if food.id in ids]


def _by_food_words(plan: Plan, catalogue: Catalogue, words: frozenset[str]) -> list[str]:
    return [food.name for food in _foods(plan, catalogue) if _holds(f"{food.name} {food.form}", words)]


def _by_device(plan: Plan, catalogue: Catalogue, kinds: frozenset[str]) -> list[str]:
    return [catalogue.devices[device.kind].name for device in plan.devices if device.kind in kinds]


def _by_task(plan: Plan, catalogue: Catalogue, tasks: frozenset[str]) -> list[str]:
    return [catalogue.tasks[upkeep.task].name for upkeep in plan.upkeep if upkeep.task in tasks]


_FINDERS: Mapping[str, Finder] = {
    "hazard_words": _by_hazard,
    "tags": _by_tag,
    "foods": _by_food,
    "food_words": _by_food_words,
    "devices": _by_device,
    "tasks": _by_task,
}


def _filled(caution: Caution, who: tuple[str, ...], plan: Plan) -> str:
    parts = {"who": _listed(who), "mass_kg": f"{mass_in_service_kg(plan):.0f}", "load": _load(plan)}
    text = caution.text
    for name, words in parts.items():
        text = text.replace(f"{{{name}}}", words)
    return text[:1].upper() + text[1:]


def _listed(names: tuple[str, ...]) -> str:
    if len(names) > MANY:
        return f"{', '.join(names[:MANY])} and {len(names) - MANY} more"
    return " and ".join(part for part in (", ".join(names[:-1]), names[-1] if names else "") if part)


def _load(plan: Plan) -> str:
    """The load under the stand, where length and width are known."""
    load_kn_per_m2 = floor_load_kn_per_m2(plan)
    return "" if load_kn_per_m2 is None else f", {load_kn_per_m2:.0f} kN/m2 under its stand"


def asked_as(caution: str) -> str:
    """The figure by which the numbers of a caution that was told are asked; empty for none."""
    return next((one.asks for one in all_cautions() if one.asks and _is(one, caution)), "")


def _is(caution: Caution, told: str) -> bool:
    parts = re.split(r"\{\w+\}", caution.text)
    return re.match(".*".join(re.escape(part) for part in parts), told) is not None
