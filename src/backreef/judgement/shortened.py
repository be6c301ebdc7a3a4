"""What can be done where the compiled engine cannot be had: fewer members, a shorter time, and it is said."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta

from backreef.aquarium.plan import Plan
from backreef.judgement.rules import rule
from backreef.simulation.layout import LANES


def shortened(plan: Plan, members: int) -> tuple[Plan, int]:
    """Give the plan's first year, without the animals that come later, and the members of one block."""
    return cut_to(plan, min(plan.horizon_days, int(rule("slow_horizon_d")))), min(members, LANES)


def cut_to(plan: Plan, days: int) -> Plan:
    """Give the first days of a plan, without the animals that come later and the meals for them alone."""
    last = plan.start_on + timedelta(days=days - 1)
    there = tuple(one for one in plan.animals if one.arrives_on is None or one.arrives_on <= last)
    later = {one.id for one in plan.animals} - {one.id for one in there}
    meals = tuple(meal for meal in plan.meals if not meal.who or set(meal.who) - later)
    return replace(plan, animals=there, meals=meals, horizon_days=days)


def notice(reason: str, plan: Plan, members: int) -> str:
    """Say that the slow engine was at work, why, what it left out, and what to do."""
    return (
        f"The slow engine made this forecast: {members} members and the first {plan.horizon_days} days only, "
        f"and no remedy was tried. The fast one could not be loaded: {reason}. Install llvmlite for this "
        "Python and this processor, then run the same command again."
    )
