"""Plans side by side in words and tables; shared by the page, the HTML file and the JSON document."""

from __future__ import annotations

from collections.abc import Callable

from backreef.aquarium.differences import Difference
from backreef.judgement.verdict import Forecast
from backreef.plots.figure import Table
from backreef.plots.mouths import thinnest_first
from backreef.plots.words import (
    BALANCE_TITLES,
    UNKNOWN,
    balance_of,
    balance_words,
    capital,
    clause,
    count_words,
    long_date,
    members,
    plural,
    reading,
    short_date,
    spread_words,
)
from backreef.reports.words import plan_title
from backreef.units import unit_words
from backreef.usecases.compare import Compared, Comparison, Pairing
from backreef.usecases.figure_names import figure_names

Row = tuple[str, Callable[[Forecast], str]]
SHOWN_SERIES = ("nitrate_mg_no3_per_l", "phosphate_mg_po4_per_l", "film_algae_g_dry", "turf_algae_g_dry")
"""What a keeper asks first of a tank's last day."""


def plan_name(compared: Compared) -> str:
    """A: Living-room reef."""
    return f"{compared.letter}: {plan_title(compared.forecast)}"


def outcome_table(comparison: Comparison) -> Table:
    """What becomes of each plan, one row a question and one column a plan."""
    columns = ("", *(compared.letter for compared in comparison.plans))
    rows = tuple(
        (title, *(say(compared.forecast) for compared in comparison.plans))
        for title, say in _rows(comparison)
    )
    return Table(caption="What becomes of each plan", columns=columns, rows=rows)


def _rows(comparison: Comparison) -> list[Row]:
    series = [name for name in SHOWN_SERIES if any(name in one.forecast.series for one in comparison.plans)]
    return [
        ("verdict", lambda f: "holds" if f.holds else f"breaks {short_date(f.first_break)}"),
        ("holds in", lambda f: members(f.share_holding, f.members)),
        *((f"{title}", _balance_row(name)) for name, title in BALANCE_TITLES.items()),
        ("minutes a month", _minutes),
        ("of minutes given", lambda f: reading(f.minutes.budget_per_month)),
        ("fullest day", _fullest),
        ("food, g a day", lambda f: reading(_food_g_per_d(f))),
        *((f"{_label(name)} at the end", _end_row(name)) for name in series),
        ("animals, first to last", _animals),
        ("thinnest at the end", _thinnest),
    ]


def _balance_row(name: str) -> Callable[[Forecast], str]:
    def say(forecast: Forecast) -> str:
        verdict = balance_of(forecast, name)  # type: ignore[arg-type]
        return f"{balance_words(verdict)}, {members(verdict.share_holding, forecast.members)}"

    return say


def _label(series: str) -> str:
    label, unit = figure_names("series").get(series, (series.partition("_")[0], ""))
    if unit:
        return f"{label}, {unit}"
    ion = {"nitrate": "mg/L NO3", "phosphate": "mg/L PO4"}[label]
    return f"{label}, {unit_words(ion)}"


def _end_row(series: str) -> Callable[[Forecast], str]:
    def say(forecast: Forecast) -> str:
        band = forecast.series.get(series)
        if band is None:
            return UNKNOWN
        return spread_words((float(band.p05[-1]), float(band.p50[-1]), float(band.p95[-1])))

    return say


def _minutes(forecast: Forecast) -> str:
    m = forecast.minutes
    return f"{m.per_month_p50:.0f} ({m.per_month_p05:.0f}–{m.per_month_p95:.0f})"


def _fullest(forecast: Forecast) -> str:
    m = forecast.minutes
    return (
        UNKNOWN if m.busiest_day is None else f"{m.busiest_day_minutes:.0f} min, {short_date(m.busiest_day)}"
    )


def _food_g_per_d(forecast: Forecast) -> float:
    """Mean over the horizon, as fed."""
    return float(sum(meal.grams_as_fed_per_day.mean() for meal in forecast.meals))


def _animals(forecast: Forecast) -> str:
    first = sum(animal.count_start for animal in forecast.animals)
    return f"{first} to {count_words(sum(animal.count_end_p50 for animal in forecast.animals))}"


def _thinnest(forecast: Forecast) -> str:
    animals = thinnest_first(forecast.animals)
    return f"{animals[0].common_name}, {reading(animals[0].condition_end_p05)}" if animals else "no animals"


def pairing_words(first: Compared, other: Compared) -> str:
    """How the members of a plan fared beside the same members of the first."""
    p: Pairing = other.pairing
    count = p.both_hold + p.only_first_holds + p.only_other_holds + p.neither_holds
    words = f"Of the same {plural(count, 'member')}, {p.both_hold} hold under both"
    words += (
        f", {p.only_first_holds} only under {first.letter}, {p.only_other_holds} only under {other.letter}"
    )
    return f"{words}, {p.neither_holds} under neither."


def cause_words(compared: Compared) -> str:
    """Why a plan breaks, and since when; nothing where it holds."""
    forecast = compared.forecast
    if forecast.holds:
        return ""
    cause = capital(clause(forecast.first_break_cause)) or "For several reasons"
    return f"{compared.letter} breaks on {long_date(forecast.first_break)}: {cause}."


def difference_words(difference: Difference, first: str, other: str) -> str:
    """One difference in a line; `first` and `other` are the letters of the plans."""
    place = " ".join(part for part in (difference.section, difference.entry) if part)
    if not difference.key:
        only, said = (other, difference.other) if difference.first is None else (first, difference.first)
        return f"{place}: only in {only} ({said})"
    name = f"{place}: {difference.key}" if place else difference.key
    return f"{name}: {difference.first or 'not said'} in {first}, {difference.other or 'not said'} in {other}"
