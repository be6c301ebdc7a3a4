"""Judge a plan: march it for all members, ask the three balances, check remedies, put the answer together."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from typing import TYPE_CHECKING

from backreef.aquarium.plan import Plan
from backreef.catalogue.entries import Catalogue
from backreef.catalogue.labels import with_labels
from backreef.judgement.course import By, course_of
from backreef.judgement.findings import allowed_frac, findings_of
from backreef.judgement.least_food import with_least_food
from backreef.judgement.shortened import notice, shortened
from backreef.judgement.sieve import Sieve
from backreef.judgement.spans import hits_allowed
from backreef.judgement.trials import Tried, with_trials
from backreef.simulation.draws import Draws
from backreef.simulation.engine import why_unavailable
from backreef.simulation.prepared import Prepared, prepare

if TYPE_CHECKING:
    from backreef.judgement.telling import Beforehand
    from backreef.judgement.verdict import Forecast

Progress = Callable[[str, int, int], None]


def judge_plan(  # noqa: PLR0913  all that may be asked of it, by name
    plan: Plan,
    catalogue: Catalogue,
    *,
    members: int = 64,
    seed: int = 1,
    remedies: Tried = "worst",
    progress: Progress | None = None,
    sieve: Sieve | None = None,
    untried: Callable[[Forecast], None] = lambda _: None,
    by: By | None = None,
) -> Forecast:
    """Give the forecast of a plan with its verdict, findings and checked remedies.

    With a sieve a plan that breaks is marched only for as many members as it takes to be sure of it, the
    weakest first; the forecast says how many those were. One that holds is marched for all. `untried` is
    given the forecast while its remedies are still simulated; only what is said of those will change. `by`
    gives what marches the plan in place of the usual engine.
    """

    def tell(phrase: str) -> Callable[[int, int], None]:
        return lambda done, total: progress(phrase, done, total) if progress else None

    catalogue = with_labels(catalogue, plan.foods)
    reason = why_unavailable()
    if reason:
        plan, members = shortened(plan, members)
    plan = with_least_food(plan, catalogue)
    phrase = "one year with the slow engine" if reason else "three years, member by member"
    draws = Draws(seed, members, nominal=members == 1)
    if sieve is not None:
        sieve = replace(sieve, hits_allowed=hits_allowed(members, allowed_frac()))
    prepared = prepare(plan, catalogue)
    beforehand: list[Beforehand] = []
    course = course_of(
        prepared,
        draws,
        progress=tell(phrase),
        sieve=sieve,
        meanwhile=lambda: beforehand.append(_beforehand(prepared)),
        by=None if reason else by,
    )
    (known,) = beforehand
    tried: Tried = "none" if reason else remedies
    troubles = findings_of(course)
    forecast: list[Forecast] = []
    from backreef.judgement.telling import forecast_of, worst_first

    def meanwhile() -> None:
        told = forecast_of(course, worst_first((*troubles, *known.findings)), known)
        if reason:
            told = replace(told, notices=(notice(reason, plan, members), *told.notices))
        forecast.append(told)
        untried(told)

    progress_of_trials = tell("checking remedies")
    mended = with_trials(
        troubles, course, catalogue, tried=tried, progress=progress_of_trials, meanwhile=meanwhile
    )
    return replace(forecast[0], findings=worst_first((*mended, *known.findings)))


def _beforehand(prepared: Prepared) -> Beforehand:
    """What is told whatever becomes of the members, with the modules that tell it, while those march."""
    from backreef.judgement.telling import beforehand

    return beforehand(prepared)
