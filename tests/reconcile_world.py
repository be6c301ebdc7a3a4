"""Tanks whose hidden numbers are known, and logs of them with the noise of kits, for tests."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import UTC, datetime, time, timedelta
from functools import cache

import numpy as np

from backreef.calibration.deeds import deeds_of
from backreef.calibration.evidence import at_moments, course_of, rows_needed
from backreef.calibration.fit import lived_of, march_lived
from backreef.calibration.luck import LearnedDraws
from backreef.logbook.entries import Entry, Reading, What
from backreef.logbook.kits import kit_trust
from tests.twins import KITS, LANES, PLAN
from tests.unit.aquarium.plans import catalogue, plan_of

SMALL = PLAN.format(kind="seeded", age="8 weeks").replace("0.3 g", "0.25 g")


@cache
def small_plan():  # type: ignore[no-untyped-def]  # noqa: ANN201
    return plan_of(SMALL)


def entry(ident: str, day: float, what: What) -> Entry:
    """Something that happened so many days after the first day began."""
    at = datetime.combine(small_plan().start_on, time(), tzinfo=UTC) + timedelta(days=day)
    return Entry(id=ident, tank="Twin", at=at, what=what, logged_at=at, who="keeper", batch="b")


def reading(series: str, value: float, kit: str | None = None) -> Reading:
    return Reading(series=series, value=value, written=f"{value:.4g}", kit=kit)


def twin_log(lane: int, days: Sequence[float], *, seed: int = 5, noise: float = 1.0) -> list[Entry]:
    """Readings of a tank that the fit does not know, with a kit's steps and errors."""
    last = int(max(days)) + 1
    deeds = deeds_of((), small_plan(), catalogue(), last_day=last)
    lived = lived_of(deeds, catalogue(), known_days=last, days=last + 1)
    layout = lived.prepared.layout
    truth = march_lived(lived, LearnedDraws(1000, LANES), rows_needed(layout))
    rng = np.random.default_rng(seed + lane)
    found = []
    for series, kit in KITS.items():
        trust = kit_trust(series, kit)
        assert trust is not None
        true = at_moments(course_of(series, layout, truth), np.array(days))[:, lane]
        for day, value in zip(days, true, strict=True):
            error = rng.standard_normal() * trust.relative_error_frac * value
            error += rng.standard_normal() * trust.absolute_error
            step = trust.resolution * noise
            seen = max(0.0, round((value + noise * error) / step) * step) if noise else float(value)
            found.append(entry(f"{series}-{day}", day, reading(series, seen, kit)))
    return found
