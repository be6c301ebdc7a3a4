"""Solve, simulate, learn, and again: until a plan holds for each aim, or no choice is left.

The programme proposes and the judgement decides. What a simulated plan breaks by becomes a shift of a bound,
more food for each mouth, or the end of that choice.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from functools import cached_property

from backreef.aquarium.plan import Plan
from backreef.company.engine import check_plan
from backreef.company.findings import CheckFinding
from backreef.judgement.verdict import Forecast
from backreef.planning.arrivals import Timing, arrivals_programme, comes, months_of
from backreef.planning.candidates import ABOUT_DAYS, NOBODY, Candidate, Shortlist
from backreef.planning.choices import applied_all
from backreef.planning.choosing import Chooser
from backreef.planning.crew_months import lean_months, those_months
from backreef.planning.facts import heads, met, some, steps, taken
from backreef.planning.feeding import with_ration
from backreef.planning.gather import fed
from backreef.planning.numbers import count, number
from backreef.planning.plans import AIM_WORDS, Aim, Doors, Picked, Progress, Proposal, Try
from backreef.planning.programme import Solved
from backreef.planning.solver import solve
from backreef.planning.stock import (
    level_of,
    margin_of,
)
from backreef.planning.writing import Coming, entry_name, with_newcomers
from backreef.simulation.tables import InItsUnit

LATER_ROUNDS = 2
"""A month that breaks the plan is left out in the next round."""


@dataclass(kw_only=True)
class Loop(Chooser):
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

    # --- one round ---

    def _tried(self, aim: Aim, solved: Solved, rounds: int) -> Proposal | None:
        picked, refusal = self._on_good_days(aim, solved)
        if picked is None:
            self._refuse(aim, solved, "nobody can come in time: no month has the minutes or the days")
            return None
        if refusal is not None:
            self._refuse(aim, solved, f"{refusal.what} ({refusal.why})")
            return None
        text = self.doors.write(self.plan_of(picked))
        plan = self.doors.read(text)
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

    def _on_good_days(self, aim: Aim, solved: Solved) -> tuple[Picked | None, CheckFinding | None]:
        """What a solution means, in months that the rules do not refuse, and what else they refuse of it.

        None where no month will do.
        """
        months = {month.on: month.number for month in months_of(self.problem.kept)}
        for _ in months:
            picked = self.picked(aim, solved)
            refusal = None if picked is None else self._refusal(self.plan_of(picked))
            if picked is None or refusal is None or refusal.rule not in ABOUT_DAYS:
                return picked, refusal
            hit = [one for one in picked.coming if refusal.id.endswith(f".{entry_name(one.candidate.id)}")]
            self.banned.append(frozenset((one.candidate.id, months[one.on]) for one in hit or picked.coming))
        return None, None

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

    def _refusal(self, plan: Plan) -> CheckFinding | None:
        """What the rules of company find serious in the plan and not in what is kept; the first of it."""
        for finding in check_plan(plan, self.problem.catalogue):
            if finding.weight == "serious" and finding.id not in self._serious_before:
                return finding
        return None

    @cached_property
    def _serious_before(self) -> frozenset[str]:
        found = check_plan(self.problem.kept, self.problem.catalogue)
        return frozenset(finding.id for finding in found if finding.weight == "serious")

    def _refuse(self, aim: Aim, solved: Solved, why: str) -> None:
        picked = [one for one in self.facts.candidates if solved.count(some(one.id))]
        names = ", ".join(one.species.common_name for one in picked)
        self.tries.append(Try(aim=aim, what=names, share_holding=None, why=why))
        self.cut(solved)


def _words(picked: Picked) -> str:
    names = [f"{each.count} × {each.candidate.species.common_name}" for each in picked.coming]
    return ", ".join(names) or "no newcomers"
