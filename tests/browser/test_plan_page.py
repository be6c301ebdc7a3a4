"""The plan's page in a real browser: looking at a change, adding, undoing, rows."""

from __future__ import annotations

from pathlib import Path

from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Browser, expect

from tests.browser.served import Server, watched
from tests.page_world import PLAN

SERVED = PLAN.replace('"1 years"', '"0.06 years"')
LOOK_MS = 120_000


def test_a_troublemaker_is_seen_before_it_is_added_and_undone_after(
    browser: Browser, reef: Server, keeper: str, folder: Path
) -> None:
    before = (folder / "reef.toml").read_bytes()
    with watched(browser, reef.home, state=keeper) as page:
        page.goto(f"{reef.home}/t/reef/plan/")
        page.get_by_role("link", name="Add animals").click()
        page.get_by_label("Look for").fill("yellow tang")
        page.get_by_role("link", name="What it changes Yellow tang").click()
        change = page.locator("#look .changed")
        expect(change).to_contain_text("Mouths holds in", timeout=LOOK_MS)
        expect(page.locator("#look")).to_contain_text("too small")
        expect(page.locator("#look svg").first).to_be_visible()
        assert Axe().run(page).violations_count == 0
        assert (folder / "reef.toml").read_bytes() == before
        page.get_by_role("button", name="Put it into the plan").click()
        expect(page.get_by_role("heading", name="Yellow tang")).to_be_visible()
        page.goto(f"{reef.home}/t/reef/plan/")
        page.get_by_role("button", name="Undo").click()
        expect(page.get_by_role("status")).to_contain_text("Taken back")
    assert (folder / "reef.toml").read_bytes() == before


def test_a_change_of_a_form_is_looked_at_with_and_without_a_script(
    browser: Browser, reef: Server, keeper: str, folder: Path
) -> None:
    before = (folder / "reef.toml").read_bytes()
    for script in (True, False):
        with watched(browser, reef.home, state=keeper, script=script) as page:
            page.goto(f"{reef.home}/t/reef/plan/animals/0/")
            page.get_by_label("Count", exact=True).fill("3")
            page.get_by_role("button", name="See what it changes").click()
            expect(page.locator(".changed")).to_contain_text("Water holds in", timeout=LOOK_MS)
    assert (folder / "reef.toml").read_bytes() == before


def test_days_closed_are_rows_on_a_phone(browser: Browser, reef: Server, keeper: str, folder: Path) -> None:
    with watched(browser, reef.home, state=keeper, width=360) as page:
        page.goto(f"{reef.home}/t/reef/plan/part/keeper/")
        page.get_by_text("More that can be said").click()
        page.locator("input[name='keeper.closed[0].weekday']").fill("Sunday")
        page.get_by_role("button", name="Save").click()
        expect(page.get_by_role("status")).to_contain_text("Saved: Keeper")
    assert 'weekday = "Sunday"' in (folder / "reef.toml").read_text(encoding="utf-8")
