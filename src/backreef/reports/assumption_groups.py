"""Assumptions by what they are about, so that a reader finds hers among hundreds."""

from __future__ import annotations

import re

from backreef.judgement.verdict import Assumption, Forecast
from backreef.reports.words import weakest_first

_GROUPS: tuple[tuple[str, frozenset[str]], ...] = (
    (
        "What the plan leaves open",
        frozenset({"tank", "keeper", "animals", "meals", "upkeep", "devices", "goals", "plan", "unknown"}),
    ),
    ("What counts as act and as harm", frozenset({"band", "rule", "limit", "limits"})),
    ("Animals", frozenset({"species", "guild", "bodies", "kind"})),
    ("Foods and devices", frozenset({"food", "feeder", "device"})),
    ("Work and presence", frozenset({"task", "schedule"})),
)
_REST = "Water, algae and bacteria"


def grouped(forecast: Forecast) -> list[tuple[str, list[Assumption]]]:
    """Title and assumptions of each group that has any, the weakest first within it."""
    titles = [*(title for title, _ in _GROUPS), _REST]
    groups: dict[str, list[Assumption]] = {title: [] for title in titles}
    for assumption in weakest_first(forecast):
        groups[group_of(assumption.key)].append(assumption)
    return [(title, members) for title, members in groups.items() if members]


def group_of(key: str) -> str:
    """The group of an assumption by the first word of its key."""
    first = re.split(r"[.\[]", key, maxsplit=1)[0]
    return next((title for title, words in _GROUPS if first in words), _REST)
