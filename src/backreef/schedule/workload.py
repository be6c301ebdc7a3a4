"""Minutes of a task in this tank: the catalogue's, scaled by size, litres, glass, number and lid."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise

from backreef.aquarium.plan import Plan
from backreef.catalogue.entries import Task, Value
from backreef.schedule.tables import number, value_or_none, workload
from backreef.working.record import askable


@dataclass(frozen=True, slots=True, kw_only=True)
class Minutes:
    """Minutes of one occurrence, without its set-up."""

    low_min: float
    typ_min: float
    high_min: float

    def times(self, factor_ratio: float) -> Minutes:
        """The same spread, longer or shorter."""
        return Minutes(
            low_min=self.low_min * factor_ratio,
            typ_min=self.typ_min * factor_ratio,
            high_min=self.high_min * factor_ratio,
        )

    def plus(self, extra_min: float) -> Minutes:
        """The same, later by some minutes."""
        return Minutes(
            low_min=self.low_min + extra_min,
            typ_min=self.typ_min + extra_min,
            high_min=self.high_min + extra_min,
        )


NO_MINUTES = Minutes(low_min=0.0, typ_min=0.0, high_min=0.0)


def minutes_of(value: Value) -> Minutes:
    """The range of a number of minutes."""
    return Minutes(low_min=value.lowest, typ_min=value.value, high_min=value.highest)


@askable
def own_minutes(typ_min: float) -> Minutes:
    """The keeper's own figure, with the spread of the table about it."""
    spread = workload().numbers["own_minutes_frac"].value
    return Minutes(low_min=typ_min * (1 - spread), typ_min=typ_min, high_min=typ_min * (1 + spread))


@askable
def task_minutes(
    task: Task, *, plan: Plan, share_frac: float | None = None, factor_ratio: float = 1.0
) -> Minutes:
    """Minutes of a task in the plan's tank, with the lid's extra; `factor_ratio`: how much of it."""
    base = number(task.minutes, f"tasks.{task.id}: minutes")
    scaled = minutes_of(base).times(
        factor_ratio * _scale(task.id, base.value, plan=plan, share_frac=share_frac)
    )
    extra = value_or_none(task.extra_min_with_lid)
    return scaled if plan.tank.lid == "open" or extra is None else scaled.plus(extra)


def setup_minutes_of(task: Task) -> float:
    """Minutes of getting ready and putting away. [min]"""
    return number(task.setup_minutes, f"tasks.{task.id}: setup_minutes").value


def setup_group_of(task_id: str) -> str:
    """The group of tasks that share a set-up on one visit; a task of its own kind is its own group."""
    return workload().group_of.get(task_id, task_id)


@askable
def size_factor_ratio(display_l: float) -> float:
    """Factor on the catalogue's minutes for a display of this volume, straight between the points. [-]"""
    points = [(volume_l, factor.value) for volume_l, factor in workload().size]
    for (below_l, below), (above_l, above) in pairwise(points):
        if below_l <= display_l < above_l:
            return (above - below) / (above_l - below_l) * (display_l - below_l) + below
    return points[0][1] if display_l < points[0][0] else points[-1][1]


@askable
def _scale(task_id: str, typ_min: float, *, plan: Plan, share_frac: float | None) -> float:
    """How many times the catalogue's minutes a task takes in the plan's tank. [-]"""
    table = workload()
    if task_id in table.by_litres:
        base, per_l = table.by_litres[task_id]
        litres = (share_frac or 0.0) * plan.tank.water_volume_l
        return (base.value + per_l.value * litres) / typ_min
    if task_id in table.by_glass:
        return table.by_glass[task_id].value * plan.tank.viewing_glass_area_m2 / typ_min
    return size_factor_ratio(plan.tank.display_gross_l) if task_id in table.by_size else 1.0
