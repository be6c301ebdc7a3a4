"""What the fitted tank and the planned one do in the weeks ahead: each series, and bounds that they leave."""

from __future__ import annotations

from collections.abc import Callable
from datetime import timedelta
from functools import partial

import numpy as np
import numpy.typing as npt

from backreef.aquarium.series import Series, door_factor
from backreef.calibration.evidence import course_of
from backreef.calibration.outcome import Outlook, Spread, WaterAhead
from backreef.calibration.run import Run, followed
from backreef.calibration.workings import of_course
from backreef.judgement.course import lived_and_died, turf_cover_frac
from backreef.judgement.spans import share
from backreef.judgement.verdict import Band
from backreef.judgement.water import WaterTrouble, water_bands, water_troubles
from backreef.simulation.trajectories import cohort_courses, water_series
from backreef.simulation.worked_out import WorkedOut
from backreef.working.members import Seen, point
from backreef.working.steps import InItsUnit

Array = npt.NDArray[np.float64]
_POINTS = (5, 50, 95)


def _band(values: Array) -> Band:
    low, middle, high = np.percentile(values, [5, 50, 95], axis=1)
    return Band(p05=low, p50=middle, p95=high)


def spread_of(values: Array, told: Seen, of_member: Callable[[int], InItsUnit] | None = None) -> Spread:
    """The 5, 50 and 95 % points of a number over the members."""
    low, middle, high = (point(values, percent, told, of_member) for percent in _POINTS)
    return Spread(p05=low, p50=middle, p95=high)


def outlooks_of(run: Run) -> tuple[Outlook, ...]:
    """Each series that was read, as planned and as fitted."""
    found = []
    for series in followed(run.fit):
        planned, fitted = (course_at_doors(run, series, fitted=which) for which in (False, True))
        found.append(
            Outlook(
                series=series.door_series,
                label=series.label,
                unit=series.door_unit,
                planned=_band(planned),
                fitted=_band(fitted),
                ahead_planned=spread_on(run, series, len(planned) - 1, fitted=False),
                ahead_fitted=spread_on(run, series, len(fitted) - 1, fitted=True),
            )
        )
    return tuple(found)


def course_at_doors(run: Run, series: Series, *, fitted: bool) -> Array:
    """A series at the end of each day in its unit at the doors, (days, members)."""
    members = run.fitted if fitted else run.planned
    return course_of(series.series, run.life.prepared.layout, members) * door_factor(series)


def spread_on(run: Run, series: Series, day: int, *, fitted: bool) -> Spread:
    """The points of a series at the end of a day."""
    said = "as fitted to the log" if fitted else "as planned"
    words = f"{series.label} at the end of {run.life.prepared.plan.start_on + timedelta(days=day)}, {said}"
    told = Seen(symbol=series.word, what=words, unit=series.door_unit)
    members = run.fitted if fitted else run.planned
    how = of_course(series, run.life.prepared.layout, members, day, said)
    return spread_of(course_at_doors(run, series, fitted=fitted)[day], told, how)


def water_ahead(run: Run) -> tuple[WaterAhead, ...]:
    """Bounds left in the weeks ahead, harm first; both tanks are asked from the last reading on."""
    plan = run.life.prepared.plan
    nobody = share(np.zeros(run.fitted.count, dtype=np.bool_))
    fitted = {(one.about, one.harm): one for one in _troubles(run, fitted=True)}
    planned = {(one.about, one.harm): one for one in _troubles(run, fitted=False)}
    found = []
    for key in sorted({*fitted, *planned}):
        one = fitted.get(key) or planned[key]
        hit = fitted[key].first_day if key in fitted else np.zeros(0)
        when = np.sort(hit[hit >= 0]) if key in fitted else np.zeros(0)
        found.append(
            WaterAhead(
                series=one.band.series,
                label=one.band.label,
                low_side=one.low_side,
                harm=one.harm,
                bound=one.bound,
                unit=one.band.unit,
                share_planned=planned[key].share if key in planned else nobody,
                share_fitted=fitted[key].share if key in fitted else nobody,
                first_on=plan.start_on + timedelta(days=run.life.known_days + int(when[len(when) // 2]))
                if len(when)
                else None,
            )
        )
    return tuple(sorted(found, key=lambda one: (not one.harm, -one.share_fitted, one.series)))


def _troubles(run: Run, *, fitted: bool) -> list[WaterTrouble]:
    life, members = (run.life, run.fitted) if fitted else (run.planned_life, run.planned)
    worked_out = WorkedOut(members)
    turf = {"turf_cover_frac": partial(turf_cover_frac, life.prepared)}
    series = water_series(life.prepared, worked_out, turf)
    inhabited, died = lived_and_died(series, cohort_courses(life.prepared, worked_out))
    since = run.life.known_days
    ahead = {name: values[since:] for name, values in series.items()}
    return water_troubles(water_bands(run.plan), ahead, inhabited[since:], died[since:])
