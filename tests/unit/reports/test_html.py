from __future__ import annotations

import base64
import hashlib
import re
from collections.abc import Callable
from dataclasses import replace
from functools import cache
from html.parser import HTMLParser
from itertools import pairwise

import pytest

from backreef.judgement.verdict import Forecast
from backreef.plots.figure import Reading
from backreef.reports.html import policy, report_html, style_sheet
from tests import forecast_world as world
from tests.forecast_parts import day

FORECASTS: dict[str, Callable[[], Forecast]] = {
    "holding": world.a_holding_forecast,
    "breaking": world.a_breaking_forecast,
    "minimal": world.a_minimal_forecast,
    "odd": world.an_odd_forecast,
}
VOID = {"meta", "link", "br", "hr", "img", "input", "col"}


class Page(HTMLParser):
    """The elements of a page in order, with a complaint for each that is not closed in turn."""

    def __init__(self, source: str) -> None:
        super().__init__()
        self.elements: list[tuple[str, dict[str, str | None]]] = []
        self.text = ""
        self.open: list[str] = []
        self.complaints: list[str] = []
        self.feed(source)
        self.close()

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.elements.append((tag, dict(attrs)))
        if tag not in VOID:
            self.open.append(tag)

    def handle_endtag(self, tag: str) -> None:
        if not self.open or self.open.pop() != tag:
            self.complaints.append(tag)

    def handle_data(self, data: str) -> None:
        self.text += data

    def attributes(self, name: str) -> list[str]:
        return [value for _, attrs in self.elements for key, value in attrs.items() if key == name and value]


@cache
def written(name: str) -> str:
    return report_html(FORECASTS[name]())


@cache
def parsed(name: str) -> Page:
    return Page(written(name))


@pytest.fixture(params=FORECASTS)
def source(request: pytest.FixtureRequest) -> str:
    return written(request.param)


@pytest.fixture(params=FORECASTS)
def read(request: pytest.FixtureRequest) -> Page:
    return parsed(request.param)


def test_it_closes_every_element_in_turn(read: Page) -> None:
    assert read.complaints == []
    assert read.open == []


def test_it_gives_an_identifier_once_and_links_only_to_what_is_there(read: Page) -> None:
    ids = read.attributes("id")
    assert len(ids) == len(set(ids))
    assert {h[1:] for h in read.attributes("href") if h.startswith("#")} <= set(ids)
    assert {one for value in read.attributes("aria-labelledby") for one in value.split()} <= set(ids)


def test_it_names_no_other_place(read: Page) -> None:
    for name in ("src", "href", "action", "srcset", "data", "poster", "xlink:href"):
        assert [v for v in read.attributes(name) if not v.startswith(("#", "data:,"))] == []
    assert "url(" not in re.sub(r"url\(#[\w-]+\)", "", style_sheet())
    assert "@import" not in style_sheet()


def test_it_holds_no_script_and_no_style_but_its_own(read: Page) -> None:
    tags = [tag for tag, _ in read.elements]
    assert not {"script", "iframe", "object", "embed", "form", "base"} & set(tags)
    assert tags.count("style") == 1
    assert read.attributes("style") == []
    assert not [key for _, attrs in read.elements for key in attrs if key.startswith("on")]


def test_its_policy_allows_its_own_style_sheet_only(source: str) -> None:
    inside = source.split("<style>")[1].split("</style>", maxsplit=1)[0]
    digest = base64.b64encode(hashlib.sha256(inside.encode()).digest()).decode()
    assert f"style-src 'sha256-{digest}'" in policy(style_sheet())
    first = next(attrs for tag, attrs in Page(source).elements if "http-equiv" in attrs)
    assert first["content"] == policy(style_sheet())
    assert policy(style_sheet()).startswith("default-src 'none'; ")


def test_it_has_one_first_heading_and_skips_no_level(read: Page) -> None:
    levels = [int(tag[1]) for tag, _ in read.elements if re.fullmatch("h[1-6]", tag)]
    assert levels[0] == 1
    assert levels.count(1) == 1
    assert all(b - a <= 1 for a, b in pairwise(levels))


def test_it_says_its_language_and_can_be_skipped_through(read: Page) -> None:
    assert read.elements[0] == ("html", {"lang": "en"})
    first = next(attrs for tag, attrs in read.elements if tag == "a")
    assert first["class"] == "skip"


def test_it_has_every_section_that_a_reader_may_look_for(read: Page) -> None:
    wanted = {
        "findings",
        "water",
        "mouths",
        "hands",
        "additions",
        "crew",
        "doors",
        "cautions",
        "sure",
        "assumptions",
    }
    assert wanted <= set(read.attributes("id"))
    titles = [t for t in ("What we assumed and on whose word", "How sure", "Cautions") if t in read.text]
    assert len(titles) == 3


def test_it_shows_no_number_that_is_not_one(read: Page) -> None:
    assert not re.search(r"\b(nan|inf)\b|\bNone\b(?! of )", read.text)


@pytest.mark.parametrize(("name", "most_kb"), [("holding", 1500), ("breaking", 1500), ("odd", 4000)])
def test_it_stays_small(name: str, most_kb: int) -> None:
    assert len(written(name).encode()) < most_kb * 1000


def test_it_treats_hostile_names_as_text() -> None:
    read = parsed("odd")
    assert "script" not in {tag for tag, _ in read.elements}
    assert "<script>alert('reef')</script>" in read.text


def test_it_lists_every_assumption_with_its_word() -> None:
    forecast = world.a_holding_forecast()
    text = written("holding").split('id="assumptions"')[1]
    for assumption in forecast.assumptions:
        assert assumption.key in text
        assert assumption.source in text


def test_it_shows_what_a_simulated_remedy_did() -> None:
    text = parsed("breaking").text
    assert "Two more feeder portions a day at 11:00 and 15:00 (simulated: not enough)" in text
    assert "Somebody who feeds on closed days (advice)" in text


def test_it_sets_readings_against_the_forecast() -> None:
    forecast = world.a_holding_forecast(days=60)
    reading = Reading(series="nitrate_mg_no3_per_l", on=day(20), value=3.0)
    assert 'class="reading"' not in report_html(forecast)
    assert 'class="reading"' in report_html(forecast, [reading])


def test_it_says_so_where_a_section_has_nothing_to_show() -> None:
    text = Page(report_html(replace(world.a_minimal_forecast(), water_bands=()))).text
    for words in (
        "Nothing came close to a bound.",
        "The plan has no animals.",
        "No animals arrive in this plan.",
        "No fluxes were recorded.",
        "No quantity of the water has bounds in this forecast.",
    ):
        assert words in text


def test_it_folds_what_is_only_to_watch_but_loses_none() -> None:
    base = world.a_holding_forecast(days=60)
    many = tuple(replace(base.findings[0], id=f"f{i}", what=f"thing number {i}") for i in range(30))
    text = Page(report_html(replace(base, findings=many))).text
    assert "20 more to watch" in text
    assert all(f"Thing number {i}" in text for i in range(30))
