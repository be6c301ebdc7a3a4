"""What the programme alone says beside the plans: the frontier, and what forcing an animal in would cost."""

from __future__ import annotations

from collections.abc import Iterator

from backreef.planning.candidates import Candidate, Refused
from backreef.planning.numbers import count
from backreef.planning.plans import Point
from backreef.planning.programme import Programme, Row, Solved
from backreef.planning.solver import solve
from backreef.planning.stock import (
    Facts,
    heads,
    level_of,
    met,
    minutes_terms,
    some,
    steps,
    stock_programme,
    wish_terms,
)
from backreef.simulation.tables import InItsUnit

TIE = 1e-4
NITRATE = "nitrate_mg_no3_per_l.high"


def frontier(facts: Facts, seed: int) -> tuple[Point, ...]:
    """The most wishes for each of some budgets of minutes, from the fewest that are possible to all given."""
    programme = stock_programme(facts)
    fewest = solve(programme.aiming(_fewest(facts)), seed=seed)
    if not fewest.found:
        return ()
    low, high = minutes_of(facts, fewest), facts.budget_min_per_month
    points = count("frontier_points_count")
    found: list[Point] = []
    for number_of in range(points):
        budget = low + (high - low) * number_of / max(1, points - 1)
        point = _point(programme, facts, budget, seed)
        if point is not None and (not found or point.wishes_share > found[-1].wishes_share):
            found.append(point)
    return tuple(found)


def _fewest(facts: Facts) -> dict[str, InItsUnit]:
    return {name: -value for name, value in minutes_terms(facts).items()}


def minutes_of(facts: Facts, solved: Solved) -> InItsUnit:
    """Minutes a month of a choice, as stage 1 counts them."""
    added = sum(value * solved.chosen[name] for name, value in minutes_terms(facts).items())
    return facts.base.minutes_per_month + facts.shifts.get("minutes", 0.0) + added


def _point(programme: Programme, facts: Facts, budget_min_per_month: InItsUnit, seed: int) -> Point | None:
    minutes = minutes_terms(facts)
    fixed = facts.base.minutes_per_month + facts.shifts.get("minutes", 0.0)
    within = Row(rule="budget", about="month", terms=minutes, high=budget_min_per_month - fixed + TIE)
    ties = {name: -TIE * value for name, value in minutes.items()}
    ties |= {heads(one.id): -TIE for one in facts.candidates}
    ties |= {steps(each.id): -TIE for each in facts.feedings}
    solved = solve(programme.aiming({**ties, **wish_terms(facts)}, within), seed=seed)
    if not solved.found:
        return None
    total = sum(wish.weight for wish in facts.wishes if wish.counted)
    reached = sum(wish.weight for wish in facts.wishes if solved.count(met(wish.id)))
    limit = next((each for each in facts.limits if each.name == NITRATE), None)
    level, terms = level_of(limit, facts) if limit is not None else (float("nan"), {})
    return Point(
        minutes_per_month=minutes_of(facts, solved),
        wishes_share=reached / total if total else 0.0,
        nitrate_mg_no3_per_l=level + sum(value * solved.chosen[name] for name, value in terms.items()),
        species=tuple(one.id for one in facts.candidates if solved.count(some(one.id))),
        proved=solved.status == "optimal",
    )


def forced(facts: Facts, chosen: frozenset[str], seed: int) -> Iterator[Refused]:
    """Why each candidate that the best plan leaves out is not in it, found by forcing it in."""
    programme = stock_programme(facts)
    best = solve(programme.aiming(wish_terms(facts)), seed=seed)
    for one in facts.candidates:
        if one.id not in chosen:
            must = Row(rule="forced", about=one.id, terms={some(one.id): 1.0}, low=1.0)
            yield _forced(one, facts, best, solve(programme.aiming(wish_terms(facts), must), seed=seed))


def _forced(one: Candidate, facts: Facts, best: Solved, with_it: Solved) -> Refused:
    name = one.species.common_name
    if not with_it.found:
        what, why = f"{name}: no room for it", "with it no choice keeps all limits of the programme"
    elif with_it.value < best.value - TIE:
        lost = best.value - with_it.value
        what, why = f"{name}: it costs other wishes", f"with it wishes of weight {lost:g} cannot be met"
    else:
        response = facts.responses[one.id]
        minutes = response.minutes_per_month * one.least_count
        what = f"{name}: not needed"
        why = f"what it is wished for is met by others; it would take {minutes:.1f} minutes a month more"
    return Refused(species_id=one.id, what=what, why=why, rule="forced")
