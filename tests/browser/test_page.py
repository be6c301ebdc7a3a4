"""The page as a keeper uses it: each test walks through it in a real browser, on a real server."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Browser, Page, expect

from tests.browser.served import Server, server, watched
from tests.page_world import PLAN

SHORT = PLAN.replace('"1 years"', '"0.06 years"')


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = tmp_path_factory.mktemp("keeper")
    (path / "reef.toml").write_text(SHORT, encoding="utf-8")
    return path


@pytest.fixture(scope="module")
def reef(folder: Path) -> Iterator[Server]:
    with server(folder, "--members", "2") as started:
        yield started


@pytest.fixture(scope="module")
def keeper(browser: Browser, reef: Server, tmp_path_factory: pytest.TempPathFactory) -> str:
    """The cookies of the keeper, who has a forecast and a reading."""
    path = tmp_path_factory.mktemp("cookies") / "keeper.json"
    with watched(browser, reef.home) as page:
        page.goto(reef.link)
        forecast_it(page, reef)
        page.goto(f"{reef.home}/t/reef/log/")
        page.get_by_label("What happened").fill("no3 12 ppm, kh 8, note: all well")
        page.get_by_role("button", name="Save it").click()
        expect(page.get_by_role("status")).to_contain_text("Saved: nitrate: 12 mg/L NO3")
        page.context.storage_state(path=path)
    return str(path)


def forecast_it(page: Page, reef: Server) -> None:
    page.goto(f"{reef.home}/t/reef/forecast/")
    page.get_by_role("button", name="Forecast it").click()
    expect(page.locator("h1.holds, h1.breaks")).to_be_visible(timeout=180_000)


def test_a_first_visit_leads_to_a_judged_plan(browser: Browser, tmp_path: Path) -> None:
    home = tmp_path / "new"
    home.mkdir()
    with server(home, "--members", "2") as new, watched(browser, new.home) as page:
        page.goto(new.link)
        expect(page.get_by_role("heading", name="Begin with your tank")).to_be_visible()
        page.get_by_label("What the tank is called").fill("Hall reef")
        page.get_by_label("Inner size of the display").fill("120 x 50 cm")
        page.get_by_role("button", name="Make the plan").click()
        expect(page.locator(".fault")).to_contain_text("no unit of volume")
        page.get_by_label("Inner size of the display").fill("120 x 50 x 50 cm")
        page.get_by_role("button", name="Make the plan").click()
        page.get_by_role("link", name="Add animals").click()
        page.get_by_label("Look for").fill("ocellaris")
        page.get_by_role("button", name="Add Ocellaris clownfish").click()
        page.get_by_label("Count", exact=True).fill("2")
        page.get_by_role("button", name="Save").click()
        page.get_by_role("link", name="Add a meal").click()
        page.get_by_label("Look for").fill("small pellet")
        page.get_by_role("button", name="Add ").first.click()
        page.get_by_role("button", name="Save").click()
        page.get_by_role("link", name="Change goals").click()
        page.get_by_label("Horizon").fill("0.06 years")
        page.get_by_role("button", name="Save").click()
        page.get_by_role("link", name="Forecast").first.click()
        page.get_by_role("button", name="Forecast it").click()
        expect(page.locator("h1.holds, h1.breaks")).to_be_visible(timeout=180_000)
        expect(page.locator("#ribbon .for-wide svg")).to_be_visible()


def test_faults_come_while_one_types(browser: Browser, reef: Server, keeper: str, folder: Path) -> None:
    before = (folder / "reef.toml").read_bytes()
    with watched(browser, reef.home, state=keeper) as page:
        page.goto(f"{reef.home}/t/reef/plan/animals/0/")
        count = page.get_by_label("Count", exact=True)
        count.fill("9000")
        expect(page.locator(".fault", has_text="found 9000")).to_be_visible()
        count.fill("2")
        expect(page.locator(".fault", has_text="found 9000")).to_have_count(0)
    assert (folder / "reef.toml").read_bytes() == before
