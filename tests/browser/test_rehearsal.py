"""The page of a rehearsal as a browser shows it: on a desk, in the dark, in a hand and on paper."""

from __future__ import annotations

import io
import unicodedata
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from functools import cache
from pathlib import Path
from typing import Literal

import pypdf
import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Browser, Page

from backreef.judgement.rehearsal import Rehearsal
from backreef.reports.rehearsal_html import rehearsal_html
from tests.rehearsal_world import august, small

REHEARSALS: dict[str, Callable[[], Rehearsal]] = {"reading room": august, "work undone": lambda: small("")}
RENDERINGS: dict[str, tuple[int, Literal["light", "dark"], Literal["screen", "print"]]] = {
    "desk": (1200, "light", "screen"),
    "dark": (1200, "dark", "screen"),
    "hand": (390, "light", "screen"),
    "dark hand": (390, "dark", "screen"),
    "paper": (680, "light", "print"),
}
ON_SCREEN = [name for name, (_, _, media) in RENDERINGS.items() if media == "screen"]


@cache
def written(name: str) -> str:
    return rehearsal_html(REHEARSALS[name]())


@contextmanager
def opened(browser: Browser, folder: Path, name: str, rendering: str) -> Iterator[tuple[Page, list[str]]]:
    width, scheme, media = RENDERINGS[rendering]
    path = folder / "away.html"
    path.write_text(written(name), encoding="utf-8")
    context = browser.new_context(viewport={"width": width, "height": 844}, color_scheme=scheme)
    page = context.new_page()
    page.emulate_media(media=media, color_scheme=scheme)
    complaints: list[str] = []
    page.on("console", lambda message: complaints.append(message.text))
    page.on("pageerror", lambda error: complaints.append(str(error)))
    page.goto(path.as_uri())
    yield page, complaints
    context.close()


@pytest.mark.parametrize("name", REHEARSALS)
@pytest.mark.parametrize("rendering", RENDERINGS)
def test_it_fits_its_screen_in_silence(browser: Browser, tmp_path: Path, name: str, rendering: str) -> None:
    with opened(browser, tmp_path, name, rendering) as (page, complaints):
        over = page.evaluate("document.documentElement.scrollWidth - document.documentElement.clientWidth")
        assert over <= 0
        assert complaints == []


@pytest.mark.parametrize("name", REHEARSALS)
@pytest.mark.parametrize("rendering", ON_SCREEN)
def test_it_shuts_nobody_out(browser: Browser, tmp_path: Path, name: str, rendering: str) -> None:
    with opened(browser, tmp_path, name, rendering) as (page, _):
        page.evaluate("document.querySelectorAll('details').forEach((one, i) => { one.open = i < 3; })")
        found = Axe().run(page)
        assert found.violations_count == 0, found.generate_report()


@pytest.mark.parametrize(("rendering", "wide"), [("desk", True), ("hand", False), ("paper", True)])
def test_it_draws_for_the_width_there_is(
    browser: Browser, tmp_path: Path, rendering: str, *, wide: bool
) -> None:
    with opened(browser, tmp_path, "reading room", rendering) as (page, _):
        charts = page.locator("#told svg.chart")
        shown = [chart for chart in charts.all() if chart.is_visible()]
        widths = {int(chart.get_attribute("viewBox").split()[2]) for chart in shown}  # type: ignore[union-attr]
        others = {int(chart.get_attribute("viewBox").split()[2]) for chart in charts.all()} - widths  # type: ignore[union-attr]
        assert shown
        assert len(shown) == charts.count() / 2, "of each picture one of the two drawings"
        assert all(one > other if wide else one < other for one in widths for other in others)


def test_its_mishaps_are_reached_by_the_keyboard_alone(browser: Browser, tmp_path: Path) -> None:
    with opened(browser, tmp_path, "reading room", "desk") as (page, _):
        page.keyboard.press("Tab")
        page.keyboard.press("Enter")
        page.wait_for_url("**#mishaps-all")
        summary = page.locator("#told summary").first
        summary.focus()
        page.keyboard.press("Enter")
        assert page.locator("#told details table").first.is_visible()


def test_on_paper_every_mishap_and_what_helps_is_there(browser: Browser, tmp_path: Path) -> None:
    with opened(browser, tmp_path, "reading room", "paper") as (page, _):
        pdf = pypdf.PdfReader(io.BytesIO(page.pdf(format="A4")))
    letters = unicodedata.normalize("NFKC", " ".join(sheet.extract_text() for sheet in pdf.pages))
    text = " ".join(letters.split())
    for mishap in august().mishaps:
        assert mishap.what.split(",")[0][1:] in text
