"""The numbers of a checked plan file, each with the line on which the keeper wrote it."""

from __future__ import annotations

from dataclasses import fields, is_dataclass, replace
from typing import Any

from pydantic import BaseModel

from backreef.aquarium.document import Table
from backreef.aquarium.faults import generic_key, key_text
from backreef.aquarium.limits import Key, all_keys
from backreef.aquarium.places import Path, find_lines, line_of
from backreef.aquarium.schema import PlanFile
from backreef.units import has_unit, write_quantity
from backreef.working.record import leaf
from backreef.working.steps import About


def told_file(file: PlanFile, document: Table, *, name: str, text: str) -> PlanFile:
    """The same plan file with numbers that know their key, line and text."""
    told: PlanFile = _Teller(document, name, text).told(file, ())
    return told


def _unit(key: Key) -> str:
    """The unit of a key as people write it."""
    if not key.dimension or key.dimension == "none":
        return ""
    return write_quantity(0.0, dimension=key.dimension, token=key.token).partition(" ")[2]


class _Teller:
    """Walks through the tables of one plan file."""

    def __init__(self, document: Table, name: str, text: str) -> None:
        self.document = document
        self.name = name
        self.lines = find_lines(text)

    def told(self, found: Any, path: Path) -> Any:  # noqa: ANN401  tables of any shape
        """What stands at a path, with numbers that know where they stand."""
        if type(found) is float:
            return leaf(found, self._about(path)) if self._measured(path) else found
        if isinstance(found, BaseModel):
            parts = {name: getattr(found, name) for name in type(found).model_fields}
            return found.model_copy(update={name: self.told(p, (*path, name)) for name, p in parts.items()})
        if is_dataclass(found) and not isinstance(found, type):
            own = {one.name: getattr(found, one.name) for one in fields(found) if one.init}
            return replace(found, **{name: self.told(part, path) for name, part in own.items()})
        if type(found) in (list, tuple):
            return type(found)(self.told(part, (*path, number)) for number, part in enumerate(found))
        if type(found) is dict:
            return {name: self.told(part, (*path, name)) for name, part in found.items()}
        return found

    def _measured(self, path: Path) -> bool:
        """Whether a quantity stands there, and not an hour of the day."""
        return not {"presence", "times", "on_at", "light_on_at", "at"}.intersection(path)

    def _about(self, path: Path) -> About:
        key = all_keys().get(generic_key(path))
        words = [str(part) for part in path if isinstance(part, str)]
        token = key.token if key is not None else ""
        symbol = words[-1] if has_unit(words[-1]) or not token else f"{words[-1]}_{token}"
        if words[-1] in ("length", "width", "height", "volume", "kind", "count"):
            symbol = f"{words[-2]}_{symbol}"
        return About(
            symbol="".join(letter if letter.isalnum() else "_" for letter in symbol),
            key=key_text(path),
            kind="plan",
            what=key.doc.partition(". ")[0].rstrip(".") if key is not None else "",
            unit=_unit(key) if key is not None else "",
            source="the plan",
            place=f"{self.name}:{line_of(self.lines, path) or 1}",
            status="said by the keeper",
            given={"written": self._written(path)},
        )

    def _written(self, path: Path) -> str:
        """What the keeper wrote there, or in the text around it."""
        node: Any = self.document
        for part in path:
            try:
                node = node[part]
            except (KeyError, IndexError, TypeError):
                break
        return node if isinstance(node, str) else "" if isinstance(node, dict | list) else str(node)
