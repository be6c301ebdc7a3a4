"""Puts a plan and its log together: fit, outlooks as planned and as fitted, what moved, what is in doubt."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Literal

from backreef.aquarium.plan import Plan
from backreef.calibration.evidence import taken_of
from backreef.calibration.fit import Fit, fit_log, march_lived
from backreef.calibration.lives import Window, nothing_to_fit, window_of
from backreef.calibration.outcome import Origin, Reconciled
from backreef.calibration.run import Run
from backreef.calibration.standing import Standing, StartsAfresh, go_on, standing_of
from backreef.calibration.telling import reconciled_of
from backreef.calibration.watch import noticed_in
from backreef.calibration.window import first_day_of_fit
from backreef.catalogue.entries import Catalogue
from backreef.errors import InputFaults
from backreef.logbook.entries import Entry
from backreef.simulation.ensemble import Members

Progress = Callable[[str, int, int], None]
FEWEST_READINGS = 1


@dataclass(frozen=True, slots=True, kw_only=True)
class Asked:
    """How a log is to be fitted and how far to look ahead."""

    members: int
    seed: int
    weeks_ahead: int


def reconcile_log(
    plan: Plan,
    catalogue: Catalogue,
    entries: Sequence[Entry],
    asked: Asked,
    *,
    progress: Progress | None = None,
) -> Reconciled:
    """Fit a plan's tank to its log and look ahead.

    Raises
    ------
    InputFaults
        If no reading of the log can be used; it says why for each kind.
    """
    return reconcile_on(plan, catalogue, entries, asked, progress=progress)[0]


def reconcile_on(
    plan: Plan,
    catalogue: Catalogue,
    entries: Sequence[Entry],
    asked: Asked,
    *,
    progress: Progress | None = None,
    standing: Standing | None = None,
) -> tuple[Reconciled, Standing]:
    """The same, gone on from a fit that stands where that can be; and the fit that stands then.

    Raises
    ------
    InputFaults
        If no reading of the log can be used; it says why for each kind.
    """
    run, stands = run_on(plan, catalogue, entries, asked, progress=progress, standing=standing)
    return reconciled_of(run), stands


def run_on(
    plan: Plan,
    catalogue: Catalogue,
    entries: Sequence[Entry],
    asked: Asked,
    *,
    progress: Progress | None = None,
    standing: Standing | None = None,
) -> tuple[Run, Standing]:
    """The marches behind it, and the fit that stands then.

    Raises
    ------
    InputFaults
        If no reading of the log can be used; it says why for each kind.
    """

    def tell(phrase: str) -> Callable[[int, int], None]:
        return lambda done, total: progress(phrase, done, total) if progress else None

    why_fresh = ""
    whole, unused = taken_of(entries, plan.start_on)
    if len(whole) < FEWEST_READINGS:
        raise InputFaults([nothing_to_fit(plan, unused)])
    if standing is not None:
        window = window_of(
            plan, catalogue, entries, since_day=standing.since_day, weeks_ahead=asked.weeks_ahead
        )
        try:
            fit, planned = go_on(standing, window, tell("going on from the last fit"))
        except StartsAfresh as why:
            standing, why_fresh = None, str(why)
    if standing is None:
        since_day = first_day_of_fit(int(whole[-1].at_d))
        window = window_of(plan, catalogue, entries, since_day=since_day, weeks_ahead=asked.weeks_ahead)
        fit, planned = _fitted_afresh(window, asked, tell)
        standing = standing_of(fit, planned, window)
        how: Literal["fresh", "went on"] = "fresh"
    else:
        how = "went on"
    run = Run(
        name=window.plan.name,
        fit=fit,
        deeds=window.deeds,
        planned_life=window.planned,
        planned=planned,
        noticed=noticed_in(fit, window.deeds, catalogue, tell("looking for causes")),
        entries=window.entries,
        unused=window.unused,
        cut_off=window.since_day > 0,
        origin=Origin(
            how=how,
            fitted_on=standing.last_on,
            since_count=len(fit.taken) - len(standing.readings),
            why_fresh=why_fresh,
            kept=False,
        ),
        plan=fit.lived.prepared.plan,
        catalogue=catalogue,
        schedule=fit.lived.prepared.keeper,
    )
    return run, standing


def _fitted_afresh(
    window: Window, asked: Asked, tell: Callable[[str], Callable[[int, int], None]]
) -> tuple[Fit, Members]:
    told = tell("fitting the tank to its log")
    fit = fit_log(window.lived, window.taken, members=asked.members, seed=asked.seed, told=told)
    planned = march_lived(
        window.planned, fit.before, window.rows, tell("as planned"), morning=window.last_day
    )
    return fit, planned
