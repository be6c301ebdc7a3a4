"""Watches a log for changes: the test on its readings, and causes simulated where it gives an alarm."""

from __future__ import annotations

from collections.abc import Callable
from itertools import count

import numpy as np
import numpy.typing as npt

from backreef.aquarium.series import series_of
from backreef.calibration.alarms import Field, Noticed, field_of, greatest_change, is_alarm, suspects
from backreef.calibration.deeds import Deeds
from backreef.calibration.evidence import foretold_by, rows_needed
from backreef.calibration.faults import Fault, can_happen, life_with
from backreef.calibration.fit import Fit, march_lived, march_on, march_whole
from backreef.calibration.luck import LearnedDraws
from backreef.calibration.patterns import best_pattern, patterns_of, patterns_of_units
from backreef.calibration.tables import Cause, all_causes, number
from backreef.catalogue.entries import Catalogue
from backreef.simulation.ensemble import Members
from backreef.simulation.layout import LANES
from backreef.simulation.lived import cut_short
from backreef.simulation.resumed import days_of, joined

Array = npt.NDArray[np.float64]


def noticed_in(
    fit: Fit, deeds: Deeds, catalogue: Catalogue, told: Callable[[int, int], None]
) -> Noticed | None:
    """The greatest change of a log, if it is more than kits and luck give, with its causes ranked."""
    field = field_of(fit.foretold_before, fit.evidence, fit.taken, fit.scale, fit.doubts)
    change = greatest_change(field)
    seed = fit.before.seed
    signatures = _Signatures(fit, deeds, catalogue, field, told)
    if not is_alarm(field, change, seed=seed):
        of_tank = patterns_of(field, all_causes(), signatures)
        of_units = patterns_of_units(field, all_causes())
        change = best_pattern(field, (*of_tank, *of_units), seed=seed)
    if change is None:
        return None
    ranked = suspects(field, change, all_causes(), signatures)
    return Noticed(series=series_of(change.series), change=change, ranked=ranked)


class _Signatures:
    """What causes add to the readings, by runs with and without them with the same luck."""

    def __init__(
        self, fit: Fit, deeds: Deeds, catalogue: Catalogue, field: Field, told: Callable[[int, int], None]
    ) -> None:
        self.fit, self.deeds, self.catalogue, self.field, self.told = fit, deeds, catalogue, field, told
        self._done = count(1)
        self.rows = sorted(rows_needed(fit.lived.prepared.layout))
        self.usual = march_whole(cut_short(fit.lived, fit.lived.known_days), self._draws())
        self.base = self._foretold_by(self.usual)

    def __call__(self, cause: Cause, since_day: int) -> Array | None:
        if not can_happen(cause, self.fit.lived):
            return None
        return self._foretold_by(self._with(Fault(does=cause.does, since_day=since_day))) - self.base

    def _draws(self) -> LearnedDraws:
        return LearnedDraws(self.fit.before.seed, LANES)

    def _with(self, fault: Fault) -> Members:
        """The runs with a fault; until the day before it they are those without."""
        life = life_with(fault, self.deeds, self.catalogue, self.fit.lived)
        day = fault.since_day - 1
        if day < 1:
            return march_lived(life, self._draws(), frozenset(self.rows))
        morning = np.concatenate([block.days[day - 1] for block in self.usual.blocks], axis=1)
        later = march_on(life, self._draws(), frozenset(self.rows), morning, day)
        return joined(days_of(self.usual, self.rows, day), later, self.rows)

    def _foretold_by(self, members: Members) -> Array:
        done = next(self._done)
        self.told(done, max(done, int(number("alarm_runs"))))
        return foretold_by(self.field.taken, self.fit.scale, self.fit.lived.prepared.layout, members)
