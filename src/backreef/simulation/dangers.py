"""Hazards of company as events: what rivals, disease, mouths and moving in add to the hazard of a cohort.

They are reckoned once a week, at midnight before deaths are, for all that are alive then.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence

import numpy as np
import numpy.typing as npt

from backreef.company.hazards import Hazard
from backreef.simulation.bookings import Bookings
from backreef.simulation.cohorts import Cohort
from backreef.simulation.draws import Draws
from backreef.simulation.events import Drawn, EventProgram
from backreef.units import DAYS_PER_YEAR

Array = npt.NDArray[np.float64]
EVERY_D = 7
"""Days between two reckonings; deaths of a week fall on its last midnight."""
KEY = "hazard"


class Dangers:
    """Writes the hazards of a plan into the programs of its midnights."""

    def __init__(
        self, hazards: Sequence[Hazard], cohorts: list[Cohort], book: Bookings, drawn: Drawn
    ) -> None:
        self.book, self.slots = book, len(cohorts)
        slots = {cohort.entry.id: slot for slot, cohort in enumerate(cohorts)}
        self.of_slot: dict[int, list[tuple[Hazard, int]]] = defaultdict(list)
        for number, hazard in enumerate(hazards):
            if hazard.entry_id in slots:
                row = drawn.row(KEY, str(number))
                self.of_slot[slots[hazard.entry_id]].append((hazard, row))

    def reckon(self, program: EventProgram, day: int) -> None:
        """Add the hazards of the week that ends on a day to what is alive."""
        if day <= 0 or day % EVERY_D:
            return
        for slot, hazards in self.of_slot.items():
            target = self.book.slot_row(slot, "hazard", self.slots)
            for hazard, row in hazards:
                days = min(day, hazard.until_day) - max(day - EVERY_D, hazard.since_day)
                if days <= 0:
                    continue
                for name, sign in (("arrived", 1.0), ("lost", -1.0)):
                    source = self.book.slot_row(slot, name, self.slots)
                    factor = sign * days / DAYS_PER_YEAR
                    program.put("add_drawn", target=target, source=source, extra=row, factor=factor)


def drawn_rate_per_y(hazard: Hazard, draws: Draws) -> Array:
    """The rate of a hazard in each member; 0 where its disease does not break out there."""
    rate = hazard.rate
    name = f"{KEY} {hazard.cause} {hazard.entry_id}"
    values = draws.value(name, rate.value_per_y, rate.low_per_y, rate.high_per_y)
    if hazard.outbreak is None:
        return values
    luck = draws.uniform(f"{KEY} {hazard.outbreak.name}")[0]
    return np.asarray(np.where(luck < hazard.outbreak.chance_frac, values, 0.0))
