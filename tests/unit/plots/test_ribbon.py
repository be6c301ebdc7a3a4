from __future__ import annotations

import re
from dataclasses import replace
from datetime import timedelta
from xml.etree import ElementTree as ET

import numpy as np
import pytest

from backreef.judgement.verdict import Band, Forecast
from backreef.plots.figure import Reading
from backreef.plots.ribbon import ribbon
from backreef.plots.ribbon_data import harmed_days, ribbon_data, ribbon_water
from backreef.plots.words import water_band
from tests.forecast_parts import START_ON, day
from tests.forecast_world import a_breaking_forecast, a_holding_forecast, a_minimal_forecast


def texts(svg: str) -> list[str]:
    return [e.text or "" for e in ET.fromstring(svg).iter("{http://www.w3.org/2000/svg}text")]


def counted(svg: str, class_: str) -> int:
    return len(re.findall(f'class="{class_}"', svg))


@pytest.fixture(scope="module")
def breaking() -> Forecast:
    return a_breaking_forecast()


def test_it_says_where_the_plan_breaks_and_why(breaking: Forecast) -> None:
    said = texts(ribbon(breaking).wide)
    assert "breaks 29 Jul 2027 · Hands: water changes fall on days when the library is closed" in said
    assert "Mouths breaks 17 Jul 2028" in said
    assert "Water breaks 15 Jan 2029" in said


def test_it_says_that_a_plan_holds_and_until_when() -> None:
    svg = ribbon(a_holding_forecast()).wide
    assert "holds to the end, 3 January 2030" in texts(svg)
    assert counted(svg, "cross") == 0
    assert counted(svg, "broken") == 0


def test_it_marks_the_first_break_by_a_line_that_stops_there(breaking: Forecast) -> None:
    svg = ET.fromstring(ribbon(breaking).wide)
    lines = [e for e in svg.iter() if e.get("class") == "plan-holds"]
    longest = max(lines, key=lambda e: float(e.get("x2") or 0) - float(e.get("x1") or 0))
    calm = [e for e in svg.iter() if e.get("class") == "calm"]
    hands = min(calm, key=lambda e: float(e.get("width") or 0))
    end_of_calm = float(hands.get("x") or 0) + float(hands.get("width") or 0)
    assert float(longest.get("x2") or 0) == pytest.approx(end_of_calm - 5, abs=0.1)


def test_it_troubles_each_band_only_from_its_own_first_break(breaking: Forecast) -> None:
    svg = ET.fromstring(ribbon(breaking).wide)
    starts = [float(e.get("x") or 0) for e in svg.iter() if e.get("class") == "broken"]
    days = [(b.first_break - START_ON).days for b in breaking.balances if b.first_break is not None]
    left, right = 182.0, 928.0
    expected = [left + (right - left) * d / len(breaking.dates) for d in days]
    assert starts == pytest.approx(expected, abs=0.1)


def test_it_folds_into_one_stretch_per_year_for_a_narrow_screen(breaking: Forecast) -> None:
    said = texts(ribbon(breaking).narrow)
    assert [t for t in said if t.startswith("Year ")] == [
        "Year 1: 4 Jan 2027 to 3 Jan 2028",
        "Year 2: 4 Jan 2028 to 3 Jan 2029",
        "Year 3: 4 Jan 2029 to 3 Jan 2030",
    ]


def test_it_does_not_fold_a_short_time() -> None:
    said = texts(ribbon(a_minimal_forecast()).narrow)
    assert "4 Jan 2027 to 4 Mar 2027" in said


def test_it_numbers_arrivals_and_lists_them(breaking: Forecast) -> None:
    drawn = ribbon(breaking)
    assert [e.number for e in drawn.events] == [1, 2, 3, 4, 5, 6, 7]
    assert drawn.events[0].words == "8 Trochus snail, 10 Cerith"
    assert {"1", "7"} <= set(texts(drawn.narrow))


def test_it_shows_a_week_without_meals_as_a_gap(breaking: Forecast) -> None:
    fed = replace(breaking.meals[1], grams_as_fed_per_day=np.ones(len(breaking.dates)))
    gap = np.ones(len(breaking.dates))
    gap[400:407] = 0.0
    hungry = replace(fed, grams_as_fed_per_day=gap)

    def strokes(one: Forecast) -> str:
        found = re.search(r'class="meal-hand" d="([^"]+)"', ribbon(one).wide)
        assert found
        return found.group(1)

    assert strokes(replace(breaking, meals=(fed,))).count("Z") == 1
    assert strokes(replace(breaking, meals=(hungry,))).count("Z") == 2


def test_it_draws_one_bar_per_whole_week(breaking: Forecast) -> None:
    data = ribbon_data(breaking)
    assert len(data.week_minutes) == len(breaking.dates) // 7
    assert data.week_minutes[0] == breaking.series["minutes_per_week"].p50[6]


def test_it_hatches_only_the_weeks_that_exceed_their_share(breaking: Forecast) -> None:
    calm = replace(breaking, minutes=replace(breaking.minutes, budget_per_month=100_000.0))
    assert counted(ribbon(calm).wide, "bar-hatch") == 0
    assert counted(ribbon(breaking).wide, "bar-hatch") > 0


def test_it_shades_every_stretch_away_in_every_band(breaking: Forecast) -> None:
    assert counted(ribbon(breaking).wide, "ink-away") == 3 * len(breaking.away)
    assert counted(ribbon(replace(breaking, away=())).wide, "ink-away") == 0


def test_it_follows_the_animal_with_the_least_condition(breaking: Forecast) -> None:
    data = ribbon_data(breaking)
    lowest = np.nanmin([np.nanmin(a.condition.p50) for a in breaking.animals])
    assert np.nanmin(data.thinnest) == lowest
    assert data.thinnest_words.startswith("Lyretail anthias, 0.17 on ")


def test_it_shows_what_is_harmed_besides_the_nutrients(breaking: Forecast) -> None:
    assert [name for name, _, _ in ribbon_water(breaking)] == [
        "nitrate_mg_no3_per_l",
        "phosphate_mg_po4_per_l",
    ]
    low = np.full(len(breaking.dates), 2.0)
    series = breaking.series | {"oxygen_mg_per_l": Band(p05=low, p50=low, p95=low)}
    assert [name for name, _, _ in ribbon_water(replace(breaking, series=series))][-1] == "oxygen_mg_per_l"


def test_it_counts_harmed_days_on_both_sides(breaking: Forecast) -> None:
    bounds = water_band(breaking, "ph_total")
    assert harmed_days(np.array([7.5, 8.0, 8.7, np.nan]), bounds) == 2
    assert harmed_days(np.array([7.5]), None) == 0


def test_it_sets_readings_against_the_forecast(breaking: Forecast) -> None:
    readings = [
        Reading(series="nitrate_mg_no3_per_l", on=day(10), value=4.0),
        Reading(series="nitrate_mg_no3_per_l", on=day(2000), value=4.0),
        Reading(series="iron", on=day(10), value=4.0),
    ]
    drawn = ribbon(breaking, readings)
    assert counted(drawn.wide, "reading") == 1
    assert any("reading" in entry.words for entry in drawn.key)


def test_it_explains_only_marks_that_it_drew() -> None:
    words = [entry.words for entry in ribbon(a_minimal_forecast()).key]
    assert not [w for w in words if "nobody" in w or "meals" in w or "break" in w]


def test_it_tells_the_whole_story_to_somebody_who_cannot_see_it(breaking: Forecast) -> None:
    told = ribbon(breaking).description
    for part in (
        "from 4 January 2027 to 3 January 2030",
        "Water breaks on 15 January 2029: nitrate",
        "7 arrivals",
    ):
        assert part in told


def test_it_tables_every_month_of_the_horizon(breaking: Forecast) -> None:
    rows = ribbon(breaking).table.rows
    assert len(rows) == 37
    assert rows[0][0] == "Jan 2027"
    assert rows[1][1] == "8 Trochus snail, 10 Cerith"
    assert rows[-1][0] == "Jan 2030"


def test_it_survives_a_single_day() -> None:
    one = a_holding_forecast(days=1)
    drawn = ribbon(replace(one, animals=(), additions=()))
    ET.fromstring(drawn.wide)
    assert drawn.table.rows[0][0] == "Jan 2027"
    assert one.dates[-1] == START_ON + timedelta(days=0)


def test_it_shows_nothing_of_an_animal_before_it_arrives(breaking: Forecast) -> None:
    hollow = np.zeros(len(breaking.dates))
    hollow[500:] = 0.8
    late = replace(
        breaking.animals[0],
        arrives_on=day(500),
        already_there=False,
        condition=Band(p05=hollow, p50=hollow, p95=hollow),
    )
    data = ribbon_data(replace(breaking, animals=(late,)))
    assert np.isnan(data.thinnest[:500]).all()
    assert set(data.thinnest[500:]) == {0.8}


@pytest.mark.parametrize(
    ("by", "where"), [("hand", "meal-hand"), ("north_feeder", "meal-feeder"), ("box", "meal-feeder")]
)
def test_it_tells_a_hand_from_any_device(by: str, where: str, breaking: Forecast) -> None:
    meal = replace(breaking.meals[0], by=by)
    drawn = ribbon(replace(breaking, meals=(meal,))).wide
    assert counted(drawn, where) == 1
    assert counted(drawn, "meal-hand") + counted(drawn, "meal-feeder") == 1
