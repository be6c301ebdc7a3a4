"""What two plans say differently, entry by entry and key by key, in the words of a plan file."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any

from backreef.aquarium.dump import dump_plan
from backreef.aquarium.plan import Plan

DIGITS = 4
_LONG_NUMBER = re.compile(r"\d+\.\d+(?![\d:.-])")
LISTS = ("animals", "meals", "foods", "upkeep", "devices")
"""Sections whose entries have ids and are compared by them."""
UNTOLD = frozenset({("", "story"), ("tank", "name"), ("animals", "why")})
"""What may differ without any consequence."""
Entry = Mapping[str, Any]


@dataclass(frozen=True, slots=True, kw_only=True)
class Difference:
    """One key that two plans set differently, or an entry that only one of them has."""

    section: str
    """'tank', 'keeper', 'animals' and so on; empty for what stands above all sections."""
    entry: str
    """Id of the entry of a list; empty elsewhere."""
    key: str
    """Empty for a whole entry."""
    first: str | None
    """As a plan file would say it; None where the first plan leaves it to its default, or lacks the entry."""
    other: str | None


def differences(first: Plan, other: Plan) -> tuple[Difference, ...]:
    """Give what the other plan says otherwise than the first, in the order of a plan file.

    Names and stories are left out. What neither plan says, so that both take the default, is no difference.
    """
    before, after = _document(first), _document(other)
    found: list[Difference] = []
    for section in dict.fromkeys((*before, *after)):
        one, two = before.get(section, {}), after.get(section, {})
        for entry in dict.fromkeys((*one, *two)):
            found += _of_entry(section, entry, one.get(entry), two.get(entry))
    return tuple(found)


def _document(plan: Plan) -> dict[str, dict[str, Entry]]:
    """A plan by section and entry; sections without a list hold one entry without an id."""
    written = tomllib.loads(dump_plan(plan))
    ids = {name: [entry.id for entry in getattr(plan, name)] for name in LISTS}
    sections: dict[str, dict[str, Entry]] = {"": {"": {}}}
    plain: dict[str, Any] = {}
    for name, value in written.items():
        if name in LISTS:
            sections[name] = {
                ident: {key: content for key, content in entry.items() if key != "id"}
                for ident, entry in zip(ids[name], value, strict=True)
            }
        elif isinstance(value, dict):
            sections[name] = {"": dict(_flat(value))}
        else:
            plain[name] = value
    sections[""] = {"": plain}
    return sections


def _flat(table: Entry, before: str = "") -> Iterator[tuple[str, Any]]:
    """The keys of a table, those of tables within it behind a dot."""
    for key, value in table.items():
        if isinstance(value, dict):
            yield from _flat(value, f"{before}{key}.")
        else:
            yield f"{before}{key}", value


def _told(section: str, entry: Entry) -> dict[str, Any]:
    return {key: value for key, value in entry.items() if (section, key) not in UNTOLD}


def _of_entry(section: str, entry: str, one: Entry | None, two: Entry | None) -> Iterator[Difference]:
    if entry and (one is None or two is None):
        yield Difference(
            section=section,
            entry=entry,
            key="",
            first=None if one is None else _said(_told(section, one)),
            other=None if two is None else _said(_told(section, two)),
        )
        return
    before, after = one or {}, two or {}
    for key in dict.fromkeys((*before, *after)):
        if before.get(key) != after.get(key) and (section, key) not in UNTOLD:
            yield Difference(
                section=section,
                entry=entry,
                key=key,
                first=_said(before[key]) if key in before else None,
                other=_said(after[key]) if key in after else None,
            )


def _said(value: Any) -> str:  # noqa: ANN401  whatever TOML holds
    """A value as people read it."""
    if isinstance(value, dict):
        return ", ".join(f"{key} {_said(content)}" for key, content in value.items())
    if isinstance(value, list):
        return ", ".join(_said(item) for item in value)
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, str):
        return _LONG_NUMBER.sub(lambda number: f"{float(number[0]):.{DIGITS}g}", value)
    return f"{value:.{DIGITS}g}" if isinstance(value, float) else str(value)
