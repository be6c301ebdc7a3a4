"""The forecast's pages in a real browser: seasons, days, and why."""

from __future__ import annotations

import re

import pytest
from playwright.sync_api import Browser, expect

from tests.browser.served import Server, watched
from tests.cli_world import ROOT
from tests.page_world import PLAN

SERVED = PLAN.replace('"1 years"', '"0.3 years"')
SHOTS = ROOT / "tests" / "browser" / "screenshots"
RUN_MS = 240_000


@pytest.fixture(scope="module")
def keeper(browser: Browser, reef: Server, tmp_path_factory: pytest.TempPathFactory) -> str:
    path = tmp_path_factory.mktemp("cookies") / "keeper.json"
    with watched(browser, reef.home) as page:
        page.goto(reef.link)
        page.goto(f"{reef.home}/t/reef/forecast/")
        page.get_by_role("button", name="Forecast it").click()
        expect(page.locator("h1.holds, h1.breaks")).to_be_visible(timeout=RUN_MS)
        page.context.storage_state(path=path)
    return str(path)


def test_a_click_on_the_ribbon_leads_to_a_season_and_a_day(
    browser: Browser, reef: Server, keeper: str
) -> None:
    with watched(browser, reef.home, state=keeper) as page:
        page.goto(f"{reef.home}/t/reef/forecast/")
        frame = page.locator("#ribbon .for-wide .border-frame").first
        box = frame.bounding_box()
        assert box is not None
        page.mouse.click(box["x"] + 0.1 * box["width"], box["y"] + 60)
        page.wait_for_url(re.compile("season/2027-1/"))
        expect(page.locator("#season .for-wide svg")).to_be_visible()
        page.get_by_role("link", name="14 January 2027").click()
        expect(page.locator("#chosen-day")).to_contain_text("Thursday, 14 January 2027", timeout=RUN_MS)
        expect(page.locator("#chosen-day")).to_contain_text("g offered")


def test_seasons_and_days_are_walked_by_keyboard(browser: Browser, reef: Server, keeper: str) -> None:
    with watched(browser, reef.home, state=keeper) as page:
        page.goto(f"{reef.home}/t/reef/forecast/season/2027-1/")
        for key, season in (("ArrowRight", "2027-4"), ("ArrowLeft", "2027-1")):
            page.keyboard.press(key)
            page.wait_for_url(re.compile(f"season/{season}/"))  # and until its script is there
        page.get_by_role("link", name="14 January 2027").focus()
        page.keyboard.press("ArrowDown")
        page.keyboard.press("ArrowRight")
        expect(page.get_by_role("link", name="22 January 2027")).to_be_focused()
        expect(page.locator("#chosen-day")).to_contain_text("Friday, 22 January 2027", timeout=RUN_MS)


def test_without_a_script_a_day_is_a_page(browser: Browser, reef: Server, keeper: str) -> None:
    with watched(browser, reef.home, state=keeper, script=False) as page:
        page.goto(f"{reef.home}/t/reef/forecast/season/2027-1/")
        page.get_by_role("link", name="14 January 2027").click()
        expect(page.get_by_role("heading", name="Thursday, 14 January 2027")).to_be_visible()
        expect(page.get_by_role("link", name="Why nitrate?")).to_be_visible()


def test_a_number_answers_why(browser: Browser, reef: Server, keeper: str) -> None:
    with watched(browser, reef.home, state=keeper) as page:
        page.goto(f"{reef.home}/t/reef/forecast/day/2027-01-14/")
        page.get_by_role("link", name="Why nitrate?").click()
        page.get_by_role("button", name="Work it out").click()
        expect(page.get_by_role("heading", name="How it comes about")).to_be_visible(timeout=RUN_MS)
        expect(page.locator(".tree")).to_contain_text("S_NO3")
        page.goto(f"{reef.home}/t/reef/why/?of=oxygen_mg_per_l@2027-01-14")
        expect(page.get_by_role("heading", name="How it comes about")).to_be_visible()
        page.goto(f"{reef.home}/t/reef/why/")
        expect(page.locator(".plainly")).to_contain_text("clowns.mass_g", timeout=RUN_MS)
