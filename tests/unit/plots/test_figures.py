"""What every picture owes its reader, whatever it shows."""

from __future__ import annotations

import re
from collections.abc import Callable
from xml.etree import ElementTree as ET

import pytest

from backreef.judgement.verdict import Forecast
from backreef.plots.additions import additions_chart
from backreef.plots.crew import crew_chart
from backreef.plots.figure import NARROW, WIDE, Figure
from backreef.plots.flux import flux_charts
from backreef.plots.minutes import minutes_by_chore, minutes_by_week
from backreef.plots.mouths import mouths_chart
from backreef.plots.overlay import overlay
from backreef.plots.ribbon import ribbon
from backreef.plots.series import series_chart
from tests import forecast_world as world

SVG = "{http://www.w3.org/2000/svg}"
FORECASTS: dict[str, Callable[[], Forecast]] = {
    "holding": world.a_holding_forecast,
    "breaking": world.a_breaking_forecast,
    "minimal": world.a_minimal_forecast,
    "odd": world.an_odd_forecast,
}


def figures(forecast: Forecast) -> list[Figure]:
    drawn = [
        ribbon(forecast),
        *(series_chart(forecast, name) for name in forecast.series),
        *flux_charts(forecast),
        overlay(world.a_holding_forecast(), forecast, ("as it is", "changed")),
    ]
    charts = (mouths_chart, minutes_by_week, minutes_by_chore, crew_chart, additions_chart)
    maybe = [chart(forecast) for chart in charts]
    return drawn + [one for one in maybe if one is not None]


@pytest.fixture(scope="module", params=FORECASTS)
def drawn(request: pytest.FixtureRequest) -> list[Figure]:
    return figures(FORECASTS[request.param]())


def drawings(drawn: list[Figure]) -> list[ET.Element]:
    return [ET.fromstring(svg) for figure in drawn for svg in (figure.wide, figure.narrow)]


def test_it_is_well_formed_and_says_in_words_what_it_shows(drawn: list[Figure]) -> None:
    for svg in drawings(drawn):
        assert svg.get("role") == "img"
        named = (svg.get("aria-labelledby") or "").split()
        texts = {child.get("id"): child.text for child in svg if child.tag in (f"{SVG}title", f"{SVG}desc")}
        assert list(texts) == named
        assert all(text and text.strip() for text in texts.values())


def test_it_holds_no_identifier_twice_in_one_page(drawn: list[Figure]) -> None:
    ids = [e.get("id") for svg in drawings(drawn) for e in svg.iter() if e.get("id")]
    assert len(ids) == len(set(ids))


def test_it_draws_its_textures_as_lines_that_print_small(drawn: list[Figure]) -> None:
    for svg in drawings(drawn):
        assert not [e for e in svg.iter() if e.tag in (f"{SVG}pattern", f"{SVG}clipPath", f"{SVG}filter")]


def test_it_has_no_coordinate_that_is_not_a_number(drawn: list[Figure]) -> None:
    for figure in drawn:
        for svg in (figure.wide, figure.narrow):
            assert not re.search(r'[\s"MVHZ](nan|inf|-inf)[\s"VHZ]', svg)


def test_it_needs_no_style_attribute_script_or_address(drawn: list[Figure]) -> None:
    for svg in drawings(drawn):
        for e in svg.iter():
            assert e.tag.removeprefix(SVG) not in {"script", "image", "use", "foreignObject", "a", "style"}
            assert not {key for key in e.attrib if key == "style" or key.startswith("on") or "href" in key}


def test_it_stays_inside_its_frame(drawn: list[Figure]) -> None:
    for svg in drawings(drawn):
        width = float((svg.get("viewBox") or "").split()[2])
        for e in svg.iter(f"{SVG}rect"):
            left, wide = float(e.get("x") or 0), float(e.get("width") or 0)
            assert left >= -0.1
            assert left + wide <= width + 0.1


def test_it_has_a_width_for_a_desk_and_one_for_a_hand(drawn: list[Figure]) -> None:
    for figure in drawn:
        assert f'viewBox="0 0 {WIDE:.0f} ' in figure.wide
        assert f'viewBox="0 0 {NARROW:.0f} ' in figure.narrow


def test_it_has_a_table_behind_it_whose_rows_fit_its_columns(drawn: list[Figure]) -> None:
    for figure in drawn:
        assert figure.table.caption
        assert figure.table.rows
        assert {len(row) for row in figure.table.rows} == {len(figure.table.columns)}
        assert "nan" not in " ".join(cell for row in figure.table.rows for cell in row).lower().split()


def test_it_never_lets_a_name_become_markup() -> None:
    for figure in figures(world.an_odd_forecast()):
        assert "<script" not in figure.wide + figure.narrow
