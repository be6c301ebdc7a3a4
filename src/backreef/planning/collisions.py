"""Why a wish cannot be met: the smallest set of wishes and limits that collide, and a way out of each.

All of it is asked of the programme alone: a way out is a promise of the programme, not yet of the simulation.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

from backreef.planning.candidates import Shortlist
from backreef.planning.plans import Conflict
from backreef.planning.programme import Programme, Row
from backreef.planning.solver import solve
from backreef.planning.stock import Facts, met, minutes_terms, stock_programme
from backreef.planning.wishes import ReadWish

LIMITS = ("minutes", "water", "food", "peace", "fed", "not_again")
"""Rules that are limits of this keeper and this tank; the others only say what words mean."""
NEAREST = 3
MARGIN_RULE = "margin"


@dataclass(frozen=True, slots=True, kw_only=True)
class Demand:
    """A limit or a wish that may collide with others: its rows, its words, and the way out of it."""

    words: str
    rows: tuple[Row, ...]
    way_out: Callable[[Programme], str]
    """Takes the programme without it and says what would have to change; empty for nothing that helps."""


def conflicts_of(
    facts: Facts, found: Shortlist, wishes_met: frozenset[str], seed: int
) -> tuple[Conflict, ...]:
    """A conflict for each wish that counts and that the best plan does not meet."""
    return tuple(
        _conflict(wish, facts, found, wishes_met, seed)
        for wish in facts.wishes
        if wish.counted and wish.id not in wishes_met
    )


def _conflict(
    wish: ReadWish, facts: Facts, found: Shortlist, wishes_met: frozenset[str], seed: int
) -> Conflict:
    if not any(one.id in wish.species and one.most_count >= wish.least_count for one in facts.candidates):
        nearest = [each for each in found.refused if each.species_id in wish.species][:NEAREST]
        return Conflict(
            wish=wish.text,
            collides_with=tuple(f"{each.what}: {each.why}" for each in nearest),
            ways_out=(),
        )
    whole = stock_programme(replace(facts, cuts=()))
    fixed = tuple(row for row in whole.rows if row.rule not in (*LIMITS, MARGIN_RULE))
    wanted = Row(rule="wanted", about=wish.id, terms={met(wish.id): 1.0}, low=1.0)
    bare = replace(whole, rows=(*fixed, wanted), aim={})
    demands = [*_wish_demands(facts, wishes_met), *_limit_demands(facts, seed)]
    smallest = minimal(bare, demands, seed)
    ways = []
    for each in smallest:
        others = [row for other in smallest if other is not each for row in other.rows]
        ways.append(each.way_out(replace(bare, rows=(*bare.rows, *others))))
    return Conflict(
        wish=wish.text,
        collides_with=tuple(each.words for each in smallest),
        ways_out=tuple(way for way in ways if way),
    )


def minimal(bare: Programme, demands: Sequence[Demand], seed: int) -> tuple[Demand, ...]:
    """A smallest set of demands that cannot hold together: without any one of them the rest can.

    Empty where all of them can hold together.
    """
    kept = list(demands)
    if _possible(bare, kept, seed):
        return ()
    for each in demands:
        rest = [other for other in kept if other is not each]
        if not _possible(bare, rest, seed):
            kept = rest
    return tuple(kept)


def _possible(bare: Programme, demands: Sequence[Demand], seed: int) -> bool:
    rows = (*bare.rows, *(row for each in demands for row in each.rows))
    return solve(replace(bare, rows=rows), seed=seed).found


def _wish_demands(facts: Facts, wishes_met: frozenset[str]) -> list[Demand]:
    """The wishes that the best plan meets, the lightest first: it is the first to be blamed."""
    chosen = sorted((wish for wish in facts.wishes if wish.id in wishes_met), key=lambda wish: -wish.weight)
    return [
        Demand(
            words=f"the wish '{wish.text}'",
            rows=(Row(rule="wanted", about=wish.id, terms={met(wish.id): 1.0}, low=1.0),),
            way_out=lambda _, text=wish.text: f"give up '{text}'",  # type: ignore[misc]  # the text is its own
        )
        for wish in chosen
    ]


def _limit_demands(facts: Facts, seed: int) -> list[Demand]:
    """The limits, each with its rows and the way out."""
    rows = [row for row in stock_programme(facts).rows if row.rule in LIMITS]
    groups: dict[str, list[Row]] = {}
    for row in rows:
        groups.setdefault(row.name if row.rule in ("water", "peace") else row.rule, []).append(row)
    return [
        Demand(words=_words(name, facts), rows=tuple(group), way_out=_way_out(name, facts, seed))
        for name, group in groups.items()
    ]


def _words(name: str, facts: Facts) -> str:
    rule, _, about = name.partition(".")
    if rule == "minutes":
        return f"the {facts.budget_min_per_month:.0f} minutes a month"
    if rule == "water":
        limit = next(each for each in facts.limits if each.name == about)
        return f"{limit.label} {'at most' if limit.upper else 'at least'} {limit.bound:g} {limit.unit}"
    if rule == "peace":
        return next(pair.what for pair in facts.quarrels if f"{pair.first}.{pair.second}" == about)
    return {
        "food": "the largest ration that was looked at",
        "fed": "how the animals are fed",
        "not_again": "what the simulation or the rules refused",
    }[rule]


def _way_out(name: str, facts: Facts, seed: int) -> Callable[[Programme], str]:
    rule, _, about = name.partition(".")
    if rule == "minutes":
        return lambda programme: _more_minutes(programme, facts, seed)
    if rule == "water":
        return lambda _: f"another way out for nutrients, or less of what moves it: {_words(name, facts)}"
    if rule == "peace":
        first, second = about.split(".")
        return lambda _: f"only one of {first} and {second}"
    if rule == "fed":
        return lambda _: "a feeder"
    return lambda _: ""


def _more_minutes(programme: Programme, facts: Facts, seed: int) -> str:
    """The fewest minutes with which the wish and all else can be had, over those that are given."""
    terms = minutes_terms(facts)
    solved = solve(replace(programme, aim={each: -value for each, value in terms.items()}), seed=seed)
    if not solved.found:
        return ""
    needs = facts.base.minutes_per_month + facts.shifts.get("minutes", 0.0) - solved.value
    quarter = facts.base.quarter_min_per_month + facts.shifts.get("quarter", 0.0)
    more = math.ceil(max(needs, quarter) - facts.budget_min_per_month)
    return f"{max(1, more)} more minutes a month"
