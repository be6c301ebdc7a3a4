"""The hazards of company that a forecast counted, as values that stand behind it."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from backreef.aquarium.defaults import named_source
from backreef.company.counted import kept_of
from backreef.company.findings import rules
from backreef.company.hazards import numbers
from backreef.judgement.used_values import UsedValue, spelled, topics
from backreef.simulation.prepared import Prepared

_GROUP_OF = {
    "settling in": "settling",
    "disease": "outbreak",
    "rivals": "attacks",
    "its own kind": "attacks",
    "leaps": "leaps",
    "wrong food": "wrong_diet",
    "falls": "falls",
}
"""Cause of a hazard -> its topic; whatever else is somebody's meal."""
_PREFIXES = {
    "settling": ("settling_",),
    "outbreak": ("outbreak_", "carrier_", "watching_", "treated_", "treatment_", "quarantine_"),
    "attacks": (
        "attacks_",
        "own_kind_",
        "in_group_",
        "resident_",
        "smaller_",
        "hungry_",
        "room_",
        "least_room_",
        "most_room_",
    ),
    "eaten": ("eaten_",),
    "leaps": ("leaps_",),
    "wrong_diet": ("wrong_diet_",),
    "falls": ("partly_rights_",),
}
_FALLS = ("falls_per_week", "righted_within_d")
_UNIT_WORDS = ("_frac", "_ratio", "_per_y", "_per_week", "_within_d", "_days", "_d")


def hazard_values(prepared: Prepared) -> Iterator[UsedValue]:
    """Give the numbers of every kind of hazard that the plan has."""
    groups = {_GROUP_OF.get(hazard.cause, "eaten") for hazard in prepared.timeline.hazards}
    for group in sorted(groups):
        rows = {name: row for name, row in numbers().items() if name.startswith(_PREFIXES[group])}
        if group == "falls":
            rows |= {name: _worded(rules()["numbers"][name]) for name in _FALLS}
        for name, row in rows.items():
            yield _used(
                group,
                name=_name(name),
                text=spelled(row["value"], row["low"], row["high"], row["unit"]),
                status=row["status"],
                source=row["words"],
            )
    if "settling" in groups:
        yield from _counted(prepared)


def _counted(prepared: Prepared) -> Iterator[UsedValue]:
    """Give what was counted of the plan's own animals in tanks."""
    for species in dict.fromkeys(cohort.species.id for cohort in prepared.cohorts):
        row = kept_of(species)
        if row is not None:
            name = f"deaths counted of {species.replace('_', ' ')}"
            yield _used("settling", name=name, text=row.text, status=row.status, source=row.source)


def _used(group: str, *, name: str, text: str, status: str, source: str) -> UsedValue:
    return UsedValue(
        key=f"hazard.{group}",
        topic=f"hazard.{group}",
        title=topics()[f"hazard.{group}"].title,
        name=name,
        text=text,
        status=status,
        source_text=source,
    )


def _worded(row: dict[str, Any]) -> dict[str, Any]:
    return {**row, "words": named_source(row, rules()["sources"])}


def _name(name: str) -> str:
    for word in _UNIT_WORDS:
        name = name.removesuffix(word)
    return name.replace("_", " ")
