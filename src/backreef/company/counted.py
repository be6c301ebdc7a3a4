"""Deaths that somebody counted, in trials and in the trade: data/counted_deaths.csv.

Where a kind was counted in tanks and practice says otherwise, both are shown and the graver is used.
"""

from __future__ import annotations

import csv
from dataclasses import dataclass
from functools import cache
from importlib.resources import files

from backreef.catalogue.entries import Species
from backreef.company.hazards import Rate, rate_of_loss, sources

KEPT = "kept"


@dataclass(frozen=True, slots=True, kw_only=True)
class CountedDeaths:
    """A share of animals that was lost, of a species or of kinds, in tanks or before they were sold."""

    id: str
    kept: bool
    """True: lost in a tank; False: lost on the way to it."""
    species: frozenset[str]
    kinds: frozenset[str]
    lost_frac: float | None
    """None where the source gives a range only."""
    low_frac: float | None
    high_frac: float | None
    days: float | None
    """Over how long; None where the source does not say."""
    whose: str
    source: str
    """In words, with its place."""
    status: str

    @property
    def text(self) -> str:
        """The share in words, with its range and days."""
        bounds = [100.0 * one for one in (self.low_frac, self.high_frac) if one is not None]
        spread = " to ".join(f"{one:.3g}" for one in bounds)
        share = f"{spread} %" if self.lost_frac is None else f"{100.0 * self.lost_frac:.3g} %"
        told = f" ({spread})" if bounds and self.lost_frac is not None else ""
        over = f" in {self.days:g} days" if self.days is not None else ""
        return f"{share}{told} lost{over}"


@cache
def counted_deaths() -> tuple[CountedDeaths, ...]:
    """The rows of the table."""
    path = files("backreef.company") / "data" / "counted_deaths.csv"
    with path.open(encoding="utf-8") as file:
        return tuple(_row(cells) for cells in csv.DictReader(file, strict=True))


def _row(cells: dict[str, str]) -> CountedDeaths:
    return CountedDeaths(
        id=cells["id"],
        kept=cells["stage"] == KEPT,
        species=frozenset(cells["species"].split()),
        kinds=frozenset(cells["kinds"].split()),
        lost_frac=_number(cells["lost_frac"]),
        low_frac=_number(cells["low"]),
        high_frac=_number(cells["high"]),
        days=_number(cells["days"]),
        whose=cells["whose"],
        source=f"{sources()[cells['source']]}: {cells['place']}",
        status=cells["status"],
    )


def _number(cell: str) -> float | None:
    return float(cell) if cell else None


def counted_of(species: Species) -> tuple[CountedDeaths, ...]:
    """What was counted of a species or of its kind."""
    return tuple(row for row in counted_deaths() if species.id in row.species or (species.kind in row.kinds))


def kept_of(species_id: str) -> CountedDeaths | None:
    """What was counted of a species in tanks."""
    return next((row for row in counted_deaths() if row.kept and species_id in row.species), None)


def graver(practice: Rate, species_id: str) -> Rate:
    """The rate of practice, or the counted one of this species where that is higher.

    Validity
    --------
    A trial of some weeks, taken as the loss of settling in; animals in a home tank may fare better or worse.

    Source
    ------
    Own rule of caution: where published and practice differ, the graver one.
    """
    row = kept_of(species_id)
    if row is None or row.lost_frac is None or row.days is None:
        return practice
    counted = rate_of_loss(
        row.lost_frac,
        low_frac=row.lost_frac if row.low_frac is None else row.low_frac,
        high_frac=row.lost_frac if row.high_frac is None else row.high_frac,
        days=row.days,
    )
    return counted if counted.value_per_y > practice.value_per_y else practice
