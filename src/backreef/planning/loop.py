"""Solve, simulate, learn, and again: until a plan holds for each aim, or no choice is left.

The programme proposes and the judgement decides. What a simulated plan breaks by becomes a shift of a bound,
more food for each mouth, or the end of that choice.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field, replace

from backreef.aquarium.plan import Plan
from backreef.company.engine import check_plan
from backreef.judgement.verdict import Forecast
from backreef.planning.arrivals import QUARTER_MONTHS, Timing, arrivals_programme, comes, months_of
from backreef.planning.candidates import ABOUT_DAYS, NOBODY, Candidate, Shortlist
from backreef.planning.choices import applied_all
from backreef.planning.crew_months import lean_months, those_months
from backreef.planning.facts import MARGIN, Facts, heads, met, some, steps, taken
from backreef.planning.feeding import with_ration
from backreef.planning.gather import fed
from backreef.planning.lessons import BEYOND, Learner
from backreef.planning.numbers import count, number
from backreef.planning.plans import AIM_WORDS, Aim, Doors, Picked, Progress, Proposal, Try, kept_frac
from backreef.planning.programme import WHOLE, Programme, Row, Solved
from backreef.planning.solver import solve
from backreef.planning.stock import (
    ease_terms,
    level_of,
    margin_of,
    minutes_terms,
    rooms_left,
    stock_programme,
    wish_terms,
)
from backreef.planning.writing import Coming, with_newcomers
from backreef.simulation.tables import InItsUnit

TIE = 1e-3
"""Weight of what only breaks ties, against the aim."""
EASE = 10.0
"""How much more ties weigh against what is left on average: a snail is bought for more than a hair of it."""
FISH, LACKING, OTHER, ANY = 3, 2, 1, 0
"""How a plan has to differ from those that were found: lack a fish of each, lack somebody, be another, or not
at all."""
LATER_ROUNDS = 2
"""A month that breaks the plan is left out in the next round."""


@dataclass(kw_only=True)
class Loop(Learner):
    """The planner at work on one problem."""

    doors: Doors
    shortlist: Shortlist = NOBODY
    progress: Progress | None = None
    tries: list[Try] = field(default_factory=list)
    judged: dict[str, Forecast] = field(default_factory=dict)
    """By the text of a plan."""
    banned: list[frozenset[tuple[str, int]]] = field(default_factory=list)
    seeds: tuple[Proposal, ...] = ()
    """Plans that hold with no more minutes than these: what they meet can be met here too."""

    def run(self, aims: Sequence[Aim], *, rounds: int | None = None) -> None:
        """Look for one plan for each aim, in so many rounds at most."""
        for aim in aims:
            self._aim(aim, count("rounds_count") if rounds is None else rounds)
            if aim == "most_wishes":
                self._seed()

    def _seed(self) -> None:
        """A plan of fewer minutes that meets more than what was found takes its place, judged again."""
        here = [one for one in self.proposals if one.aim == "most_wishes"]
        best = max(self.seeds, key=lambda one: one.reached, default=None)
        if best is None or any(one.reached >= best.reached for one in here):
            return
        minutes = self.facts.budget_min_per_month
        keeper = replace(best.plan.keeper, minutes_per_month=minutes)
        text = self.doors.write(replace(best.plan, keeper=keeper))
        plan = self.doors.read(text)
        forecast = self.judged.get(text) or self.doors.judge(plan)
        if forecast.holds:
            solved = solve(self.programme("most_wishes"), seed=self.problem.seed)
            bound = self.bound("most_wishes", solved) if solved.found else best.reached
            bound = max(best.bound, best.reached, bound)
            seeded = replace(best, plan=plan, text=text, forecast=forecast, rounds=0, bound=bound)
            self.proposals[:] = [*(one for one in self.proposals if one not in here), seeded]
            self.sure = self.sure or self.facts

    def with_budget(self, minutes_per_month: InItsUnit, seeds: Sequence[Proposal] = ()) -> Loop:
        """The same search for a keeper who gives so many minutes."""
        plan = self.problem.plan
        keeper = replace(plan.keeper, minutes_per_month=minutes_per_month)
        return Loop(
            problem=replace(self.problem, plan=replace(plan, keeper=keeper)),
            facts=replace(self.facts, budget_min_per_month=minutes_per_month),
            doors=self.doors,
            shortlist=self.shortlist,
            progress=self.progress,
            judged=self.judged,
            measure=self.measure,
            members=self.members,
            seeds=tuple(seeds),
        )

    def apart(self) -> Loop:
        """The same search with what it knows, whose lessons stay its own."""
        return replace(
            self,
            proposals=list(self.proposals),
            tries=list(self.tries),
            banned=list(self.banned),
            hungry=dict(self.hungry),
            missed=dict(self.missed),
        )

    def _aim(self, aim: Aim, rounds: int) -> None:
        for number_of in range(rounds):
            solved = self.solved(aim)
            if solved is None:
                break
            self._tell(f"{AIM_WORDS[aim]}: round {number_of + 1}{self._so_far(aim, solved)}")
            proposal = self._tried(aim, solved, number_of + 1)
            if proposal is not None:
                self.hold(proposal)
                self.proposals[-1] = self._when_fed(proposal, solved)
                break

    def _when_fed(self, proposal: Proposal, solved: Solved) -> Proposal:
        """The same stock, with grazers no sooner than the tank feeds them for a year, if that holds too."""
        lean = lean_months(proposal.picked, proposal.forecast, months_of(self.problem.kept))
        if not lean:
            return proposal
        later, found = self.apart(), None
        later.banned += lean
        for _ in range(LATER_ROUNDS):
            picked = later.picked(proposal.aim, solved)
            if found is not None or picked is None:
                break
            found = later._tried(proposal.aim, solved, proposal.rounds)  # noqa: SLF001  its own kind
            later.banned += those_months(lean, picked, months_of(self.problem.kept))
        told = later.tries[len(self.tries) :]
        self.tries += [replace(one, what=f"{one.what}; grazers once they are fed") for one in told]
        return proposal if found is None else found

    def hold(self, proposal: Proposal) -> None:
        """Take up a plan that holds."""
        self.proposals.append(proposal)
        self.sure = self.sure or self.facts
        forecast = proposal.forecast
        holding = round(forecast.share_holding * forecast.members)
        self._tell(f"{AIM_WORDS[proposal.aim]}: a plan holds in {holding} of {forecast.members} members")

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

    def _so_far(self, aim: Aim, solved: Solved) -> str:
        """What the programme hopes for in this round, and the best plan so far that holds."""
        total = sum(wish.weight for wish in self.facts.wishes if wish.counted)
        best = max((sum(wish.weight for wish in one.picked.wishes) for one in self.proposals), default=None)
        so_far = "none yet" if best is None else f"{best:g} of {total:g} wishes"
        bound = self.bound(aim, solved)
        hope = {
            "most_wishes": f"{bound:g} of {total:g} wishes",
            "fewest_minutes": f"{bound:.0f} minutes",
            "widest_margins": f"a margin of {bound:.0%}",
        }
        return f", best {so_far}, bound {hope[aim]}"

    def _tell(self, phrase: str) -> None:
        if self.progress is not None:
            self.progress(phrase, len(self.proposals), len(AIM_WORDS))

    # --- aims ---

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

    # --- one round ---

    def _tried(self, aim: Aim, solved: Solved, rounds: int) -> Proposal | None:
        picked = self.picked(aim, solved)
        if picked is None:
            self._refuse(aim, solved, None, "nobody can come in time: no month has the minutes or the days")
            return None
        text = self.doors.write(self.plan_of(picked))
        plan = self.doors.read(text)
        refusal = self._rules_refuse(plan, picked)
        if refusal:
            self._refuse(aim, solved, None, refusal)
            return None
        forecast = self.judged.get(text) or self.doors.judge(plan)
        self.judged[text] = forecast
        if not forecast.holds:
            self.tries.append(
                Try(
                    aim=aim,
                    what=_words(picked),
                    share_holding=forecast.share_holding,
                    why=forecast.first_break_cause,
                )
            )
            self.learn(forecast, picked)
            return None
        return Proposal(
            aim=aim,
            picked=picked,
            plan=plan,
            text=text,
            forecast=forecast,
            rounds=rounds,
            bound=self.bound(aim, solved),
        )

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

    def picked(self, aim: Aim, solved: Solved) -> Picked | None:
        """What a solution of stage 1 means, with the months of stage 2; None where no month will do."""
        facts = self.facts
        chosen = tuple(one for one in facts.candidates if solved.count(some(one.id)))
        months = months_of(self.problem.kept)
        choices = tuple(each for each in facts.choices if solved.count(taken(each.id)))
        timing = self._timing(aim, solved, chosen)
        timed = solve(arrivals_programme(timing), seed=self.problem.seed) if chosen else None
        if timed is not None and not timed.found:
            return None
        served = tuple(wish for wish in facts.wishes if wish.counted and solved.count(met(wish.id)))
        feeding = next(each for each in facts.feedings if solved.count(taken(each.id)))
        coming = tuple(
            Coming(
                candidate=one,
                count=solved.count(heads(one.id)),
                on=month.on,
                wishes=tuple(wish for wish in served if one.id in wish.species),
            )
            for one in chosen
            for month in months
            if timed is not None and timed.count(comes(one.id, month.number))
        )
        return Picked(
            solved=solved,
            coming=tuple(sorted(coming, key=lambda each: (each.on, each.candidate.id))),
            feeding=feeding,
            choices=choices,
            ration_ratio=solved.count(steps(feeding.id)) * number("ration_step_frac"),
            wishes=served,
            minutes_per_month=self._minutes(solved) + self._more_days(coming),
            margin_share=margin_of(facts, solved.chosen),
            levels={limit.name: self._level(limit.name, solved) for limit in facts.limits},
        )

    def _more_days(self, coming: tuple[Coming, ...]) -> InItsUnit:
        """Minutes a month by which several days of arrivals take longer than the one that stage 1 counts."""
        facts = self.facts
        longest = max((facts.responses[each.candidate.id].arrival_min for each in coming), default=0.0)
        days = len({each.on for each in coming})
        return max(0, days - 1) * (1.0 - facts.further_frac) * longest / facts.months

    def _level(self, name: str, solved: Solved) -> InItsUnit:
        limit = next(each for each in self.facts.limits if each.name == name)
        level, terms = level_of(limit, self.facts)
        return level + sum(value * solved.chosen[variable] for variable, value in terms.items())

    def _timing(self, aim: Aim, solved: Solved, chosen: tuple[Candidate, ...]) -> Timing:
        facts, kept = self.facts, self.problem.kept
        months = months_of(kept)
        extra = sum(
            facts.responses[each.id].minutes_per_month
            for each in (*facts.choices, *facts.feedings)
            if each.id in facts.responses and solved.count(taken(each.id))
        )
        per_month = []
        for month in months:
            first = (month.on - kept.start_on).days
            some_days = facts.base.slowest_per_day[first : first + 30]
            per_month.append(float(some_days.sum()) + extra + facts.shifts.get("quarter", 0.0))
        return Timing(
            plan=kept,
            chosen=chosen,
            months=months,
            eats_g_per_d={
                one.id: facts.responses[one.id].eaten_g_per_d * solved.count(heads(one.id)) for one in chosen
            },
            eaten_before_g_per_d=facts.base.eaten_by_all_g_per_d,
            arrival_min={one.id: facts.responses[one.id].arrival_min for one in chosen},
            further_frac=facts.further_frac,
            day_months=number("fewer_days_months" if aim == "fewest_minutes" else "more_days_months"),
            month_min=tuple(per_month),
            budget_min_per_month=facts.budget_min_per_month,
            heads={one.id: solved.count(heads(one.id)) for one in chosen},
            one_a_day=self.one_a_day,
            banned=tuple(self.banned),
        )

    def plan_of(self, picked: Picked) -> Plan:
        """The keeper's plan with what was chosen."""
        kept, _ = fed(self.problem)
        if picked.feeding.id != self.facts.feedings[0].id:
            kept = picked.feeding.applied(self.problem.kept)
        plan = with_ration(kept, picked.ration_ratio, self.problem.pinned)
        plan = applied_all(plan, picked.choices)
        return with_newcomers(plan, picked.coming, self.problem.catalogue)

    # --- lessons ---

    def _rules_refuse(self, plan: Plan, picked: Picked) -> str:
        """What the rules of company find serious in the plan and not in what is kept; empty if nothing."""
        before = {
            finding.id
            for finding in check_plan(self.problem.kept, self.problem.catalogue)
            if finding.weight == "serious"
        }
        for finding in check_plan(plan, self.problem.catalogue):
            if finding.weight == "serious" and finding.id not in before:
                if finding.rule in ABOUT_DAYS:
                    months = {month.on: month.number for month in months_of(self.problem.kept)}
                    self.banned.append(
                        frozenset((each.candidate.id, months[each.on]) for each in picked.coming)
                    )
                return f"{finding.what} ({finding.why})"
        return ""

    def _refuse(self, aim: Aim, solved: Solved, share: InItsUnit | None, why: str) -> None:
        picked = [one for one in self.facts.candidates if solved.count(some(one.id))]
        names = ", ".join(one.species.common_name for one in picked)
        self.tries.append(Try(aim=aim, what=names, share_holding=share, why=why))
        self.cut(solved)


def against_minutes(facts: Facts, ties: dict[str, InItsUnit]) -> dict[str, InItsUnit]:
    """The aim of fewest minutes; of equal plans what the ties prefer."""
    return _sum(ties, {name: -value for name, value in minutes_terms(facts).items()})


def _sum(one: dict[str, InItsUnit], other: dict[str, InItsUnit]) -> dict[str, InItsUnit]:
    return {name: one.get(name, 0.0) + other.get(name, 0.0) for name in {**one, **other}}


def _words(picked: Picked) -> str:
    names = [f"{each.count} × {each.candidate.species.common_name}" for each in picked.coming]
    return ", ".join(names) or "no newcomers"
