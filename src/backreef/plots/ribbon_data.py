"""What the year ribbon shows, taken once from a forecast: meals, the thinnest animal, nutrients, weeks."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

import numpy as np

from backreef.aquarium.plan import BY_HAND
from backreef.judgement.verdict import Band, FloatArray, Forecast, WaterBand
from backreef.judgement.verdict_hands import DAYS_PER_WEEK
from backreef.judgement.water import days_outside
from backreef.plots.figure import Event, Reading
from backreef.plots.living import condition_of
from backreef.plots.markup import printable
from backreef.plots.words import brief, figure, short_date, water_band

_NUTRIENTS = ("nitrate_", "phosphate_")
_MOST_WATER_LANES = 3


@dataclass(frozen=True, slots=True, kw_only=True)
class Arrivals:
    """Animals that arrive on one day, with the number they carry in the picture."""

    number: int
    on: date
    words: str


@dataclass(frozen=True, slots=True, kw_only=True)
class RibbonData:
    """The ribbon's content over the whole horizon."""

    forecast: Forecast
    by_hand_g: FloatArray
    by_feeder_g: FloatArray
    thinnest: FloatArray
    """Condition of the animal with the least, per day; NaN without animals."""
    thinnest_low: FloatArray
    thinnest_words: str
    water: tuple[tuple[str, Band, WaterBand | None], ...]
    week_ends: tuple[int, ...]
    week_minutes: tuple[float, ...]
    budget_per_week: float
    arrivals: tuple[Arrivals, ...]
    readings: tuple[Reading, ...]


def ribbon_data(forecast: Forecast, readings: Sequence[Reading] = ()) -> RibbonData:
    """Collect what the ribbon shows."""
    thinnest, thinnest_low, words = _thinnest(forecast)
    ends, minutes = week_totals(forecast)
    hand = [m.grams_as_fed_per_day for m in forecast.meals if by_hand(m.by)]
    feeder = [m.grams_as_fed_per_day for m in forecast.meals if not by_hand(m.by)]
    nothing = np.zeros(len(forecast.dates))
    return RibbonData(
        forecast=forecast,
        by_hand_g=np.sum([nothing, *hand], axis=0),
        by_feeder_g=np.sum([nothing, *feeder], axis=0),
        thinnest=thinnest,
        thinnest_low=thinnest_low,
        thinnest_words=words,
        water=ribbon_water(forecast),
        week_ends=ends,
        week_minutes=minutes,
        budget_per_week=budget_per_week(forecast),
        arrivals=_arrivals(forecast),
        readings=tuple(readings),
    )


def by_hand(who: str) -> bool:
    """Whether a meal needs a person."""
    return who.strip().lower() == BY_HAND


def budget_per_week(forecast: Forecast) -> float:
    """The month's minutes shared out over its weeks."""
    return forecast.minutes.budget_per_week


def week_totals(forecast: Forecast) -> tuple[tuple[int, ...], tuple[float, ...]]:
    """The last day of each whole week and its minutes."""
    band = forecast.series.get("minutes_per_week")
    if band is None:
        return (), ()
    ends = tuple(range(DAYS_PER_WEEK - 1, len(band.p50), DAYS_PER_WEEK))
    return ends, tuple(float(band.p50[i]) for i in ends)


def ribbon_water(forecast: Forecast) -> tuple[tuple[str, Band, WaterBand | None], ...]:
    """The quantities of the Water band: the nutrients, and what else leaves its bounds for harm."""
    known = [(name, band, water_band(forecast, name)) for name, band in forecast.series.items()]
    bounded = [row for row in known if row[2] is not None]
    nutrients = [row for row in known if row[0].startswith(_NUTRIENTS)]
    broken = [row for row in bounded if row not in nutrients and harmed_days(row[1].p50, row[2])]
    broken.sort(key=lambda row: -harmed_days(row[1].p50, row[2]))
    chosen = nutrients + broken
    return tuple((chosen or bounded)[:_MOST_WATER_LANES])


def harmed_days(values: FloatArray, band: WaterBand | None) -> int:
    """Days on which the values stand outside the bound for harm."""
    return 0 if band is None else days_outside(values, band.harm_low, band.harm_high)


def events_of(data: RibbonData) -> tuple[Event, ...]:
    """The numbered marks of the ribbon."""
    return tuple(Event(number=a.number, on=a.on, words=a.words) for a in data.arrivals)


def _thinnest(forecast: Forecast) -> tuple[FloatArray, FloatArray, str]:
    days = len(forecast.dates)
    if not forecast.animals:
        nothing = np.full(days, np.nan)
        return nothing, nothing, ""
    middle = np.vstack([condition_of(forecast, a).p50 for a in forecast.animals])
    low = np.vstack([condition_of(forecast, a).p05 for a in forecast.animals])
    least, least_low = _least(middle), _least(low)
    if not np.isfinite(least).any():
        return least, least_low, ""
    when = int(np.nanargmin(least))
    who = forecast.animals[int(np.nanargmin(middle[:, when]))]
    name, on = brief(printable(who.common_name)), short_date(forecast.dates[when])
    words = f"{name}, {figure(float(least[when]))} on {on}"
    return least, least_low, words


def _least(rows: FloatArray) -> FloatArray:
    """Smallest known value of each column; NaN where none is known."""
    filled = np.where(np.isfinite(rows), rows, np.inf).min(axis=0)
    return np.where(np.isfinite(filled), filled, np.nan)


def _arrivals(forecast: Forecast) -> tuple[Arrivals, ...]:
    by_day: dict[date, list[str]] = {}
    for addition in sorted(forecast.additions, key=lambda a: a.on):
        by_day.setdefault(addition.on, []).append(f"{addition.count} {printable(addition.common_name)}")
    days = enumerate(by_day.items(), 1)
    return tuple(Arrivals(number=i, on=on, words=", ".join(who)) for i, (on, who) in days)
