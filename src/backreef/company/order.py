"""The additions of a plan as a timeline: each with its gate, what begins before it, and why it is there."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from datetime import date, timedelta
from itertools import groupby

from backreef.catalogue.entries import Pool
from backreef.company.additions import STAGES
from backreef.company.findings import Resident, Setting, rule_number
from backreef.company.food import lives_from_food, needed_g_per_d
from backreef.company.hazards import Hazard, day_of, number
from backreef.company.rivals import FIERCE
from backreef.company.survival import Point, alive_frac, hazards_of, out_of_quarantine_frac

_STEADY_KINDS = ("coral", "anemone", "bivalve")
_GRAZED: tuple[Pool, ...] = ("film_algae", "turf_algae", "macro_algae")
YEAR_D = 365


@dataclass(frozen=True, slots=True, kw_only=True)
class Lead:
    """Something that has to begin before an addition."""

    what: str
    begins_on: date
    in_time: bool
    """False: it would have to begin before the first day of the plan."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Step:
    """Animals that come on one day."""

    on: date
    entry_id: str
    who: str
    gate: str
    """What must be seen first: the plan's own gate, else the catalogue's, else what holds for all."""
    gate_in_plan: bool
    stage: str
    """Its place in the order, from first to last."""
    why_here: str
    leads: tuple[Lead, ...]
    alive_share_p50: float
    """Share of them alive a year later as far as company and moving in go, by the middle rates."""
    alive_share_low: float
    alive_share_high: float
    out_of_quarantine_shares: tuple[float, float, float] | None
    """Share of those bought that come out of their quarantine: low, middle, high; None without one."""
    more_food_frac: float | None
    """Food that all fish need from this day on, over what they needed the day before, less one."""


def additions_of(setting: Setting) -> tuple[Step, ...]:
    """The additions of a plan in the order of their days."""
    newcomers = [one for one in setting.residents if one.entry.arrives_on is not None]
    newcomers.sort(key=lambda one: (setting.comes_on(one), STAGES.index(one.species.add_stage), one.entry.id))
    hazards = hazards_of(_a_year_longer(setting))
    steps: list[Step] = []
    for on, group in groupby(newcomers, key=setting.comes_on):
        batch = list(group)
        more = _more_food_frac(on, setting)
        steps += [_step(one, setting, more, hazards) for one in batch]
    return tuple(steps)


def _a_year_longer(setting: Setting) -> Setting:
    """The same with a horizon in which the last newcomers too are there for a year."""
    plan = setting.plan
    return replace(setting, plan=replace(plan, horizon_days=plan.horizon_days + YEAR_D))


def _step(one: Resident, setting: Setting, more_food_frac: float | None, hazards: tuple[Hazard, ...]) -> Step:
    came = day_of(one, setting)
    until = came + YEAR_D

    def alive(point: Point) -> float:
        return alive_frac(hazards, one.entry.id, since_day=came, until_day=until, point=point)

    return Step(
        on=setting.comes_on(one),
        entry_id=one.entry.id,
        who=one.called,
        gate=one.entry.gate or one.species.add_gate or _sight(one, setting),
        gate_in_plan=bool(one.entry.gate),
        stage=one.species.add_stage,
        why_here="; ".join(_reasons(one, setting)) or f"its turn in the order: {one.species.add_stage}",
        leads=tuple(_leads(one, setting)),
        alive_share_p50=alive("value"),
        alive_share_low=alive("high"),
        alive_share_high=alive("low"),
        out_of_quarantine_shares=out_of_quarantine_frac(one, setting),
        more_food_frac=more_food_frac if lives_from_food(one) else None,
    )


def _sight(one: Resident, setting: Setting) -> str:
    """What a keeper can see before it comes, where neither plan nor catalogue names anything."""
    earlier = [each for each in setting.residents if setting.comes_on(each) < setting.comes_on(one)]
    eating = [
        each.species.common_name for each in earlier if each.is_fish and each.entry.arrives_on is not None
    ]
    seen = "ammonia and nitrite not to be seen by a test, nitrate seen"
    return f"{seen}; {eating[-1]} eats every day" if one.is_fish and eating else seen


def _reasons(one: Resident, setting: Setting) -> Iterator[str]:
    species, eats = one.species, setting.guild(one).feeds_on
    grazes = max(eats[pool].value for pool in _GRAZED) >= rule_number("crew_grazes_frac")
    corals = [getattr(species, f"safe_{column}") for column in ("lps", "sps", "soft")]
    doubtful = any(grade in ("risk", "unsafe") for grade in corals)
    if species.kind in _STEADY_KINDS:
        yield "wants light, alkalinity and salinity that have been steady for weeks"
    elif species.kind == "pod":
        yield "has to multiply before anything hunts it"
    elif grazes and not one.is_fish:
        yield "grazers come when there is something to graze, and only as many as it feeds"
    if not one.is_fish:
        return
    if species.guild == "pod_picker":
        yield "hunts pods, which need months to become enough"
    if grazes:
        yield "lives in part from what grows on the rock"
    if doubtful:
        yield "doubtful with corals: it comes before them and is well fed"
    if species.aggression in FIERCE:
        yield "bold: after the peaceful ones have their places"
    elif species.aggression in ("none", "low"):
        yield "peaceful: before the bold ones"
    else:
        yield "quarrelsome at times: after the peaceful ones, before the boldest"


def _leads(one: Resident, setting: Setting) -> Iterator[Lead]:
    on = setting.comes_on(one)

    def lead(what: str, days: float) -> Lead:
        begins = on - timedelta(days=round(days))
        return Lead(what=what, begins_on=begins, in_time=begins >= setting.plan.start_on)

    if one.is_fish:
        yield lead("quarantine", number("quarantine_days"))
        fish = any(each.is_fish and setting.comes_on(each) < on for each in setting.residents)
        before = "the fish before it settled, " if fish else ""
        yield lead(
            f"filter: {before}ammonia and nitrite at zero, nitrate to be seen", rule_number("fish_gap_d")
        )
    if one.species.guild == "pod_picker":
        yield lead("refugium running and seeded with pods", rule_number("pods_lead_d"))
    if one.species.kind in ("coral", "anemone"):
        yield lead("dips and a look for pests, apart from the display", number("quarantine_days"))


def _more_food_frac(on: date, setting: Setting) -> float | None:
    """Growth of the daily need on a day; None where nothing was fed before."""
    before = _need(setting, lambda one: setting.comes_on(one) < on or one.entry.arrives_on is None)
    after = _need(setting, lambda one: setting.comes_on(one) <= on)
    return after / before - 1.0 if before > 0 else None


def _need(setting: Setting, there: Callable[[Resident], bool]) -> float:
    """Need of the fish that are there, in any unit."""
    total = 0.0
    for one in setting.residents:
        if not lives_from_food(one) or one.length_cm is None or not there(one):
            continue
        total += one.entry.count * (needed_g_per_d(one.species, one.length_cm, energy_kj_per_g=1.0) or 0.0)
    return total
