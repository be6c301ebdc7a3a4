"""The report of a forecast as a browser shows it: on a desk, in the dark, in a hand and on paper."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from functools import cache
from pathlib import Path
from typing import Literal

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Browser, Page

from backreef.judgement.verdict import Forecast
from backreef.reports.html import report_html
from tests import forecast_world as world

FORECASTS: dict[str, Callable[[], Forecast]] = {
    "holding": world.a_holding_forecast,
    "breaking": world.a_breaking_forecast,
    "minimal": world.a_minimal_forecast,
    "odd": world.an_odd_forecast,
}
RENDERINGS: dict[str, tuple[int, Literal["light", "dark"], Literal["screen", "print"]]] = {
    "desk": (1200, "light", "screen"),
    "dark": (1200, "dark", "screen"),
    "hand": (390, "light", "screen"),
    "dark hand": (390, "dark", "screen"),
    "paper": (680, "light", "print"),
}
SMALLEST_PX = 6.5
"""Least height of a letter's em in a picture on paper, 5 pt; what a small chart's label has in print."""


@dataclass
class Seen:
    """A page with everything it complained about or asked for."""

    page: Page
    complaints: list[str] = field(default_factory=list)
    requests: list[str] = field(default_factory=list)


@cache
def written(name: str) -> str:
    return report_html(FORECASTS[name]())


@contextmanager
def opened(browser: Browser, folder: Path, name: str, rendering: str) -> Iterator[Seen]:
    width, scheme, media = RENDERINGS[rendering]
    path = folder / f"{name}.html"
    path.write_text(written(name), encoding="utf-8")
    context = browser.new_context(viewport={"width": width, "height": 844}, color_scheme=scheme)
    page = context.new_page()
    page.emulate_media(media=media, color_scheme=scheme)
    seen = Seen(page)
    page.on("console", lambda message: seen.complaints.append(message.text))
    page.on("pageerror", lambda error: seen.complaints.append(str(error)))
    page.on("request", lambda request: seen.requests.append(request.url))
    page.goto(path.as_uri())
    yield seen
    context.close()


@pytest.mark.parametrize("name", FORECASTS)
@pytest.mark.parametrize("rendering", RENDERINGS)
def test_it_fits_its_screen_in_silence(browser: Browser, tmp_path: Path, name: str, rendering: str) -> None:
    with opened(browser, tmp_path, name, rendering) as seen:
        over = seen.page.evaluate(
            "document.documentElement.scrollWidth - document.documentElement.clientWidth"
        )
        assert over <= 0
        assert seen.complaints == []
        assert [url for url in seen.requests if not url.startswith(("file://", "data:"))] == []
        assert len([url for url in seen.requests if url.startswith("file://")]) == 1


@pytest.mark.parametrize(
    ("name", "rendering"),
    [
        *(("breaking", rendering) for rendering in ("desk", "dark", "hand", "dark hand")),
        ("holding", "dark"),
        ("minimal", "hand"),
        ("odd", "desk"),
        ("odd", "dark hand"),
    ],
)
def test_it_shuts_nobody_out(browser: Browser, tmp_path: Path, name: str, rendering: str) -> None:
    with opened(browser, tmp_path, name, rendering) as seen:
        seen.page.evaluate("document.querySelectorAll('details').forEach((one, i) => { one.open = i < 3; })")
        found = Axe().run(seen.page)
        assert found.violations_count == 0, found.generate_report()


@pytest.mark.parametrize("name", FORECASTS)
@pytest.mark.parametrize("rendering", RENDERINGS)
def test_its_pictures_keep_every_word_inside_and_readable(
    browser: Browser, tmp_path: Path, name: str, rendering: str
) -> None:
    with opened(browser, tmp_path, name, rendering) as seen:
        lost = seen.page.evaluate(
            """least => [...document.querySelectorAll('svg.chart')].filter(svg => svg.getClientRects().length)
            .flatMap(svg => {
              const frame = svg.getBoundingClientRect();
              const scale = frame.width / svg.viewBox.baseVal.width;
              return [...svg.querySelectorAll('text')].filter(text => {
                const at = text.getBoundingClientRect();
                const small = parseFloat(getComputedStyle(text).fontSize) * scale < least;
                return small || at.left < frame.left - 1 || at.right > frame.right + 1
                  || at.top < frame.top - 2 || at.bottom > frame.bottom + 2;
              }).map(text => svg.getAttribute('aria-labelledby') + ': ' + text.textContent);
            })""",
            SMALLEST_PX,
        )
        assert lost == []


@pytest.mark.parametrize(("rendering", "wide"), [("desk", True), ("hand", False), ("paper", True)])
def test_it_draws_for_the_width_there_is(
    browser: Browser, tmp_path: Path, rendering: str, wide: bool
) -> None:
    with opened(browser, tmp_path, "breaking", rendering) as seen:
        assert seen.page.locator("#ribbon .for-wide").is_visible() == wide
        assert seen.page.locator("#ribbon .for-narrow").is_visible() != wide


def test_it_can_be_read_with_the_keyboard_alone(browser: Browser, tmp_path: Path) -> None:
    with opened(browser, tmp_path, "breaking", "desk") as seen:
        page = seen.page
        page.keyboard.press("Tab")
        assert page.evaluate("document.activeElement.textContent") == "Skip to the findings"
        page.keyboard.press("Enter")
        page.wait_for_url("**#findings")
        summary = page.locator("#ribbon summary")
        summary.focus()
        page.keyboard.press("Enter")
        assert page.locator("#ribbon table").is_visible()


def test_it_shows_the_verdict_and_the_ribbon_before_anybody_scrolls(browser: Browser, tmp_path: Path) -> None:
    with opened(browser, tmp_path, "breaking", "desk") as seen:
        for place in ("h1", "#ribbon .for-wide svg"):
            box = seen.page.locator(place).bounding_box()
            assert box is not None
            assert box["y"] + box["height"] < 900


def test_it_looks_different_in_the_dark(browser: Browser, tmp_path: Path) -> None:
    grounds = []
    for rendering in ("desk", "dark", "paper"):
        with opened(browser, tmp_path, "holding", rendering) as seen:
            grounds.append(seen.page.evaluate("getComputedStyle(document.body).backgroundColor"))
    assert len(set(grounds)) == 3


def test_it_prints_in_the_dark_as_in_the_light(browser: Browser, tmp_path: Path) -> None:
    with opened(browser, tmp_path, "holding", "dark") as seen:
        seen.page.emulate_media(media="print", color_scheme="dark")
        assert seen.page.evaluate("getComputedStyle(document.body).backgroundColor") == "rgb(255, 255, 255)"
        ink = seen.page.evaluate("getComputedStyle(document.body).color")
        assert sum(int(part) for part in ink.strip("rgb()").split(",")) < 200


def test_it_prints_on_a_handful_of_sheets(browser: Browser, tmp_path: Path) -> None:
    with opened(browser, tmp_path, "breaking", "paper") as seen:
        sheets = seen.page.pdf(format="A4", prefer_css_page_size=True, print_background=True)
        assert sheets.startswith(b"%PDF")
        assert 4 <= sheets.count(b"/Type /Page\n") <= 16
