"""A figure by the name that somebody asked it by: which it is, of which day, and its answer."""

from __future__ import annotations

import difflib
import re
from collections.abc import Iterator, Mapping
from datetime import date, timedelta

from backreef.usecases.asked import Asking, Days, Figure, Found, refused
from backreef.usecases.asked_absence import absence_figures, absence_of
from backreef.usecases.asked_animals import animal_figures
from backreef.usecases.asked_bodies import body_figures
from backreef.usecases.asked_corals import coral_figures
from backreef.usecases.asked_crew import crew_figures
from backreef.usecases.asked_fed import fed_figures
from backreef.usecases.asked_hands import task_figures
from backreef.usecases.asked_help import help_figures
from backreef.usecases.asked_months import month_figures
from backreef.usecases.asked_tank import tank_figures
from backreef.usecases.asked_told import told_figure, told_figures
from backreef.usecases.asked_water import series_figures
from backreef.usecases.told_numbers import could_be_told

_NEAR, _MOST_HINTS = 0.5, 5


def plan_figures(asking: Asking) -> Iterator[Figure]:
    """Every figure of a plan that is known before it is simulated."""
    living = (animal_figures, fed_figures, coral_figures, body_figures, crew_figures)
    away = (absence_figures, help_figures)
    for family in (tank_figures, *living, task_figures, *away, series_figures, month_figures):
        yield from family(asking)


def known_figures(asking: Asking) -> dict[str, Figure]:
    """The same, by their names; or all that can be asked of a fit."""
    own = asking.own_figures()
    return {one.name: one for one in (plan_figures(asking) if own is None else own)}


def answered(asking: Asking, known: Mapping[str, Figure], figure: str) -> tuple[Figure, Found]:
    """The figure of a name, and its answer.

    Raises
    ------
    InputFaults
        If the plan has no such figure or not such a day.
    """
    name, at, day = figure.partition("@")
    found = _figure(asking, known, name.strip())
    return found, _answer(asking, found, day.strip()) if at else found.find(asking, None)


def _figure(asking: Asking, known: Mapping[str, Figure], name: str) -> Figure:
    of_forecast = asking.own_figures() is None
    found = known.get(name) or (told_figure(asking, name) if of_forecast else None)
    if found is not None:
        return found
    if of_forecast and could_be_told(name):
        known = {**known, **{one.name: one for one in told_figures(asking)}}
    near = difflib.get_close_matches(name, known, n=_MOST_HINTS, cutoff=_NEAR)
    near += [one for one in known if name and name in one and one not in near][:_MOST_HINTS]
    hint = f"did you mean {' or '.join(near[:_MOST_HINTS])}?"
    if not near:
        hint = "'why PLAN' lists all that can" if of_forecast else "'why PLAN fit' lists all that can"
    raise refused(asking, f"'{name}' cannot be asked of this plan; {hint}")


def _answer(asking: Asking, figure: Figure, at: str) -> Found:
    """A figure of a day or an absence."""
    if figure.over is not None and (days := days_together(asking, figure, at)) is not None:
        return figure.over(asking, days)
    if figure.away is None:
        return figure.find(asking, _day(asking, figure, at))
    return figure.away(asking, absence_of(asking, figure, at))


def full_name(figure: Figure, answer: Found) -> str:
    """A figure as it would be asked for again."""
    if answer.at:
        return f"{figure.name}@{answer.at}"
    return f"{figure.name}@{answer.on}" if figure.daily and answer.on is not None else figure.name


def _day(asking: Asking, figure: Figure, text: str) -> date:
    if not figure.daily:
        raise refused(asking, f"'{figure.name}' is of no single day; ask it without '@{text}'")
    try:
        on = date.fromisoformat(text)
    except ValueError:
        raise refused(asking, f"'{text}' is no date; write it as {figure.name}@2028-03-01") from None
    first, last = asking.on(0), asking.on(asking.plan.horizon_days - 1)
    if not first <= on <= last:
        raise refused(asking, f"{on} lies outside the plan's days; it runs from {first} to {last}")
    return on


_OF_QUARTER = re.compile(r"(\d{4})-Q([1-4])$")
_OF_MONTH = re.compile(r"(\d{4})-(\d{2})$")


def days_together(asking: Asking, figure: Figure, text: str) -> Days | None:
    """Days that somebody wrote together, as `2027-04`, `2027-Q2` or `2027-04-01..2027-06-30`; else None.

    Raises
    ------
    InputFaults
        If none of them is a day of the plan.
    """
    try:
        if found := _OF_QUARTER.match(text):
            year, month = int(found[1]), 3 * int(found[2]) - 2
            first, last = date(year, month, 1), _month_end(year, month + 2)
        elif found := _OF_MONTH.match(text):
            first, last = date(int(found[1]), int(found[2]), 1), _month_end(int(found[1]), int(found[2]))
        else:
            one, between, other = text.partition("..")
            if not between:
                return None
            first, last = date.fromisoformat(one.strip()), date.fromisoformat(other.strip())
    except ValueError:
        raise refused(asking, f"'{text}' is no date; write it as {figure.name}@2028-03") from None
    begin, stop = asking.day(first, 0), asking.day(last, 0) + 1
    begin, stop = max(0, begin), min(asking.plan.horizon_days, stop)
    if begin >= stop:
        until = asking.on(asking.plan.horizon_days - 1)
        words = f"{text} lies outside the plan's days; it runs from {asking.on(0)} to {until}"
        raise refused(asking, words)
    return Days(first=begin, stop=stop, at=text)


def _month_end(year: int, month: int) -> date:
    return date(year + month // 12, month % 12 + 1, 1) - timedelta(days=1)
