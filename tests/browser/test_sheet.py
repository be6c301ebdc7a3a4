"""The away sheet as a browser shows and prints it: one page on both papers, readable on a phone."""

from __future__ import annotations

import io
from pathlib import Path

import pypdf
import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Browser

from backreef.reports.sheet import sheet_html
from tests.sheet_world import ABSENCES, sheet_of

LEAST_PT = 9.5
"""Six visits by two people; two visits get 11 pt and more."""


def written(folder: Path, name: str) -> str:
    path = folder / "sheet.html"
    path.write_text(sheet_html(sheet_of(name)), encoding="utf-8")
    return path.as_uri()


@pytest.mark.parametrize("name", ABSENCES)
@pytest.mark.parametrize("paper", ["A4", "Letter"])
def test_it_fits_one_page(browser: Browser, tmp_path: Path, name: str, paper: str) -> None:
    page = browser.new_page()
    page.goto(written(tmp_path, name))
    pdf = pypdf.PdfReader(io.BytesIO(page.pdf(format=paper)))
    page.close()
    assert len(pdf.pages) == 1
    text = " ".join(pdf.pages[0].extract_text().split())
    assert "Before you leave" not in text
    assert "an electrician" in text, "the last line is on it"


@pytest.mark.parametrize("name", ABSENCES)
def test_its_letters_are_large_on_paper(browser: Browser, tmp_path: Path, name: str) -> None:
    page = browser.new_page()
    page.emulate_media(media="print")
    page.goto(written(tmp_path, name))
    size_px = page.evaluate("parseFloat(getComputedStyle(document.body).fontSize)")
    smallest_px = page.evaluate(
        "Math.min(...[...document.querySelectorAll('main *')].filter(e => e.textContent.trim() "
        "&& e.checkVisibility()).map(e => parseFloat(getComputedStyle(e).fontSize)))"
    )
    page.close()
    assert size_px * 0.75 >= (11.0 if name in ("two visits", "grandfather", "nobody") else LEAST_PT)
    assert smallest_px >= 0.89 * size_px


@pytest.mark.parametrize("name", ABSENCES)
@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_it_reads_well_in_a_hand(browser: Browser, tmp_path: Path, name: str, scheme: str) -> None:
    context = browser.new_context(viewport={"width": 390, "height": 844}, color_scheme=scheme)  # type: ignore[arg-type]
    page = context.new_page()
    complaints: list[str] = []
    page.on("console", lambda message: complaints.append(message.text))
    page.goto(written(tmp_path, name))
    over = page.evaluate("document.documentElement.scrollWidth - document.documentElement.clientWidth")
    found = Axe().run(page)
    context.close()
    assert over <= 0
    assert complaints == []
    assert found.response["violations"] == []


def test_nothing_on_paper_depends_on_colour(browser: Browser, tmp_path: Path) -> None:
    page = browser.new_page(color_scheme="dark")
    page.emulate_media(media="print")
    page.goto(written(tmp_path, "two visits"))
    colours = page.evaluate(
        "[...new Set([...document.querySelectorAll('main *')].map(e => getComputedStyle(e).color))]"
    )
    page.close()
    assert colours == ["rgb(0, 0, 0)"]
