"""Rules of order: age of the tank, gates, who comes before whom, pauses, absences."""

from __future__ import annotations

from itertools import pairwise

from backreef.aquarium.absence import longest_absence
from backreef.catalogue.entries import known
from backreef.company.findings import (
    CheckFinding,
    Found,
    Lacking,
    Resident,
    Rule,
    Setting,
    about,
    rule_number,
    rule_source,
)
from backreef.company.rivals import FIERCE
from backreef.units import DAYS_PER_MONTH

STAGES = ("first", "early", "middle", "late", "last")


def too_early(setting: Setting) -> Found:
    """An animal that comes before the tank is old enough to feed and bear it."""
    for one in setting.residents:
        least = known(one.species.min_tank_age_months)
        if least is None:
            yield Lacking(one=one, fact="the age of tank that it wants")
            continue
        age = age_months(one, setting)
        if age >= least.value:
            continue
        arrives = one.entry.arrives_on
        when = "already there" if arrives is None else f"to come on {arrives}"
        yield about(
            one,
            setting,
            rule="tank_age",
            weight="serious" if age < least.lowest else "caution",
            what=f"{one.called}: too early for this tank",
            why=f"{when}, when the tank is {age:.1f} months old; it wants {least.value:g}",
            value=least,
            condition=one.species.add_gate,
        )


def age_months(one: Resident, setting: Setting) -> float:
    """Age of the tank when an animal comes. [months]"""
    days = (setting.comes_on(one) - setting.plan.start_on).days
    return setting.plan.tank.start.age_months + days / DAYS_PER_MONTH


def no_gate(setting: Setting) -> Found:
    """An animal that should wait for something to be seen, but comes by its date alone."""
    for one in setting.residents:
        gate = one.species.add_gate
        if not gate or one.entry.arrives_on is None or one.entry.gate:
            continue
        yield about(
            one,
            setting,
            rule="gate",
            weight="note",
            what=f"{one.called}: comes by date, whatever is to be seen",
            why=f"before it comes: {gate}",
            condition="a gate in the plan says what to look for; a forecast tells how often it is open",
        )


def out_of_turn(setting: Setting) -> Found:
    """A bold fish that comes before a peaceful one which should be there first."""
    fish = [one for one in setting.residents if one.is_fish]
    for bold in fish:
        if bold.species.aggression not in FIERCE:
            continue
        later = [
            other
            for other in fish
            if other.species.aggression not in FIERCE
            and setting.comes_on(other) > setting.comes_on(bold)
            and STAGES.index(other.species.add_stage) < STAGES.index(bold.species.add_stage)
        ]
        if not later:
            continue
        names = ", ".join(other.called for other in later)
        yield about(
            bold,
            setting,
            rule="order",
            weight="caution",
            what=f"{bold.called}: comes before more peaceful fish",
            why=f"it belongs {bold.species.add_stage} in the order; after it come {names}",
            condition="the longer it is there the harder it defends its place, and size counts",
            from_on=min(setting.comes_on(other) for other in later),
        )


def too_fast(setting: Setting) -> Found:
    """Fish that come in steps closer together than filter and tempers bear."""
    days = sorted({one.entry.arrives_on for one in setting.residents if one.is_fish and one.entry.arrives_on})
    source, status = rule_source("fish_gap_d")
    for first, later in pairwise(days):
        gap = (later - first).days
        if gap >= rule_number("fish_gap_d"):
            continue
        names = ", ".join(
            one.called for one in setting.residents if one.is_fish and one.entry.arrives_on == later
        )
        yield CheckFinding(
            id=f"pause.{later}",
            balance="water",
            weight="note",
            who=names,
            what=f"{names}: only {gap} days after the fish before",
            why=f"{rule_number('fish_gap_d'):g} days let the filter grow and the last ones settle",
            source=source,
            status=status,
            condition="each step should raise the daily food by no more than a third to a half",
            from_on=later,
        )


def before_absence(setting: Setting) -> Found:
    """An animal that comes in the weeks before the longest absence."""
    absence = longest_absence(setting.plan)
    if absence.first_on is None or absence.days < rule_number("long_absence_d"):
        return
    for one in setting.residents:
        arrives = one.entry.arrives_on
        if arrives is None or not one.is_fish:
            continue
        left = (absence.first_on - arrives).days
        if 0 <= left < rule_number("before_absence_d"):
            yield about(
                one,
                setting,
                rule="absence",
                weight="caution",
                what=f"{one.called}: comes {left} days before nobody is there",
                why=f"{absence.days} days without anybody begin on {absence.first_on}; most losses fall in "
                "the first weeks, and somebody has to see them",
                number="before_absence_d",
                from_on=arrives,
            )


RULES = (
    Rule(
        name="tank_age",
        look=too_early,
        reads=("min_tank_age_months", "add_gate"),
        plan=("tank.start.age", "animals[].arrives_on"),
    ),
    Rule(
        name="order",
        look=out_of_turn,
        reads=("add_stage", "aggression"),
        plan=("animals[].arrives_on",),
    ),
    Rule(
        name="absence",
        look=before_absence,
        reads=(),
        plan=("animals[].arrives_on", "keeper.presence", "keeper.closed"),
    ),
    Rule(name="pause", look=too_fast, reads=(), plan=("animals[].arrives_on",)),
    Rule(name="gate", look=no_gate, reads=("add_gate",), plan=("animals[].gate", "animals[].arrives_on")),
)
