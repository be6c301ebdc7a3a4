"""Figures of the tank: water, glass, mass and load on the floor."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import fields
from datetime import date

from backreef.company.place import floor_load_kn_per_m2, mass_in_service_kg
from backreef.usecases.asked import Asking, Figure, Found, shown
from backreef.usecases.figure_names import figure_names
from backreef.working.number import Worked
from backreef.working.record import recording
from backreef.working.steps import About, InItsUnit
from backreef.working.tree import tree_of


def tank_figures(asking: Asking) -> Iterator[Figure]:
    """What can be asked of the tank itself."""
    yield Figure(
        name="floor_load_kn_per_m2",
        title="load on the floor under the stand",
        daily=False,
        forecast=False,
        find=_load,
    )
    yield Figure(
        name="mass_in_service_kg",
        title="mass of the filled tank",
        daily=False,
        forecast=False,
        find=_mass,
        beside=lambda *_: ("floor_load_kn_per_m2",),
    )
    for one in fields(asking.plan.tank):
        value = getattr(asking.plan.tank, one.name)
        if isinstance(value, Worked):
            yield _part(one.name, value)


def _part(name: str, value: Worked) -> Figure:
    about = About(symbol=name, key=f"tank.{name}", kind="law")
    tree = tree_of(value, about)

    def find(_asking: Asking, _on: date | None) -> Found:
        return Found(tree=tree, shown=shown(value, tree.root.about.unit))

    title = tree.root.about.what or figure_names("tank")[name][0]
    return Figure(name=f"tank.{name}", title=title, daily=False, forecast=False, find=find)


def _load(asking: Asking, _on: date | None) -> Found:
    with recording():
        value = floor_load_kn_per_m2(asking.plan)
    return _found(value or 0.0, "floor_load_kn_per_m2")


def _mass(asking: Asking, _on: date | None) -> Found:
    with recording():
        value = mass_in_service_kg(asking.plan)
    return _found(value, "mass_in_service_kg")


def _found(value: InItsUnit, name: str) -> Found:
    tree = tree_of(value, About(symbol=name, key=name, kind="law"))
    return Found(tree=tree, shown=shown(value, tree.root.about.unit))
