"""Numbers that differ between tanks, before and after the log was read, and which of them go together."""

from __future__ import annotations

from collections.abc import Callable
from itertools import combinations

import numpy as np
import numpy.typing as npt

from backreef.aquarium.plan import BY_HAND
from backreef.calibration.ahead import spread_of
from backreef.calibration.outcome import Moved, Spread, Tangled
from backreef.calibration.run import Run
from backreef.calibration.tables import Fitted, all_fitted, number
from backreef.calibration.workings import FITTED_MARCH, Deviates, in_its_range, range_of, simulated
from backreef.simulation.draws import spread
from backreef.simulation.system import devices_of
from backreef.simulation.tables import Range
from backreef.working.members import Seen
from backreef.working.steps import InItsUnit

Array = npt.NDArray[np.float64]
FILM = "A_F"
BEFORE, AFTER = "before the log was read", "as the log has it"


def fitted_here(run: Run) -> list[Fitted]:
    """What is looked for in this tank's log."""
    prepared, plan = run.life.prepared, run.life.prepared.plan
    has = {
        "any": True,
        "sand": plan.tank.sand_area_m2 > 0,
        "grazers": any(cohort.likings.get(FILM, 0.0) > 0 for cohort in prepared.cohorts),
        "refugium": bool(devices_of(plan, "refugium", "scrubber")),
        "skimmer": bool(devices_of(plan, "skimmer_sump", "skimmer_hang")),
        "corals": _has_corals(run),
        "hand": any(meal.by == BY_HAND for meal in plan.meals),
    }
    return [one for one in all_fitted() if has[one.where] and one.draw in run.fit.after.learned]


def _has_corals(run: Run) -> bool:
    layout = run.life.prepared.layout
    return bool(run.fitted.row(layout.address("C_T"))[-1].max() > 0)


def moved_of(run: Run) -> tuple[Moved, ...]:
    """Each number that the log may tell, before and after, that which it tells most of first."""
    before, after = run.fit.before.learned, run.fit.after.learned
    deviates = Deviates(run.fit)
    found = []
    for one in fitted_here(run):
        span = range_of(one, run.plan)
        old, new = before[one.draw], after[one.draw]
        moved_sd = _moved_sd(one, old, new)
        by_before, by_after = (in_its_range(span, how(one.draw)) for how in (deviates.before, deviates.after))
        tells = abs(moved_sd) >= number("moved_sd")
        found.append(
            Moved(
                id=one.id,
                what=one.what,
                unit=one.unit,
                before=_in_range(one, span, old, by_before, BEFORE),
                after=_in_range(one, span, new, by_after, AFTER),
                told_frac=_told_frac(one, old, new),
                moved_sd=moved_sd,
                meaning="" if not tells else one.more if moved_sd > 0 else one.less,
            )
        )
    return tuple(sorted(found, key=lambda one: -one.told_frac))


def _in_range(
    one: Fitted, span: Range, deviates: Array, how: Callable[[int], InItsUnit], said: str
) -> Spread:
    """The points of a number over the members."""
    unit = "" if one.unit == "-" else one.unit
    seen = Seen(symbol=one.id, what=f"{one.what}, {said}", unit=unit, source=FITTED_MARCH)
    return spread_of(spread(span.value, span.low, span.high, deviates), seen, how)


def _moved_sd(one: Fitted, old: Array, new: Array) -> InItsUnit:
    parts = (
        ("middle_after", new.mean(), f"mean of the members' deviates, {AFTER}"),
        ("middle_before", old.mean(), f"mean of the members' deviates, {BEFORE}"),
        ("sd_before", old.std(), f"standard deviation of the members' deviates, {BEFORE}"),
    )
    after, before, apart = (_of_deviates(one, *part) for part in parts)
    return (after - before) / apart


def _told_frac(one: Fitted, old: Array, new: Array) -> InItsUnit:
    parts = (
        ("variance_after", new.var(), f"variance of the members' deviates, {AFTER}"),
        ("variance_before", old.var(), f"variance of the members' deviates, {BEFORE}"),
    )
    after, before = (_of_deviates(one, *part) for part in parts)
    told = 1.0 - after / before
    return told if told > 0.0 else 0.0 * told


def _of_deviates(one: Fitted, symbol: str, value: InItsUnit, words: str) -> InItsUnit:
    return simulated(symbol, value, f"{one.what}: {words}", key=f"fit.{one.draw}.{symbol}")


def tangled_of(run: Run) -> tuple[Tangled, ...]:
    """Pairs of numbers of which the readings tell only something together."""
    after = run.fit.after.learned
    found = []
    for one, other in combinations(fitted_here(run), 2):
        link = float(np.corrcoef(after[one.draw], after[other.draw])[0, 1])
        if abs(link) >= number("tangled_correlation"):
            words = f"how {one.what} and {other.what} go together in the fitted members"
            told = simulated("correlation", link, words, key=f"fit.tangled.{one.id}.{other.id}")
            found.append(Tangled(one=one.what, other=other.what, correlation=told))
    return tuple(sorted(found, key=lambda pair: -abs(pair.correlation)))
