"""What was measured of a tank, in the units of a forecast, so that one can be laid on the other."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, date, datetime, time

from backreef.aquarium.series import door_factor, series_of
from backreef.logbook.entries import Reading
from backreef.logbook.store import LogbookStore, Wanted


@dataclass(frozen=True, slots=True, kw_only=True)
class Measured:
    """One reading of the log."""

    series: str
    """Name with unit and basis, as a forecast has it: nitrate_mg_no3_per_l."""
    label: str
    unit: str
    on: date
    value: float
    """In the unit of the series' name; of '< 0.02' the bound."""


def measured_of(store: LogbookStore, tank: str, *, since: date | None = None) -> tuple[Measured, ...]:
    """The readings of a tank, old to new."""
    start = None if since is None else datetime.combine(since, time(), tzinfo=UTC)
    found = []
    for entry in store.entries(Wanted(tank=tank, kinds=(Reading.kind,), since=start)):
        what = entry.what
        if isinstance(what, Reading):
            series = series_of(what.series)
            found.append(
                Measured(
                    series=series.door_series,
                    label=series.label,
                    unit=series.door_unit,
                    on=entry.at.date(),
                    value=what.value * door_factor(series),
                )
            )
    return tuple(found)
