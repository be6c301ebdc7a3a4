"""The facts of stage 1: wishes, candidates, choices, and what each does in the simulation."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from datetime import date

from backreef.aquarium.plan import Plan
from backreef.catalogue.entries import Catalogue, known
from backreef.company.engine import check_plan
from backreef.planning.arrivals import Month, months_of
from backreef.planning.candidates import ABOUT_DAYS, Candidate, Refused, Shortlist, newcomer, shortlist
from backreef.planning.choices import AT_NEED, Choice, choices_of, leaves_alone
from backreef.planning.chores import chore_choices, is_work_only
from backreef.planning.facts import Facts
from backreef.planning.feeding import feedings, least_ratio, with_ration
from backreef.planning.numbers import number
from backreef.planning.plans import Progress
from backreef.planning.problem import Problem
from backreef.planning.responses import (
    Limit,
    Measured,
    Response,
    Tell,
    limits_of,
    measure_all,
    response,
    with_animals,
)
from backreef.planning.ways import WayOut
from backreef.planning.ways_in import with_ways_in
from backreef.planning.wishes import ReadWish
from backreef.schedule.tables import workload
from backreef.simulation.tables import InItsUnit
from backreef.units import DAYS_PER_MONTH

BASE, LEAN, CROWD = "base", "lean", "crowd"


def fed(problem: Problem) -> tuple[Plan, tuple[Choice, ...]]:
    """The kept plan with the first way of feeding, and all ways of feeding."""
    first, *others = feedings(problem.kept, problem.catalogue)
    may = (way for way in others if leaves_alone(way, problem.kept, problem.pinned))
    return first.applied(problem.kept), (first, *may)


def listed(
    plan: Plan, catalogue: Catalogue, wishes: tuple[ReadWish, ...], asked: tuple[str, ...] = ()
) -> Shortlist:
    """The candidates of a plan, looked at on the first day on which any may come."""
    on = arrival_day(plan)
    found = shortlist(plan, catalogue, wishes, on, asked)
    months = months_of(plan)
    waits = {one.id: _wait_months(one, plan, months) for one in found.candidates}
    young = tuple(_too_young(one, waits[one.id]) for one in found.candidates if waits[one.id] > 0)
    needs = {species: wish.least_count for wish in wishes for species in wish.species}
    named = {species for wish in wishes if wish.named for species in wish.species}
    refused = tuple(
        with_ways_in(each, needs[each.species_id], plan, catalogue, on) if each.species_id in named else each
        for each in found.refused
    )
    return replace(
        found,
        candidates=tuple(one for one in found.candidates if waits[one.id] <= 0),
        quarrels=tuple(pair for pair in found.quarrels if waits[pair.first] <= 0 and waits[pair.second] <= 0),
        refused=(*young, *refused),
    )


def _wait_months(one: Candidate, plan: Plan, months: Sequence[Month]) -> int:
    """Months that are missing in the tank's age even in the last month in which newcomers may come."""
    least = known(one.species.min_tank_age_months)
    if least is None or not months:
        return 0
    age = plan.tank.start.age_months + (months[-1].on - plan.start_on).days / DAYS_PER_MONTH
    return max(0, math.ceil(least.value - age))


def _too_young(one: Candidate, wait_months: int) -> Refused:
    name = one.species.common_name
    months = f"{wait_months} month{'' if wait_months == 1 else 's'}"
    return Refused(
        species_id=one.id,
        what=f"{name}: the tank is too young for it",
        why=f"it wants a tank {months} older than this one is in the last month that is planned",
        rule="tank_age",
        ways_in=(WayOut(words=f"wait {months} longer before you plan it", simulable=False),),
    )


def arrival_day(plan: Plan) -> date:
    """The day on which newcomers come in the blocks that responses are taken from."""
    months = months_of(plan)
    return months[0].on if months else plan.start_on


def facts_of(
    problem: Problem, wishes: tuple[ReadWish, ...], found: Shortlist, progress: Progress | None
) -> Facts:
    """March what is needed and put the facts together."""
    base, ways = fed(problem)
    all_choices = choices_of(base, problem.pinned, *chore_choices(base, problem.catalogue))
    choices = tuple(each for each in all_choices if each.id not in AT_NEED)
    blocks = _blocks(problem, base, ways, choices, found)
    measured = measure_all(
        blocks,
        problem.catalogue,
        seed=problem.seed,
        tell=_told(progress, "what each choice does"),
        work_only=_work_only(base, choices),
    )
    before = measured[BASE]
    lean = number("lean_ratio")
    responses = {
        one.id: response(
            before, measured[one.id], per=float(one.least_count), who=newcomer(one.id, 1, base.start_on).id
        )
        for one in found.candidates
    }
    responses |= {each.id: response(before, measured[each.id]) for each in (*choices, *ways[1:])}
    limits = limits_of(base, problem.catalogue)
    choices = tuple(each for each in choices if _answers(responses[each.id], limits))
    step = number("ration_step_frac")
    by_need = any(meal.grams_as_fed is None for meal in base.meals)
    pinned = bool(base.meals) and all(meal.id in problem.pinned for meal in base.meals)
    pinned_food = by_need or pinned
    whole = round(1.0 / step)
    least = whole if pinned_food else max(1, -int(-least_ratio(base, problem.catalogue) // step))
    wanted = replace(
        found, candidates=tuple(one for one in found.candidates if one.id not in found.asked_only)
    )
    needs = _needs_g_per_d(measured, base, wanted)
    eaten_frac = _eaten_frac(before, needs, problem, base, wanted, progress)
    return Facts(
        candidates=found.candidates,
        quarrels=found.quarrels,
        wishes=wishes,
        feedings=ways,
        choices=choices,
        limits=limits,
        base=before,
        responses=responses,
        later=tuple(each for each in all_choices if each.id in AT_NEED),
        food_response=_food_response(before, measured[LEAN], lean),
        eaten_frac=eaten_frac,
        least_steps=least,
        most_steps=whole if pinned_food else _most_steps(before, needs, eaten_frac, whole),
        budget_min_per_month=problem.plan.keeper.minutes_per_month,
        money=problem.plan.keeper.money,
        prices=problem.prices,
        further_frac=workload().numbers["further_newcomers_frac"].value,
        fed_by_need=by_need,
        asked_only=found.asked_only,
        unfit=frozenset(_unfit(problem, base, ways, found)),
    )


@dataclass(kw_only=True)
class Later:
    """Measures the choices that were put off, once for all searches of a problem."""

    problem: Problem
    progress: Progress | None
    known: dict[str, Measured] = field(default_factory=dict)

    def __call__(self, facts: Facts) -> Facts:
        """The facts with those choices that answer, and none put off."""
        base, _ = fed(self.problem)
        missing = {each.id: each.applied(base) for each in facts.later if each.id not in self.known}
        if missing:
            tell = _told(self.progress, "what more export does")
            self.known |= measure_all(missing, self.problem.catalogue, seed=self.problem.seed, tell=tell)
        responses = {each.id: response(facts.base, self.known[each.id]) for each in facts.later}
        answering = tuple(each for each in facts.later if _answers(responses[each.id], facts.limits))
        return replace(
            facts,
            choices=(*facts.choices, *answering),
            responses={**facts.responses, **{each.id: responses[each.id] for each in answering}},
            later=(),
        )


def _blocks(
    problem: Problem, base: Plan, ways: tuple[Choice, ...], choices: tuple[Choice, ...], found: Shortlist
) -> dict[str, Plan]:
    on = arrival_day(base)
    blocks = {BASE: base, LEAN: with_ration(base, number("lean_ratio"))}
    for one in found.candidates:
        blocks[one.id] = with_animals(base, [newcomer(one.id, one.least_count, on)])
    for choice in choices:
        blocks[choice.id] = choice.applied(base)
    for way in ways[1:]:
        blocks[way.id] = way.applied(problem.kept)
    return blocks


def _food_response(before: Measured, lean: Measured, lean_ratio: float) -> Response:
    """What the whole ample ration does, from what is missing of it in the lean block."""
    return response(before, lean, per=lean_ratio - 1.0)


def _work_only(base: Plan, choices: tuple[Choice, ...]) -> list[str]:
    """Choices whose minutes alone are asked for.

    That is all there is to a chore that the water does not notice. Care that is taken oftener than it was is
    not counted in favour of the water; the simulation of the whole plan has it.
    """
    return [each.id for each in choices if each.kind == "oftener" or is_work_only(base, each.applied(base))]


def _answers(response: Response, limits: tuple[Limit, ...]) -> bool:
    """Whether a choice does anything that the programme would notice."""
    minutes = abs(response.minutes_per_month) >= number("least_chore_min_per_month")
    least = number("least_response_frac")
    return minutes or any(abs(response.water[limit.name]) >= least * limit.span for limit in limits)


def _needs_g_per_d(measured: dict[str, Measured], base: Plan, found: Shortlist) -> InItsUnit:
    """Dry food that all would eat if every candidate were there."""
    return measured[BASE].eaten_by_all_g_per_d + sum(
        measured[one.id].eaten_g_per_d.get(newcomer(one.id, 1, base.start_on).id, 0.0) * one.least_count
        for one in found.candidates
    )


def _most_steps(before: Measured, needs_g_per_d: InItsUnit, eaten_frac: InItsUnit, whole: int) -> int:
    """The largest ration: somewhat beyond the ample one, along the straight line of its responses.

    It is larger only as far as all candidates together would need it, with one step against hunger.
    """
    richest = math.floor(number("richest_ratio") * whole)
    offered = before.offered_g_per_d * eaten_frac
    if offered <= 0.0:
        return richest
    return max(richest, math.ceil(number("hungry_step_ratio") * needs_g_per_d / offered * whole))


def _eaten_frac(
    before: Measured,
    needs: InItsUnit,
    problem: Problem,
    base: Plan,
    found: Shortlist,
    progress: Progress | None,
) -> InItsUnit:
    """Share of the food that mouths get when all candidates are there and it is just what they would eat."""
    entries = [newcomer(one.id, one.least_count, arrival_day(base)) for one in found.candidates]
    offered = before.offered_g_per_d
    if not entries or offered <= 0.0 or needs <= 0.0:
        return 1.0
    crowd = with_ration(with_animals(base, entries), needs / offered)
    shown = measure_all(
        {CROWD: crowd}, problem.catalogue, seed=problem.seed, tell=_told(progress, "what mouths get")
    )[CROWD]
    return min(1.0, shown.eaten_by_all_g_per_d / max(shown.offered_g_per_d, 1e-9))


def _unfit(problem: Problem, base: Plan, ways: tuple[Choice, ...], found: Shortlist) -> set[tuple[str, str]]:
    """Ways of feeding that the rules refuse for an animal, or for the kept plan (then with no name)."""
    refused: set[tuple[str, str]] = set()
    on = arrival_day(base)
    before = _serious(base, problem.catalogue)
    for way in ways[1:]:
        plan = way.applied(problem.kept)
        kept = _serious(plan, problem.catalogue)
        if kept - before:
            refused.add((way.id, ""))
        for one in found.candidates:
            entry = newcomer(one.id, one.least_count, on)
            if _serious(with_animals(plan, [entry]), problem.catalogue) - kept:
                refused.add((way.id, one.id))
    return refused


def _serious(plan: Plan, catalogue: Catalogue) -> set[str]:
    """Ids of what the rules call serious, but for those that hang on a day."""
    return {
        finding.id
        for finding in check_plan(plan, catalogue, without=ABOUT_DAYS)
        if finding.weight == "serious"
    }


def _told(progress: Progress | None, phrase: str) -> Tell:
    def tell(done: int, total: int) -> None:
        if progress is not None:
            progress(phrase, done, total)

    return tell
