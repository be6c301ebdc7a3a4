"""The work of a forecast in full, read as a keeper reads it."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

import numpy as np

from backreef.judgement.verdict import Band, Forecast
from backreef.reports.text_layout import Style
from backreef.reports.work_text import work_page
from tests import forecast_world as world

PLAIN = Style(width=80, colour=False, ascii_only=True)


def with_weeks(per_day: dict[date, float]) -> Forecast:
    """A forecast whose weeks are the trailing sums of these days, a tenth less and more at the ends."""
    base = world.a_holding_forecast()
    days = np.zeros(base.days)
    for on, minutes in per_day.items():
        days[(on - base.start_on).days] = minutes
    weeks = np.convolve(days, np.ones(7))[: base.days]
    band = Band(p05=0.9 * weeks, p50=weeks, p95=1.1 * weeks)
    return replace(base, series={**base.series, "minutes_per_week": band})


def part(forecast: Forecast) -> list[str]:
    lines = work_page(forecast, PLAIN).splitlines()
    first = lines.index("Minutes by week")
    last = next((n for n in range(first + 1, len(lines)) if lines[n] and not lines[n].startswith(" ")), None)
    return [line.rstrip() for line in lines[first:last]]


def test_the_fullest_weeks_come_first_with_their_ends() -> None:
    monday, next_sunday, later = date(2027, 3, 1), date(2027, 3, 7), date(2028, 12, 31)
    shown = part(with_weeks({monday: 30.0, next_sunday: 20.0, later: 40.0}))
    rows = [line.split() for line in shown if line.strip()[:1].isdigit() and "week" not in line]
    assert [row[-2:] for row in rows] == [["50", "45-55"], ["40", "36-44"]]
    assert rows[0][:3] == ["1", "Mar", "2027"], "a Monday and the Sunday after are one week"
    assert rows[1][:3] == ["25", "Dec", "2028"], "the week over New Year is one"


def test_it_counts_weeks_without_work() -> None:
    base = world.a_holding_forecast()
    whole = sum(
        1 for day in range(6, base.days) if date.fromordinal(base.start_on.toordinal() + day).weekday() == 6
    )
    text = " ".join(" ".join(part(with_weeks({date(2027, 3, 1): 30.0}))).split())
    assert f"{whole} whole weeks, Monday to Sunday: 0 minutes in the middle one" in text
    assert f"no work but looks in {whole - 1}" in text


def test_without_a_series_of_weeks_nothing_is_said() -> None:
    base = world.a_holding_forecast()
    bare = {name: band for name, band in base.series.items() if name != "minutes_per_week"}
    assert "Minutes by week" not in work_page(replace(base, series=bare), PLAIN)
