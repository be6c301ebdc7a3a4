"""Plans of a folder as texts to be looked over, changed and kept, without losing a word of theirs."""

from __future__ import annotations

import hashlib
import os
import tempfile
import tomllib
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from threading import Lock
from zoneinfo import ZoneInfo

from backreef.aquarium import load
from backreef.aquarium.differences import Difference, differences
from backreef.aquarium.document import read_text
from backreef.aquarium.faults import key_text
from backreef.aquarium.phrases import Unreadable, read_time_zone
from backreef.aquarium.places import find_lines, line_of
from backreef.aquarium.plan import Plan
from backreef.catalogue.entries import Catalogue
from backreef.catalogue.labels import with_labels
from backreef.catalogue.load import load_catalogue
from backreef.company import engine
from backreef.company.order import additions_of
from backreef.errors import BackreefError, Fault, InputFaults
from backreef.usecases.check import CheckResult
from backreef.usecases.log_desk import desk_of

_KEEPING = Lock()
"""Between the look at what stands in a file and the new text nobody else of this process writes one."""


class Overtaken(BackreefError):
    """The file was changed by somebody else meanwhile; nothing was written."""

    def __init__(self, name: str) -> None:
        super().__init__(
            f"{name} was changed meanwhile, so nothing was saved; look at it again and repeat it"
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class PlanFile:
    """A plan of the folder."""

    stem: str
    """The file's name without its ending."""
    tank: str
    path: Path
    shared: bool = False
    """Whether another plan of the folder is about the same tank."""

    @property
    def title(self) -> str:
        """What it is called where several stand beside each other."""
        return f"{self.tank} ({self.stem})" if self.shared else self.tank


def plans_in(folder: Path) -> tuple[PlanFile, ...]:
    """The plans of a folder, by name of their file."""
    found = desk_of(tank=None, place=None, folder=folder).plans
    names = [name for name, _ in found]
    return tuple(
        PlanFile(stem=path.stem, tank=name, path=path, shared=names.count(name) > 1) for name, path in found
    )


def text_of(path: Path) -> str:
    """The text of a plan file.

    Raises
    ------
    InputFaults
        If it cannot be read as one.
    """
    return read_text(path)


def digest_of(text: str) -> str:
    """The check sum of a plan's text."""
    return hashlib.sha256(text.encode("utf-8")).hexdigest()


def rests_on(path: Path) -> str:
    """A check sum of all that a forecast of a plan rests on: text, own entries and calendars beside it."""
    return text_rests_on(text_of(path), path)


def text_rests_on(text: str, path: Path) -> str:
    """The same of a text that stands, or will stand, at a path."""
    try:
        _refuse_what_lies_elsewhere(text, path)
        folder = _own_entries(text, path)
    except InputFaults:
        return digest_of(text)
    own = [] if folder is None else sorted(folder.rglob("*.toml"))
    own += [path.parent / named for at, named in files_named(text) if at[0] == "keeper"]
    beside = (
        f"{one.name}\n{one.read_text(encoding='utf-8', errors='replace')}" for one in own if one.is_file()
    )
    return digest_of(text + "".join(beside))


def now_at(path: Path) -> datetime:
    """The moment now by the clock of a plan's place, if the plan says where that is, or else of this one."""
    try:
        keeper = tomllib.loads(text_of(path)).get("keeper")
        zone = keeper.get("time_zone") if isinstance(keeper, dict) else None
        if isinstance(zone, str):
            return datetime.now(ZoneInfo(read_time_zone(zone)))
    except (InputFaults, Unreadable, tomllib.TOMLDecodeError, RecursionError, ValueError):
        pass
    return datetime.now().astimezone()


def plan_of_text(text: str, path: Path) -> tuple[Plan, Catalogue]:
    """The plan in a text that stands, or will stand, at a path, and the catalogue it was read with.

    Raises
    ------
    InputFaults
        With every fault of the text.
    """
    _refuse_what_lies_elsewhere(text, path)
    catalogue = load_catalogue(extra=_own_entries(text, path))
    plan = load.load_plan_text(text, str(path), catalogue)
    return plan, with_labels(catalogue, plan.foods)


def catalogue_beside(text: str, path: Path) -> Catalogue:
    """The catalogue that a plan's text is read with; the one that ships where its own entries have faults."""
    try:
        _refuse_what_lies_elsewhere(text, path)
        return load_catalogue(extra=_own_entries(text, path))
    except InputFaults:
        return load_catalogue()


def check_text(text: str, path: Path) -> CheckResult:
    """Every fault of a plan's text or, if it has none, every finding that needs no forecast."""
    try:
        plan, catalogue = plan_of_text(text, path)
    except InputFaults as refusal:
        return CheckResult(file=str(path), faults=refusal.faults, findings=(), plan=None)
    return CheckResult(
        file=str(path),
        faults=(),
        findings=engine.check_plan(plan, catalogue),
        plan=plan,
        steps=additions_of(engine.setting_of(plan, catalogue)),
    )


def keep_text(path: Path, text: str, *, before: str | None) -> None:
    """Put a text in the place of a plan file, whole or not at all.

    `before` is the check sum of the text that it follows; None for a file that is not there yet.

    Raises
    ------
    InputFaults
        With every fault of the text; then the file stays as it is.
    Overtaken
        If the file holds another text by now, or is there already.
    """
    plan_of_text(text, path)
    with _KEEPING:
        _put(path, text, before=before)


def _put(path: Path, text: str, *, before: str | None) -> None:
    now = digest_of(read_text(path)) if path.exists() else None
    if now != before:
        raise Overtaken(path.name)
    handle, name = tempfile.mkstemp(dir=path.parent, prefix=f".{path.stem[:40]}-", suffix=".part")
    try:
        with os.fdopen(handle, "w", encoding="utf-8", newline="") as file:
            file.write(text)
            file.flush()
            os.fsync(file.fileno())
        Path(name).chmod(path.stat().st_mode & 0o777 if path.exists() else 0o644)
        Path(name).replace(path)
    finally:
        Path(name).unlink(missing_ok=True)


def text_differences(first: str, other: str, path: Path) -> tuple[Difference, ...]:
    """What two texts of a plan say differently; nothing where one of them cannot be read any more."""
    try:
        return differences(plan_of_text(first, path)[0], plan_of_text(other, path)[0])
    except InputFaults:
        return ()


def _refuse_what_lies_elsewhere(text: str, path: Path) -> None:
    """Refuse calendars and own entries outside of the plan's folder: a text may come from anybody.

    Raises
    ------
    InputFaults
        With a fault for each of them; none of them is looked at.
    """
    beside = path.parent.resolve()
    lines = None
    faults = []
    for at, named in files_named(text):
        if not _resolved(path.parent / named).is_relative_to(beside):
            lines = find_lines(text) if lines is None else lines
            message = (
                f"'{named[:80]}' lies outside of the plan's folder; here only files beside the plan are "
                "read: put it there, and name it without '..' or a folder above"
            )
            faults.append(Fault(file=str(path), line=line_of(lines, at), key=key_text(at), message=message))
    if faults:
        raise InputFaults(faults)


def _resolved(path: Path) -> Path:
    """Where a path leads, links followed; the root, which is beside no plan, where that cannot be told."""
    try:
        return path.resolve()
    except (OSError, RuntimeError, ValueError):
        return Path(path.anchor or "/")


def files_named(text: str) -> Iterator[tuple[tuple[str | int, ...], str]]:
    """What a plan's text names that is read with it; nothing where the text is no TOML."""
    try:
        found = tomllib.loads(text)
    except (tomllib.TOMLDecodeError, RecursionError, ValueError):
        return
    if isinstance(found.get("catalogue"), str):
        yield ("catalogue",), found["catalogue"]
    keeper = found.get("keeper")
    closed = keeper.get("closed") if isinstance(keeper, dict) else None
    for number, one in enumerate(closed if isinstance(closed, list) else ()):
        if isinstance(one, dict) and isinstance(one.get("calendar"), str):
            yield ("keeper", "closed", number, "calendar"), one["calendar"]


def _own_entries(text: str, path: Path) -> Path | None:
    try:
        named = tomllib.loads(text).get("catalogue")
    except (tomllib.TOMLDecodeError, RecursionError, ValueError):
        return None
    if not isinstance(named, str) or not named:
        return None
    folder = path.parent / named
    if not folder.is_dir():
        message = f"the folder {named} beside the plan is not there; make it, or leave 'catalogue' out"
        raise InputFaults([Fault(file=str(path), line=None, key="catalogue", message=message)])
    return folder
