"""What may be bought and what it costs, by the keeper's own prices: complete, or refused.

The catalogue has no prices. Food, salt, power and what wears out are not counted: any plan takes them.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from backreef.aquarium.plan import Plan
from backreef.errors import Fault, InputFaults
from backreef.planning.candidates import Shortlist
from backreef.planning.choices import Choice, choices_of
from backreef.planning.facts import PINNED
from backreef.planning.feeding import feedings
from backreef.planning.gather import fed
from backreef.planning.problem import Problem


def priced(problem: Problem, found: Shortlist) -> Problem:
    """The problem with the price of all that may be bought; as it is where money is no matter.

    Raises
    ------
    InputFaults
        With everything that may be bought and has no price.
    """
    keeper = problem.plan.keeper
    if keeper.money is None:
        return problem
    base, _ = fed(problem)
    ways = [(way, problem.kept) for way in feedings(problem.kept, problem.catalogue)]
    bought = {
        choice.id: dict(_bought(choice, plan))
        for choice, plan in (*ways, *((each, base) for each in choices_of(base, problem.pinned)))
    }
    kinds = {kind: None for devices in bought.values() for kind in devices}
    meant = [(entry.species, entry.count) for entry in problem.kept.animals if entry.arrives_on is not None]
    names = dict.fromkeys([*(one.id for one in found.candidates), *(name for name, _ in meant), *kinds])
    missing = [_fault(name, problem) for name in names if name not in keeper.prices]
    if missing:
        raise InputFaults(missing)
    prices = {one.id: keeper.prices[one.id] for one in found.candidates}
    for choice_id, devices in bought.items():
        prices[choice_id] = sum(keeper.prices[kind] * count for kind, count in devices.items())
    prices[PINNED] = sum(keeper.prices[name] * count for name, count in meant)
    return replace(problem, prices=prices)


def _bought(choice: Choice, plan: Plan) -> Iterator[tuple[str, int]]:
    """Kinds of devices that a choice adds to a plan, and how many of each."""
    changed = choice.applied(plan)
    for kind in dict.fromkeys(device.kind for device in changed.devices):
        had, has = (sum(one.count for one in each.devices if one.kind == kind) for each in (plan, changed))
        if has > had:
            yield kind, has - had


def _fault(name: str, problem: Problem) -> Fault:
    entry = problem.catalogue.species.get(name)
    called = problem.catalogue.devices[name].name if entry is None else entry.common_name
    return Fault(
        file=problem.plan.file,
        line=None,
        key=f"keeper.prices.{name}",
        message=(
            f"{called} may be bought, and with money given it needs a price; write {name} = 20 (or what it "
            "costs where you buy) in keeper.prices, or leave money out"
        ),
    )
