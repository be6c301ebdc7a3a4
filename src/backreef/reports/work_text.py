"""The work of a forecast in full, for a terminal: months, days that need somebody, what each part costs."""

from __future__ import annotations

from collections import Counter
from datetime import date, timedelta

import numpy as np

from backreef.judgement.verdict import Forecast
from backreef.judgement.verdict_hands import LoggedTask, MarginalMinutes
from backreef.plots.words import minutes_words, month_name, plural, short_date
from backreef.reports.text_layout import Style, heading, paragraph, text_table

WEEKDAYS = ("Mondays", "Tuesdays", "Wednesdays", "Thursdays", "Fridays", "Saturdays", "Sundays")
DAYS_PER_WEEK, SUNDAY, FULLEST_WEEKS = 7, 6, 5
NOTHING_MINUTES = 0.05
"""Less than this a month is no difference."""
LOGGED_NOTE = (
    "Assumed: with its part of the set-up, middle of the members (5 to 95 %). Where yours differ, give the "
    'entry of the plan its own minutes, as minutes = "7 min".'
)
FAILURES_NOTE = (
    "Times are guesses from common practice. Feeders jam in the forecast itself; these do not happen in it: "
    "'rehearse' shows what each would do to the animals while nobody is there."
)
KINDS = {"animals": "Animals", "meal": "Meals", "device": "Devices"}


def work_page(forecast: Forecast, style: Style) -> str:
    """The whole page, ending with a line break."""
    lines = [*_months(forecast, style), *_weeks(forecast, style)]
    lines += [*_days(forecast, style), *_dropped(forecast, style), *_failures(forecast, style)]
    lines += _logged(forecast, style)
    lines += _marginal(forecast, style)
    return "\n".join(lines) + "\n"


def _months(forecast: Forecast, style: Style) -> list[str]:
    rows = [
        (
            f"{month_name(line.first_on.month)} {line.first_on.year}",
            f"{line.minutes_p50:.0f}",
            f"{line.minutes_p05:.0f}-{line.minutes_p95:.0f}",
            f"{line.budget_minutes:.0f}",
            "over" if line.minutes_p50 > line.budget_minutes else "",
        )
        for line in forecast.minutes.by_month
    ]
    if not rows:
        return []
    return heading("Minutes by month", style) + text_table(
        ("month", "min", "5-95 %", "given", ""), rows, style
    )


def _weeks(forecast: Forecast, style: Style) -> list[str]:
    """How full the whole weeks of the calendar are, and which are the fullest."""
    band = forecast.series.get("minutes_per_week")
    if band is None:
        return []
    sundays = (
        day for day in range(DAYS_PER_WEEK - 1, forecast.days) if _on(forecast, day).weekday() == SUNDAY
    )
    ends = [day for day in sundays if np.isfinite(band.p50[day])]
    if not ends:
        return []
    idle = sum(1 for day in ends if band.p95[day] < NOTHING_MINUTES)
    middle = float(np.median(band.p50[ends]))
    words = f"{plural(len(ends), 'whole week')}, Monday to Sunday: {middle:.0f} minutes in the middle one, "
    words += f"no work but looks in {idle}. The fullest:"
    lines = heading("Minutes by week", style) + paragraph(words, style, first="  ", rest="  ")
    fullest = sorted(ends, key=lambda day: (-float(band.p50[day]), day))[:FULLEST_WEEKS]
    rows = [
        (
            short_date(_on(forecast, day - DAYS_PER_WEEK + 1)),
            f"{band.p50[day]:.0f}",
            f"{band.p05[day]:.0f}-{band.p95[day]:.0f}",
        )
        for day in fullest
        if band.p50[day] >= NOTHING_MINUTES
    ]
    return lines + text_table(("week of", "min", "5-95 %"), rows, style)


def _on(forecast: Forecast, day: int) -> date:
    return forecast.start_on + timedelta(days=day)


def _days(forecast: Forecast, style: Style) -> list[str]:
    days = forecast.minutes.needs_somebody
    lines = heading("Days that need somebody", style)
    by_weekday = Counter(day.weekday() for day in days)
    named = [f"{count} {WEEKDAYS[weekday]}" for weekday, count in sorted(by_weekday.items())]
    words = f"{plural(len(days), 'day')} of {forecast.days}"
    return lines + paragraph(
        f"{words}: {', '.join(named)}." if named else f"{words}.", style, first="  ", rest="  "
    )


def _dropped(forecast: Forecast, style: Style) -> list[str]:
    """Chores that many people drop, as far as the plan has them."""
    marked = [line for line in forecast.minutes.by_chore if line.often_dropped_after_months is not None]
    if not marked:
        return []
    lines = heading("Often dropped after a while (common practice, no source)", style)
    for line in marked:
        words = f"{line.name}: by many after {line.often_dropped_after_months:.0f} months. Try "
        words += f"--stop {line.task}={line.often_dropped_after_months:.0f}"
        lines += paragraph(words, style, first="  - ", rest="    ")
    return lines


def _failures(forecast: Forecast, style: Style) -> list[str]:
    """How often devices fail and how long nobody sees it."""
    failures = forecast.minutes.failures
    if not failures:
        return []
    rows = [
        (
            line.what,
            f"{line.times:.1f}",
            f"{line.times_low:.1f}-{line.times_high:.1f}",
            f"{line.unseen_d:.1f}",
            f"{line.unseen_longest_d} from {short_date(line.longest_from)}",
        )
        for line in failures
    ]
    lines = heading("Devices that fail", style)
    lines += text_table(("what", "times", "low-high", "days unseen", "longest"), rows, style)
    return lines + paragraph(FAILURES_NOTE, style, first="  ", rest="  ")


def _logged(forecast: Forecast, style: Style) -> list[str]:
    """What the log says of minutes, beside what was assumed."""
    minutes = forecast.minutes
    if not minutes.logged:
        return []
    rows = [(line.name, str(line.times), logged_words(line), assumed_words(line)) for line in minutes.logged]
    lines = heading("Minutes as logged, each time", style)
    lines += text_table(("task", "times", "logged", "assumed"), rows, style)
    lines += paragraph(LOGGED_NOTE, style, first="  ", rest="  ")
    months = [
        (
            f"{month_name(month.first_on.month)} {month.first_on.year}",
            str(month.times),
            f"{month.minutes:.0f}",
            "not in the plan" if month.forecast_min is None else f"{month.forecast_min:.0f}",
        )
        for month in minutes.logged_by_month
    ]
    lines += heading("Minutes as logged, by month", style)
    return lines + text_table(("month", "chores", "logged", "forecast"), months, style)


def _marginal(forecast: Forecast, style: Style) -> list[str]:
    if not forecast.minutes.marginal:
        return []
    lines = heading("What each part costs or saves", style)
    words = "Minutes a month with it less those without it, helpers' included, simulated both ways."
    lines += paragraph(words, style, first="  ", rest="  ")
    rows = [
        (
            KINDS[line.kind],
            line.name,
            minutes_change(line),
            f"{line.minutes_per_month_p05:+.1f} to {line.minutes_per_month_p95:+.1f}",
        )
        for line in forecast.minutes.marginal
    ]
    return lines + text_table(("part", "which", "min a month", "5-95 %"), rows, style)


def logged_words(line: LoggedTask) -> str:
    """The middle of what was logged, with the ends where there are several."""
    middle = minutes_words(line.middle_min)
    return middle if line.times == 1 else f"{middle} ({line.least_min:.0f}-{line.most_min:.0f})"


def assumed_words(line: LoggedTask) -> str:
    """What the forecast takes for one time, with 5 to 95 % of the members."""
    if line.assumed_min is None or line.assumed_low_min is None or line.assumed_high_min is None:
        return "not in the plan"
    low, high = line.assumed_low_min, line.assumed_high_min
    return f"{minutes_words(line.assumed_min)} ({low:.0f}-{high:.0f})"


def minutes_change(line: MarginalMinutes) -> str:
    """A cost with a plus, a saving with a minus, and nothing as nothing."""
    middle = line.minutes_per_month_p50
    return "nothing" if abs(middle) < NOTHING_MINUTES else f"{middle:+.1f}"
