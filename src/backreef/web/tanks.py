"""The tanks of the folder as the pages need them: file, verdict, readings."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from django.http import Http404

from backreef.logbook.changes import Hand
from backreef.plots.figure import Reading
from backreef.tongue.door import OWN, language
from backreef.usecases.measured import Measured, measured_of
from backreef.usecases.plan_desk import PlanFile, now_at, plans_in, rests_on
from backreef.web import bootstrap, jobs
from backreef.web.roles import Role, stems_of

if TYPE_CHECKING:
    from datetime import date

    from django.contrib.auth.base_user import AbstractBaseUser
    from django.contrib.auth.models import AnonymousUser
    from django.http import HttpRequest

    from backreef.judgement.verdict import Forecast
    from backreef.web.models import Job

_MEASURED: dict[tuple[str, str], tuple[str, tuple[Measured, ...]]] = {}
"""Place of the log and tank -> its mark, and the readings as they were then."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Standing:
    """What is known of a plan: its newest forecast, and whether it is about the plan as it is now."""

    forecast: Forecast | None
    job: Job | None
    """The one that found it."""
    current: bool
    waiting: Job | None
    failed: Job | None


def all_tanks() -> tuple[PlanFile, ...]:
    """Every plan of the folder."""
    return plans_in(bootstrap.served().folder)


def tanks_for(person: AbstractBaseUser | AnonymousUser, at_least: Role = Role.VIEWER) -> tuple[PlanFile, ...]:
    """The plans in which somebody has at least a role."""
    stems = stems_of(person, at_least)
    return tuple(one for one in all_tanks() if stems is None or one.stem in stems)


def tank_of(stem: str) -> PlanFile:
    """A plan of the folder.

    Raises
    ------
    Http404
        If there is none of this name.
    """
    found = next((one for one in all_tanks() if one.stem == stem), None)
    if found is None:
        raise Http404
    return found


def standing_of(tank: PlanFile) -> Standing:
    """The newest forecast of a plan."""
    job = jobs.latest(jobs.FORECAST, tank.stem)
    forecast = None if job is None else forecast_of(job)
    return Standing(
        forecast=forecast,
        job=job if forecast is not None else None,
        current=forecast is not None and job is not None and is_current(job, tank),
        waiting=jobs.waiting(jobs.FORECAST, tank.stem),
        failed=jobs.last_failed(jobs.FORECAST, tank.stem),
    )


def forecast_of(job: Job) -> Forecast | None:
    """The forecast that a job has found; None where it is gone."""
    from backreef.judgement.verdict import Forecast

    return jobs.answer_of(job, Forecast)


def is_current(job: Job, tank: PlanFile) -> bool:
    """Whether what a job has found is about the plan as it stands in its file."""
    return job.digest == rests_on(tank.path)


def ask_for_forecast(tank: PlanFile, *, thorough: bool = False) -> Job:
    """Ask for the forecast of a plan as it stands, to be drawn in the language of whoever asks.

    A thorough one simulates every remedy.
    """
    asked: dict[str, object] = {"members": bootstrap.doors().members}
    if thorough:
        asked["thorough"] = True
    if language() != OWN:
        asked["language"] = language()
    return jobs.ask(jobs.FORECAST, tank.stem, digest=rests_on(tank.path), asked=asked)


def mark_of(tank: PlanFile) -> str:
    """A word that is another one after anything was written into the log of a tank; empty without a log."""
    store = bootstrap.log_store()
    return "" if store is None else store.mark(tank.tank)


def measured(tank: PlanFile) -> tuple[Measured, ...]:
    """Every reading of a tank, old to new; read again only when something was written."""
    store = bootstrap.log_store()
    mark = "" if store is None else store.mark(tank.tank)
    if store is None or not mark:
        return ()
    known = _MEASURED.get((store.place, tank.tank))
    if known is None or known[0] != mark:
        known = _MEASURED[store.place, tank.tank] = (mark, measured_of(store, tank.tank))
    return known[1]


def readings_of(tank: PlanFile, since: date | None = None) -> Sequence[Reading]:
    """What was measured, as pictures want it."""
    found = (one for one in measured(tank) if since is None or one.on >= since)
    return [Reading(series=one.series, on=one.on, value=one.value) for one in found]


def hand_of(request: HttpRequest, tank: PlanFile) -> Hand:
    """Who writes, now, by the clock of the tank's place."""
    return Hand(who=request.user.get_username(), now=now_at(tank.path))
