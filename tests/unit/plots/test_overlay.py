"""Two plans over each other show all that a ribbon shows: how long they hold, arrivals, food, water, work."""

from __future__ import annotations

import re
from dataclasses import replace
from xml.etree import ElementTree as ET

from backreef.judgement.verdict import Forecast
from backreef.plots.overlay import overlay
from backreef.plots.ribbon_data import ribbon_data
from tests.forecast_world import a_breaking_forecast, a_holding_forecast

NAMES = ("as it is", "changed")


def drawn(first: Forecast, other: Forecast) -> str:
    return overlay(first, other, NAMES).wide


def texts(svg: str) -> list[str]:
    return [one.text or "" for one in ET.fromstring(svg).iter("{http://www.w3.org/2000/svg}text")]


def counted(svg: str, class_: str) -> int:
    return len(re.findall(f'class="{class_}"', svg))


def test_each_plan_says_until_when_it_holds() -> None:
    said = texts(drawn(a_holding_forecast(), a_breaking_forecast()))
    assert "As it is: holds" in said
    assert "Changed: breaks 29 Jul 2027" in said


def test_every_lane_of_the_ribbon_is_there() -> None:
    said = " / ".join(texts(drawn(a_holding_forecast(), a_breaking_forecast())))
    for words in ("thinnest animal", "food offered", "minutes a week"):
        assert words in said
    for forecast in (a_holding_forecast(), a_breaking_forecast()):
        for name, _, _ in ribbon_data(forecast).water:
            assert name.partition("_")[0] in said.lower()


def test_who_comes_in_each_plan_is_marked_on_its_line() -> None:
    forecast = a_holding_forecast()
    days = len({one.on for one in forecast.additions})
    alone = replace(forecast, additions=forecast.additions[:1])
    assert counted(drawn(alone, forecast), "dot") == 1 + days


def test_days_without_anybody_lie_behind_every_lane() -> None:
    forecast = a_holding_forecast()
    figure = overlay(forecast, forecast, NAMES)
    lanes = counted(figure.wide, "line")
    assert counted(figure.wide, "away-ground") % lanes == 0
    assert counted(figure.wide, "away-ground") > 0
    assert counted(drawn(forecast, replace(forecast, away=())), "away-ground") == 0


def test_another_food_moves_the_lane_of_food() -> None:
    forecast = a_holding_forecast()
    tenfold = tuple(
        replace(one, grams_as_fed_per_day=10 * one.grams_as_fed_per_day) for one in forecast.meals
    )
    rows = {row[0]: row for row in overlay(forecast, replace(forecast, meals=tenfold), NAMES).table.rows}
    _, was, now, *_ = rows["food offered, mean of seven days, g a day"]
    assert now.replace(".", "") == was.replace(".", "")  # the same digits
    assert float(now) > 9 * float(was)
