"""What a change would do to a plan: both plans in one block of members with the same draws, side by side.

It is a look, not a verdict: eight members in place of sixty-four, and the days up to a year after what is
changed where more would take too long. Whoever shows it says so.
"""

from __future__ import annotations

import hashlib
from collections import OrderedDict
from collections.abc import Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from datetime import date, timedelta
from functools import partial
from pathlib import Path
from threading import Lock
from typing import TYPE_CHECKING

from backreef.usecases import forecast as forecasting
from backreef.usecases.compare import Compared, Comparison, pairing

if TYPE_CHECKING:
    from backreef.aquarium.plan import Plan
    from backreef.catalogue.entries import Catalogue
    from backreef.company.findings import CheckFinding
    from backreef.judgement.verdict import Forecast
    from backreef.simulation.ensemble import MarchBlock
    from backreef.simulation.prepared import Prepared
    from backreef.simulation.taken_up import Memory, Taking

MEMBERS = 8
YEAR_D = 365
AS_IT_IS, CHANGED = "as it is", "changed"
_KEPT = 24
_LOCK = Lock()
_JUDGED: dict[tuple[str, int], Forecast] = {}
"""Sum of the plan and days -> the forecast: a plan is looked at beside many changes."""
_REMEMBERED: OrderedDict[tuple[str, int], Memory] = OrderedDict()
"""Sum of the plan and days -> what its march went through, from which that of a change goes on.

Some 35 MB each."""
MOST_REMEMBERED = 3


@dataclass(frozen=True, slots=True, kw_only=True)
class Preview:
    """A plan as it is and changed, in few members and perhaps over fewer days."""

    comparison: Comparison
    days: int
    """Days that were simulated, from the first day on."""
    whole: bool
    """Whether that is the whole horizon of both plans."""
    new: tuple[CheckFinding, ...]
    """What stands out in the changed plan and not in the one as it is."""
    gone: tuple[CheckFinding, ...]

    @property
    def before(self) -> Forecast:
        """The plan as it is."""
        return self.comparison.plans[0].forecast

    @property
    def after(self) -> Forecast:
        """The plan changed."""
        return self.comparison.plans[1].forecast


def preview(before: str, after: str, path: Path, *, until_on: date | None = None) -> Preview:
    """Both texts of a plan simulated with the same luck, up to a day or to the end of the longer one.

    Raises
    ------
    InputFaults
        With every fault of either text.
    """
    from backreef.aquarium.differences import differences
    from backreef.company.engine import check_plan
    from backreef.usecases.plan_desk import plan_of_text

    one, known = plan_of_text(before, path)
    two, catalogue = plan_of_text(after, path)
    whole = max(one.horizon_days, two.horizon_days)
    days = _days_until(two, until_on, whole)
    with ThreadPoolExecutor(2, "look") as both:  # the march lets go of the lock
        waited = [
            both.submit(_judged, plan, beside, days) for plan, beside in ((one, known), (two, catalogue))
        ]
        first, other = (each.result() for each in waited)
    old, new = check_plan(one, known), check_plan(two, catalogue)
    return Preview(
        comparison=Comparison(
            plans=(
                Compared(letter=AS_IT_IS, forecast=first, differences=(), pairing=pairing(first, first)),
                Compared(
                    letter=CHANGED,
                    forecast=other,
                    differences=differences(one, two),
                    pairing=pairing(first, other),
                ),
            )
        ),
        days=days,
        whole=days >= whole,
        new=_only(new, old),
        gone=_only(old, new),
    )


def load() -> None:
    """Load what every look needs, whatever the plan."""
    from backreef.catalogue.load import load_catalogue
    from backreef.judgement import telling
    from backreef.models.matrix import packaged_matrix
    from backreef.simulation import taken_up

    del taken_up, telling  # to be loaded is all
    load_catalogue()
    packaged_matrix()


def get_ready(before: str, path: Path, *, until_on: date | None) -> None:
    """Simulate a plan as it is up to a day or to its end, so that only a change is left for a look at it.

    Raises
    ------
    InputFaults
        With every fault of the text.
    """
    from backreef.usecases.plan_desk import plan_of_text

    plan, catalogue = plan_of_text(before, path)
    _judged(plan, catalogue, _days_until(plan, until_on, plan.horizon_days))


def _days_until(plan: Plan, until_on: date | None, whole: int) -> int:
    return whole if until_on is None else min(whole, max(1, (until_on - plan.start_on).days))


def look_until(after: Plan, changed_on: Sequence[date | None]) -> date:
    """The day up to which a look at a change goes: a year after the last thing that is changed."""
    days = [on for on in changed_on if on is not None]
    return max([after.start_on, *days]) + timedelta(days=YEAR_D)


def _only(found: Sequence[CheckFinding], others: Sequence[CheckFinding]) -> tuple[CheckFinding, ...]:
    known = {one.id for one in others}
    return tuple(one for one in found if one.id not in known)


def _judged(plan: Plan, catalogue: Catalogue, days: int) -> Forecast:
    key = (hashlib.sha256(repr(plan).encode()).hexdigest(), days)  # with the calendars that the text names
    if catalogue.own:  # the plan does not say what its own entries say
        return _look_at(plan, catalogue, days, key=None)
    with _LOCK:
        known = _JUDGED.get(key)
        if key in _REMEMBERED:
            _REMEMBERED.move_to_end(key)
    if known is None:
        known = _look_at(plan, catalogue, days, key=key)
        with _LOCK:
            while len(_JUDGED) >= _KEPT:
                del _JUDGED[next(iter(_JUDGED))]
            _JUDGED[key] = known
    return known


def _look_at(plan: Plan, catalogue: Catalogue, days: int, *, key: tuple[str, int] | None) -> Forecast:
    judge = forecasting.default_judge()
    marches: list[Taking] = []
    if key is not None:
        judge = _from_memory(judge, marches)
    found = judge(
        first_days(plan, days),
        catalogue,
        members=MEMBERS,
        seed=forecasting.SEED,
        remedies="none",
        progress=None,
    )
    for march in marches:
        if key is not None and march.memory is not None:
            with _LOCK:
                _REMEMBERED[key] = march.memory
                while len(_REMEMBERED) > MOST_REMEMBERED:
                    _REMEMBERED.popitem(last=False)
    return found


def _from_memory(judge: forecasting.Judge, marches: list[Taking]) -> forecasting.Judge:
    """The judge with a march that takes over what it can from those that are remembered."""
    from backreef.judgement.judge import judge_plan

    if judge is not judge_plan:
        return judge
    from backreef.simulation.block import FORECAST
    from backreef.simulation.taken_up import Taking

    def by(prepared: Prepared) -> MarchBlock:
        with _LOCK:
            known = tuple(_REMEMBERED.values())
        marches.append(Taking(prepared, FORECAST, known))
        return marches[-1]

    return partial(judge_plan, by=by)


def first_days(plan: Plan, days: int) -> Plan:
    """The first days of a plan, without the animals that come later."""
    from backreef.judgement.shortened import cut_to

    return plan if days >= plan.horizon_days else cut_to(plan, days)


def forget() -> None:
    """Keep nothing of what was looked at."""
    _JUDGED.clear()
    _REMEMBERED.clear()
