"""Stage 1: which animals, how many, how they are fed, which exports and chores. One function per rule.

Every coefficient of water, mouths and minutes is a response of the simulation (`responses`); every bound is
the judgement's. The rows are a straight line through a curved world: whether a plan holds is not said here.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Iterator, Mapping, Set

from backreef.planning.candidates import Candidate
from backreef.planning.facts import (
    ANYBODY,
    MARGIN,
    PINNED,
    Facts,
    heads,
    met,
    room,
    serves,
    some,
    steps,
    taken,
)
from backreef.planning.numbers import number
from backreef.planning.programme import Programme, Row, Terms, Variable
from backreef.planning.responses import Limit
from backreef.planning.wishes import ReadWish
from backreef.simulation.tables import InItsUnit

LEAST_FOOD_G_PER_D = 1e-3
"""A ration below this is none to be measured against."""
FAR = 1e4
"""Farther than any balance lies beyond its bound."""


def _variables(facts: Facts) -> Iterator[Variable]:
    for one in facts.candidates:
        yield Variable(name=some(one.id))
        yield Variable(name=heads(one.id), high=float(one.most_count))
    for wish in facts.wishes:
        if wish.counted:
            yield Variable(name=met(wish.id))
            for one in _able(wish, facts):
                yield Variable(name=serves(wish.id, one.id))
    for choice in (*facts.feedings, *facts.choices):
        yield Variable(name=taken(choice.id))
    for feeding in facts.feedings:
        yield Variable(name=steps(feeding.id), high=float(facts.most_steps))
    yield Variable(name=ANYBODY)
    for name in (MARGIN, *(room(about) for about in rooms_of(facts))):
        yield Variable(name=name, low=-FAR, high=1.0, whole=False)


def _able(wish: ReadWish, facts: Facts) -> list[Candidate]:
    return [one for one in facts.candidates if one.id in wish.species and one.most_count >= wish.least_count]


def group_sizes(facts: Facts) -> Iterator[Row]:
    """An animal comes in at least the number in which its kind lives, and at most in the number it bears."""
    for one in facts.candidates:
        yield Row(
            rule="group_least",
            about=one.id,
            terms={heads(one.id): 1.0, some(one.id): -float(one.least_count)},
            low=0.0,
        )
        yield Row(
            rule="group_most",
            about=one.id,
            terms={heads(one.id): 1.0, some(one.id): -float(one.most_count)},
            high=0.0,
        )


def peace(facts: Facts) -> Iterator[Row]:
    """Of two animals that the rules of company do not let together, one comes at most."""
    for pair in facts.quarrels:
        yield Row(
            rule="peace",
            about=f"{pair.first}.{pair.second}",
            terms={some(pair.first): 1.0, some(pair.second): 1.0},
            high=1.0,
        )


def wishes_met(facts: Facts) -> Iterator[Row]:
    """A wish is met only by an animal that fulfils it, in the number that it takes."""
    for wish in facts.wishes:
        if not wish.counted:
            continue
        able = _able(wish, facts)
        if wish.together:
            yield from _met_together(wish, {one.id for one in able})
            continue
        terms = {met(wish.id): 1.0, **{serves(wish.id, one.id): -1.0 for one in able}}
        yield Row(rule="wish", about=wish.id, terms=terms, high=0.0)
        for one in able:
            yield Row(
                rule="wish_number",
                about=f"{wish.id}.{one.id}",
                terms={serves(wish.id, one.id): float(wish.least_count), heads(one.id): -1.0},
                high=0.0,
            )


def _met_together(wish: ReadWish, able: Set[str]) -> Iterator[Row]:
    """One row for each of its animals; none of them that cannot come lets it be met."""
    for species_id in sorted(wish.species):
        terms = {met(wish.id): 1.0} | ({some(species_id): -1.0} if species_id in able else {})
        yield Row(rule="wish", about=f"{wish.id}.{species_id}", terms=terms, high=0.0)


def one_feeding(facts: Facts) -> Iterator[Row]:
    """The animals are fed in exactly one way, with a ration that its feeders can give."""
    yield Row(
        rule="feeding", about="one", terms={taken(each.id): 1.0 for each in facts.feedings}, low=1.0, high=1.0
    )
    for each in facts.feedings:
        for name, bound, least in (
            ("ration_least", facts.least_steps, True),
            ("ration_most", facts.most_steps, False),
        ):
            terms = {steps(each.id): 1.0, taken(each.id): -float(bound)}
            yield Row(rule=name, about=each.id, terms=terms, **({"low": 0.0} if least else {"high": 0.0}))


def fed_as_it_needs(facts: Facts) -> Iterator[Row]:
    """An animal does not come where the way of feeding leaves it without food for longer than it bears."""
    for feeding_id, species_id in sorted(facts.unfit):
        terms = {taken(feeding_id): 1.0} | ({some(species_id): 1.0} if species_id else {})
        yield Row(rule="fed", about=f"{feeding_id}.{species_id}", terms=terms, high=float(bool(species_id)))


def food_suffices(facts: Facts) -> Iterator[Row]:
    """What mouths get of the food offered is at least what all of them eat when there is enough."""
    if facts.fed_by_need:
        return
    offered, eaten = _food(facts)
    yield Row(
        rule="food",
        about="all",
        terms={**offered, **{name: -needs for name, needs in eaten.items()}},
        low=facts.hunger_ratio * facts.base.eaten_by_all_g_per_d,
    )


def _food(facts: Facts) -> tuple[dict[str, InItsUnit], dict[str, InItsUnit]]:
    """Grams a day that one step brings into mouths, and that one head takes."""
    step_g = facts.base.offered_g_per_d * number("ration_step_frac") * facts.eaten_frac
    offered = {steps(each.id): step_g for each in facts.feedings}
    eaten = {
        heads(one.id): facts.hunger_ratio * facts.responses[one.id].eaten_g_per_d for one in facts.candidates
    }
    return offered, eaten


def water_stays(facts: Facts) -> Iterator[Row]:
    """No quantity of the water is driven beyond its harm bound, as far as responses add up."""
    for limit in facts.limits:
        level, terms = level_of(limit, facts)
        if terms:
            side = {"high": limit.bound - level} if limit.upper else {"low": limit.bound - level}
            yield Row(rule="water", about=limit.name, terms=terms, **side)


def level_of(limit: Limit, facts: Facts) -> tuple[InItsUnit, dict[str, InItsUnit]]:
    """The level of the kept plan by its worst member, and what each variable adds; no terms: nothing does."""
    held = facts.base.water[limit.name]
    level = float(held.max() if limit.upper else held.min())
    level += facts.shifts.get(limit.name, 0.0)
    food = facts.food_response.water[limit.name]
    terms: dict[str, InItsUnit] = defaultdict(float)
    for each in facts.feedings:
        own = facts.responses[each.id].water[limit.name] if each.id in facts.responses else 0.0
        terms[taken(each.id)] += own - food
        terms[steps(each.id)] += food * number("ration_step_frac")
    for choice in facts.choices:
        terms[taken(choice.id)] += facts.responses[choice.id].water[limit.name]
    for one in facts.candidates:
        terms[heads(one.id)] += facts.responses[one.id].water[limit.name]
    least = number("least_response_frac") * limit.span
    if max(abs(food), *(abs(each) for each in terms.values()), 0.0) < least:
        return level, {}
    return level, {name: value for name, value in terms.items() if value}


def minutes_fit(facts: Facts) -> Iterator[Row]:
    """The minutes of a month, and those of the busiest quarter before anybody comes, fit what is given."""
    given = facts.budget_min_per_month * (1.0 - number("spare_minutes_frac"))
    yield Row(
        rule="minutes",
        about="month",
        terms=minutes_terms(facts),
        high=given - facts.base.minutes_per_month - facts.shifts.get("minutes", 0.0),
    )
    quarter = {
        taken(each.id): facts.responses[each.id].quarter_min_per_month
        for each in (*facts.feedings, *facts.choices)
        if each.id in facts.responses
    }
    yield Row(
        rule="minutes",
        about="quarter",
        terms={name: value for name, value in quarter.items() if value},
        high=facts.budget_min_per_month - facts.base.quarter_min_per_month - facts.shifts.get("quarter", 0.0),
    )


def money_fits(facts: Facts) -> Iterator[Row]:
    """Animals and devices that are bought cost no more than the keeper gives."""
    if facts.money is not None:
        left = facts.money - facts.prices.get(PINNED, 0.0)
        yield Row(rule="money", about="all", terms=money_terms(facts), high=left)


def money_terms(facts: Facts) -> Terms:
    """What each variable costs."""
    costs = {heads(one.id): facts.prices.get(one.id, 0.0) for one in facts.candidates}
    costs |= {taken(each.id): facts.prices.get(each.id, 0.0) for each in (*facts.feedings, *facts.choices)}
    return {name: cost for name, cost in costs.items() if cost}


def minutes_terms(facts: Facts) -> dict[str, InItsUnit]:
    """Minutes a month that each variable adds, at the least: all who come may come on one day."""
    terms = {
        taken(each.id): facts.responses[each.id].minutes_per_month
        for each in (*facts.feedings, *facts.choices)
        if each.id in facts.responses
    }
    arrivals = [facts.responses[one.id].arrival_min / facts.months for one in facts.candidates]
    for one, arrival in zip(facts.candidates, arrivals, strict=True):
        whole = facts.responses[one.id].minutes_per_month * one.least_count
        terms[some(one.id)] = whole - (1.0 - facts.further_frac) * arrival
    terms[ANYBODY] = (1.0 - facts.further_frac) * min(arrivals, default=0.0)
    return {name: value for name, value in terms.items() if value}


def first_day(facts: Facts) -> Iterator[Row]:
    """If anybody comes there is a first one of that day, who takes the full time."""
    for one in facts.candidates:
        yield Row(rule="first_day", about=one.id, terms={ANYBODY: 1.0, some(one.id): -1.0}, low=0.0)


def not_asked_for(facts: Facts) -> Iterator[Row]:
    """An animal that somebody only asked about does not come by itself."""
    for species_id in sorted(facts.asked_only):
        yield Row(rule="not_asked_for", about=species_id, terms={some(species_id): 1.0}, high=0.0)


def one_of_a_group(facts: Facts) -> Iterator[Row]:
    """Of choices that speak of the same thing, such as how water is changed, one is taken at most."""
    groups = sorted({choice.group for choice in facts.choices if choice.group})
    for group in groups:
        members = [taken(choice.id) for choice in facts.choices if choice.group == group]
        if len(members) > 1:
            yield Row(rule="one_of", about=group, terms=dict.fromkeys(members, 1.0), high=1.0)


Left = tuple[InItsUnit, dict[str, InItsUnit]]
"""What is left of a balance with nothing chosen, 1 at ease and 0 at its bound; what each variable adds."""


def rooms_of(facts: Facts) -> dict[str, Left]:
    """What is left of each balance that any choice moves.

    Water is at ease at its act bound, minutes and food where as much is left as the table calls comfortable.
    """
    found: dict[str, Left] = {}
    for limit in facts.limits:
        level, terms = level_of(limit, facts)
        if terms:
            sign = -1.0 if limit.upper else 1.0
            left = sign * (level - limit.bound) / limit.span
            found[limit.name] = left, {name: sign * value / limit.span for name, value in terms.items()}
    ease_min = number("comfortable_minutes_frac") * max(facts.budget_min_per_month, 1.0)
    left = facts.budget_min_per_month - facts.base.minutes_per_month - facts.shifts.get("minutes", 0.0)
    minutes = {name: -value / ease_min for name, value in minutes_terms(facts).items()}
    found["minutes"] = left / ease_min, minutes
    if not facts.fed_by_need:
        offered, eaten = _food(facts)
        need = facts.hunger_ratio * facts.base.eaten_by_all_g_per_d
        ample_g = facts.base.offered_g_per_d * facts.eaten_frac
        ease_g = number("comfortable_food_frac") * max(ample_g, LEAST_FOOD_G_PER_D)
        terms = {name: value / ease_g for name, value in offered.items()}
        terms |= {name: -value / ease_g for name, value in eaten.items()}
        found["food"] = -need / ease_g, terms
    return found


def margin_of(facts: Facts, chosen: Mapping[str, InItsUnit]) -> InItsUnit:
    """The least that a choice leaves of any balance, at most 1."""
    return min(1.0, *rooms_left(facts, chosen).values())


def rooms_left(facts: Facts, chosen: Mapping[str, InItsUnit]) -> dict[str, InItsUnit]:
    """What a choice leaves of each balance that any choice moves."""
    return {
        about: at_first + sum(value * chosen.get(name, 0.0) for name, value in terms.items())
        for about, (at_first, terms) in rooms_of(facts).items()
    }


def margins(facts: Facts) -> Iterator[Row]:
    """The margin is the least that is left of any balance; what is left beyond ease does not count."""
    for about, (left, terms) in rooms_of(facts).items():
        less = {name: -value for name, value in terms.items()}
        yield Row(rule="margin", about=about, terms={**less, room(about): 1.0}, high=left)
        yield Row(rule="margin", about=f"least.{about}", terms={MARGIN: 1.0, room(about): -1.0}, high=0.0)


RULES: tuple[Callable[[Facts], Iterator[Row]], ...] = (
    group_sizes,
    peace,
    wishes_met,
    one_feeding,
    fed_as_it_needs,
    food_suffices,
    water_stays,
    minutes_fit,
    money_fits,
    first_day,
    not_asked_for,
    one_of_a_group,
    margins,
)


def stock_programme(facts: Facts) -> Programme:
    """The programme of stage 1, still without an aim."""
    rows = [row for rule in RULES for row in rule(facts)]
    return Programme(variables=tuple(_variables(facts)), rows=(*rows, *facts.cuts))


def wish_terms(facts: Facts) -> Terms:
    """What each wish counts."""
    return {met(wish.id): wish.weight for wish in facts.wishes if wish.counted}


def ease_terms(facts: Facts) -> Terms:
    """What all balances have left on average, and chores that are stretched no longer."""
    names = [room(about) for about in rooms_of(facts)]
    names += [taken(choice.id) for choice in facts.choices if choice.kind == "oftener"]
    return dict.fromkeys(names, 1.0 / max(1, len(names)))
