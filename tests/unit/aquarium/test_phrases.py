from __future__ import annotations

import pytest

from backreef.aquarium.phrases import (
    Unreadable,
    read_condition,
    read_gate,
    read_hour,
    read_meal_days,
    read_month_days,
    read_presence,
    read_rhythm,
    read_weekdays,
    write_hour,
    write_meal_days,
    write_month_days,
    write_weekdays,
)
from backreef.aquarium.plan import Rhythm
from backreef.errors import BackreefError


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("Mon", (0,)),
        ("Tuesdays", (1,)),
        ("Tue-Fri", (1, 2, 3, 4)),
        ("Fri-Mon", (0, 4, 5, 6)),
        ("Sat, Mon and Wed", (0, 2, 5)),
        ("every day", (0, 1, 2, 3, 4, 5, 6)),
        ("weekdays", (0, 1, 2, 3, 4)),
        ("weekends", (5, 6)),
    ],
)
def test_it_reads_weekdays(text: str, expected: tuple[int, ...]) -> None:
    assert read_weekdays(text) == expected
    assert read_weekdays(write_weekdays(expected)) == expected


@pytest.mark.parametrize("text", ["T", "Mo", "Caturday", "", "Mon-"])
def test_it_refuses_what_is_no_weekday(text: str) -> None:
    with pytest.raises(Unreadable, match="is no weekday"):
        read_weekdays(text)


@pytest.mark.parametrize(("text", "hour"), [("8:30", 8.5), ("08.30", 8.5), ("17", 17.0), ("24:00", 24.0)])
def test_it_reads_hours(text: str, hour: float) -> None:
    assert read_hour(text) == hour
    assert read_hour(write_hour(hour)) == hour


@pytest.mark.parametrize("text", ["25:00", "24:01", "12:60", "noon", "-1", ""])
def test_it_refuses_what_is_no_hour(text: str) -> None:
    with pytest.raises(Unreadable, match="is no time of day"):
        read_hour(text)


def test_it_reads_presence_with_and_without_hours() -> None:
    assert [(one.weekday, one.from_hour, one.to_hour) for one in read_presence("Mon, Wed 9-12:30")] == [
        (0, 9.0, 12.5),
        (2, 9.0, 12.5),
    ]
    assert [(one.from_hour, one.to_hour) for one in read_presence("Sun")] == [(0.0, 24.0)]


@pytest.mark.parametrize("text", ["9:00-12:00", "Mon 12-9", "Mon 9-9"])
def test_it_refuses_presence_without_days_or_backwards(text: str) -> None:
    with pytest.raises(Unreadable):
        read_presence(text)


RHYTHMS = [
    ("14 days", Rhythm(kind="interval", text="", every_days=14.0)),
    ("every 2 weeks", Rhythm(kind="interval", text="", every_days=14.0)),
    ("week", Rhythm(kind="interval", text="", every_days=7.0)),
    ("fortnight", Rhythm(kind="interval", text="", every_days=14.0)),
    ("month", Rhythm(kind="interval", text="", every_days=30.4375)),
    ("every day", Rhythm(kind="interval", text="", every_days=1.0)),
    ("daily", Rhythm(kind="interval", text="", every_days=1.0)),
    ("every day when present", Rhythm(kind="interval", text="", every_days=1.0, only_when_present=True)),
    ("Thursday", Rhythm(kind="weekly", text="", weekdays=(3,))),
    ("every Tue and Fri", Rhythm(kind="weekly", text="", weekdays=(1, 4))),
    ("2 weeks on Thursday", Rhythm(kind="weekly", text="", weekdays=(3,), every_weeks=2)),
    ("week on Mon", Rhythm(kind="weekly", text="", weekdays=(0,))),
    ("first Tuesday", Rhythm(kind="monthly", text="", weekdays=(1,), nth=1)),
    ("the 3rd Monday of every month", Rhythm(kind="monthly", text="", weekdays=(0,), nth=3)),
    ("last Friday of every 3 months", Rhythm(kind="monthly", text="", weekdays=(4,), nth=-1, every_months=3)),
]


@pytest.mark.parametrize(("text", "expected"), RHYTHMS, ids=[case[0] for case in RHYTHMS])
def test_it_reads_rhythms(text: str, expected: Rhythm) -> None:
    found = read_rhythm(text)
    assert found.text == text
    for name in ("kind", "every_days", "weekdays", "every_weeks", "nth", "every_months", "only_when_present"):
        assert getattr(found, name) == getattr(expected, name), name


@pytest.mark.parametrize(
    "text",
    [
        "",
        "0 days",
        "12 years",
        "second blue moon",
        "sometimes",
        "0 weeks on Mon",
        "fifth Tuesday",
        "2 weeks on Blue",
    ],
)
def test_it_refuses_what_is_no_rhythm(text: str) -> None:
    with pytest.raises(BackreefError):
        read_rhythm(text)


@pytest.mark.parametrize(
    ("text", "series", "comparison", "value"),
    [
        ("nitrate > 10 mg/L NO3-N", "nitrate_mg_n_per_l", ">", 10.0),
        ("phosphate below 0.05 mg/L PO4-P at the last test", "phosphate_mg_p_per_l", "<", 0.05),
        ("alkalinity ≤ 2.5 meq/L", "alkalinity_meq_per_l", "<=", 2.5),
        ("Temperature above 28 degC", "temperature_c", ">", 28.0),
        ("ph < 7.8", "ph_total", "<", 7.8),
    ],
)
def test_it_reads_conditions(text: str, series: str, comparison: str, value: float) -> None:
    found = read_condition(text)
    assert (found.series, found.comparison, found.value, found.text) == (series, comparison, value, text)


@pytest.mark.parametrize(
    "text", ["", "nitrate high", "happiness > 3", "nitrate > lots", "nitrate > 900 mg/L NO3-N", "ph > 8 mg/L"]
)
def test_it_refuses_what_is_no_condition(text: str) -> None:
    with pytest.raises(BackreefError):
        read_condition(text)


def test_it_reads_sights_seen_and_gone() -> None:
    gate = read_gate("pods seen, detritus gone and no film algae left and hair algae not visible")
    assert [(sight.thing, sight.seen) for sight in gate.sightings] == [
        ("pods", True),
        ("detritus", False),
        ("film_algae", False),
        ("turf_algae", False),
    ]


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("2 Aug to 15 Aug", (8, 2, 8, 15)),
        ("12-23 to 01-02", (12, 23, 1, 2)),
        ("December 24", (12, 24, 12, 24)),
        ("29 Feb", (2, 29, 2, 29)),
    ],
)
def test_it_reads_days_of_every_year(text: str, expected: tuple[int, int, int, int]) -> None:
    assert tuple(read_month_days(text)) == expected
    assert read_month_days(write_month_days(read_month_days(text))) == read_month_days(text)


@pytest.mark.parametrize("text", ["30 Feb", "13-01", "Aug", "summer", ""])
def test_it_refuses_days_of_no_year(text: str) -> None:
    with pytest.raises(Unreadable):
        read_month_days(text)


@pytest.mark.parametrize("text", ["every day", "Mon, Wed", "every day when present", "Mon, Fri when present"])
def test_it_writes_the_days_of_a_meal_as_it_reads_them(text: str) -> None:
    found = read_meal_days(text)
    assert write_meal_days(found.weekdays, only_when_present=found.only_when_present) == text
