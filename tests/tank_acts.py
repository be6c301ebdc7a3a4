"""What can happen to a bare tank: it is fed, dosed, harvested, its water is changed."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from backreef.simulation.events import EventProgram
from backreef.simulation.layout import (
    LEDGER_ELEMENTS,
    Layout,
)
from tests.tanks import Action, Tank


def book(
    program: EventProgram, layout: Layout, door: str, content: Sequence[float], source: int, factor: float
) -> None:
    """Write into the ledger of a door."""
    for letter, part in zip(LEDGER_ELEMENTS, content, strict=True):
        if part:
            program.put("add", target=layout.address(f"{door}_{letter}"), source=source, factor=factor * part)


def feed(mmol: float, *, tank: Tank, food: int = 1) -> Action:
    """Offer carbon of a food."""

    def act(program: EventProgram, layout: Layout) -> None:
        program.put("add", target=layout.address(f"Q_{food}"), source=0, factor=mmol)
        book(program, layout, "feed", tank.composition[f"Q_{food}"], 0, -mmol)

    return act


def take(name: str, share: float, *, tank: Tank, door: str = "harvest") -> Action:
    """Take a share of a component out."""

    def act(program: EventProgram, layout: Layout) -> None:
        at = layout.address(name)
        book(program, layout, door, tank.composition[name], at, share)
        program.put("add", target=at, source=at, factor=-share)

    return act


def bring(name: str, mmol: float, *, tank: Tank, door: str = "dose") -> Action:
    """Bring an amount in."""

    def act(program: EventProgram, layout: Layout) -> None:
        program.put("add", target=layout.address(name), source=0, factor=mmol)
        book(program, layout, door, tank.composition[name], 0, -mmol)

    return act


NEW_WATER_MMOL_PER_L = {"S_DIC": 2.1, "S_ALK": 2.5, "S_Ca": 10.3}
"""Freshly mixed sea water without nutrients. Common practice, no source."""


def change_water(share: float, *, tank: Tank, new: Mapping[str, float] = NEW_WATER_MMOL_PER_L) -> Action:
    """Replace a share of what is dissolved and suspended by new sea water."""

    def act(program: EventProgram, layout: Layout) -> None:
        for component in tank.matrix.components:
            if component.suspended:
                take(component.name, share, tank=tank, door="water_change")(program, layout)
        volume = layout.address("V")
        for name, mmol_per_l in new.items():
            program.put("add", target=layout.address(name), source=volume, factor=share * mmol_per_l)
            book(program, layout, "water_change", tank.composition[name], volume, -share * mmol_per_l)

    return act


def together(*actions: Action) -> Action:
    """Several things at one instant."""

    def act(program: EventProgram, layout: Layout) -> None:
        for action in actions:
            action(program, layout)

    return act
