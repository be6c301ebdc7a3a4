"""How far a kit may be trusted: the step it can tell, and how wrong it is, by quantity and kind of kit."""

from __future__ import annotations

import csv
from dataclasses import dataclass
from functools import cache
from pathlib import Path

from backreef.aquarium.limits import InKeyUnit
from backreef.aquarium.series import Series, series_of
from backreef.models.mathops import sqrt
from backreef.units import parse_quantity
from backreef.working.number import as_number
from backreef.working.record import askable

RELATIVE = "relative_error"
STEP_OVER_SD = 12**0.5
"""A step of rounding over the standard deviation that it brings: that of an even spread."""


@dataclass(frozen=True, slots=True, kw_only=True)
class KitTrust:
    """What is known of one kind of kit for one quantity, in the unit of the series' name."""

    series: str
    kit: str
    resolution: InKeyUnit
    """The smallest step it tells; two readings nearer than this are the same."""
    absolute_error: InKeyUnit
    """One standard deviation that does not grow with the reading; 0 where the relative one is all."""
    relative_error_frac: float
    """One standard deviation as a share of the reading; 0 where the absolute one is all."""

    @askable
    def error_at(self, reading: InKeyUnit) -> InKeyUnit:
        """One standard deviation of a reading: both errors, and the rounding to a step."""
        rounding = self.resolution / STEP_OVER_SD
        return as_number(
            sqrt(self.absolute_error**2 + (self.relative_error_frac * reading) ** 2 + rounding**2)
        )


def kit_trust(series_name: str, kit: str | None) -> KitTrust | None:
    """How far a kit may be trusted; without a kit, the first of the table for that quantity.

    None where nothing is known: a kit that is not meant for the quantity, or a quantity without kits.
    """
    known = [one for one in all_kits() if one.series == series_name and kit in (None, one.kit)]
    return known[0] if known else None


@cache
def all_kits() -> tuple[KitTrust, ...]:
    """Every kind of kit for every quantity, the commonest of a quantity first."""
    rows = _rows()
    pairs = dict.fromkeys((row["quantity"], row["kit"]) for row in rows)
    return tuple(_trust(quantity, kit, rows) for quantity, kit in pairs)


def _rows() -> list[dict[str, str]]:
    with (Path(__file__).parent / "data" / "kits.csv").open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


def _trust(quantity: str, kit: str, rows: list[dict[str, str]]) -> KitTrust:
    series = series_of(quantity)
    said = {row["what"]: row for row in rows if (row["quantity"], row["kit"]) == (quantity, kit)}
    relative = said.get(RELATIVE)
    return KitTrust(
        series=series.series,
        kit=kit,
        resolution=_number(series, said["resolution"]),
        absolute_error=_number(series, said.get("absolute_error")),
        relative_error_frac=0.0 if relative is None else float(relative["value"]),
    )


def _number(series: Series, row: dict[str, str] | None) -> InKeyUnit:
    if row is None:
        return 0.0
    if series.dimension == "none":
        return float(row["value"])
    steps = {"temperature": "temperature_step"}  # an error is a difference, not a point of the scale
    dimension = steps.get(series.dimension, series.dimension)
    return parse_quantity(f"{row['value']} {row['unit']}", dimension=dimension, token=series.token)
