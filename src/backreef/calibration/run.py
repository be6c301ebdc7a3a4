"""The marches behind a reconciliation, and the series that were read."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from backreef.aquarium.plan import Plan
from backreef.aquarium.series import Series, all_series
from backreef.calibration.alarms import Noticed
from backreef.calibration.deeds import Deeds
from backreef.calibration.evidence import Unused
from backreef.calibration.fit import Fit
from backreef.calibration.outcome import Origin
from backreef.catalogue.entries import Catalogue
from backreef.logbook.entries import Entry
from backreef.schedule.build import Schedule
from backreef.simulation.ensemble import Members
from backreef.simulation.lived import Lived


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Run:
    """The marches behind a reconciliation, and what they were made from."""

    name: str
    fit: Fit
    deeds: Deeds
    planned: Members
    planned_life: Lived
    noticed: Noticed | None
    entries: Sequence[Entry]
    unused: Sequence[Unused]
    cut_off: bool
    """The log is longer than what was fitted."""
    origin: Origin
    plan: Plan
    """As it was lived, with whatever its numbers know of themselves."""
    catalogue: Catalogue
    schedule: Schedule
    """Of the plan, as it was lived."""

    @property
    def fitted(self) -> Members:
        """What the fitted ensemble did and will do."""
        return self.fit.marched

    @property
    def life(self) -> Lived:
        """What was lived and is planned."""
        return self.fit.lived


def followed(fit: Fit) -> list[Series]:
    """The series that were read, in the order of their table."""
    read = {one.series.series for one in fit.taken}
    return [series for series in all_series() if series.series in read]
