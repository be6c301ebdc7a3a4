"""Why a wish cannot be met: the smallest set of wishes and limits that collide, and a way out of each.

Sets and ways out are found by the programme; `forcing` has the ways out simulated.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

from backreef.planning.candidates import Refused, Shortlist
from backreef.planning.facts import PINNED, Facts, heads, met, some, taken
from backreef.planning.plans import Conflict
from backreef.planning.programme import Programme, Row
from backreef.planning.solver import solve
from backreef.planning.stock import minutes_terms, money_terms, stock_programme
from backreef.planning.ways import WayOut
from backreef.planning.wishes import ReadWish
from backreef.simulation.tables import InItsUnit

LIMITS = ("minutes", "money", "water", "food", "peace", "fed", "not_again")
"""Rules that are limits of this keeper and this tank; the others only say what words mean."""
NEAREST = 3
MARGIN_RULE = "margin"


@dataclass(frozen=True, slots=True, kw_only=True)
class Demand:
    """A limit or a wish that may collide with others: its rows, its words, and the way out of it."""

    words: str
    rows: tuple[Row, ...]
    way_out: Callable[[Programme], WayOut | None]
    """Takes the programme without it and says what would have to change; None for nothing that helps."""


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
    able = {
        one.id for one in facts.candidates if one.id in wish.species and one.most_count >= wish.least_count
    }
    if not able or (wish.together and able != wish.species):
        nearest = [each for each in found.refused if each.species_id in wish.species - able][:NEAREST]
        return Conflict(
            wish=wish.text,
            collides_with=tuple(f"{each.what}: {each.why}" for each in nearest),
            ways_out=_ways_in(nearest),
        )
    wanted = Row(rule="wanted", about=wish.id, terms={met(wish.id): 1.0}, low=1.0)
    demands = [*_wish_demands(facts, wishes_met), *limit_demands(facts, seed)]
    smallest, ways = collision(facts, (wanted,), demands, seed)
    fewer = _fewer(wish, facts, demands, seed)
    return Conflict(
        wish=wish.text,
        collides_with=tuple(each.words for each in smallest),
        ways_out=(*ways, *([fewer] if fewer else [])),
        proved=is_minimal(bare(facts, (wanted,)), smallest, seed),
    )


def collision(
    facts: Facts, wanted: tuple[Row, ...], demands: Sequence[Demand], seed: int
) -> tuple[tuple[Demand, ...], tuple[WayOut, ...]]:
    """The smallest set of demands that does not go with what is wanted, and a way out of each of them.

    A way out is asked for beside all other demands; where others are in the way too, beside those of the set.
    """
    programme = bare(facts, wanted)
    smallest = minimal(programme, demands, seed)
    ways = []
    for each in smallest:
        for others in (demands, smallest):
            rest = [row for other in others if other is not each for row in other.rows]
            way = each.way_out(replace(programme, rows=(*programme.rows, *rest)))
            if way is not None:
                kept = [row for other in others if other is not each for row in other.rows if _is_wish(row)]
                ways.append(replace(way, rows=(*way.rows, *wanted, *kept)))
                break
    return smallest, tuple(ways)


def _is_wish(row: Row) -> bool:
    return row.rule == "wanted"


def bare(facts: Facts, wanted: tuple[Row, ...]) -> Programme:
    """The programme without its limits, with what is wanted."""
    whole = stock_programme(replace(facts, cuts=()))
    fixed = tuple(row for row in whole.rows if row.rule not in (*LIMITS, MARGIN_RULE))
    return replace(whole, rows=(*fixed, *wanted), aim={})


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


def is_minimal(bare: Programme, found: Sequence[Demand], seed: int) -> bool:
    """Whether a set cannot hold together and can without any one of its demands, each solved to proof."""
    if not found or _possible(bare, found, seed):
        return False
    return all(_possible(bare, [other for other in found if other is not each], seed) for each in found)


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
            way_out=lambda _, text=wish.text: WayOut(words=f"give up '{text}'"),  # type: ignore[misc]
        )
        for wish in chosen
    ]


def limit_demands(facts: Facts, seed: int) -> list[Demand]:
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
        "money": f"the {facts.money or 0.0:g} that may be spent",
        "food": "the largest ration that was looked at",
        "fed": "how the animals are fed",
        "not_again": "what the simulation or the rules refused",
    }[rule]


def _way_out(name: str, facts: Facts, seed: int) -> Callable[[Programme], WayOut | None]:
    rule, _, about = name.partition(".")
    if rule == "minutes":
        return lambda programme: _more_minutes(programme, facts, seed)
    if rule == "money":
        return lambda programme: _more_money(programme, facts, seed)
    if rule == "peace":
        called = {one.id: one.species.common_name for one in facts.candidates}
        first, second = (called[each] for each in about.split("."))
        return lambda _: WayOut(words=f"only one of {first} and {second}", simulable=False)
    if rule == "fed":
        return lambda _: WayOut(words="a feeder that gives when nobody is there", simulable=False)
    return lambda _: None


def _more_minutes(programme: Programme, facts: Facts, seed: int) -> WayOut | None:
    """The fewest minutes with which the wish and all else can be had, over those that are given."""
    terms = minutes_terms(facts)
    solved = solve(replace(programme, aim={each: -value for each, value in terms.items()}), seed=seed)
    if not solved.found:
        return None
    needs = facts.base.minutes_per_month + facts.shifts.get("minutes", 0.0) - solved.value
    quarter = facts.base.quarter_min_per_month + facts.shifts.get("quarter", 0.0)
    quarter += sum(
        facts.responses[each.id].quarter_min_per_month * solved.chosen[taken(each.id)]
        for each in (*facts.feedings, *facts.choices)
        if each.id in facts.responses
    )
    more = max(1, math.ceil(max(needs, quarter) - facts.budget_min_per_month))
    return WayOut(words=more_minutes_words(more), budget_min_per_month=facts.budget_min_per_month + more)


def _more_money(programme: Programme, facts: Facts, seed: int) -> WayOut | None:
    """The least money with which the wish and all else can be had, over what is given."""
    costs = money_terms(facts)
    solved = solve(replace(programme, aim={name: -cost for name, cost in costs.items()}), seed=seed)
    if not solved.found:
        return None
    more = math.ceil(facts.prices.get(PINNED, 0.0) - solved.value - (facts.money or 0.0))
    return WayOut(words=f"{more} more to spend", simulable=False)


def more_minutes_words(minutes_per_month: InItsUnit) -> str:
    """So many minutes, in the keeper's terms."""
    return f"{minutes_per_month:.0f} more minute{'' if round(minutes_per_month) == 1 else 's'} a month"


def _fewer(wish: ReadWish, facts: Facts, demands: Sequence[Demand], seed: int) -> WayOut | None:
    """Fewer animals than the wish asks for, where some of them would fit beside all other demands."""
    able = [one for one in facts.candidates if one.id in wish.species]
    if wish.least_count < 2 or not able:  # noqa: PLR2004  of one there are no fewer
        return None
    rows = [row for each in demands for row in each.rows]
    programme = bare(facts, tuple(rows))
    best = solve(replace(programme, aim={heads(one.id): 1.0 for one in able}), seed=seed)
    most = max(able, key=lambda one: best.count(heads(one.id)))
    count = best.count(heads(most.id)) if best.found else 0
    if not 0 < count < wish.least_count:
        return None
    wanted = Row(rule="wanted", about=most.id, terms={heads(most.id): 1.0}, low=float(count), high=count)
    there = Row(rule="wanted", about=f"some.{most.id}", terms={some(most.id): 1.0}, low=1.0)
    kept = tuple(row for row in rows if _is_wish(row))
    fewer, name = wish.least_count - count, most.species.common_name
    return WayOut(words=f"{fewer} fewer than wished for: {count} × {name}", rows=(wanted, there, *kept))


def _ways_in(nearest: Sequence[Refused]) -> tuple[WayOut, ...]:
    """What would let in those that the rules refuse, each way said once."""
    found = {way.words: way for each in nearest for way in each.ways_in}
    return tuple(found.values())
