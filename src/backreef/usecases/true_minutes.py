"""The minutes that chores truly took, from the log, beside those that a forecast assumed."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace
from datetime import date, datetime
from pathlib import Path
from statistics import median
from typing import TYPE_CHECKING

from backreef.judgement.verdict import Forecast
from backreef.judgement.verdict_hands import ChoreLine, LoggedMonth, LoggedTask, MonthLine
from backreef.logbook.entries import Chore, Entry
from backreef.logbook.store import LogbookStore, Wanted
from backreef.units import DAYS_PER_YEAR

if TYPE_CHECKING:
    from backreef.usecases.log_desk import Desk

MONTHS_PER_YEAR = 12.0
Logged = Sequence[tuple[datetime, Chore]]


def desk_of_plan(plan: str | Path, place: str | None = None) -> Desk:
    """Where the log of a plan's tank is looked for: beside the plan unless `place` says otherwise."""
    from backreef.usecases.log_desk import desk_of

    return desk_of(tank=str(plan), place=place, folder=Path.cwd())


def chores_of(store: LogbookStore, tank: str) -> tuple[Entry, ...]:
    """The chores in the log of a tank."""
    return store.entries(Wanted(tank=tank, kinds=(Chore.kind,)))


def with_true_minutes(forecast: Forecast, entries: Sequence[Entry]) -> Forecast:
    """The forecast with what the log says of minutes; entries of other kinds count for nothing.

    A chore that was logged without its minutes is counted, and its minutes are not guessed.
    """
    chores = [(entry.at, entry.what) for entry in entries if isinstance(entry.what, Chore)]
    minutes = forecast.minutes
    logged = tuple(_by_task(chores, minutes.by_chore, _names(chores)))
    months = tuple(_by_month(chores, minutes.by_month, _looks_per_day_min(forecast)))
    return replace(forecast, minutes=replace(minutes, logged=logged, logged_by_month=months))


def _names(chores: Logged) -> Mapping[str, str]:
    from backreef.catalogue.load import load_catalogue

    tasks = load_catalogue().tasks
    return {what.task: tasks[what.task].name if what.task in tasks else what.task for _, what in chores}


def _by_task(chores: Logged, lines: Sequence[ChoreLine], names: Mapping[str, str]) -> Iterable[LoggedTask]:
    assumed = {line.task: line for line in lines}
    taken: dict[str, list[float]] = defaultdict(list)
    without: dict[str, int] = defaultdict(int)
    for _, what in chores:
        if what.minutes is None:
            without[what.task] += 1
        else:
            taken[what.task].append(what.minutes)
    for task, each in sorted(taken.items(), key=lambda pair: (-sum(pair[1]), pair[0])):
        low, middle, high = _assumed_each(assumed.get(task))
        yield LoggedTask(
            task=task,
            name=names[task],
            times=len(each),
            times_without=without[task],
            least_min=min(each),
            middle_min=median(each),
            most_min=max(each),
            assumed_low_min=low,
            assumed_min=middle,
            assumed_high_min=high,
        )


def _assumed_each(line: ChoreLine | None) -> tuple[float | None, float | None, float | None]:
    """Minutes that one time takes in the forecast: 5, 50 and 95 % of the members."""
    if line is None or line.times_per_year <= 0:
        return None, None, None
    per_month = (line.minutes_per_month_p05, line.minutes_per_month_p50, line.minutes_per_month_p95)
    low, middle, high = (each * MONTHS_PER_YEAR / line.times_per_year for each in per_month)
    return low, middle, high


def _looks_per_day_min(forecast: Forecast) -> float:
    """Looks stand apart from the budget; a log does not tell them apart. [min/d]"""
    return forecast.minutes.looks_per_month_p50 * MONTHS_PER_YEAR / DAYS_PER_YEAR


def _by_month(chores: Logged, lines: Sequence[MonthLine], looks_min_per_d: float) -> Iterable[LoggedMonth]:
    """Each calendar month in which something was logged with its minutes."""
    expected = {line.first_on.replace(day=1): line for line in lines}
    total: dict[date, list[float]] = defaultdict(list)
    for at, what in chores:
        if what.minutes is not None:
            total[at.date().replace(day=1)].append(what.minutes)
    for first_on, each in sorted(total.items()):
        line = expected.get(first_on)
        yield LoggedMonth(
            first_on=first_on,
            minutes=sum(each),
            times=len(each),
            forecast_min=None if line is None else line.minutes_p50 + looks_min_per_d * line.days,
        )
