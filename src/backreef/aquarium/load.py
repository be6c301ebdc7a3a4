"""Reads a plan file, or says everything that is wrong with it at once."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

from pydantic import ValidationError

from backreef.aquarium.build import build_plan
from backreef.aquarium.build_tank import build_tank, is_complete
from backreef.aquarium.crosscheck import cross_check
from backreef.aquarium.defaults import Assumptions
from backreef.aquarium.document import Table, parse, read_text
from backreef.aquarium.faults import Faults
from backreef.aquarium.own_foods import labels_of, readable_foods, with_named_foods
from backreef.aquarium.plan import Plan
from backreef.aquarium.schema import PlanFile, TankTable
from backreef.aquarium.told import told_file
from backreef.catalogue.entries import Catalogue
from backreef.errors import InputFaults
from backreef.working.record import is_recording


def load_plan(path: str | Path, catalogue: Catalogue) -> Plan:
    """The plan of a file.

    Raises
    ------
    InputFaults
        With every fault of the file, in the order of their lines.
    """
    return load_plan_text(read_text(Path(path)), str(path), catalogue)


def load_plan_text(text: str, name: str, catalogue: Catalogue) -> Plan:
    """The plan of a text; `name` stands for the file in messages and in `Plan.file`."""
    document = parse(text, name)
    faults = Faults(file=name, text=text)
    file: PlanFile | None = None
    try:
        file = PlanFile.model_validate(document)
    except ValidationError as refusals:
        faults.add_refusals(refusals, document)
        _check_tank(document, faults)
    known = with_named_foods(document, catalogue)
    cross_check(document, known, faults)
    if file is None:
        labels_of(readable_foods(document), catalogue, faults)
    faults.raise_any()
    if file is None:
        raise InputFaults([])  # pragma: no cover  a refusal always is a fault
    if is_recording():
        file = told_file(file, document, name=name, text=text)
    labels = labels_of(enumerate(file.foods), catalogue, faults)
    plan = build_plan(file, document, known, faults)
    faults.raise_any()
    return replace(plan, foods=labels)


def named_catalogue(path: str | Path) -> Path | None:
    """The folder of own entries that a plan file names; None where it names none.

    Raises
    ------
    InputFaults
        If the file cannot be read.
    """
    found = parse(read_text(Path(path)), str(path)).get("catalogue")
    return Path(path).parent / found if isinstance(found, str) and found.strip() else None


def _check_tank(document: Table, faults: Faults) -> None:
    """What contradicts itself in the tank, when another part of the file was refused."""
    try:
        tank = TankTable.model_validate(document.get("tank"))
    except ValidationError:
        return
    if is_complete(tank.display):
        build_tank(tank, animals_there=False, assumed=Assumptions(), faults=faults)
