"""What the solver is asked for each aim, and what its answer is worth."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace

from backreef.planning.arrivals import QUARTER_MONTHS
from backreef.planning.facts import MARGIN, Facts, heads, met, some, steps, taken
from backreef.planning.lessons import BEYOND, Learner
from backreef.planning.numbers import number
from backreef.planning.plans import Aim, kept_frac
from backreef.planning.programme import WHOLE, Programme, Row, Solved
from backreef.planning.solver import solve
from backreef.planning.stock import (
    ease_terms,
    margin_of,
    minutes_terms,
    rooms_left,
    stock_programme,
    wish_terms,
)
from backreef.simulation.tables import InItsUnit

TIE = 1e-3
"""Weight of what only breaks ties, against the aim."""
EASE = 10.0
"""How much more ties weigh against what is left on average: a snail is bought for more than a hair of it."""
FISH, LACKING, OTHER, ANY = 3, 2, 1, 0
"""How a plan has to differ from those that were found: lack a fish of each, lack somebody, be another, or not
at all."""


@dataclass(kw_only=True)
class Chooser(Learner):
    """The facts of a search as a programme for each aim, beside the plans that were found."""

    def solved(self, aim: Aim) -> Solved | None:
        """The best choice; what was not worth measuring is measured first if it could make a better one."""
        solved = self._solved(aim)
        if self.facts.later and self._could_be_better(aim, solved):
            self.complete()
            return self._solved(aim)
        return solved

    def _could_be_better(self, aim: Aim, solved: Solved | None) -> bool:
        if solved is None or aim == "fewest_minutes":
            return solved is None
        if aim == "most_wishes":
            return self.weight(solved) < sum(wish_terms(self.facts).values())
        left = rooms_left(self.facts, solved.chosen)
        return (
            min((left[one.name] for one in self.facts.limits if one.name in left), default=1.0) < 1.0 - BEYOND
        )

    def _solved(self, aim: Aim) -> Solved | None:
        """The best choice that differs in substance from the plans that were found, else that differs."""
        for distance in (FISH, LACKING, OTHER) if self.proposals else (ANY,):
            solved = solve(self.programme(aim, distance), seed=self.problem.seed)
            if solved.found:
                return self._at_ease(solved, distance) if aim == "widest_margins" else solved
        return None

    def _at_ease(self, widest: Solved, distance: int) -> Solved:
        """Of the choices with the widest margin the one in which all balances have most left on average."""
        reached = widest.chosen[MARGIN]
        floor = Row(rule="widest", about=MARGIN, terms={MARGIN: 1.0}, low=reached - WHOLE)
        programme = self.programme("widest_margins", distance)
        ties = {name: EASE * value for name, value in self.ties().items()}
        aim = _sum(ties, dict(ease_terms(self.facts)))
        solved = solve(programme.aiming(aim, floor), seed=self.problem.seed)
        if not solved.found:
            return widest
        return replace(solved, status=widest.status, bound=solved.value + widest.bound - widest.value)

    def programme(self, aim: Aim, distance: int = ANY) -> Programme:
        """The programme of an aim: the first plan decides how many wishes the others keep."""
        base, ties = stock_programme(self.facts), self.ties()
        wishes = wish_terms(self.facts)
        if aim == "most_wishes":
            return base.aiming({**ties, **wishes}, *self._other_rows(distance))
        kept = Row(rule="wishes_kept", about=aim, terms=wishes, low=self._least_wishes(aim))
        rows = (*self._other_rows(distance), kept)
        if aim == "fewest_minutes":
            return base.aiming(against_minutes(self.facts, ties), *rows)
        ease = {name: EASE * value for name, value in ties.items()}
        return base.aiming({**ease, MARGIN: 1.0}, *rows, *self._chores_stay(), *self._no_more_food())

    def _least_wishes(self, aim: Aim) -> InItsUnit:
        weights = [wish.weight for wish in self.facts.wishes if wish.counted]
        first = [sum(w.weight for w in p.picked.wishes) for p in self.proposals if p.aim == "most_wishes"]
        if not first:
            return min(weights, default=0.0)
        return kept_frac(aim) * first[0]

    def ties(self) -> dict[str, InItsUnit]:
        """Between equal plans the one with the animals that are easier to keep, fewer of them, less food."""
        terms: dict[str, InItsUnit] = {}
        for one in self.facts.candidates:
            terms[some(one.id)] = -TIE * (1.0 + sum(one.trouble))
            terms[heads(one.id)] = -TIE / 10.0
        for each in self.facts.feedings:
            terms[steps(each.id)] = -TIE / 10.0
        for choice in self.facts.choices:
            terms[taken(choice.id)] = -TIE
        for wish in self.facts.wishes:
            if wish.counted:
                terms[met(wish.id)] = TIE / 100.0 * wish.weight
        return terms

    def _chores_stay(self) -> Iterator[Row]:
        """Where margins count no chore becomes rarer, and none so much oftener that a quarter is full."""
        facts = self.facts
        for choice in facts.choices:
            if choice.kind == "rarer":
                yield Row(rule="chores_stay", about=choice.id, terms={taken(choice.id): 1.0}, high=0.0)
        oftener = {
            taken(each.id): facts.responses[each.id].quarter_min_per_month
            for each in facts.choices
            if each.kind == "oftener"
        }
        left = facts.budget_min_per_month * (1.0 - BEYOND) - facts.base.quarter_min_per_month
        left = max(0.0, left - facts.shifts.get("quarter", 0.0) - self._arrivals_of_a_quarter())
        yield Row(rule="chores_stay", about="quarter", terms=oftener, high=left)

    def _arrivals_of_a_quarter(self) -> InItsUnit:
        """Minutes a month that the longest day of arrivals so far takes in its quarter. [min]"""
        longest = 0.0
        for plan in self.proposals:
            for day in {each.on for each in plan.picked.coming}:
                there = [each.candidate.id for each in plan.picked.coming if each.on == day]
                minutes = sorted(self.facts.responses[one].arrival_min for one in there)
                longest = max(longest, minutes[-1] + self.facts.further_frac * sum(minutes[:-1]))
        return longest / QUARTER_MONTHS

    def _no_more_food(self) -> Iterator[Row]:
        """Where margins count there is no more food than in the plan that holds with most of the wishes."""
        rations = [one.picked.ration_ratio for one in self.proposals if one.aim == "most_wishes"]
        most = max((round(ratio / number("ration_step_frac")) for ratio in rations), default=None)
        for feeding in self.facts.feedings if most is not None else ():
            high = float(max(most or 0, self.facts.least_steps))
            yield Row(rule="no_more_food", about=feeding.id, terms={steps(feeding.id): 1.0}, high=high)

    def _other_rows(self, distance: int) -> Iterator[Row]:
        """A plan lacks a fish, or somebody, of each plan that was found, or at least has others."""
        for other in self.proposals if distance else ():
            there = sorted({coming.candidate.id for coming in other.picked.coming})
            fish = [each for each in there if self.problem.catalogue.species[each].kind == "fish"]
            if distance >= LACKING:
                lacks = {some(each): 1.0 for each in (distance == FISH and fish) or there}
                yield Row(rule="lacks_somebody", about=other.aim, terms=lacks, high=len(lacks) - 1.0)
            terms = {some(one.id): -1.0 if one.id in there else 1.0 for one in self.facts.candidates}
            yield Row(rule="other", about=other.aim, terms=terms, low=1.0 - len(there))

    def bound(self, aim: Aim, solved: Solved) -> InItsUnit:
        """The bound of the aim alone; ties count less than anything that one would notice."""
        if aim == "fewest_minutes":
            return self._minutes(solved) - max(0.0, solved.bound - solved.value)
        if aim == "widest_margins":
            reached = margin_of(self.facts, solved.chosen)
            # what is still to be measured might take what is left away
            return 1.0 if self.facts.later else reached + max(0.0, solved.bound - solved.value)
        return self.weight(solved) + max(0.0, solved.bound - solved.value)

    def weight(self, solved: Solved) -> InItsUnit:
        """Weight of the wishes that a choice meets."""
        return sum(wish.weight for wish in self.facts.wishes if wish.counted and solved.count(met(wish.id)))

    def _minutes(self, solved: Solved) -> InItsUnit:
        added = minutes_terms(self.facts)
        return (
            self.facts.base.minutes_per_month
            + self.facts.shifts.get("minutes", 0.0)
            + sum(value * solved.chosen[name] for name, value in added.items())
        )


def against_minutes(facts: Facts, ties: dict[str, InItsUnit]) -> dict[str, InItsUnit]:
    """The aim of fewest minutes; of equal plans what the ties prefer."""
    return _sum(ties, {name: -value for name, value in minutes_terms(facts).items()})


def _sum(one: dict[str, InItsUnit], other: dict[str, InItsUnit]) -> dict[str, InItsUnit]:
    return {name: one.get(name, 0.0) + other.get(name, 0.0) for name in {**one, **other}}
