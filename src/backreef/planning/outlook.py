"""What the programme alone says beside the plans: the frontier, and what forcing an animal in would cost."""

from __future__ import annotations

import math
from collections.abc import Iterator

from backreef.planning.candidates import Candidate, Refused
from backreef.planning.facts import Facts, heads, met, some, steps
from backreef.planning.numbers import count
from backreef.planning.plans import Point
from backreef.planning.programme import Programme, Row, Solved
from backreef.planning.solver import solve
from backreef.planning.stock import level_of, minutes_terms, stock_programme, wish_terms
from backreef.simulation.tables import InItsUnit

TIE = 1e-4
LEAST_SHOWN_MIN = 0.05
STEP = 1e-3
"""By how much the next point of the frontier has to be better, in weight of wishes."""
NITRATE = "nitrate_mg_no3_per_l.high"


def frontier(facts: Facts, seed: int) -> tuple[Point, ...]:
    """The fewest minutes for each share of the wishes that can be had, from none of them to the most."""
    programme = stock_programme(facts)
    found: list[Point] = []
    least = 0.0
    while len(found) < count("frontier_points_count"):
        point = _point(programme, facts, least, seed)
        if point is None:
            break
        found.append(point)
        least = point.wishes_share * _total(facts) + STEP
    return tuple(found)


def _total(facts: Facts) -> InItsUnit:
    return sum(wish.weight for wish in facts.wishes if wish.counted)


def minutes_of(facts: Facts, solved: Solved) -> InItsUnit:
    """Minutes a month of a choice, as stage 1 counts them."""
    added = sum(value * solved.chosen[name] for name, value in minutes_terms(facts).items())
    return facts.base.minutes_per_month + facts.shifts.get("minutes", 0.0) + added


def nitrate_of(facts: Facts, solved: Solved) -> InItsUnit:
    """Nitrate of the worst member of a choice, as responses add up; not a number where it has no bound."""
    limit = next((each for each in facts.limits if each.name == NITRATE), None)
    level, terms = level_of(limit, facts) if limit is not None else (math.nan, {})
    return level + sum(value * solved.chosen[name] for name, value in terms.items())


def _point(programme: Programme, facts: Facts, least_weight: InItsUnit, seed: int) -> Point | None:
    """The fewest minutes with wishes of at least this weight; of equal plans the one with more of them."""
    wishes = wish_terms(facts)
    enough = Row(rule="wishes", about="weight", terms=wishes, low=least_weight)
    ties = {name: TIE * value for name, value in wishes.items()}
    ties |= {heads(one.id): -TIE * TIE for one in facts.candidates}
    ties |= {steps(each.id): -TIE * TIE for each in facts.feedings}
    minutes = {name: ties.get(name, 0.0) - value for name, value in minutes_terms(facts).items()}
    solved = solve(programme.aiming({**ties, **minutes}, enough), seed=seed)
    if not solved.found:
        return None
    reached = sum(wish.weight for wish in facts.wishes if solved.count(met(wish.id)))
    return Point(
        minutes_per_month=minutes_of(facts, solved),
        wishes_share=reached / _total(facts) if reached else 0.0,
        nitrate_mg_no3_per_l=nitrate_of(facts, solved),
        species=tuple(one.id for one in facts.candidates if solved.count(some(one.id))),
        proved=solved.status == "optimal",
    )


def forced(facts: Facts, chosen: frozenset[str], seed: int, *, none_held: bool = False) -> Iterator[Refused]:
    """Why each candidate that the best plan leaves out is not in it, found by forcing it in.

    Where nobody at all can come it is not said of each; `none_held` says that no plan stood the simulation.
    """
    programme = stock_programme(facts)
    best = solve(programme.aiming(wish_terms(facts)), seed=seed)
    for one in facts.candidates if best.found else ():
        if one.id not in chosen | facts.asked_only:
            must = Row(rule="forced", about=one.id, terms={some(one.id): 1.0}, low=1.0)
            with_it = solve(programme.aiming(wish_terms(facts), must), seed=seed)
            yield _forced(one, facts, best, with_it, none_held=none_held)


def _forced(one: Candidate, facts: Facts, best: Solved, with_it: Solved, *, none_held: bool) -> Refused:
    name = one.species.common_name
    if not with_it.found:
        what, why = f"{name}: no room for it", "with it no choice keeps all limits of the programme"
    elif with_it.value < best.value - TIE:
        lost = best.value - with_it.value
        what, why = f"{name}: it costs other wishes", f"with it wishes of weight {lost:g} cannot be met"
    elif none_held:
        what = f"{name}: no better than others"
        why = "it may come by the programme, and of the stocks that were simulated none held"
    else:
        response = facts.responses[one.id]
        minutes = response.minutes_per_month * one.least_count
        what = f"{name}: not needed"
        time = f"{minutes:.1f} minutes a month" if minutes >= LEAST_SHOWN_MIN else "hardly any time"
        why = f"what it is wished for is met by others; it would take {time} more"
    return Refused(species_id=one.id, what=what, why=why, rule="forced")
