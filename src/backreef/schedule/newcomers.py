"""Implied work around newcomers and absences."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import replace

from backreef.catalogue.entries import Value
from backreef.schedule.presence import AwayStretch
from backreef.schedule.setting import KEEPER_ENTRY, Setting, arrival_day, entries_of, line_of
from backreef.schedule.tables import ImpliedRule, workload
from backreef.schedule.work import Due


def _arrivals(rule: ImpliedRule, setting: Setting) -> Iterator[Due]:
    """Work on the very day animals come; several entries of one day overlap in part."""
    further = workload().numbers["further_newcomers_frac"].value
    seen: set[int] = set()
    for entry in entries_of(rule, setting):
        if entry.arrives_on is None or entry.arrives_on < setting.plan.start_on:
            continue
        day = arrival_day(entry, setting)
        line = replace(line_of(rule, setting, entry_id=entry.id, interval_d=1.0), repeats=False)
        minutes = line.minutes.times(further) if day in seen else line.minutes
        seen.add(day)
        yield Due(line=line, day=day, minutes=minutes, earliest=day, latest=day)


def _quarantine(rule: ImpliedRule, setting: Setting) -> Iterator[Due]:
    """Daily care of newcomers before they join, where the plan has a tank for it."""
    tank = next((entry for entry in setting.plan.devices if entry.kind in rule.devices), None)
    if tank is None:
        return
    lead = int(rule.numbers["lead_days"].value)
    days: set[int] = set()
    for entry in entries_of(rule, setting):
        if entry.arrives_on is not None:
            arrival = (entry.arrives_on - setting.plan.start_on).days
            days.update(range(max(0, arrival - lead), arrival))
    line = line_of(rule, setting, entry_id=tank.id, interval_d=1.0)
    for day in sorted(days):
        yield Due(line=line, day=day)


def _long_absences(rule: ImpliedRule, setting: Setting) -> Iterator[AwayStretch]:
    """Absences longer than the rule's days and than those that every week brings."""
    longer_than: Value = rule.numbers["longer_than_days"]
    for stretch in setting.presence.absences:
        if stretch.days > max(longer_than.value, setting.presence.ordinary_gap_days):
            yield stretch


def _before_absences(rule: ImpliedRule, setting: Setting) -> Iterator[Due]:
    lead = rule.numbers["lead_days"]
    line = replace(line_of(rule, setting, entry_id=KEEPER_ENTRY, interval_d=1.0), repeats=False)
    for stretch in _long_absences(rule, setting):
        latest = stretch.first_day - 1
        if latest >= 0:
            earliest = max(0, stretch.first_day - int(lead.highest))
            day = max(0, stretch.first_day - int(lead.value))
            yield Due(line=line, day=day, earliest=earliest, latest=latest)


def _after_absences(rule: ImpliedRule, setting: Setting) -> Iterator[Due]:
    line = replace(line_of(rule, setting, entry_id=KEEPER_ENTRY, interval_d=1.0), repeats=False)
    for stretch in _long_absences(rule, setting):
        day = stretch.last_day + 1
        if day < setting.presence.days:
            yield Due(line=line, day=day, earliest=day, latest=day)


AROUND_EVENTS: dict[str, Callable[[ImpliedRule, Setting], Iterator[Due]]] = {
    "arrival": _arrivals,
    "before_arrival": _quarantine,
    "before_absence": _before_absences,
    "after_absence": _after_absences,
}
"""Rhythm -> the occurrences of a rule with it."""
