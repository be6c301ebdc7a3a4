"""The first plan of a new keeper: a few words about the tank become a plan file that can be forecast."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path

from backreef.aquarium.toml_text import quoted
from backreef.errors import Fault
from backreef.usecases.examples import example_plan
from backreef.usecases.plan_desk import check_text, keep_text, plans_in, text_of
from backreef.usecases.plan_form import with_fields
from backreef.usecases.slugs import slug_of

ASKED: tuple[tuple[str, tuple[str, ...]], ...] = (
    ("start_on", ()),
    ("tank.name", ("tank",)),
    ("tank.display", ("tank",)),
    ("tank.rock", ("tank",)),
    ("tank.start.kind", ("tank", "start")),
    ("keeper.minutes_per_month", ("keeper",)),
    ("keeper.presence", ("keeper",)),
)
"""What a first visit is asked: the key and the section of the plan it stands in."""


@dataclass(frozen=True, slots=True, kw_only=True)
class FirstPlan:
    """What became of the first words."""

    text: str
    faults: tuple[Fault, ...]


def first_text(said: Mapping[str, str], path: Path) -> FirstPlan:
    """The text of a plan from what was said, by key; with every fault of it."""
    text = f"start_on = {said.get('start_on', '').strip() or quoted('')}\n\n[tank]\nname = {quoted('')}\n"
    if not re.fullmatch(r"start_on = \d{4}-\d{2}-\d{2}", text.partition("\n")[0]):
        text = text.replace(text.partition("\n")[0], f"start_on = {quoted(said.get('start_on', ''))}")
    faults: list[Fault] = []
    for section in dict.fromkeys(section for _, section in ASKED if section):
        changed = with_fields(text, section, said)
        text = changed.text
        faults += changed.faults
    return FirstPlan(text=text, faults=(*faults, *check_text(text, path).faults))


def free_path(folder: Path, name: str) -> Path:
    """A file for a plan of this name that is not there yet."""
    stem = slug_of(name, "plan")
    number, path = 2, folder / f"{stem}.toml"
    while path.exists():
        number, path = number + 1, folder / f"{stem}_{number}.toml"
    return path


def keep_first(path: Path, text: str) -> None:
    """Write a plan file that is not there yet.

    Raises
    ------
    InputFaults
        With every fault of the text.
    Overtaken
        If the file is there by now.
    """
    keep_text(path, text, before=None)


def copy_example(folder: Path) -> str:
    """Put a copy of the reading-room example into a folder, unless it is there; give the stem of its file."""
    source = example_plan()
    text = text_of(source)
    same = next((one for one in plans_in(folder) if text_of(one.path) == text), None)
    if same is not None:
        return same.stem
    path = free_path(folder, source.stem)
    keep_first(path, text)
    return path.stem
