"""The plan with the most wishes for several budgets of minutes: more minutes never give a worse one."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from backreef.planning.loop import Loop
from backreef.planning.plans import Given, Proposal
from backreef.simulation.tables import InItsUnit


def by_minutes(loop: Loop, budgets_min_per_month: Iterable[InItsUnit]) -> Iterator[Given]:
    """For each budget, the smallest first, the plan that meets most; each search begins with those before.

    What the responses are does not hang on the budget, so nothing is marched anew but the plans themselves.
    """
    own = loop.facts.budget_min_per_month
    seeds: list[Proposal] = []
    for budget in sorted(set(budgets_min_per_month)):
        mine = [one for one in loop.proposals if own <= budget]
        search = loop.with_budget(budget, [*seeds, *mine])
        search.run(("most_wishes",))
        found = next(iter(search.proposals), None)
        if found is not None:
            seeds.append(found)
        yield Given(minutes_per_month=budget, proposal=found)
