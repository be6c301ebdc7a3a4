"""A plan file as fields to be filled in: what each may say, what it says now, and what a change makes of it.

A field that nobody touches leaves its words in the file as they are; an emptied one is taken out of it.
"""

from __future__ import annotations

import tomllib
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import date
from functools import lru_cache
from typing import Any, Literal

from backreef.aquarium.edits import CannotEdit, add_entry, drop_entry, drop_key, read_value, set_key
from backreef.aquarium.limits import Key, all_keys, range_text
from backreef.aquarium.places import Path
from backreef.aquarium.series import all_series
from backreef.aquarium.toml_text import quoted
from backreef.errors import Fault
from backreef.usecases.plan_rows import Row, as_toml, rows_in, rows_of

Kind = Literal["text", "paragraph", "number", "date", "flag", "lines", "rows", "toml"]
Section = tuple[str | int, ...]
LISTS: dict[str, str] = {
    "animals": "species",
    "meals": "food",
    "foods": "like",
    "upkeep": "task",
    "devices": "kind",
}
"""Sections with entries -> the key that says what of the catalogue an entry is."""
SINGLES: tuple[Section, ...] = ((), ("tank",), ("tank", "start"), ("keeper",), ("goals",))
_BOUNDS = {
    "act_low": "act below",
    "act_high": "act above",
    "harm_low": "harm below",
    "harm_high": "harm above",
}
"""Bounds of a band, as their fields are called."""
_PARAGRAPHS = frozenset({"story", "animals[].why"})


@dataclass(frozen=True, slots=True, kw_only=True)
class Field:
    """One key of a plan as a field."""

    name: str
    """As in the messages about it: animals[2].count."""
    path: Path
    label: str
    kind: Kind
    written: str
    """What it says now; empty where the plan does not say it."""
    example: str
    help: str
    """What it says, in the words of the manual, with the range that is believed."""
    rows: tuple[Row, ...] = ()
    """Of a list of small tables: each as a row of cells, and spare ones."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Changed:
    """What became of a plan's text, and what could not be put into it."""

    text: str
    faults: tuple[Fault, ...]


@lru_cache(maxsize=8)
def document_of(text: str) -> dict[str, Any]:
    """The plan's text as a document, to be read and not changed; empty where it is no TOML."""
    try:
        return tomllib.loads(text)
    except (tomllib.TOMLDecodeError, RecursionError, ValueError):
        return {}


def name_of(path: Path) -> str:
    """The name of a path in messages: animals[2].count."""
    words = ""
    for part in path:
        words += f"[{part}]" if isinstance(part, int) else f".{part}" if words else part
    return words


def fields_of(text: str, section: Section) -> tuple[Field, ...]:
    """The fields of a section, in the order of the manual."""
    document = document_of(text)
    return tuple(_field(document, key, path) for key, path in _keys(document, section))


def written_in(text: str, section: Section) -> tuple[Field, ...]:
    """Only those fields of a section that the plan says something of."""
    return tuple(field for field in fields_of(text, section) if field.written)


def with_fields(text: str, section: Section, posted: Mapping[str, str]) -> Changed:
    """The text with the fields that were filled in otherwise than they stood."""
    faults: list[Fault] = []
    for field in fields_of(text, section):
        try:
            value = _asked_for(text, field, posted)
            if value is not None:
                text = set_key(text, field.path, value) if value else drop_key(text, field.path)
        except CannotEdit as refusal:
            faults.append(Fault(file="", line=None, key=field.name, message=str(refusal)))
    return Changed(text=text, faults=tuple(faults))


def _asked_for(text: str, field: Field, posted: Mapping[str, str]) -> str | None:
    """A field as TOML as it was filled in; empty where it was emptied, None where nobody touched it."""
    said = posted.get(field.name)
    if said is None:
        value = _value(document_of(text), field.path)
        return rows_in(_pattern(field.path), field.name, value, posted) if field.rows else None
    if _same(said, field.written):
        return None
    said = said.replace("\r\n", "\n").strip()
    return _toml(field, said) if said else ""


def with_entry(text: str, section: str, thing: str, extra: Mapping[str, str] | None = None) -> str:
    """The text with a further entry that is a thing of the catalogue; `extra` holds values as TOML.

    Raises
    ------
    CannotEdit
        If the text cannot be changed so.
    """
    keys = [("id", quoted(_free_id(text, thing))), (LISTS[section], quoted(thing))]
    return add_entry(text, section, [*keys, *(extra or {}).items()])


def without_entry(text: str, section: str, number: int) -> str:
    """The text without an entry.

    Raises
    ------
    CannotEdit
        If the text cannot be changed so.
    """
    return drop_entry(text, section, number)


def _free_id(text: str, thing: str) -> str:
    """A name for an entry that no other of the plan has."""
    document = document_of(text)
    taken = {
        str(entry.get("id", entry.get(LISTS[name], "")))
        for name in LISTS
        for entry in document.get(name, ())
        if isinstance(entry, dict)
    }
    number = 2
    name = thing
    while name in taken:
        name, number = f"{thing}_{number}", number + 1
    return name


def _same(said: str, written: str) -> bool:
    return said.replace("\r\n", "\n").strip() == written.strip()


def _keys(document: dict[str, Any], section: Section) -> Iterator[tuple[Key, Path]]:
    pattern = ".".join(str(part) for part in section if isinstance(part, str))
    prefix = f"{pattern}[]." if section and isinstance(section[-1], int) else f"{pattern}." if pattern else ""
    for key in all_keys().values():
        name = key.key.removeprefix(prefix)
        inside = key.key.startswith(prefix) and not any(sign in name for sign in ".[")
        if inside and not _is_section(key.key):
            yield key, (*section, name)
    if section == ("goals",):
        bands = document.get("goals", {}).get("bands", {})
        for word in dict.fromkeys((*bands, *(series.word for series in all_series()))):
            for name in _BOUNDS:
                yield all_keys()[f"goals.bands[].{name}"], ("goals", "bands", word, name)


def _is_section(name: str) -> bool:
    return name in LISTS or name in ("tank", "tank.start", "keeper", "goals", "goals.bands")


def _field(document: dict[str, Any], key: Key, path: Path) -> Field:
    value = _value(document, path)
    rows = rows_of(key.key, name_of(path), value)
    kind = "rows" if rows else _kind(key, value)
    between = range_text(key)
    words = key.doc.replace("`", "") + (f" Believed between {between}." if between else "")
    return Field(
        name=name_of(path),
        path=path,
        label=_label(path),
        kind=kind,
        written="" if value is None else _written(value, kind),
        example=key.example.strip('"') if kind not in ("lines", "rows", "toml") else "",
        help=words,
        rows=rows,
    )


def _value(document: dict[str, Any], path: Path) -> Any:  # noqa: ANN401  whatever TOML holds
    value: Any = document
    for part in path:
        value = value.get(part) if isinstance(value, dict) else _entry(value, part)
    return value


def _pattern(path: Path) -> str:
    """A path as the table of keys writes it."""
    return ".".join(str(part) for part in path if isinstance(part, str))


def _label(path: Path) -> str:
    if path[:2] == ("goals", "bands"):
        word, bound = str(path[2]), str(path[3])
        return f"{'pH' if word == 'ph' else word}, {_BOUNDS[bound]}"
    return str(path[-1]).replace("_", " ")


def _entry(value: Any, part: str | int) -> Any:  # noqa: ANN401  whatever TOML holds
    return value[part] if isinstance(value, list) and isinstance(part, int) and part < len(value) else None


def _kind(key: Key, value: Any) -> Kind:  # noqa: ANN401  whatever TOML holds
    """How a key is filled in: as its value is written or, where it is not, as its example."""
    if key.key in _PARAGRAPHS:
        return "paragraph"
    if value is None:
        value = read_value(key.example) if key.example else ""
    if isinstance(value, bool):
        return "flag"
    if isinstance(value, date):
        return "date"
    if isinstance(value, int | float):
        return "number"
    if isinstance(value, list) and value and all(isinstance(one, str) for one in value):
        return "lines"
    return "text" if isinstance(value, str) else "toml"


def _written(value: Any, kind: Kind) -> str:  # noqa: ANN401  whatever TOML holds
    if kind == "flag":
        return "true" if value is True else "false" if value is False else str(value)
    if kind == "lines":
        return "\n".join(value)
    if kind in ("rows", "toml") or isinstance(value, list | dict):
        return as_toml(value)
    return str(value)


def _toml(field: Field, said: str) -> str:
    """What was filled in as TOML; nonsense becomes a text, so that the plan's reader says what is wrong."""
    if field.kind in ("rows", "toml"):
        return said
    if field.kind == "lines":
        return f"[{', '.join(quoted(line.strip()) for line in said.split(chr(10)) if line.strip())}]"
    if field.kind in ("number", "date", "flag"):
        try:
            value = read_value(said)
        except CannotEdit:
            return quoted(said)
        return said if not isinstance(value, str | list | dict) else quoted(said)
    if field.kind == "paragraph" and "\n" in said:
        return '"""\n' + "\n".join(quoted(line)[1:-1] for line in said.split("\n")) + '"""'
    return quoted(said)
