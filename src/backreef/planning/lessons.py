"""What a plan that broke teaches the programme: a shift of a bound, more food, or the end of a choice."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field, replace

from backreef.judgement.findings import allowed_frac
from backreef.judgement.spans import hits_allowed
from backreef.judgement.verdict import Finding, Forecast
from backreef.planning.arrivals import ACCLIMATE
from backreef.planning.choices import Choice
from backreef.planning.facts import Facts, heads, some, taken
from backreef.planning.numbers import number
from backreef.planning.plans import Picked, Proposal
from backreef.planning.problem import Problem
from backreef.planning.programme import WHOLE, Row, Solved
from backreef.planning.responses import CORALS
from backreef.planning.solver import solve
from backreef.planning.stock import LEAST_FOOD_G_PER_D, level_of, stock_programme
from backreef.planning.writing import Coming, entry_name
from backreef.simulation.tables import InItsUnit

BEYOND = 0.05
"""Share of the distance of its bounds by which a bound is missed once more before it is believed."""
HUNGRY_LESSONS = 3
"""So often more food is tried for one animal."""
MISSED = "hands.missed."
MAIN_CAUSE_FRAC = 0.5
"""Members that a cause hits, over those that the gravest hits, from which it is a lesson beside that."""
OF_THE_DEAD = "water.ammonia"
THE_CORALS = "corals"
CORALS_LOST, CORALS_LIMIT = f"mouths.{THE_CORALS}.harm", f"{CORALS}.low"


@dataclass(kw_only=True)
class Learner:
    """The facts of a search, and what simulated plans added to them."""

    problem: Problem
    facts: Facts
    proposals: list[Proposal] = field(default_factory=list)
    hungry: dict[str, int] = field(default_factory=dict)
    sure: Facts | None = None
    """The facts with which the first plan that holds was found; later lessons may leave no choice at all."""
    measure: Callable[[Facts], Facts] | None = None
    """Measures the choices that were put off, and adds them to the facts."""
    members: int = 0
    """How many are simulated of a plan that holds."""
    one_a_day: bool = False
    """Whether each kind has to come on a day of its own."""
    missed: dict[str, int] = field(default_factory=dict)
    """How often a bound was missed: each time it is kept twice as far off."""

    def complete(self) -> None:
        """Measure what was put off."""
        if self.facts.later and self.measure is not None:
            self.facts = self.measure(self.facts)
            self.sure = None if self.sure is None else self.measure(self.sure)

    def cut(self, solved: Solved) -> None:
        """The same animals in the same numbers with the same choices are not proposed again."""
        whole = [
            *(some(one.id) for one in self.facts.candidates),
            *(taken(each.id) for each in (*self.facts.choices, *self.facts.feedings)),
        ]
        on = [name for name in whole if solved.count(name)]
        terms = {name: -1.0 if name in on else 1.0 for name in whole}
        cut = Row(rule="not_again", about=str(len(self.facts.cuts)), terms=terms, low=1.0 - len(on))
        self.facts = replace(self.facts, cuts=(*self.facts.cuts, cut))

    def learn(self, forecast: Forecast, picked: Picked) -> None:
        """Turn what broke into something that the programme did not know."""
        taught, hunger = False, False
        for finding in _causes(forecast):
            if finding.balance == "mouths" and hunger:
                continue  # more food for all is one lesson, however many go hungry
            hunger |= finding.balance == "mouths"
            before = self.facts
            learned = self._lesson(finding, picked)
            if learned and self._is_small(finding, forecast) and not self._is_possible():
                # what hits so few breaks no plan alone, and what no choice mends is no lesson about choices
                self.facts, learned = before, False
            taught |= learned
        if not taught:
            self.cut(picked.solved)

    def _is_small(self, finding: Finding, forecast: Forecast) -> bool:
        """Whether a cause hits too few to break a plan alone, all of them among the weakest or not."""
        hit = round(finding.share_of_members * forecast.members)
        return not finding.breaks or hit <= hits_allowed(self.members, allowed_frac())

    def _is_possible(self) -> bool:
        """Whether any choice is left."""
        return solve(stock_programme(self.facts).aiming({}), seed=self.problem.seed).found

    def _lesson(self, finding: Finding, picked: Picked) -> bool:
        kind, _, rest = finding.id.removesuffix(".harm").partition(".")
        if kind == "water":
            return self._lesson_of_water(rest, picked)
        if finding.id == CORALS_LOST:
            return self._lesson_of_corals(picked)
        if kind == "mouths":
            return self._lives_from_growth(rest, picked) or self._lesson_of_hunger(rest, picked)
        if finding.id == MISSED + ACCLIMATE:
            return self._lesson_of_arrivals(picked)
        if finding.id.startswith("hands.minutes"):
            return self._lesson_of_hands(forecast_value=finding.value, picked=picked)
        return False

    def _lives_from_growth(self, entry_id: str, picked: Picked) -> bool:
        """Whether a newcomer starves that no food given reaches.

        Then as many may come at most as in a plan that holds, or half of them.
        """
        for each in picked.coming:
            eats = self.facts.responses[each.candidate.id].eaten_g_per_d
            ours = entry_id == entry_name(each.candidate.id)
            if ours and eats < number("least_eaten_g_per_d"):
                terms = {heads(each.candidate.id): 1.0}
                about = f"starves{len(self.facts.cuts)}"
                counts = [
                    one.count for plan in self.proposals for one in plan.picked.coming if _same(one, each)
                ]
                fewer = max((count for count in counts if count < each.count), default=each.count // 2)
                cut = Row(rule="not_again", about=about, terms=terms, high=float(fewer))
                self.facts = replace(self.facts, cuts=(*self.facts.cuts, cut))
                return True
        return False

    def _lesson_of_hunger(self, entry_id: str, picked: Picked) -> bool:
        """More food: counted for each mouth, or in all where who starves lives from what grows of it."""
        facts = self.facts
        self.hungry[entry_id] = self.hungry.get(entry_id, 0) + 1
        if self.hungry[entry_id] > HUNGRY_LESSONS or facts.fed_by_need:
            return False
        given_g_per_d = facts.base.eaten_g_per_d.get(entry_id, 0.0 if entry_id == THE_CORALS else math.inf)
        if given_g_per_d < number("least_eaten_g_per_d"):
            return self._richer(picked)
        eaten = facts.base.eaten_by_all_g_per_d + sum(
            facts.responses[each.candidate.id].eaten_g_per_d * each.count for each in picked.coming
        )
        jump = self._jump_ratio(picked)
        per_ration = facts.base.offered_g_per_d * facts.eaten_frac / max(eaten, LEAST_FOOD_G_PER_D)
        ratio = max(facts.hunger_ratio, picked.ration_ratio * per_ration) * jump
        ratio = min(ratio, facts.most_steps * number("ration_step_frac") * per_ration)
        if ratio <= facts.hunger_ratio:
            return False
        self.facts = replace(facts, hunger_ratio=ratio)
        return True

    def _richer(self, picked: Picked) -> bool:
        """So much more for all, whoever comes."""
        ratio = self._jump_ratio(picked) * picked.ration_ratio
        least = min(self.facts.most_steps, math.ceil(ratio / number("ration_step_frac") - WHOLE))
        if least <= self.facts.least_steps:
            return False
        self.facts = replace(self.facts, least_steps=least)
        return True

    def _jump_ratio(self, picked: Picked) -> InItsUnit:
        """One step more food, or half of the way to the leanest plan that holds if that is farther."""
        held = min((one.picked.ration_ratio for one in self.proposals), default=0.0)
        return max(number("hungry_step_ratio"), (1.0 + held / picked.ration_ratio) / 2.0)

    def _lesson_of_corals(self, picked: Picked) -> bool:
        """What they live on comes from what is fed, where food is seen to help them."""
        taught = self._lesson_of_water(CORALS_LIMIT, picked)
        if self.facts.food_response.water.get(CORALS_LIMIT, 0.0) > 0.0:
            taught |= self._lesson_of_hunger(THE_CORALS, picked)
        return taught

    def _lesson_of_water(self, name: str, picked: Picked) -> bool:
        self.complete()
        limit = next((each for each in self.facts.limits if each.name == name), None)
        if limit is None or not level_of(limit, self.facts)[1]:
            return False
        sign = 1.0 if limit.upper else -1.0
        far = sign * (limit.bound - picked.levels[name]) / limit.span
        felt = [each for each in picked.choices if self._is_felt(each)]
        if felt and far > number("interplay_frac"):
            self._cut_choices(felt)
            return True
        beyond = BEYOND * limit.span * 2.0 ** self.missed.get(name, 0)
        self.missed[name] = self.missed.get(name, 0) + 1
        missing = sign * (limit.bound - picked.levels[name]) + beyond
        shift = self.facts.shifts.get(name, 0.0) + sign * max(missing, beyond)
        self.facts = replace(self.facts, shifts={**self.facts.shifts, name: shift})
        return True

    def _is_felt(self, choice: Choice) -> bool:
        """Whether the water answers to a choice."""
        return any(self.facts.responses[choice.id].water.values())

    def _cut_choices(self, choices: Sequence[Choice]) -> None:
        """Choices that together do what no straight line of theirs says are not taken together again."""
        terms = {taken(choice.id): 1.0 for choice in choices}
        about = f"together{len(self.facts.cuts)}"
        cut = Row(rule="not_again", about=about, terms=terms, high=len(terms) - 1.0)
        self.facts = replace(self.facts, cuts=(*self.facts.cuts, cut))

    def _lesson_of_arrivals(self, picked: Picked) -> bool:
        """Whoever receives newcomers has no time for so many: each kind comes on a day of its own."""
        days = {each.on for each in picked.coming}
        if self.one_a_day or len(days) == len(picked.coming):
            return False
        self.one_a_day = True
        return True

    def _lesson_of_hands(self, *, forecast_value: InItsUnit | None, picked: Picked) -> bool:
        budget = self.facts.budget_min_per_month
        over = max(BEYOND * budget, (forecast_value or budget) - budget)
        shifts = {name: self.facts.shifts.get(name, 0.0) + over for name in ("quarter",)}
        if picked.minutes_per_month > budget * (1.0 - BEYOND):
            shifts["minutes"] = self.facts.shifts.get("minutes", 0.0) + BEYOND * budget
        self.facts = replace(self.facts, shifts={**self.facts.shifts, **shifts})
        return True


def _same(one: Coming, other: Coming) -> bool:
    return one.candidate.id == other.candidate.id


def _causes(forecast: Forecast) -> list[Finding]:
    """What broke the plan: where somebody starved, that and not the ammonia of the dead.

    Members that break in any plan come first, so what hits few of them beside another cause is no lesson yet.
    """
    harms = [one for one in forecast.findings if one.id.endswith(".harm") or one.id.startswith(MISSED)]
    breaking = [finding for finding in harms if finding.breaks] or harms
    most = max((finding.share_of_members for finding in breaking), default=0.0)
    breaking = [finding for finding in breaking if finding.share_of_members >= MAIN_CAUSE_FRAC * most]
    hungry = [finding for finding in harms if finding.balance == "mouths"]
    if not hungry or not any(OF_THE_DEAD in finding.id for finding in breaking):
        return breaking
    others = [finding for finding in breaking if OF_THE_DEAD not in finding.id and finding not in hungry]
    return [*hungry, *others]
