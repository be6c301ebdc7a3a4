from dataclasses import replace
from datetime import date

import pytest

from backreef.plots import words
from tests.forecast_world import a_breaking_forecast, a_holding_forecast


@pytest.mark.parametrize(
    ("value", "text"),
    [
        (0.0, "0"),
        (0.012345, "0.012"),
        (7.96, "8"),
        (48.6, "49"),
        (1234.0, "1200"),
        (-0.5, "-0.5"),
        (None, "not known"),
        (float("nan"), "not known"),
        (float("inf"), "not known"),
    ],
)
def test_it_writes_a_number_no_sharper_than_two_digits(value: float | None, text: str) -> None:
    assert words.figure(value) == text


def test_it_counts_things_exactly() -> None:
    assert words.plural(1, "day") == "1 day"
    assert words.plural(312, "day") == "312 days"
    assert words.plural(2, "stretch", "stretches") == "2 stretches"
    assert words.count_words(2.5) == "2.5"
    assert words.count_words(float("nan")) == "not known"


@pytest.mark.parametrize(
    ("share", "text"),
    [
        (0.0, "0 %"),
        (0.001, "under 1 %"),
        (0.62, "62 %"),
        (0.9999, "over 99 %"),
        (1.0, "100 %"),
        (None, "not known"),
    ],
)
def test_it_never_rounds_a_share_to_none_or_all(share: float | None, text: str) -> None:
    assert words.percent(share).replace(words.NBSP, " ") == text


def test_it_says_how_many_members() -> None:
    assert words.members(61 / 64, 64) == "61 of 64 members"
    assert words.members(0.0, 64) == "none of 64 members"
    assert words.members(1.0, 1) == "the one member"


def test_it_writes_dates_and_spans() -> None:
    assert words.long_date(date(2028, 3, 14)) == "14 March 2028"
    assert words.short_date(None) == "not known"
    assert words.span_words(1096) == "3 years"
    assert words.span_words(365) == "1 year"
    assert words.span_words(60) == "60 days"
    assert words.span_words(550) == "18 months"


def test_it_keeps_ph_as_it_is_written() -> None:
    assert words.capital("pH") == "pH"
    assert words.capital("PH, lowest of the day") == "pH, lowest of the day"
    assert words.capital("phosphate") == "Phosphate"
    assert words.capital("nitrate") == "Nitrate"


@pytest.mark.parametrize(
    ("series", "label", "unit"),
    [
        ("nitrate_mg_no3_per_l", "nitrate", "mg NO3/L"),
        ("film_algae_g_dry", "film algae", "g dry"),
        ("detritus_mg_n_per_l", "detritus", "mg N/L"),
        ("salinity_psu", "salinity", "psu"),
        ("something", "something", ""),
    ],
)
def test_it_names_a_series_by_its_bounds_or_by_its_own_name(series: str, label: str, unit: str) -> None:
    assert words.series_words(a_holding_forecast(days=10), series) == (label, unit)


def test_it_finds_the_balance_that_breaks_first() -> None:
    forecast = a_breaking_forecast()
    first = words.first_balance(forecast)
    assert first is not None
    assert first.name == "hands"
    assert words.balance_words(first) == "breaks 29 Jul 2027"
    assert words.first_balance(a_holding_forecast(days=10)) is None


def test_it_says_the_bounds_of_a_quantity() -> None:
    bounds = words.water_band(a_holding_forecast(days=10), "oxygen_mg_per_l")
    assert bounds is not None
    assert words.bound_words(bounds) == "act outside 5 and more; harm outside 4 and more for 6 hours"
    bare = replace(bounds, act_low=None, harm_low=None)
    assert words.bound_words(bare) == "no bounds"


def test_it_lists_words_as_people_do() -> None:
    assert words.listed(["a"]) == "a"
    assert words.listed(["a", "b", "c"]) == "a, b and c"
    assert words.listed([]) == ""


def test_it_shortens_and_joins_lines() -> None:
    assert words.brief("a\nb  c") == "a b c"
    assert len(words.brief("x" * 99)) == 30
    assert words.clause(" Over and\n out. ") == "over and out"
    assert words.sentence("over and out") == "Over and out."
    assert words.sentence("") == ""


@pytest.mark.parametrize(
    ("one", "other", "read"),
    [
        (28.03, 28.0, ("28.03", "28")),
        (56.2, 39.5, ("56.2", "39.5")),
        (5.0, 5.0, ("5", "5")),
        (0.02901, 0.029, ("0.02901", "0.029")),
    ],
)
def test_two_readings_that_differ_never_look_alike(one: float, other: float, read: tuple[str, str]) -> None:
    assert words.told_apart(one, other) == read


@pytest.mark.parametrize(
    ("value", "text"), [(0.0, "0"), (0.0012, "0.0012"), (5.1e-9, "almost 0"), (None, "not known")]
)
def test_a_reading_of_next_to_nothing_is_almost_0(value: float | None, text: str) -> None:
    assert words.reading(value) == text
