"""The keeper's minutes: week by week against the budget, and task by task."""

from __future__ import annotations

import numpy as np

from backreef.judgement.hands import weeks_over
from backreef.judgement.verdict import FloatArray, Forecast
from backreef.judgement.verdict_hands import DAYS_PER_WEEK, ChoreLine
from backreef.plots.bars import Bar, bar_figure
from backreef.plots.bounds import beside
from backreef.plots.figure import Drawing, Figure, Table, box, figure_of, path, rule
from backreef.plots.markup import Safe, number
from backreef.plots.months import month_asked, months, whole_asked
from backreef.plots.panel import Panel, ground, panel, ticks
from backreef.plots.pattern import hatch
from backreef.plots.ribbon_data import budget_per_week, week_totals
from backreef.plots.scale import nice_ceiling
from backreef.plots.words import figure, minutes_words, month_name, percent, short_date
from backreef.usecases.told_numbers import told_name


def minutes_by_week(forecast: Forecast, *, ident: str = "minutes-week") -> Figure | None:
    """A bar for each week of the horizon against the week's share of the budget; None without minutes."""
    ends, minutes = week_totals(forecast)
    if not minutes:
        return None
    budget = budget_per_week(forecast)
    title = "Minutes by week"
    description = _week_description(forecast, minutes, budget)

    def draw(ident: str, *, narrow: bool) -> Drawing:
        on = panel(forecast, ident, narrow=narrow, height=90.0 if narrow else 110.0)
        return _weeks(on, ends, minutes, budget), on.size

    return figure_of(
        (ident, title, description),
        draw,
        table=_week_table(forecast),
        caption=description,
        ask=whole_asked("weeks_over_budget", forecast.dates),
    )


def minutes_by_chore(forecast: Forecast, *, ident: str = "minutes-chore") -> Figure | None:
    """A bar for each task, looks apart; None where the plan has no tasks."""
    lines = sorted(forecast.minutes.by_chore, key=lambda line: -line.minutes_per_month_p50)
    if not lines:
        return None
    chores = [line for line in lines if not line.look]
    looks = [line for line in lines if line.look]
    bars = [_bar(line) for line in chores]
    if looks:
        bars += [Bar(name="Looks and head counts, outside the budget"), *(_bar(line) for line in looks)]
    title = "Minutes a month by task"
    largest = chores[0] if chores else looks[0]
    description = f"The largest is {largest.name} with {largest.minutes_per_month_p50:.0f} minutes a month."

    table = Table(
        caption=title,
        columns=("task", "minutes a month (5 to 95 %)", "times a year", "somebody must be there", "counts"),
        rows=tuple(_chore_row(line) for line in lines),
        asks=tuple(
            ("", f"{line.task}.minutes_per_month", told_name(line, "times_per_year"), "", "")
            for line in lines
        ),
    )
    return bar_figure(bars, (ident, title, description), table=table)


def _bar(line: ChoreLine) -> Bar:
    return Bar(
        name=line.name,
        value=line.minutes_per_month_p50,
        low=line.minutes_per_month_p05,
        high=line.minutes_per_month_p95,
        words=f"{minutes_words(line.minutes_per_month_p50)} min, {line.times_per_year:.0f} times a year",
        look="bar-pale" if line.look else "bar",
    )


def _chore_row(line: ChoreLine) -> tuple[str, ...]:
    low, high = line.minutes_per_month_p05, line.minutes_per_month_p95
    return (
        line.name,
        f"{minutes_words(line.minutes_per_month_p50)} ({low:.0f} to {high:.0f})",
        f"{line.times_per_year:.0f}",
        "yes" if line.needs_presence else "no",
        "apart" if line.look else "in the budget",
    )


def _weeks(on: Panel, ends: tuple[int, ...], minutes: tuple[float, ...], budget: float) -> list[Safe]:
    band = on.forecast.series["minutes_per_week"]
    most = nice_ceiling(max([budget * 1.25, *(float(v) for v in band.p95[np.isfinite(band.p95)])]))
    scale = on.scale(0.0, most)
    limit = scale.y(budget)
    parts = [ground(on), ticks(on, scale, about=3)]
    for end, value in zip(ends, minutes, strict=True):
        if not np.isfinite(value):
            continue
        left, right = on.time.at(end - DAYS_PER_WEEK + 1), on.time.at(end + 1)
        gap = 0.2 * (right - left)
        tip = scale.y(value)
        low = max(tip, limit)
        parts.append(box(left + gap / 2, low, right - left - gap, on.bottom - low, class_="bar"))
        parts.append(hatch(left + gap / 2, tip, right - left - gap, limit - tip))
    parts.append(path(_caps(on, ends, scale.ys(band.p95)), class_="cap"))
    parts.append(rule(on.time.left, limit, on.time.right, limit, class_="bound-act"))
    parts.append(beside(on.time, f"{figure(budget)} min", limit + 4))
    return parts


def _caps(on: Panel, ends: tuple[int, ...], tips: FloatArray) -> str:
    """A short level stroke for each week."""
    wide = DAYS_PER_WEEK * on.time.day_width
    known = [end for end in ends if np.isfinite(tips[end])]
    return "".join(
        f"M{number(on.time.at(e - 6) + 0.1 * wide)} {number(tips[e])}h{number(0.8 * wide)}" for e in known
    )


def _week_description(forecast: Forecast, minutes: tuple[float, ...], budget: float) -> str:
    known = [m for m in minutes if np.isfinite(m)]
    over = weeks_over(known, budget)
    words = f"{over} of {len(known)} weeks ask for more than {figure(budget)} minutes, a week's share"
    words += f" ({percent(over / len(known))})." if known else "."
    if forecast.minutes.busiest_day is not None:
        most = forecast.minutes.busiest_day_minutes
        words += f" The fullest day is {short_date(forecast.minutes.busiest_day)} with {most:.0f} minutes."
    return words + " Bars show the middle of the members, the stroke above each its 95 % point."


def _week_table(forecast: Forecast) -> Table:
    band = forecast.series["minutes_per_week"]
    rows = []
    for span in months(forecast.dates):
        weeks = slice(span.first, span.last)
        total = float(np.nanmean(band.p50[weeks])) if np.isfinite(band.p50[weeks]).any() else float("nan")
        most = float(np.nanmax(band.p50[weeks])) if np.isfinite(band.p50[weeks]).any() else float("nan")
        rows.append((f"{month_name(span.on.month)} {span.on.year}", figure(total, 3), figure(most, 3)))
    return Table(
        caption="Minutes a week, by month",
        columns=("month", "a week, on average", "fullest week"),
        rows=tuple(rows),
        asks=tuple(
            ("", month_asked("minutes_per_week", span), month_asked("minutes_per_week_most", span))
            for span in months(forecast.dates)
        ),
    )
