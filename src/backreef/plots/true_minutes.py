"""The minutes that chores truly took beside those that were assumed."""

from __future__ import annotations

from backreef.judgement.verdict import Forecast
from backreef.judgement.verdict_hands import LoggedTask
from backreef.plots.bars import Bar, bar_figure
from backreef.plots.figure import Figure, Table
from backreef.plots.words import minutes_words, month_name

_MOST_TASKS = 12


def true_minutes(forecast: Forecast, *, ident: str = "minutes-logged") -> Figure | None:
    """Two bars for each task, the logged one over the assumed one; None without a log."""
    logged = forecast.minutes.logged
    if not logged:
        return None
    bars = [bar for line in logged[:_MOST_TASKS] for bar in _pair(line)]
    title = "Minutes each time, as logged and as assumed"
    description = _description(logged)

    caption = f"{description} Dark: logged, from the least to the most. Pale: assumed, 5 to 95 %."
    return bar_figure(bars, (ident, title, description), table=_table(logged, title), caption=caption)


def months_logged(forecast: Forecast) -> Table:
    """The logged minutes of each month beside those of the forecast."""
    rows = tuple(
        (
            f"{month_name(month.first_on.month)} {month.first_on.year}",
            str(month.times),
            f"{month.minutes:.0f}",
            "not in the plan" if month.forecast_min is None else f"{month.forecast_min:.0f}",
        )
        for month in forecast.minutes.logged_by_month
    )
    return Table(
        caption="Minutes as logged, by month",
        columns=("month", "chores with minutes", "logged", "forecast, looks included"),
        rows=rows,
    )


def _pair(line: LoggedTask) -> list[Bar]:
    times = "once" if line.times == 1 else f"{line.times} times"
    logged = Bar(
        name=line.name,
        value=line.middle_min,
        low=line.least_min,
        high=line.most_min,
        words=f"{minutes_words(line.middle_min)} min, logged {times}",
    )
    if line.assumed_min is None:
        return [logged]
    assumed = Bar(
        name="assumed",
        value=line.assumed_min,
        low=line.assumed_low_min,
        high=line.assumed_high_min,
        words=f"{minutes_words(line.assumed_min)} min",
        look="bar-pale",
    )
    return [logged, assumed]


def _description(logged: tuple[LoggedTask, ...]) -> str:
    """How many tasks take longer, and how many less, than the band that was assumed."""
    known = [
        line for line in logged if line.assumed_low_min is not None and line.assumed_high_min is not None
    ]
    longer = sum(line.middle_min > (line.assumed_high_min or 0.0) for line in known)
    less = sum(line.middle_min < (line.assumed_low_min or 0.0) for line in known)
    words = f"Of {len(known)} tasks that were logged and are in the plan, {longer} take longer than assumed"
    return f"{words}, {less} less."


def _table(logged: tuple[LoggedTask, ...], title: str) -> Table:
    def ends(low: float | None, middle: float | None, high: float | None) -> str:
        if low is None or middle is None or high is None:
            return "not in the plan"
        return f"{minutes_words(middle)} ({low:.0f} to {high:.0f})"

    rows = tuple(
        (
            line.name,
            str(line.times),
            ends(line.least_min, line.middle_min, line.most_min),
            ends(line.assumed_low_min, line.assumed_min, line.assumed_high_min),
            str(line.times_without),
        )
        for line in logged
    )
    columns = ("task", "times", "logged (least to most)", "assumed (5 to 95 %)", "without minutes")
    return Table(caption=title, columns=columns, rows=rows)
