"""The keeper of the reading room: from an empty folder to week 6 with readings, and a helper let in."""

from __future__ import annotations

from pathlib import Path

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Browser, Page, expect

from tests.browser.served import server, watched
from tests.cli_world import ROOT

SHOTS = ROOT / "tests" / "browser" / "screenshots"
WORK_MS = 500_000
"""Long work on a machine that does other things too."""
WEEKS = (
    ("2025-01-13 18:30", "no3 6 ppm, po4 0.05, kh 8.0"),
    ("2025-01-20 18:30", "no3 6 ppm, po4 0.05, kh 7.9"),
    ("2025-01-27 18:30", "no3 7 ppm, po4 0.06, kh 7.9, water change 10 %"),
    ("2025-02-03 18:30", "no3 7 ppm, po4 0.06, kh 7.8"),
    ("2025-02-10 18:30", "no3 8 ppm, po4 0.06, kh 7.8, note: all grazers out at dusk"),
    ("2025-02-17 18:30", "no3 8 ppm, po4 0.07, kh 7.7"),
)
PASSWORD = "a long walk along the harbour"


def begin(page: Page) -> None:
    expect(page.get_by_role("heading", name="Begin with your tank")).to_be_visible()
    page.get_by_label("First day of the forecast").fill("2025-01-06")
    page.get_by_label("What the tank is called").fill("Reading-room reef")
    page.get_by_label("Inner size of the display").fill("120 x 50 x 50 cm")
    page.get_by_label("Rock").fill("34 kg")
    page.get_by_label("How it starts").select_option("established")
    page.get_by_label("Minutes a month you give it").fill("90 min")
    page.get_by_label("When you are there").fill("Tue-Fri 8:00-19:00\nSat 9:00-15:00")
    page.get_by_role("button", name="Make the plan").click()
    expect(page.get_by_role("status")).to_contain_text("The plan is there")


def stock(page: Page) -> None:
    page.get_by_role("link", name="Add animals").click()
    page.get_by_label("Look for").fill("Ocellaris clownfish")
    page.get_by_role("button", name="Add Ocellaris clownfish", exact=True).click()
    page.get_by_label("Count", exact=True).fill("2")
    page.get_by_role("button", name="Save").click()
    page.get_by_role("link", name="Add animals").click()
    page.get_by_label("Look for").fill("Cerith snail")
    page.get_by_role("button", name="Add Cerith snail", exact=True).click()
    page.get_by_label("Count", exact=True).fill("3")
    page.get_by_role("button", name="Save").click()
    page.get_by_role("link", name="Add a meal").click()
    page.get_by_label("Look for").fill("pellets of about 1 mm")
    page.get_by_role("button", name="Add Slow-sinking pellets of about 1 mm", exact=True).click()
    page.get_by_role("button", name="Save").click()
    page.get_by_role("link", name="Change Goals").click()
    page.get_by_label("Horizon").fill("0.2 years")
    page.get_by_role("button", name="Save").click()
    expect(page.get_by_role("status")).to_contain_text("Saved")


def forecast(page: Page) -> None:
    page.get_by_role("link", name="Forecast").first.click()
    page.get_by_role("button", name="Forecast it").click()
    expect(page.locator("h1.holds, h1.breaks")).to_be_visible(timeout=WORK_MS)


def test_from_an_empty_start_to_week_six(browser: Browser, tmp_path: Path) -> None:
    home = tmp_path / "library"
    home.mkdir()
    SHOTS.mkdir(exist_ok=True)
    cookies = tmp_path / "keeper.json"
    with server(home, "--members", "2") as served:
        with watched(browser, served.home) as page:
            page.goto(served.link)
            begin(page)
            stock(page)
            forecast(page)
            page.screenshot(path=SHOTS / "story-forecast.png", full_page=True)
            page.context.storage_state(path=cookies)
        with watched(browser, served.home, width=360, state=str(cookies)) as phone:
            phone.goto(f"{served.home}/t/reading_room_reef/log/")
            for when, line in WEEKS:
                phone.get_by_text("It was earlier").click()
                phone.get_by_label("When", exact=True).fill(when)
                phone.get_by_label("What happened").fill(line)
                expect(phone.locator(".draft")).to_contain_text("Nitrate")
                phone.get_by_role("button", name="Save it").click()
                expect(phone.get_by_role("status")).to_contain_text("Saved: nitrate")
            expect(phone.locator("table.log tbody tr")).to_have_count(20)
            expect(phone.locator("#course svg:visible").first).to_be_visible()
            phone.screenshot(path=SHOTS / "story-log-phone.png", full_page=True)
        with watched(browser, served.home, state=str(cookies)) as page:
            page.goto(f"{served.home}/t/reading_room_reef/forecast/water/")
            assert page.locator(".reading").count() > 0
            page.get_by_role("link", name="Reconcile").first.click()
            page.get_by_role("button", name="Put them together").click()
            expect(page.get_by_role("heading", name="This week")).to_be_visible(timeout=WORK_MS)
            assert Axe().run(page).violations_count == 0
            page.screenshot(path=SHOTS / "story-week-six.png", full_page=True)
            page.get_by_role("link", name="Tanks").click()
            expect(page.get_by_role("heading", name="The week from 18 Feb 2025")).to_be_visible()
    assert sorted(one.name for one in home.iterdir() if one.suffix == ".toml") == ["reading_room_reef.toml"]


@pytest.fixture
def library(tmp_path: Path) -> Path:
    folder = tmp_path / "firm"
    folder.mkdir()
    for stem, name in (("hall", "Hall reef"), ("office", "Office reef")):
        text = f'start_on = 2027-01-04\n\n[tank]\nname = "{name}"\ndisplay = "300 L"\n'
        (folder / f"{stem}.toml").write_text(text, encoding="utf-8")
    return folder


def test_a_helper_is_invited_signs_in_and_does_only_what_a_carer_may(browser: Browser, library: Path) -> None:
    SHOTS.mkdir(exist_ok=True)
    with server(library) as served, watched(browser, served.home) as keeper:
        keeper.goto(served.link)
        keeper.goto(f"{served.home}/t/hall/people/")
        keeper.get_by_label("Name to sign in with").fill("caretaker")
        keeper.get_by_role("button", name="Save").click()
        invitation = keeper.get_by_label("Link", exact=True).input_value()
        with watched(browser, served.home, width=360) as helper:
            helper.goto(invitation)
            assert Axe().run(helper).violations_count == 0
            helper.get_by_label("New password").fill(PASSWORD)
            helper.get_by_label("The same again").fill(PASSWORD)
            helper.get_by_role("button", name="Choose it").click()
            expect(helper.get_by_role("heading", name="Hall reef")).to_be_visible()
            expect(helper.get_by_role("heading", name="Office reef")).to_have_count(0)
            helper.get_by_role("button", name="Sign out").click()
            helper.get_by_label("Name").fill("caretaker")
            helper.get_by_label("Password").fill(PASSWORD)
            helper.screenshot(path=SHOTS / "sign in-phone.png", full_page=True)
            helper.get_by_role("button", name="Sign in").click()
            helper.goto(f"{served.home}/t/hall/log/")
            helper.get_by_label("What happened").fill("no3 12")
            helper.get_by_role("button", name="Save it").click()
            expect(helper.get_by_role("status")).to_contain_text("Saved: nitrate")
            helper.get_by_role("button", name="Deutsch").click()
            expect(helper.get_by_role("heading", name="Tagebuch")).to_be_visible()
            assert Axe().run(helper).violations_count == 0
            helper.screenshot(path=SHOTS / "log-german-phone.png", full_page=True)
        keeper.goto(f"{served.home}/t/hall/log/")
        expect(keeper.locator("table.log")).to_contain_text("caretaker")
        keeper.goto(f"{served.home}/people/")
        keeper.screenshot(path=SHOTS / "people-with-a-helper.png", full_page=True)
        assert Axe().run(keeper).violations_count == 0
