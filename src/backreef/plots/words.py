"""Dates, numbers, shares and names of series as people read them; shared by pictures and reports."""

from __future__ import annotations

import math
from collections.abc import Sequence
from datetime import date

from backreef.judgement.verdict import BalanceName, BalanceVerdict, Forecast, WaterBand
from backreef.units import DAYS_PER_YEAR, unit_words
from backreef.usecases.figure_names import figure_names

BALANCE_TITLES: dict[BalanceName, str] = {"mouths": "Mouths", "water": "Water", "hands": "Hands"}
BALANCE_QUESTIONS: dict[BalanceName, str] = {
    "mouths": "is every animal fed, every day?",
    "water": "does what the food brings leave again?",
    "hands": "do the minutes and the days suffice?",
}
UNKNOWN = "not known"
NBSP = "\u00a0"
MOST_DIGITS = 8
NEXT_TO_NOTHING = 5e-6
"""Of nothing that is read in a tank does less than this matter, in the unit in which it is shown."""
_MONTHS = (
    "January",
    "February",
    "March",
    "April",
    "May",
    "June",
    "July",
    "August",
    "September",
    "October",
    "November",
    "December",
)
_UNITS = {
    "mg_no3_per_l": "mg NO₃/L",
    "mg_no2_per_l": "mg NO₂/L",
    "mg_po4_per_l": "mg PO₄/L",
    "mg_n_per_l": "mg N/L",
    "mg_p_per_l": "mg P/L",
    "mg_per_l": "mg/L",
    "per_l": "per L",
    "g_dry": "g dry",
    "g_ww": "g wet",
    "dkh": "dKH",
    "psu": "psu",
    "degc": "°C",
    "per_week": "min",
    "frac": "share",
    "ratio": "ratio",
    "count": "number",
    "g": "g",
    "l": "L",
}


def month_name(month: int, *, short: bool = True) -> str:
    """Name of a month, 1 to 12."""
    name = _MONTHS[month - 1]
    return name[:3] if short else name


def long_date(on: date | None) -> str:
    """14 March 2028."""
    return UNKNOWN if on is None else f"{on.day} {month_name(on.month, short=False)} {on.year}"


def short_date(on: date | None) -> str:
    """14 Mar 2028."""
    return UNKNOWN if on is None else f"{on.day} {month_name(on.month)} {on.year}"


def plural(count: float, one: str, many: str | None = None) -> str:
    """1 day, 2 days."""
    return f"{count_words(count)} {one if count == 1 else many or one + 's'}"


def minutes_words(minutes: float) -> str:
    """Whole minutes, but never none where there are some."""
    return "<1" if 0 < minutes < 0.5 else f"{minutes:.0f}"


def count_words(count: float) -> str:
    """A number of things: whole as it is, a middle between two with one decimal."""
    if not math.isfinite(count):
        return UNKNOWN
    return f"{count:.0f}" if abs(count - round(count)) < 0.05 else f"{count:.1f}"


def figure(value: float | None, digits: int = 2) -> str:
    """A number with so many significant digits and no exponent; words where it is not known."""
    if value is None or not math.isfinite(value):
        return UNKNOWN
    if value == 0:
        return "0"
    decimals = digits - 1 - math.floor(math.log10(abs(value)))
    rounded = round(value, decimals)
    text = f"{rounded:.{max(decimals, 0)}f}"
    return text.rstrip("0").rstrip(".") if "." in text else text


def reading(value: float | None) -> str:
    """A number with three significant digits, or two below one: fine enough for a table of water."""
    if value is None or not math.isfinite(value):
        return UNKNOWN
    if 0 < abs(value) < NEXT_TO_NOTHING:
        return "almost 0"
    return figure(value, 3 if abs(value) >= 1 else 2)


def told_apart(one: float, other: float) -> tuple[str, str]:
    """Two readings, with more digits where they would look alike and are not."""
    for digits in range(3, MOST_DIGITS):
        if one == other or reading(one) != reading(other):
            break
        first, second = figure(one, digits), figure(other, digits)
        if first != second:
            return first, second
    return reading(one), reading(other)


def spread_words(spread: tuple[float, float, float]) -> str:
    """12 (8–19): the middle, and the ends of the band; one word where nothing is known."""
    low, middle, high = spread
    if not math.isfinite(middle):
        return UNKNOWN
    if low == middle == high:
        return reading(middle)
    return f"{reading(middle)} ({reading(low)}–{reading(high)})"


def percent(share: float | None) -> str:
    """62 %, never rounded to 0 or 100 when it is neither."""
    if share is None or not math.isfinite(share):
        return UNKNOWN
    whole = round(100 * share)
    if whole >= 100 and share < 1:
        return f"over 99{NBSP}%"
    if whole <= 0 < share:
        return f"under 1{NBSP}%"
    return f"{whole}{NBSP}%"


def members(share: float, count: int) -> str:
    """61 of 64 members."""
    if count == 1:
        return "the one member" if share >= 1 else "no member"
    return f"{round(share * count) or 'none'} of {count} members"


def interval(low: float, high: float) -> str:
    """Between 89 and 99 %."""
    return f"between {round(100 * low)} and {round(100 * high)}{NBSP}%"


def span_words(days: int) -> str:
    """A horizon in words: 3 years, 18 months, 60 days."""
    years = days / DAYS_PER_YEAR
    if days >= 700 and abs(years - round(years)) < 0.02:
        return f"{round(years)} years"
    if abs(days - 365.5) < 1:
        return "1 year"
    months = days / 30.44
    return f"{round(months)} months" if days >= 120 else plural(days, "day")


def brief(text: str, most: int = 30) -> str:
    """The text in one line, cut after so many characters."""
    line = " ".join(text.split())
    return line if len(line) <= most else f"{line[: most - 1].rstrip()}…"


def capital(text: str) -> str:
    """The text with a capital at its start, but pH stays pH."""
    if text[:2] == "PH" and not text[2:3].isalnum():
        return f"pH{text[2:]}"
    return text if text[1:2].isupper() else text[:1].upper() + text[1:]


def clause(text: str) -> str:
    """A cause as part of a sentence: no full stop at its end, no capital at its start, one line."""
    words = " ".join(text.split()).rstrip(".").rstrip()
    return words if words[1:2].isupper() or words[1:2].isdigit() else words[:1].lower() + words[1:]


def listed(words: Sequence[str]) -> str:
    """One, two and three."""
    if len(words) < 2:
        return "".join(words)
    return f"{', '.join(words[:-1])} and {words[-1]}"


def horizon_end(forecast: Forecast) -> date:
    """The last day that was judged."""
    return forecast.dates[-1]


def balance_of(forecast: Forecast, name: BalanceName) -> BalanceVerdict:
    """The verdict on one balance."""
    return next(b for b in forecast.balances if b.name == name)


def first_balance(forecast: Forecast) -> BalanceVerdict | None:
    """The balance in which the plan breaks first, if it does."""
    broken = [b for b in forecast.balances if not b.holds and b.first_break is not None]
    return min(broken, key=lambda b: (b.first_break or date.max, b.share_holding), default=None)


def balance_words(verdict: BalanceVerdict) -> str:
    """Holds, or breaks on a date."""
    if verdict.holds:
        return "holds"
    return "breaks" if verdict.first_break is None else f"breaks {short_date(verdict.first_break)}"


def water_band(forecast: Forecast, series: str) -> WaterBand | None:
    """The bounds of a series, if it has any."""
    return next((band for band in forecast.water_bands if band.series == series), None)


def sentence(text: str) -> str:
    """A text with a capital at its start and a stop at its end; nothing stays nothing."""
    words = capital(" ".join(text.split()))
    return words if not words or words[-1] in ".!?" else f"{words}."


def series_words(forecast: Forecast, series: str) -> tuple[str, str]:
    """Label and unit of a series: from its bounds, or from its name."""
    band = water_band(forecast, series)
    if band is not None:
        return band.label, unit_words(band.unit)
    if series in (names := figure_names("series")):
        return names[series]
    for token in sorted(_UNITS, key=len, reverse=True):
        if series.endswith(f"_{token}"):
            return series[: -len(token) - 1].replace("_", " "), _UNITS[token]
    return series.replace("_", " "), ""


def bound_words(band: WaterBand) -> str:
    """The bounds of a water quantity in one line."""
    act = _range(band.act_low, band.act_high)
    harm = _range(band.harm_low, band.harm_high)
    days = plural(band.harm_days, "day") if band.harm_days >= 1 else f"{figure(band.harm_days * 24)} hours"
    at_once = ", or where animals die" if band.kills else ""
    parts = [f"act outside {act}" if act else "", f"harm outside {harm} for {days}{at_once}" if harm else ""]
    return "; ".join(part for part in parts if part) or "no bounds"


def _range(low: float | None, high: float | None) -> str:
    if low is not None and high is not None:
        return f"{figure(low, 3)} to {figure(high, 3)}"
    if high is not None:
        return f"0 to {figure(high, 3)}"
    return f"{figure(low, 3)} and more" if low is not None else ""
