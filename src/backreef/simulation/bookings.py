"""Matter that enters or leaves at an instant, each amount booked in the ledger of its door."""

from __future__ import annotations

from backreef.models.matrix import Matrix
from backreef.simulation.bodies import body_of
from backreef.simulation.events import Drawn, EventProgram, InItsUnit
from backreef.simulation.layout import LEDGER_ELEMENTS, REGISTERS, Layout

Content = tuple[float, ...]
"""Carbon, nitrogen, phosphorus, oxygen demand and charge of a unit."""
CARBON_ALONE: Content = (1.0, 0.0, 0.0, 0.0, 0.0)


class Bookings:
    """Writes operations on components together with their ledgers."""

    def __init__(self, matrix: Matrix, layout: Layout, drawn: Drawn) -> None:
        self.layout, self.drawn = layout, drawn
        self._rows = {name: layout.address(name) for name in (*REGISTERS, *layout.components)}
        self._booked: dict[tuple[str, Content], list[tuple[int, float]]] = {}
        self.components = matrix.components
        self.content = {c.name: c.composition for c in matrix.components if c.composition}
        body = body_of(matrix)
        self.flesh: Content = (1.0, body.nitrogen, body.phosphorus, body.oxygen_demand, 0.0)

    def at(self, name: str) -> int:
        """Give the row of a register or component."""
        return self._rows[name]

    def ledger(
        self, program: EventProgram, door: str, source: int, content: Content, factor: InItsUnit
    ) -> None:
        """Book what left by a door, in proportion to a row; what came in is negative."""
        for ledger, amount in self._doors(door, content):
            program.put("add", target=ledger, source=source, factor=factor * amount)

    def take(self, program: EventProgram, name: str, share_frac: float, door: str) -> None:
        """Take a share of a component out of the tank, into the ledger of a door."""
        self.ledger(program, door, self.at(name), self.content[name], share_frac)
        program.put("add", target=self.at(name), source=self.at(name), factor=-share_frac)

    def bring(self, program: EventProgram, name: str, source: str, factor: InItsUnit, door: str) -> None:
        """Bring in a component in proportion to a row (the volume, or one)."""
        program.put("add", target=self.at(name), source=self.at(source), factor=factor)
        self.ledger(program, door, self.at(source), self.content[name], -factor)

    def bring_drawn(
        self, program: EventProgram, target: int, row: int, factor: InItsUnit, *, content: Content, door: str
    ) -> None:
        """Bring in an amount times a drawn number."""
        booked = ((ledger, -factor * amount) for ledger, amount in self._doors(door, content))
        program.put_all("add_drawn", ((target, factor), *booked), source=self.at("one"), extra=row)

    def _doors(self, door: str, content: Content) -> list[tuple[int, float]]:
        """Ledgers of a door and what is booked there for a unit of some content."""
        known = self._booked.get((door, content))
        if known is None:
            parts = zip(LEDGER_ELEMENTS, content, strict=True)
            known = [(self.at(f"{door}_{element}"), amount) for element, amount in parts if amount]
            self._booked[door, content] = known
        return known

    def set_to(self, program: EventProgram, name: str, amount: InItsUnit, *, source: str = "one") -> None:
        """Set a row to an amount (times a row), without any ledger."""
        program.put("set", target=self.at(name), source=self.at(source), factor=amount)

    def slot_row(self, slot: int, name: str, slots: int) -> int:
        """Give the row of a cohort's amount."""
        return self.layout.slot_address(slot, name, slots)
