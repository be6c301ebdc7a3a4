"""The work of a forecast in full, for a terminal: months, days that need somebody, what each part costs."""

from __future__ import annotations

from collections import Counter

from backreef.judgement.verdict import Forecast, MarginalMinutes
from backreef.plots.words import month_name, plural
from backreef.reports.text_layout import Style, heading, paragraph, text_table

WEEKDAYS = ("Mondays", "Tuesdays", "Wednesdays", "Thursdays", "Fridays", "Saturdays", "Sundays")
NOTHING_MINUTES = 0.05
"""Less than this a month is no difference."""
KINDS = {"animals": "Animals", "meal": "Meals", "device": "Devices"}


def work_page(forecast: Forecast, style: Style) -> str:
    """The whole page, ending with a line break."""
    lines = [*_months(forecast, style), *_days(forecast, style), *_dropped(forecast, style)]
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


def minutes_change(line: MarginalMinutes) -> str:
    """A cost with a plus, a saving with a minus, and nothing as nothing."""
    middle = line.minutes_per_month_p50
    return "nothing" if abs(middle) < NOTHING_MINUTES else f"{middle:+.1f}"
