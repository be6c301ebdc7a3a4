"""The page of a log against its plan in a real browser: on a desk, in the dark, in a hand."""

from __future__ import annotations

from pathlib import Path
from typing import Literal

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Browser

from backreef.reports.reconcile_html import reconcile_html
from tests.e2e.test_reconcile import twin

Scheme = Literal["light", "dark"]


@pytest.mark.parametrize(
    ("width", "scheme"), [(1200, "light"), (1200, "dark"), (360, "light"), (360, "dark")]
)
def test_it_fits_its_screen_in_silence_and_shuts_nobody_out(
    browser: Browser, tmp_path: Path, width: int, scheme: Scheme
) -> None:
    path = tmp_path / "reconcile.html"
    path.write_text(reconcile_html(twin()), encoding="utf-8")
    context = browser.new_context(viewport={"width": width, "height": 900}, color_scheme=scheme)
    page = context.new_page()
    complaints: list[str] = []
    page.on("console", lambda message: complaints.append(message.text))
    page.on("pageerror", lambda error: complaints.append(str(error)))
    page.goto(path.as_uri())
    assert page.evaluate("document.documentElement.scrollWidth - document.documentElement.clientWidth") <= 0
    assert complaints == []
    page.evaluate("document.querySelectorAll('details').forEach(one => { one.open = true; })")
    found = Axe().run(page)
    assert found.violations_count == 0, found.generate_report()
    context.close()
