from __future__ import annotations

from datetime import date

import pytest

from backreef.plots.course import course
from backreef.plots.small_ribbon import small_ribbon
from tests import forecast_world as world

DAYS = [date(2027, 1, 4), date(2027, 1, 18), date(2028, 1, 4)]


def test_the_small_ribbon_shows_where_each_plan_breaks() -> None:
    holding = small_ribbon(world.a_holding_forecast(), ident="a")
    breaking = small_ribbon(world.a_breaking_forecast(), ident="b")
    assert 'class="cross"' not in holding.wide
    assert 'class="cross"' in breaking.wide
    assert 'class="broken"' in breaking.narrow
    assert breaking.description in breaking.wide
    assert all(name in breaking.wide for name in ("Mouths", "Water", "Hands"))


@pytest.mark.parametrize("make", [world.a_minimal_forecast, world.an_odd_forecast])
def test_the_small_ribbon_of_odd_forecasts_is_drawn(make: object) -> None:
    assert callable(make)
    assert small_ribbon(make(), ident="odd").wide.startswith("<svg")


def test_a_course_has_a_dot_and_a_row_for_each_reading() -> None:
    found = course([(day, 5.0 + i) for i, day in enumerate(DAYS)], called="nitrate", unit="mg/L", ident="c")
    assert found.wide.count('class="reading"') == 3
    assert len(found.table.rows) == 3
    assert found.title == "Nitrate, mg/L"
    assert "3 readings from 4 Jan 2027 to 4 Jan 2028, between 5 and 7; the last is 7." in found.description


def test_a_course_of_temperature_does_not_begin_at_zero() -> None:
    found = course([(day, 25.0 + i / 10) for i, day in enumerate(DAYS)], called="t", unit="", ident="c")
    assert ">0<" not in found.wide


def test_a_course_of_nothing_is_empty() -> None:
    assert "reading" in course([], called="nitrate", unit="", ident="c").description
