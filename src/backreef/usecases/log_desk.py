"""Which tank is meant, where its log lives, and which plan goes with it."""

from __future__ import annotations

import difflib
import stat
import tomllib
from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path

from backreef.aquarium.plan import AnimalEntry
from backreef.errors import BackreefError, InputFaults
from backreef.usecases.check import load_plan

STORE_NAME = "backreef-log.sqlite3"
_PLAN_BYTES = 1_000_000
_NEAR_RATIO = 0.7
_MOST_NAMES = 1000


class WhichTank(BackreefError):
    """It cannot be told which tank is meant; the message says how to say it."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Desk:
    """Where one sits down to write: the place of the log, and the tank if it is known already."""

    place: str
    """A path, or the address of a server."""
    tank: str | None
    plan: Path | None
    asked: str | None
    """The tank as it was asked for, where that was a name."""
    plans: tuple[tuple[str, Path], ...]
    """Tank names and plan files of the folder."""


def desk_of(*, tank: str | None, place: str | None, folder: Path) -> Desk:
    """The desk for a tank that is given as a plan file, as a name, or not at all.

    Raises
    ------
    InputFaults
        If a plan file was named and cannot be read as one.
    """
    named_file = tank is not None and (tank.endswith(".toml") or Path(tank).is_file())
    plan = Path(tank) if named_file and tank is not None else None
    if plan is not None:
        load_plan(plan)
        name = _tank_name(plan) or plan.stem
        return Desk(place=place or str(plan.parent / STORE_NAME), tank=name, plan=plan, asked=None, plans=())
    plans = tuple(_plans(folder))
    return Desk(place=place or str(folder / STORE_NAME), tank=None, plan=None, asked=tank, plans=plans)


def settle(desk: Desk, known: Sequence[str]) -> Desk:
    """The desk with its tank, chosen among those of the log and of the plans in the folder.

    Raises
    ------
    WhichTank
        If it cannot be told.
    """
    if desk.tank is not None:
        return desk
    by_plan = dict(desk.plans)
    names = list(dict.fromkeys([*known, *by_plan]))
    if desk.asked is None:
        only = names if len(names) == 1 else list(known) if len(known) == 1 else []
        if len(only) != 1:
            choice = f"one of {', '.join(repr(one) for one in names)}" if names else "a plan file or a name"
            raise WhichTank(f"say which tank: --tank with {choice}")
        return _at(desk, only[0], by_plan)
    same = [one for one in names if one.casefold() == desk.asked.strip().casefold()]
    if same:
        return _at(desk, same[0], by_plan)
    near = difflib.get_close_matches(desk.asked.casefold(), [one.casefold() for one in names], 1, _NEAR_RATIO)
    if near:
        meant = next(one for one in names if one.casefold() == near[0])
        raise WhichTank(f"there is no tank '{desk.asked}'; did you mean '{meant}'?")
    if not desk.asked.strip():
        raise WhichTank("a tank without a name; say which: --tank with a plan file or a name")
    return _at(desk, desk.asked.strip(), by_plan)


def _at(desk: Desk, tank: str, by_plan: dict[str, Path]) -> Desk:
    return Desk(place=desk.place, tank=tank, plan=by_plan.get(tank), asked=desk.asked, plans=desk.plans)


def _plans(folder: Path) -> list[tuple[str, Path]]:
    """The tanks of the plan files in a folder; files that are no plans are passed over."""
    found = []
    for path in sorted(folder.glob("*.toml")):
        name = _tank_name(path)
        if name is not None:
            found.append((name, path))
    return found


def _tank_name(path: Path) -> str | None:
    """The name of the tank of a plan file, else the name of the file; None if it is no plan."""
    try:
        known = path.stat()
    except OSError:
        return None
    if not stat.S_ISREG(known.st_mode) or known.st_size > _PLAN_BYTES:
        return None
    stamp = (known.st_ino, known.st_size, known.st_mtime_ns, known.st_ctime_ns)
    try:
        return _name_within(path, stamp)
    except RecursionError:  # brackets without end are no plan
        return None


@lru_cache(maxsize=_MOST_NAMES)
def _name_within(path: Path, stamp: tuple[int, ...]) -> str | None:  # noqa: ARG001  what makes a name stale
    try:
        return tank_name_in(path.read_text(encoding="utf-8"), path.stem)
    except (OSError, UnicodeDecodeError):
        return None


def tank_name_in(text: str, stem: str) -> str | None:
    """The name of the tank in a plan's text, else the name of its file; None if it is no plan."""
    try:
        document = tomllib.loads(text)
    except ValueError:
        return None
    tank = document.get("tank")
    if not isinstance(tank, dict) or "start_on" not in document:
        return None
    name = tank.get("name")
    return name.strip() if isinstance(name, str) and name.strip() else stem


def animals_of(plan: Path | None) -> tuple[AnimalEntry, ...]:
    """The animals of a plan; none where it has faults, for a log must not wait for them."""
    if plan is None:
        return ()
    try:
        return load_plan(plan).animals
    except InputFaults:
        return ()
