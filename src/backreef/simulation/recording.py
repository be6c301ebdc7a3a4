"""How laws are recorded: the names they use as reads of the arrays that the compiled march works on."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from backreef.models.matrix import Matrix
from backreef.models.mouths import Body
from backreef.models.water import SEGMENT_NAMES
from backreef.simulation.bodies import body_of
from backreef.simulation.driven import driven
from backreef.simulation.layout import FORCINGS, REGISTERS, Layout
from backreef.simulation.program import Program

Known = dict[str, Any]


@dataclass(frozen=True, slots=True)
class Recording:
    """The tables that programs are recorded from.

    A food that the layout does not have is never offered: it is the number 0, and what hangs on it falls
    away.
    """

    matrix: Matrix
    layout: Layout

    @property
    def body(self) -> Body:
        """What animals consist of."""
        return body_of(self.matrix)

    @property
    def active(self) -> tuple[str, ...]:
        """Names of the components that rates depend on."""
        return self.layout.components[: self.layout.active]

    def known(self, program: Program) -> Known:
        """Give every name that laws and table cells use, as reads of the arrays."""
        layout = self.layout
        names: Known = {name: program.read("p", i) for i, name in enumerate(layout.parameters)}
        names |= dict.fromkeys(self.matrix.active, program.recorder.constant(0.0))
        names |= {name: program.read("y", i) for i, name in enumerate(layout.components)}
        names |= {name: program.read("r", i) for i, name in enumerate(REGISTERS)}
        names |= {name: program.read("s", i) for i, name in enumerate(SEGMENT_NAMES)}
        names |= {name: program.read("f", i) for i, name in enumerate(FORCINGS)}
        return names | driven(names)
