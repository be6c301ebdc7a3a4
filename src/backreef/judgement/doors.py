"""Under which name and in which unit a forecast shows a quantity that a plan speaks of."""

from __future__ import annotations

from functools import cache

from backreef.aquarium.series import all_series, door_factor
from backreef.simulation.tables import InItsUnit

SHOWN_BY_ELEMENT = frozenset({"nitrite_mg_n_per_l"})
"""Series that a forecast shows as a plan has them, although they have another name at the doors."""


@cache
def shown_as(series: str) -> tuple[str, InItsUnit]:
    """Give the name of a plan's series in a forecast, and what one of its units is there."""
    found = next((one for one in all_series() if one.series == series), None)
    if found is None or series in SHOWN_BY_ELEMENT:
        return series, 1.0
    return found.door_series, door_factor(found)
