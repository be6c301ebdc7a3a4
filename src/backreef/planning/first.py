"""A first plan before anything is measured: wishes, rules of company and typical minutes, fed as planned.

No row knows yet what an animal does to water and mouths. The simulation judges this plan like any
other; where it holds and the measured programme finds it as good as any, it is the plan of most wishes.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from backreef.aquarium.plan import Plan
from backreef.catalogue.entries import known
from backreef.company.food import needed_g_per_d
from backreef.judgement.rules import rule
from backreef.planning.candidates import Shortlist, newcomer
from backreef.planning.chores import minutes_of
from backreef.planning.facts import Facts, heads, some, steps, taken
from backreef.planning.feeding import main_food
from backreef.planning.gather import arrival_day, fed
from backreef.planning.loop import Loop
from backreef.planning.numbers import number
from backreef.planning.plans import Doors, Progress, Proposal
from backreef.planning.problem import Problem
from backreef.planning.programme import Row
from backreef.planning.responses import NEWCOMERS, Measured, Response, with_animals
from backreef.planning.solver import solve
from backreef.planning.wishes import ReadWish
from backreef.schedule.build import Schedule
from backreef.schedule.chores import work_of
from backreef.schedule.tables import workload
from backreef.simulation.prepared import lay_out
from backreef.simulation.tables import InItsUnit
from backreef.units import DAYS_PER_MONTH

NOTHING = Response(water={}, minutes_per_month=0.0, quarter_min_per_month=0.0)


def first_plan(
    problem: Problem,
    wishes: tuple[ReadWish, ...],
    found: Shortlist,
    doors: Doors,
    progress: Progress | None,
    *,
    members: int,
) -> Loop:
    """The search for a first plan, in one round; it has a proposal if that holds."""
    loop = Loop(
        problem=problem,
        facts=unmeasured(problem, wishes, found),
        doors=doors,
        shortlist=found,
        progress=progress,
        members=members,
    )
    loop.run(("most_wishes",), rounds=1)
    return loop


def unmeasured(problem: Problem, wishes: tuple[ReadWish, ...], found: Shortlist) -> Facts:
    """Facts without any response; days of arrival go by what fish of their size need."""
    base, (first, *_) = fed(problem)
    whole = round(1.0 / number("ration_step_frac"))
    kept = lay_out(base, problem.catalogue).keeper
    chores = minutes_of(kept.chores, kept.days) * number("slow_keeper_ratio")
    window = min(round(rule("quarter_d")), len(chores))
    quarters = np.convolve(chores, np.full(window, DAYS_PER_MONTH / window), mode="valid")
    arrival_min = _arrival_min(base, kept, found, problem)
    return Facts(
        candidates=found.candidates,
        quarrels=found.quarrels,
        wishes=wishes,
        feedings=(first,),
        choices=(),
        limits=(),
        base=Measured(
            water={},
            minutes_per_month=float(chores.mean()) * DAYS_PER_MONTH,
            quarter_min_per_month=float(quarters.max()),
            arrival_min=0.0,
            offered_g_per_d=0.0,
            eaten_g_per_d={},
            eaten_by_all_g_per_d=sum(
                entry.count * _needs_g_per_d(entry.species, problem) for entry in base.animals
            ),
            slowest_per_day=chores,
        ),
        responses={
            one.id: replace(
                NOTHING,
                minutes_per_month=arrival_min / len(chores) * DAYS_PER_MONTH / one.least_count,
                arrival_min=arrival_min,
                eaten_g_per_d=_needs_g_per_d(one.id, problem),
            )
            for one in found.candidates
        },
        food_response=NOTHING,
        eaten_frac=1.0,
        least_steps=whole,
        most_steps=whole,
        budget_min_per_month=problem.plan.keeper.minutes_per_month,
        money=problem.plan.keeper.money,
        prices=problem.prices,
        further_frac=workload().numbers["further_newcomers_frac"].value,
        fed_by_need=True,
        asked_only=found.asked_only,
    )


def _arrival_min(base: Plan, kept: Schedule, found: Shortlist, problem: Problem) -> InItsUnit:
    """Minutes of a day on which the first of the candidates comes alone, of a slow keeper. [min]"""
    one = next(iter(found.candidates), None)
    if one is None:
        return 0.0
    comes = newcomer(one.id, one.least_count, arrival_day(base))
    work = work_of(with_animals(base, [comes]), problem.catalogue, presence=kept.presence, meals=kept.meals)
    with_it, without = (
        minutes_of(chores, kept.days, group=NEWCOMERS).sum() for chores in (work.chores, kept.chores)
    )
    return float(with_it - without) * number("slow_arrival_ratio")


def _needs_g_per_d(species_id: str, problem: Problem) -> InItsUnit:
    """Food that one grown animal needs, as fish of its size do; none where its mass is unknown. [g/d]"""
    species = problem.catalogue.species[species_id]
    adult, energy = known(species.adult_length_cm), known(main_food(problem.catalogue).gross_energy_kj_per_g)
    if adult is None or energy is None:
        return 0.0
    return needed_g_per_d(species, adult.value, energy_kj_per_g=energy.value) or 0.0


def taken_up(loop: Loop, first: Proposal) -> Proposal | None:
    """The first plan as the measured programme counts it; None where that has a better one or forbids it."""
    if {each.candidate.id for each in first.picked.coming} - {one.id for one in loop.facts.candidates}:
        return None
    best = loop.solved("most_wishes")
    programme = loop.programme("most_wishes")
    same = solve(programme.aiming(programme.aim, *_fixed(loop, first)), seed=loop.problem.seed)
    picked = loop.picked("most_wishes", same) if same.found else None
    if best is None or picked is None or loop.weight(same) < loop.weight(best):
        return None
    wishes = {each.candidate.id: each.wishes for each in picked.coming}
    coming = tuple(replace(each, wishes=wishes[each.candidate.id]) for each in first.picked.coming)
    return replace(first, picked=replace(picked, coming=coming), bound=loop.bound("most_wishes", best))


def _fixed(loop: Loop, first: Proposal) -> list[Row]:
    facts = loop.facts
    come = {each.candidate.id: each.count for each in first.picked.coming}
    values = {heads(one.id): come.get(one.id, 0) for one in facts.candidates}
    values |= {some(one.id): int(one.id in come) for one in facts.candidates}
    values |= {taken(each.id): 0 for each in facts.choices}
    feeding = facts.feedings[0].id
    values |= {taken(feeding): 1, steps(feeding): round(1.0 / number("ration_step_frac"))}
    return [
        Row(rule="first", about=name, terms={name: 1.0}, low=float(value), high=float(value))
        for name, value in values.items()
    ]
