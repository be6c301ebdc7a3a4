from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import replace

import pytest

from backreef.judgement.verdict import Forecast
from backreef.reports.text import fluxes_page, forecast_page
from backreef.reports.text_layout import Style, seen_width, spelled_in_ascii, text_table, wrapped
from tests import forecast_world as world

FORECASTS: dict[str, Callable[[], Forecast]] = {
    "holding": world.a_holding_forecast,
    "breaking": world.a_breaking_forecast,
    "minimal": world.a_minimal_forecast,
    "odd": world.an_odd_forecast,
}
LEVELS = "▁▂▃▄▅▆▇█"
COLOUR = re.compile(r"\x1b\[[0-9;]*m")


@pytest.mark.parametrize("name", FORECASTS)
@pytest.mark.parametrize("width", [60, 80, 120])
@pytest.mark.parametrize("ascii_only", [False, True])
def test_it_never_runs_over_its_width(name: str, width: int, ascii_only: bool) -> None:
    forecast = FORECASTS[name]()
    for page in (
        forecast_page(forecast, width, ascii_only=ascii_only),
        fluxes_page(forecast, width, ascii_only=ascii_only),
    ):
        assert [line for line in page.splitlines() if seen_width(line) > width] == []
        assert page.endswith("\n")
        assert not page.endswith("\n\n")


@pytest.mark.parametrize("name", FORECASTS)
def test_it_can_do_with_ascii_alone(name: str) -> None:
    assert forecast_page(FORECASTS[name](), ascii_only=True).isascii()


@pytest.mark.parametrize("name", FORECASTS)
def test_it_passes_no_control_character_on(name: str) -> None:
    assert not re.search(r"[\x00-\x09\x0b-\x1f\x7f-\x9f]", forecast_page(FORECASTS[name]()))


@pytest.mark.parametrize("name", FORECASTS)
def test_its_colours_are_a_second_cue_only(name: str) -> None:
    forecast = FORECASTS[name]()
    painted = forecast_page(forecast, colour=True)
    assert COLOUR.search(painted)
    assert re.sub(r" +\n", "\n", COLOUR.sub("", painted)) == forecast_page(forecast)


def test_it_says_the_verdict_before_all_else() -> None:
    lines = forecast_page(world.a_breaking_forecast()).splitlines()
    assert lines[2:5] == [
        "The plan breaks on 29 July 2027.",
        "Hands breaks first: water changes fall on days when the library is closed.",
        "Mouths on 17 July 2028 and Water on 15 January 2029 follow.",
    ]
    assert "The plan holds for 3 years." in forecast_page(world.a_holding_forecast()).splitlines()[2]


def test_it_says_what_the_simulation_showed_of_a_remedy() -> None:
    page = " ".join(forecast_page(world.a_breaking_forecast()).split())
    assert "Refugium of 30 L instead of 12 L (simulated: mends this). Nitrate ends at 19 mg/L" in page
    assert "Somebody who feeds on closed days (advice)." in page


def test_it_marks_the_seasons_that_leave_their_bounds() -> None:
    page = forecast_page(world.a_breaking_forecast())
    assert re.search(r"2028 Apr–Jun .*!  ", page)
    assert re.search(r"2029 Oct–Dec .*!!  ", page)
    calm = forecast_page(world.a_holding_forecast()).split("Water by season")[1].split("Mouths")[0]
    assert not re.search(r"\d\) !", calm)


def row(page: str, name: str) -> str:
    """The ribbon's row of a balance, without its name."""
    rows = [line[8:] for line in page.splitlines() if line.startswith(name)]
    return next(row for row in rows if set(row) <= set(f"{LEVELS}\u2573 "))


def test_its_ribbon_crosses_each_balance_where_it_breaks() -> None:
    forecast = world.a_breaking_forecast()
    page = forecast_page(forecast)
    cells = 70
    for balance in forecast.balances:
        assert balance.first_break is not None
        day = (balance.first_break - forecast.start_on).days
        drawn = row(page, balance.name.capitalize())
        assert len(drawn) == cells
        assert drawn.index("\u2573") == int(day * cells / len(forecast.dates))


def test_its_ribbon_has_no_cross_where_the_plan_holds() -> None:
    assert "\u2573" not in forecast_page(world.a_holding_forecast())


def test_its_ribbon_rises_with_the_nitrate() -> None:
    water = row(forecast_page(world.a_breaking_forecast()), "Water")
    assert LEVELS.index(water[10]) < LEVELS.index(water[40]) < LEVELS.index(water[69]) == 7


def test_its_ribbon_shows_an_unknown_balance_as_empty() -> None:
    assert row(forecast_page(world.a_minimal_forecast()), "Mouths") == ""


def test_its_doors_page_has_every_element() -> None:
    page = fluxes_page(world.a_breaking_forecast())
    assert "Oxygen: 22 g a month comes in" in page
    assert re.search(r"left in the tank +\+0\.21", page)
    assert fluxes_page(world.a_minimal_forecast()) == "No fluxes were recorded.\n"


def test_it_cuts_words_that_are_wider_than_the_page() -> None:
    assert wrapped("a" * 25 + " b", 10) == ["a" * 10, "a" * 10, "aaaaa b"]
    assert wrapped("", 10) == []


def test_it_does_not_break_between_a_number_and_its_sign() -> None:
    assert wrapped("about 97\u00a0%", 8) == ["about", "97\u00a0%"]


def test_it_counts_wide_letters_twice_and_marks_not_at_all() -> None:
    assert seen_width("紅海") == 4
    assert seen_width("e\u0301") == 1


def test_it_spells_letters_that_ascii_lacks() -> None:
    assert spelled_in_ascii("25 °C – Ärger …") == "25 deg C - Arger ..."
    assert spelled_in_ascii("紅海") == "??"


def test_it_sets_numbers_right_and_words_left() -> None:
    lines = text_table(("what", "n"), [("a", "5"), ("bbbbb", "100")], Style(width=40), indent=0)
    assert lines == ["what     n", "a        5", "bbbbb  100"]


def test_it_folds_the_widest_column_when_a_table_is_too_wide() -> None:
    lines = text_table(("a", "b"), [("word " * 20, "short")], Style(width=30), indent=0)
    assert max(map(len, lines)) <= 30
    assert lines[1].endswith("short")


def test_it_names_what_is_only_to_watch_in_one_line_each() -> None:
    base = world.a_holding_forecast(days=60)
    many = tuple(replace(base.findings[0], id=f"f{i}", what=f"thing number {i}") for i in range(30))
    page = forecast_page(replace(base, findings=many))
    assert "    24 more to watch; the report tells of each:" in page
    assert all(f"Thing number {i}\n" in page for i in range(30))
    assert page.count("leave out the urchin") + page.count("Leave out the urchin") == 6
