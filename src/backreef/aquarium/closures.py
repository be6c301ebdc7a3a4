"""Closed days from a calendar file (iCalendar, RFC 5545): its all-day events become closed rules.

An all-day event closes its days; one that repeats every year closes them every year. Events with hours are
passed over, since a meeting closes nothing. Any other repetition is refused rather than half understood.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from datetime import date, timedelta
from pathlib import Path

from backreef.aquarium.document import read_text
from backreef.aquarium.phrases import Unreadable
from backreef.aquarium.plan import ClosedRule
from backreef.errors import InputFaults

_YEARLY = re.compile(r"FREQ=YEARLY(;INTERVAL=1)?", re.IGNORECASE)
_DAY = re.compile(r"(\d{4})(\d{2})(\d{2})")
_ESCAPED = re.compile(r"\\([nN,;\\])")
Properties = dict[str, str]


def read_closures(calendar: str, *, plan_file: str) -> tuple[ClosedRule, ...]:
    """The closed days of a calendar whose path is relative to the plan file."""
    path = Path(plan_file).parent / calendar
    try:
        text = read_text(path)
    except InputFaults as refused:
        raise Unreadable(f"'{calendar}' {refused.faults[0].message}") from None
    rules = tuple(rule for event in _events(text) for rule in _rules(event, calendar))
    if not rules:
        raise Unreadable(f"'{calendar}' holds no all-day event; closed days are all-day events of a calendar")
    return rules


def _events(text: str) -> Iterator[Properties]:
    """The properties of each event, parameters of the name cut off; folded lines are joined first."""
    event: Properties | None = None
    for line in re.sub(r"\r?\n[ \t]", "", text).splitlines():
        name, _, value = line.partition(":")
        key = name.partition(";")[0].strip().upper()
        if (key, value.strip().upper()) == ("BEGIN", "VEVENT"):
            event = {}
        elif (key, value.strip().upper()) == ("END", "VEVENT") and event is not None:
            yield event
            event = None
        elif event is not None:
            event.setdefault(key, value.strip())


def _rules(event: Properties, calendar: str) -> Iterator[ClosedRule]:
    """The rule of one event; none for events with hours and for those that were called off."""
    first = _day(event.get("DTSTART", ""))
    if first is None or event.get("STATUS", "").upper() == "CANCELLED":
        return
    end = _day(event.get("DTEND", ""))
    last = end - timedelta(days=1) if end is not None and end > first else first
    label = (
        _ESCAPED.sub(lambda sign: " " if sign[1] in "nN" else sign[1], event.get("SUMMARY", "")) or "closed"
    )
    repeats = event.get("RRULE")
    if repeats is None:
        yield ClosedRule(kind="dates", label=label, first_on=first, last_on=last)
    elif _YEARLY.fullmatch(repeats):
        yield ClosedRule(
            kind="yearly",
            label=label,
            first_month=first.month,
            first_day=first.day,
            last_month=last.month,
            last_day=last.day,
        )
    else:
        raise Unreadable(
            f"'{calendar}': '{label}' repeats by {repeats}; only single stretches and those "
            "of every year are read, so write it as a rule of keeper.closed"
        )


def _day(written: str) -> date | None:
    """The date of a value without hours; None for any other."""
    match = _DAY.fullmatch(written)
    if match is None:
        return None
    try:
        return date(int(match[1]), int(match[2]), int(match[3]))
    except ValueError:
        return None
