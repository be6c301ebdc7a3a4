"""Proposals and what-ifs in a real browser: wishes in, plans out, one adopted; a mark that is looked at."""

from __future__ import annotations

from pathlib import Path

from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Browser, expect

from tests.browser.served import Server, watched
from tests.cli_world import ROOT

SHOTS = ROOT / "tests" / "browser" / "screenshots"
RUN_MS = 300_000
SERVED = """\
start_on = 2027-01-04

[tank]
name = "Test tank"
display = "300 L"

[keeper]
minutes_per_month = "240 min"
presence = ["Mon-Sun 8:00-18:00"]

[[animals]]
id = "clowns"
species = "ocellaris_clown"
count = 2

[[meals]]
id = "pellets"
food = "pellet_small"
amount = "0.2 g"

[[upkeep]]
task = "wc_do"
share = "10 %"
every = "14 days"

[goals]
horizon = "0.3 years"
"""


def test_a_mark_changes_the_plan_for_a_look(
    browser: Browser, reef: Server, keeper: str, folder: Path
) -> None:
    before = (folder / "reef.toml").read_bytes()
    with watched(browser, reef.home, state=keeper) as page:
        page.goto(f"{reef.home}/t/reef/what-if/")
        page.locator("fieldset summary").click()
        page.locator("input[name=skip]").first.check()
        expect(page.locator("#look .changed")).to_contain_text("fewer than before", timeout=RUN_MS)
        expect(page.get_by_role("button", name="Make it the plan")).to_be_visible()
        assert Axe().run(page).violations_count == 0
    assert (folder / "reef.toml").read_bytes() == before


def test_wishes_lead_to_plans_and_one_is_adopted(
    browser: Browser, reef: Server, keeper: str, folder: Path
) -> None:
    SHOTS.mkdir(exist_ok=True)
    with watched(browser, reef.home, state=keeper) as page:
        page.goto(f"{reef.home}/t/reef/propose/")
        page.locator("input[name='keeper.wishes[0].text']").fill("a shoal that moves")
        page.locator("input[name='keeper.wishes[0].weight']").fill("2")
        page.get_by_role("button", name="Search for plans").click()
        expect(page.get_by_role("heading", name="Most of the wishes")).to_be_visible(timeout=RUN_MS)
        page.get_by_role("button", name="See it over the plan as it is").first.click()
        expect(page.locator(".changed").first).to_contain_text("Mouths holds in", timeout=RUN_MS)
        found = Axe().run(page)
        assert found.violations_count == 0, found.generate_report()
        page.screenshot(path=SHOTS / "propose-light-1280.png", full_page=True)
        page.get_by_role("button", name="Adopt it").first.click()
        expect(page.get_by_role("status").first).to_contain_text("Adopted: most of the wishes")
    assert "pajama_cardinal" in (folder / "reef.toml").read_text(encoding="utf-8")
