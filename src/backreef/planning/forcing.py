"""What comes of it if something is forced: an animal that was left out, more minutes, one wish less."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

from backreef.judgement.verdict import Forecast
from backreef.planning.candidates import why_left_out
from backreef.planning.choosing import against_minutes
from backreef.planning.collisions import collision, limit_demands, more_minutes_words
from backreef.planning.facts import met, some
from backreef.planning.gather import arrival_day
from backreef.planning.lessons import BEYOND
from backreef.planning.loop import Loop
from backreef.planning.numbers import count
from backreef.planning.outlook import minutes_of, nitrate_of
from backreef.planning.plans import AIM_WORDS, Conflict, Picked, WhyNot
from backreef.planning.programme import Row, Solved
from backreef.planning.solver import solve
from backreef.planning.stock import stock_programme, wish_terms
from backreef.planning.ways import WayOut
from backreef.planning.ways_in import with_ways_in
from backreef.simulation.tables import InItsUnit


@dataclass(frozen=True, slots=True, kw_only=True)
class Forced:
    """The plan of fewest minutes that keeps what was forced, and what the simulation said of it."""

    picked: Picked
    forecast: Forecast


def forced_plan(loop: Loop, rows: Sequence[Row]) -> Forced | None:
    """A plan that keeps some more rows, judged; None where the programme or the calendar has none.

    What the simulation says is learned from as in any search, on facts of its own. Minutes that do not
    suffice are the caller's matter.
    """
    own = loop.apart()
    last = None
    for _ in range(count("forced_rounds_count")):
        solved = _fewest_minutes(own, rows)
        picked = own.picked("fewest_minutes", solved) if solved.found else None
        if picked is None:
            break
        text = own.doors.write(own.plan_of(picked))
        forecast = own.judged.get(text) or own.doors.judge(own.doors.read(text))
        own.judged[text] = forecast
        last = Forced(picked=picked, forecast=forecast)
        if forecast.holds or over_minutes(forecast) is not None:
            break
        own.learn(forecast, picked)
    return last


def over_minutes(forecast: Forecast) -> InItsUnit | None:
    """Minutes a month of the busiest quarter, where those that are given break the plan."""
    over = [one.value or 0.0 for one in forecast.findings if one.id == "hands.minutes.harm" and one.breaks]
    return max(over, default=None)


def with_simulated_ways(conflicts: Sequence[Conflict], loop: Loop) -> tuple[Conflict, ...]:
    """The conflicts with their ways out simulated, as many as one search affords; each way once."""
    known: dict[str, WayOut] = {}
    found = []
    for conflict in conflicts:
        ways = []
        for way in conflict.ways_out:
            if way.words not in known and way.simulable and len(known) < count("ways_simulated_count"):
                known[way.words] = simulated(way, loop)
            ways.append(known.get(way.words, way))
        found.append(replace(conflict, ways_out=tuple(ways)))
    return tuple(found)


def simulated(way: WayOut, loop: Loop) -> WayOut:
    """A way out with what the simulation says of the plan that takes it."""
    if way.plan is not None:
        forecast = loop.doors.judge(loop.doors.read(loop.doors.write(way.plan)))
        return replace(way, share_holding=forecast.share_holding, holds=forecast.holds)
    if way.budget_min_per_month is not None:
        return _with_enough_minutes(way, way.budget_min_per_month, loop)
    forced = forced_plan(loop, way.rows)
    return way if forced is None else _told(way, forced.forecast)


def _told(way: WayOut, forecast: Forecast) -> WayOut:
    return replace(way, share_holding=forecast.share_holding, holds=forecast.holds)


def _with_enough_minutes(way: WayOut, budget_min: InItsUnit, loop: Loop) -> WayOut:
    """More minutes, and still more where the calendar or the simulation's busiest quarter takes them.

    The finding tells the quarter of the middle one of the members that run over; the slower ones want more.
    """
    given = loop.facts.budget_min_per_month
    for number_of in range(count("minutes_tries_count")):
        budget_min = _with_days(budget_min, way.rows, loop)
        forced = forced_plan(loop.with_budget(budget_min), way.rows)
        if forced is None:
            return way
        way = replace(
            _told(way, forced.forecast),
            words=more_minutes_words(budget_min - given),
            budget_min_per_month=budget_min,
        )
        over = over_minutes(forced.forecast)
        if way.holds or over is None:
            break
        budget_min = float(math.ceil(max(over, budget_min * (1.0 + number_of * BEYOND))))
    return way


def _with_days(budget_min: InItsUnit, rows: Sequence[Row], loop: Loop) -> InItsUnit:
    """The first budget from this one on, minute by minute, in which all who come find a month."""
    for more in range(count("most_calendar_minutes_count")):
        search = loop.with_budget(budget_min + more)
        solved = _fewest_minutes(search, rows)
        if solved.found and search.picked("fewest_minutes", solved) is not None:
            return budget_min + more
    return budget_min


def _fewest_minutes(loop: Loop, rows: Sequence[Row]) -> Solved:
    aim = against_minutes(loop.facts, loop.ties())
    return solve(stock_programme(loop.facts).aiming(aim, *rows), seed=loop.problem.seed)


def why_not(species_id: str, loop: Loop) -> WhyNot:
    """The nearest reason an animal was left out, found by solving again with it forced in."""
    catalogue, plan = loop.problem.catalogue, loop.problem.kept
    name = catalogue.species[species_id].common_name
    has_it = [
        AIM_WORDS[proposal.aim]
        for proposal in loop.proposals
        if any(each.candidate.id == species_id for each in proposal.picked.coming)
    ]
    nothing = WhyNot(species_id=species_id, name=name, what="", costs=(), ways_in=(), share_holding=None)
    if has_it:
        return replace(nothing, what=f"it is in: {', '.join(has_it)}")
    if not any(one.id == species_id for one in loop.facts.candidates):
        refused = why_left_out(species_id, loop.shortlist, catalogue)
        if refused is None:
            return nothing
        refused = with_ways_in(refused, 1, plan, catalogue, arrival_day(plan))
        return replace(nothing, what=f"{refused.what}: {refused.why}", ways_in=refused.ways_in)
    return _forced_in(nothing, loop)


def _forced_in(nothing: WhyNot, loop: Loop) -> WhyNot:
    species_id = nothing.species_id
    free = replace(loop.facts, asked_only=loop.facts.asked_only - {species_id})
    seed = loop.problem.seed
    must = Row(rule="forced", about=species_id, terms={some(species_id): 1.0}, low=1.0)
    aim = {**loop.ties(), **wish_terms(free)}
    best = solve(stock_programme(loop.facts).aiming(aim), seed=seed)
    with_it = solve(stock_programme(free).aiming(aim, must), seed=seed)
    if not with_it.found:
        smallest, ways = collision(free, (must,), limit_demands(free, seed), seed)
        collides = "; ".join(each.words for each in smallest) or "what the rules ask for"
        return replace(nothing, what=f"it does not go with: {collides}", ways_in=ways)
    other = Loop(problem=loop.problem, facts=free, doors=loop.doors, judged=loop.judged)
    lost = [
        wish.text
        for wish in free.wishes
        if wish.counted and best.count(met(wish.id)) > with_it.count(met(wish.id))
    ]
    kept = [
        Row(rule="wanted", about=wish.id, terms={met(wish.id): 1.0}, low=1.0)
        for wish in free.wishes
        if wish.counted and with_it.count(met(wish.id))
    ]
    forced = forced_plan(other, (must, *kept))
    share = None if forced is None else forced.forecast.share_holding
    return replace(
        nothing,
        what=_nearest(lost, forced),
        costs=tuple(_costs(best, with_it, lost, loop)),
        share_holding=share,
    )


def _nearest(lost: Sequence[str], forced: Forced | None) -> str:
    if lost:
        return "it costs other wishes: " + ", ".join(f"'{text}'" for text in lost)
    if forced is None:
        return "no month is left in which it could come"
    if not forced.forecast.holds:
        return f"with it the simulation breaks: {forced.forecast.first_break_cause}"
    return "not needed: what it could be wished for is met by others that are easier to keep or ask for less"


def _costs(best: Solved, with_it: Solved, lost: Sequence[str], loop: Loop) -> list[str]:
    minutes = minutes_of(loop.facts, with_it) - minutes_of(loop.facts, best)
    nitrate = nitrate_of(loop.facts, with_it) - nitrate_of(loop.facts, best)
    costs = [f"{minutes:+.1f} minutes a month", f"{nitrate:+.1f} mg/L NO3 at most"]
    if lost:
        costs.append(f"{len(lost)} wish{'es' if len(lost) > 1 else ''} less")
    return costs
