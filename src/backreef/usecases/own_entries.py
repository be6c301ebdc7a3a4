"""The keeper's own numbers for an animal or a food, and foods of their own, in a catalogue beside the plan.

An entry of one's own is a whole file, as those that ship: the shipped one with some numbers changed, each
with the source `keeper`. It is checked as ours are before anything is written.
"""

from __future__ import annotations

import csv
import os
import shutil
import tempfile
import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from pathlib import Path

from backreef.aquarium.toml_text import quoted
from backreef.catalogue.load import load_catalogue
from backreef.catalogue.tables import DATA
from backreef.errors import BackreefError, Fault, InputFaults
from backreef.usecases.plan_desk import plan_of_text, text_of
from backreef.usecases.slugs import slug_of

FOLDER = "own-catalogue"
"""Where own entries stand if the plan names no folder yet."""
KINDS = ("foods", "species")
_SOURCE = "keeper"
_SOURCES = "sources.toml"
_SOURCE_TABLE = (
    '[keeper]\ntext = "The keeper of this tank, by their own measurement or label"\n'
    'kind = "own work"\nseen = "not a publication"\n'
)
_PARTS = ("value", "low", "high")


class NotOwn(BackreefError):
    """There is no such entry, or it cannot be one's own; the message says why."""


@dataclass(frozen=True, slots=True, kw_only=True)
class OwnField:
    """A number of an entry: what stands there now, and what ships."""

    key: str
    meaning: str
    unit: str
    now: Mapping[str, str]
    """Value, low and high as they stand; empty where nobody knows."""
    ships: str
    """What the catalogue says, in a few words."""
    own: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class OwnEntry:
    """An entry as a form."""

    kind: str
    ident: str
    title: str
    own: bool
    fields: tuple[OwnField, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class OwnChange:
    """What a form would make of an entry: its file, or every fault."""

    ident: str
    text: str
    faults: tuple[Fault, ...]


def folder_of(path: Path) -> Path:
    """The folder with own entries of a plan, whether it is there or not.

    Raises
    ------
    NotOwn
        If the plan names a folder that does not lie beside it.
    """
    named = tomllib.loads(text_of(path)).get("catalogue") or FOLDER
    folder = path.parent / str(named)
    if not folder.resolve().is_relative_to(path.parent.resolve()):
        raise NotOwn(f"the plan's own entries stand in {named}, outside of its folder; change them there")
    return folder


def own_entries(path: Path) -> tuple[OwnEntry, ...]:
    """Every animal and food of one's own beside a plan."""
    folder = folder_of(path)
    found = [(kind, file.stem) for kind in KINDS for file in sorted((folder / kind).glob("*.toml"))]
    return tuple(entry_of(path, kind, ident) for kind, ident in found)


def entry_of(path: Path, kind: str, ident: str) -> OwnEntry:
    """An entry with its numbers as they stand for a plan.

    Raises
    ------
    NotOwn
        If there is none.
    """
    text, own = _base(path, kind, ident)
    document = tomllib.loads(text)
    shipped = _shipped(kind, ident)
    ships = {} if shipped is None else tomllib.loads(shipped)
    fields = tuple(
        OwnField(
            key=key,
            meaning=_fields()[key][1],
            unit=_fields()[key][0],
            now={part: _number(found.get(part)) for part in _PARTS},
            ships=_words(ships.get(key)),
            own=found.get("source") == _SOURCE,
        )
        for key, found in document.items()
        if isinstance(found, dict) and key in _fields() and ("value" in found or "unknown" in found)
    )
    title = str(document.get("name") or document.get("common_name") or ident)
    return OwnEntry(kind=kind, ident=ident, title=title, own=own, fields=fields)


def changed(path: Path, kind: str, ident: str, said: Mapping[str, str]) -> OwnChange:
    """The file that a form makes of an entry, with every fault of it; `name` makes another food of it."""
    text, _ = _base(path, kind, ident)
    entry = entry_of(path, kind, ident)
    name = " ".join(said.get("name", "").split())
    if name and name != entry.title:
        if kind != "foods":
            raise NotOwn("only a food can be made anew under a name of its own")
        ident = slug_of(name)
        if _shipped(kind, ident) is not None or (folder_of(path) / kind / f"{ident}.toml").exists():
            fault = Fault(file="", line=None, key="name", message=f"there is a food '{ident}' already")
            return OwnChange(ident=ident, text=text, faults=(fault,))
        text = _with_line(_with_line(text, "id", quoted(ident)), "name", quoted(name))
    faults: list[Fault] = []
    for field in entry.fields:
        typed = {part: said.get(f"{field.key}.{part}", field.now[part]).strip() for part in _PARTS}
        if typed == field.now:
            continue
        line, found = _line(field.key, typed, said.get("note", ""))
        faults += found
        text = text if found else _with_line(text, field.key, line)
    return OwnChange(ident=ident, text=text, faults=(*faults, *_faults_of(path, kind, ident, text)))


def keep(path: Path, kind: str, change: OwnChange) -> str:
    """Write an entry that has no faults, and give the folder's name for the plan."""
    if change.faults:
        raise InputFaults(change.faults)
    folder = folder_of(path)
    _put(folder, kind, change.ident, change.text)
    return folder.name if folder.parent == path.parent else str(folder.relative_to(path.parent))


def take_back(path: Path, kind: str, ident: str) -> None:
    """Throw an own entry away, so that what ships counts again.

    Raises
    ------
    NotOwn
        If there is none, or the plan needs it.
    """
    file = folder_of(path) / kind / f"{ident}.toml"
    if kind not in KINDS or not file.is_file():
        raise NotOwn(f"there is no entry {ident} of your own")
    aside = file.with_suffix(".aside")
    file.replace(aside)
    try:
        plan_of_text(text_of(path), path)
    except InputFaults as refusal:
        aside.replace(file)
        raise NotOwn(f"the plan needs it: {refusal.faults[0].message}") from None
    aside.unlink()


def _base(path: Path, kind: str, ident: str) -> tuple[str, bool]:
    """The text of an entry as it stands for a plan, and whether it is the keeper's own."""
    if kind not in KINDS or slug_of(ident) != ident:
        raise NotOwn(f"there is no {kind} entry {ident}")
    own = folder_of(path) / kind / f"{ident}.toml"
    if own.is_file():
        return own.read_text(encoding="utf-8"), True
    shipped = _shipped(kind, ident)
    if shipped is None:
        raise NotOwn(f"there is no {kind} entry {ident}")
    return shipped, False


def _shipped(kind: str, ident: str) -> str | None:
    file = DATA / kind / f"{ident}.toml"
    return file.read_text(encoding="utf-8") if file.is_file() else None


@cache
def _fields() -> dict[str, tuple[str, str]]:
    """Field -> its unit and meaning."""
    with (DATA / "fields.csv").open(encoding="utf-8", newline="") as file:
        return {row["field"]: (row["unit"], row["meaning"]) for row in csv.DictReader(file)}


def _number(found: object) -> str:
    return "" if found is None else f"{found:g}" if isinstance(found, (int, float)) else str(found)


def _words(found: object) -> str:
    if not isinstance(found, dict):
        return ""
    if "unknown" in found:
        return str(found["unknown"])
    low, high = _number(found.get("low")), _number(found.get("high"))
    return f"{_number(found.get('value'))}{f' ({low} to {high})' if low and high else ''}"


def _line(key: str, typed: Mapping[str, str], note: str) -> tuple[str, list[Fault]]:
    """A number as a file writes it, or what is wrong with what was typed."""
    faults, numbers = [], {}
    for part in _PARTS:
        if not typed[part]:
            continue
        try:
            numbers[part] = float(typed[part].replace(",", "."))
        except ValueError:
            message = f"'{typed[part]}' is no number; write it as 0.48"
            faults.append(Fault(file="", line=None, key=f"{key}.{part}", message=message))
    if not typed["value"]:
        message = "has a range and no value; give the likeliest, or empty all three"
        faults.append(Fault(file="", line=None, key=f"{key}.value", message=message))
    told = "".join(f"{part} = {number:.10g}, " for part, number in numbers.items())
    place = f"place = {quoted(note)}, " if note.strip() else ""
    return f'{{ {told}source = "{_SOURCE}", {place}status = "memory" }}', faults


def _with_line(text: str, key: str, value: str) -> str:
    lines = [
        f"{key} = {value}" if line.partition("=")[0].strip() == key else line for line in text.splitlines()
    ]
    return "\n".join(lines) + "\n"


def _faults_of(path: Path, kind: str, ident: str, text: str) -> tuple[Fault, ...]:
    """Every fault that the own catalogue would have with an entry in it."""
    with tempfile.TemporaryDirectory() as place:
        folder = Path(place) / "own"
        own = folder_of(path)
        if own.is_dir():
            shutil.copytree(own, folder, ignore=shutil.ignore_patterns("__pycache__", "*.aside"))
        _put(folder, kind, ident, text)
        try:
            load_catalogue(extra=folder)
        except InputFaults as refusal:
            return tuple(
                Fault(file=Path(one.file).name, line=one.line, key=one.key, message=one.message)
                for one in refusal.faults
            )
    return ()


def _put(folder: Path, kind: str, ident: str, text: str) -> None:
    (folder / kind).mkdir(parents=True, exist_ok=True)
    sources = folder / _SOURCES
    known = sources.read_text(encoding="utf-8") if sources.is_file() else ""
    if f"[{_SOURCE}]" not in known:
        _write(sources, f"{known}\n{_SOURCE_TABLE}" if known else _SOURCE_TABLE)
    _write(folder / kind / f"{ident}.toml", text)


def _write(file: Path, text: str) -> None:
    """Put a text in its place whole or not at all."""
    handle, name = tempfile.mkstemp(dir=file.parent, prefix=".own-", suffix=".part")
    try:
        with os.fdopen(handle, "w", encoding="utf-8", newline="") as out:
            out.write(text)
        Path(name).chmod(0o644)
        Path(name).replace(file)
    finally:
        Path(name).unlink(missing_ok=True)
