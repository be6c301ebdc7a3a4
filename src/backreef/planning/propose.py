"""Plans for one problem: gather what each choice does, look for three plans, say what stands in the way."""

from __future__ import annotations

from dataclasses import replace

from backreef.judgement.verdict import Forecast
from backreef.planning.budgets import by_minutes
from backreef.planning.collisions import conflicts_of
from backreef.planning.first import first_plan, taken_up
from backreef.planning.forcing import why_not, with_simulated_ways
from backreef.planning.gather import Later, facts_of, fed, listed
from backreef.planning.loop import Loop
from backreef.planning.money import priced
from backreef.planning.outlook import forced, frontier
from backreef.planning.plans import AIMS, Doors, Progress, Proposals, aims_of
from backreef.planning.problem import Problem
from backreef.planning.wishes import read_wishes


def propose(problem: Problem, *, doors: Doors, members: int, progress: Progress | None = None) -> Proposals:
    """Look for a plan that holds for each aim; an interrupt ends the search with what was found so far."""
    base, _ = fed(problem)
    wishes = read_wishes(problem.kept, problem.catalogue)
    found = listed(base, problem.catalogue, wishes, problem.asked)
    problem = priced(problem, found)
    nothing = Proposals(
        plan=problem.plan,
        seed=problem.seed,
        members=members,
        status="stopped",
        proposals=(),
        wishes=wishes,
        shortlist=found,
        facts=None,
        tries=(),
        conflicts=(),
        frontier=(),
        why_not=(),
        given=(),
        as_it_is=None,
    )
    loop: Loop | None = None
    first: Loop | None = None
    try:
        first = first_plan(problem, wishes, found, doors, progress, members=members)
        facts = facts_of(problem, wishes, found, progress)
        loop = Loop(
            problem=problem,
            facts=facts,
            doors=doors,
            shortlist=found,
            progress=progress,
            judged=first.judged,
            tries=first.tries,
            measure=Later(problem=problem, progress=progress),
            members=members,
        )
        same = next((taken_up(loop, one) for one in first.proposals), None)
        if same is not None:
            loop.hold(same)
        aims = aims_of(problem.plan.goals.optimise)
        loop.run(aims if same is None else [aim for aim in aims if aim != same.aim])
        as_it_is = None if loop.proposals else doors.judge(doors.read(doors.write(problem.kept)))
        whole = _put_together(nothing, loop, as_it_is, stopped=False)
        return _looked_into(whole, loop)
    except KeyboardInterrupt:
        so_far = nothing if first is None else replace(nothing, proposals=tuple(first.proposals))
        if loop is None or not loop.proposals:
            return so_far
        return _put_together(nothing, loop, None, stopped=True)


def _looked_into(whole: Proposals, loop: Loop) -> Proposals:
    """With the ways out simulated, and what was asked answered; an interrupt leaves them as they are."""
    loop.facts = loop.sure or loop.facts
    try:
        whole = replace(whole, conflicts=with_simulated_ways(whole.conflicts, loop))
        for species_id in loop.problem.asked:
            whole = replace(whole, why_not=(*whole.why_not, why_not(species_id, loop)))
        for given in by_minutes(loop, loop.problem.budgets_min_per_month):
            whole = replace(whole, given=(*whole.given, given))
    except KeyboardInterrupt:
        return replace(whole, status="stopped")
    return whole


def _put_together(nothing: Proposals, loop: Loop, as_it_is: Forecast | None, *, stopped: bool) -> Proposals:
    most = [one for one in loop.proposals if one.aim == "most_wishes"] or loop.proposals
    best = max(most, key=lambda one: sum(wish.weight for wish in one.picked.wishes), default=None)
    served = frozenset() if best is None else frozenset(wish.id for wish in best.picked.wishes)
    chosen = frozenset() if best is None else frozenset(each.candidate.id for each in best.picked.coming)
    seed, known, facts = nothing.seed, nothing.shortlist, loop.sure or loop.facts
    left_out = () if stopped else tuple(forced(facts, chosen, seed, none_held=best is None))
    return replace(
        nothing,
        shortlist=replace(known, refused=(*left_out, *known.refused)),
        conflicts=() if stopped else conflicts_of(facts, known, served, seed),
        frontier=() if stopped else frontier(facts, seed),
        status="stopped" if stopped else "found" if loop.proposals else "none",
        proposals=tuple(sorted(loop.proposals, key=lambda one: AIMS.index(one.aim))),
        facts=facts,
        tries=tuple(loop.tries),
        as_it_is=as_it_is,
    )
