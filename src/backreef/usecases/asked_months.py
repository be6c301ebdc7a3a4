"""Figures of the months of a forecast: weeks of work, meals, days away, days outside bounds, the thinnest."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import replace
from datetime import date
from functools import partial

import numpy as np
import numpy.typing as npt

from backreef.aquarium.plan import BY_HAND
from backreef.judgement.absences import longer_than_usual, usual_days
from backreef.judgement.hands import weeks_over
from backreef.judgement.outcomes import alive
from backreef.judgement.verdict_hands import DAYS_PER_WEEK
from backreef.judgement.water import days_outside, water_bands
from backreef.usecases.asked import Asking, Days, Figure, Found, refused, shown
from backreef.usecases.asked_fed import condition_on_day
from backreef.usecases.day_book import counted_min, done_of
from backreef.working.members import Seen, middle, seen_once
from backreef.working.number import total
from backreef.working.record import named, recording
from backreef.working.steps import About, InItsUnit
from backreef.working.tree import tree_of

Array = npt.NDArray[np.float64]
OfDays = Callable[[Asking, Days], InItsUnit]
SHORT = "short_stretches_away"
OUTSIDE = {"act": ("act_low", "act_high"), "harm": ("harm_low", "harm_high")}
_WEEK = Seen(symbol="week", what="the keeper's minutes of the seven days up to this one", unit="min")


def month_figures(asking: Asking) -> Iterator[Figure]:
    """What can be asked of days together, as the tables by month show them."""
    for name, title, unit, of_days in (
        ("minutes_per_week", "the keeper's minutes of seven days, mean of the days", "min", _week_mean),
        ("minutes_per_week_most", "the keeper's minutes of the fullest seven days", "min", _week_most),
        ("minutes_of_week_most", "the keeper's minutes of the fullest week of the plan", "min", _whole_week),
        ("thinnest_condition", "condition of the thinnest animal on its worst day", "", _thinnest),
    ):
        yield _figure(name, title, unit, of_days, forecast=True)
    for name, title, unit, of_days in (
        ("weeks_over_budget", "weeks that ask for more than a week's share of the minutes", "", _weeks_over),
        ("weeks_of_plan", "whole weeks of the plan", "", _weeks),
        (
            "weeks_over_budget_share",
            "share of the weeks that ask for more",
            "share",
            _share,
        ),
    ):
        yield replace(_figure(name, title, unit, of_days, forecast=True), beside=_beside_weeks)
    for hand, words in ((True, "by hand"), (False, "by feeder")):
        name = f"food_g_per_d_{words.replace(' ', '_')}"
        yield _figure(name, f"food as fed in a day, {words}", "g/d", partial(_fed, hand=hand), forecast=False)
    yield _figure("food_g_per_d", "food as fed in a day", "g/d", _fed_by_all, forecast=False)
    yield _figure("chore_minutes", "typical minutes of what is done in a day", "min", _chores, forecast=False)
    yield replace(
        _figure(SHORT, "stretches away that come round with the weeks", "", _short_away, forecast=False),
        beside=lambda *_: ("usual_days_away",),
    )
    usual = "days of a stretch away that comes round with the weeks"
    yield _figure("usual_days_away", usual, "d", _usual_away, forecast=False)
    yield _figure("days_without_a_meal", "days without a meal", "d", _without_meal, forecast=False)
    yield _figure("days_away", "days on which nobody is there", "d", _away, forecast=False)
    for band in water_bands(asking.plan):
        for side in OUTSIDE:
            title = f"days on which {band.label} lies outside the bounds of {side}, middle of the members"
            of_days = partial(_outside, band.series, side)
            yield _figure(f"{band.series}.days_outside_{side}", title, "d", of_days, forecast=True)


def _figure(name: str, title: str, unit: str, of_days: OfDays, *, forecast: bool) -> Figure:
    def over(asking: Asking, days: Days) -> Found:
        with recording():
            value = of_days(asking, days)
        tree = tree_of(value, About(symbol=name.replace(".", "_"), key=f"days.{name}", kind="law", unit=unit))
        return Found(tree=tree, shown=shown(value, unit), at=days.at)

    def find(asking: Asking, on: date | None) -> Found:
        day = None if on is None else asking.day(on, 0)
        last = asking.plan.horizon_days
        first, stop = (0, last) if day is None else (day, day + 1)
        at = f"{asking.on(first)}..{asking.on(stop - 1)}" if on is None else f"{on}"
        return over(asking, Days(first=first, stop=stop, at=at))

    return Figure(
        name=name, title=title, daily=True, forecast=forecast, find=find, over=over, of_its_own=False
    )


def _weeks_on(asking: Asking, days: Sequence[int]) -> list[InItsUnit]:
    per_week = asking.course.work.per_week
    return [middle(per_week[day], _WEEK) for day in days]


def _week_mean(asking: Asking, days: Days) -> InItsUnit:
    each = _weeks_on(asking, range(days.first, days.stop))
    count = Seen(symbol="days", what="days that are asked about", unit="d")
    return total(each) / seen_once(float(len(each)), count, kind="plan", place=asking.file)


def _week_most(asking: Asking, days: Days) -> InItsUnit:
    return max(_weeks_on(asking, range(days.first, days.stop)), key=float)


def _whole_week(asking: Asking, days: Days) -> InItsUnit:
    return max(_weeks_on(asking, _week_ends(asking, days)), key=float)


def _week_ends(asking: Asking, days: Days) -> list[int]:
    ends = range(DAYS_PER_WEEK - 1, asking.plan.horizon_days, DAYS_PER_WEEK)
    found = [day for day in ends if days.first <= day < days.stop]
    if not found:
        raise refused(asking, f"no whole week of the plan ends in {days.at}; ask for more days")
    return found


def _weeks(asking: Asking, days: Days) -> InItsUnit:
    seen = Seen(symbol="weeks", what="whole weeks of the plan from its first day on")
    return seen_once(float(len(_week_ends(asking, days))), seen, kind="plan", place=asking.file)


def _weeks_over(asking: Asking, days: Days) -> InItsUnit:
    middles = np.median(asking.course.work.per_week[_week_ends(asking, days)], axis=1)
    budget = asking.told.minutes.budget_per_week
    what = f"whole weeks whose minutes, middle of the members, are over {budget:.4g}"
    return seen_once(float(weeks_over(middles.tolist(), budget)), Seen(symbol="weeks_over", what=what))


def _share(asking: Asking, days: Days) -> InItsUnit:
    return _weeks_over(asking, days) / _weeks(asking, days)


def _beside_weeks(_asking: Asking, at: str) -> tuple[str, ...]:
    days = tuple(f"{name}@{at}" for name in ("weeks_of_plan", "weeks_over_budget_share"))
    return (*days, "minutes.budget_per_week", "minutes.busiest_day_minutes")


def _thinnest(asking: Asking, days: Days) -> InItsUnit:
    """The lowest middle of any animal that is there, on the day on which it is lowest."""
    worst: tuple[float, int, int] | None = None
    for slot, course in enumerate(asking.course.courses):
        first = max(days.first, asking.course.prepared.cohorts[slot].arrives_day)
        if first < days.stop:
            line = np.median(alive(course.condition, course)[first : days.stop], axis=1)
            found = (float(line.min()), slot, first + int(line.argmin()))
            worst = found if worst is None else min(worst, found)
    if worst is None:
        nobody = Seen(symbol="nobody", what="no animal is there in these days")
        return seen_once(0.0, nobody)
    who = asking.course.prepared.cohorts[worst[1]].species.common_name
    about = About(
        symbol="condition",
        key="animals.thinnest",
        kind="law",
        what=f"{who} on {asking.on(worst[2])}, the thinnest of all animals and days",
    )
    return named(condition_on_day(asking, worst[1], worst[2]), about)


def _fed(asking: Asking, days: Days, *, hand: bool) -> InItsUnit:
    given = [
        each.food_g
        for each in asking.laid_out.keeper.meals.occasions
        if days.first <= each.day < days.stop and (each.by.strip().lower() == BY_HAND) is hand
    ]
    count = Seen(symbol="days", what="days that are asked about", unit="d")
    whole = float(days.stop - days.first)
    none = Seen(symbol="no_meal", what="the plan has no such meal in these days", unit="g")
    fed = total(given) if given else seen_once(0.0, none, kind="plan", place=asking.file)
    return fed / seen_once(whole, count, kind="plan", place=asking.file)


def _fed_by_all(asking: Asking, days: Days) -> InItsUnit:
    return _fed(asking, days, hand=True) + _fed(asking, days, hand=False)


def _chores(asking: Asking, days: Days) -> InItsUnit:
    counted = []
    for chore in asking.laid_out.keeper.chores:
        day = chore.due_day if chore.done_day is None else chore.done_day
        if days.first <= day < days.stop and done_of(chore).counted:
            counted.append(counted_min(chore))
    none = Seen(symbol="no_chore", what="nothing is done in these days", unit="min")
    minutes = total(counted) if counted else seen_once(0.0, none, kind="plan", place=asking.file)
    about = Seen(symbol="days", what="days that are asked about", unit="d")
    return minutes / seen_once(float(days.stop - days.first), about, kind="plan", place=asking.file)


def _short_away(asking: Asking, _days: Days) -> InItsUnit:
    away = asking.laid_out.keeper.presence.away
    count = len(away) - len(longer_than_usual(away, asking.plan.horizon_days))
    seen = Seen(symbol=SHORT, what="stretches without the keeper that are no longer than the usual one")
    return seen_once(float(count), seen, kind="plan", place=asking.file)


def _usual_away(asking: Asking, _days: Days) -> InItsUnit:
    usual = usual_days(asking.laid_out.keeper.presence.away, asking.plan.horizon_days)
    seen = Seen(symbol="usual_days_away", what="length of the stretch that is most frequent", unit="d")
    return seen_once(float(usual), seen, kind="plan", place=asking.file)


def _without_meal(asking: Asking, days: Days) -> InItsUnit:
    fed = {each.day for each in asking.laid_out.keeper.meals.occasions if each.food_g > 0}
    count = sum(day not in fed for day in range(days.first, days.stop))
    seen = Seen(symbol="days_without_a_meal", what="days on which the plan gives no meal", unit="d")
    return seen_once(float(count), seen, kind="plan", place=asking.file)


def _away(asking: Asking, days: Days) -> InItsUnit:
    first, last = asking.on(days.first), asking.on(days.stop - 1)
    there = asking.laid_out.keeper.presence.away
    count = sum(max(0, (min(one.last_on, last) - max(one.first_on, first)).days + 1) for one in there)
    seen = Seen(symbol="days_away", what="days of stretches of two or more without the keeper", unit="d")
    return seen_once(float(count), seen, kind="plan", place=asking.file)


def _outside(series: str, side: str, asking: Asking, days: Days) -> InItsUnit:
    band = next(one for one in water_bands(asking.plan) if one.series == series)
    low, high = (getattr(band, name) for name in OUTSIDE[side])
    line = np.median(np.asarray(asking.course.series[series][days.part], dtype=float), axis=1)
    bounds = ", ".join(
        f"{words} {bound:g}" for words, bound in (("below", low), ("above", high)) if bound is not None
    )
    what = f"days on which the middle of the members is {bounds or 'outside bounds that nobody set'}"
    seen = Seen(symbol=f"days_outside_{side}", what=what, unit="d")
    return seen_once(float(days_outside(line, low, high)), seen)
