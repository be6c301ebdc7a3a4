"""The ribbon in words: its text alternative, its key, and the table behind it."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date

import numpy as np

from backreef.plots.absence import long_absences, usual_days
from backreef.plots.figure import KeyEntry, Table, box, path, rule
from backreef.plots.markup import element, printable
from backreef.plots.months import Span, month_asked, months, span_band
from backreef.plots.pattern import away, rocks, sample
from backreef.plots.ribbon_data import RibbonData
from backreef.plots.words import (
    BALANCE_TITLES,
    clause,
    figure,
    horizon_end,
    long_date,
    members,
    month_name,
    plural,
    reading,
    series_words,
    short_date,
    spread_words,
)


def ribbon_description(data: RibbonData) -> str:
    """The whole ribbon for somebody who cannot see it."""
    forecast = data.forecast
    until = long_date(horizon_end(forecast))
    head = f"Time runs from {long_date(forecast.start_on)} to {until}. "
    head += f"The plan holds in {members(forecast.share_holding, forecast.members)}. "
    parts: list[str] = []
    for verdict in forecast.balances:
        name = BALANCE_TITLES[verdict.name]
        if verdict.holds:
            parts.append(f"{name} holds to the end.")
        else:
            cause = f": {clause(printable(verdict.cause))}" if verdict.cause else ""
            parts.append(f"{name} breaks on {long_date(verdict.first_break)}{cause}.")
    if data.thinnest_words:
        parts.append(f"The thinnest animal is {data.thinnest_words}.")
    if data.arrivals:
        first, last = data.arrivals[0], data.arrivals[-1]
        times = plural(len(data.arrivals), "arrival")
        parts.append(f"{times} between {short_date(first.on)} and {short_date(last.on)}.")
    absences = long_absences(forecast)
    if absences:
        parts.append(f"{plural(len(absences), 'long stretch', 'long stretches')} with nobody there.")
    return head + " ".join(parts)


def ribbon_key(data: RibbonData) -> tuple[KeyEntry, ...]:
    """What the marks mean, only those that are in the picture."""
    forecast = data.forecast
    entries = [
        KeyEntry(sample=sample(rule(0, 8, 34, 8, class_="plan-holds")), words="the plan holds"),
    ]
    if not forecast.holds:
        crossed = element("path", class_="cross", d="M12 3L22 13M12 13L22 3")
        entries.append(KeyEntry(sample=sample(crossed), words="first day more than 5 % of members broke"))
        entries.append(KeyEntry(sample=sample(box(0, 0, 34, 16, class_="broken")), words="after a break"))
    if data.by_hand_g.any() or data.by_feeder_g.any():
        up = path("M3 8V1H7V8ZM13 8V3H17V8ZM23 8V1H27V8Z", class_="meal-hand")
        down = path("M3 8V13H32V8Z", class_="meal-feeder")
        entries.append(KeyEntry(sample=sample(up, down), words="meals: up by hand, down by feeder"))
    area = path("M0 13L34 9L34 2L0 8Z", class_="area")
    line = path("M0 10.5L34 5", class_="line")
    entries.append(KeyEntry(sample=sample(area, line), words="middle of the members, and 5 to 95 %"))
    entries.append(KeyEntry(sample=sample(rule(0, 8, 34, 8, class_="bound-act")), words="act, or budget"))
    ground = rocks(0, 0, 34, 11)
    harm = rule(0, 11, 34, 11, class_="bound-harm")
    entries.append(KeyEntry(sample=sample(ground, harm), words="harm begins; rocks beyond"))
    if long_absences(forecast):
        entries.append(
            KeyEntry(
                sample=sample(away(0, 0, 34, 16)),
                words="nobody there for longer than usual" if usual_days(forecast) else "nobody there",
            )
        )
    if data.readings:
        dot = element("circle", class_="reading", cx=17, cy=8, r=2.6)
        entries.append(KeyEntry(sample=sample(dot), words="a reading from the log"))
    return tuple(entries)


def ribbon_table(data: RibbonData, inside: Sequence[date] = ()) -> Table:
    """The ribbon month by month; of those months only that have one of the days, where there are any."""
    forecast = data.forecast
    names = [series_words(forecast, name) for name, _, _ in data.water]
    columns = (
        "month",
        "arrivals",
        "days without a meal",
        "grams a day, by hand",
        "grams a day, by feeder",
        "condition of the thinnest",
        *(f"{label}, {unit} (5 to 95 %)" for label, unit in names),
        "minutes a week, most",
        "days away",
    )
    wanted = {(on.year, on.month) for on in inside or forecast.dates}
    rows = tuple(
        _month_row(data, span) for span in months(forecast.dates) if (span.on.year, span.on.month) in wanted
    )
    share = figure(data.budget_per_week)
    caption = f"The ribbon in numbers, by month; a week's share of the budget is {share} min"
    asked = (
        ("days_without_a_meal", "food_g_per_d_by_hand", "food_g_per_d_by_feeder", "thinnest_condition"),
        tuple(name for name, _, _ in data.water),
        ("minutes_of_week_most", "days_away"),
    )
    asks = tuple(
        ("", "", *(month_asked(name, span) for names in asked for name in names))
        for span in months(forecast.dates)
        if (span.on.year, span.on.month) in wanted
    )
    return Table(caption=caption, columns=columns, rows=rows, asks=asks)


def _month_row(data: RibbonData, span: Span) -> tuple[str, ...]:
    forecast, part, on = data.forecast, span.part, span.on
    until = forecast.dates[span.last - 1]
    arrivals = "; ".join(a.words for a in data.arrivals if on <= a.on <= until)
    meals = data.by_hand_g[part] + data.by_feeder_g[part]
    thin = data.thinnest[part][np.isfinite(data.thinnest[part])]
    weeks = [
        m for end, m in zip(data.week_ends, data.week_minutes, strict=True) if span.first <= end < span.last
    ]
    water = [spread_words(span_band(band, span)) for _, band, _ in data.water]
    return (
        f"{month_name(on.month)} {on.year}",
        arrivals or "–",
        str(int(np.count_nonzero(meals <= 0))),
        reading(float(data.by_hand_g[part].mean())),
        reading(float(data.by_feeder_g[part].mean())),
        reading(float(thin.min())) if thin.size else "–",
        *water,
        f"{max(weeks):.0f}" if weeks else "–",
        str(_away_days(data, on, until)),
    )


def _away_days(data: RibbonData, first: date, last: date) -> int:
    return sum(max(0, (min(a.last_on, last) - max(a.first_on, first)).days + 1) for a in data.forecast.away)
