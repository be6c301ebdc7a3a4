"""The page as a keeper uses it: each test walks through it in a real browser, on a real server."""

from __future__ import annotations

import json
import re
import signal
import sqlite3
import subprocess
from pathlib import Path

import pytest
from axe_playwright_python.sync_playwright import Axe
from PIL import Image
from playwright.sync_api import Browser, Page, expect

from tests.browser.served import Server, command, server, watched
from tests.cli_world import EXAMPLES, ROOT
from tests.page_world import PLAN

SERVED = PLAN.replace('"1 years"', '"0.06 years"')
SHOTS = ROOT / "tests" / "browser" / "screenshots"


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
        page.get_by_role("link", name="Change Goals").click()
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


def a_photograph(folder: Path) -> Path:
    """A picture as a phone takes it: large, on its side, with what the camera wrote into it."""
    exif = Image.Exif()
    exif[0x0112] = 6  # to be turned by a quarter
    exif.get_ifd(0x8825)[1] = "N"  # where it was taken
    path = folder / "IMG_0001.jpg"
    Image.new("RGB", (2400, 1800), "teal").save(path, "JPEG", exif=exif)
    assert b"Exif" in path.read_bytes()
    return path


def test_a_line_and_a_photograph_are_logged_on_a_phone(
    browser: Browser, reef: Server, keeper: str, tmp_path: Path
) -> None:
    SHOTS.mkdir(exist_ok=True)
    with watched(browser, reef.home, width=360, state=keeper) as page:
        page.goto(f"{reef.home}/t/reef/log/")
        page.get_by_role("link", name="Phosphate", exact=True).first.click()
        line = page.get_by_label("What happened")
        expect(line).to_have_value(re.compile("^po4"))
        line.press_sequentially("0.08")
        expect(page.locator(".draft")).to_contain_text("0.08 mg/L PO4")
        save = page.get_by_role("button", name="Save it")
        box = save.bounding_box()
        assert box is not None
        assert box["height"] >= 44
        save.click()
        expect(page.get_by_role("status")).to_contain_text("Saved: phosphate")
        page.get_by_role("button", name="Take the last one back").click()
        expect(page.get_by_role("status")).to_contain_text("Taken back: phosphate")
        page.get_by_text("Add a photograph").click()
        page.get_by_label("Picture").set_input_files(a_photograph(tmp_path))
        page.get_by_label("What it shows").fill("the front pane")
        page.get_by_role("button", name="Keep it").click()
        expect(page.get_by_role("status")).to_contain_text("The photograph is in the log.")
        shot = page.get_by_role("img", name="the front pane")
        shot.scroll_into_view_if_needed()
        assert shot.evaluate("image => image.decode().then(() => image.naturalWidth)") > 0
        kept = page.request.get(f"{reef.home}{shot.get_attribute('src')}").body()
        assert b"Exif" not in kept
        box = shot.bounding_box()
        assert box is not None
        assert box["x"] + box["width"] <= 360
        page.screenshot(path=SHOTS / "photograph-phone.png", full_page=True)


def test_reading_and_logging_need_no_script(browser: Browser, reef: Server, keeper: str) -> None:
    with watched(browser, reef.home, script=False, state=keeper) as page:
        page.goto(f"{reef.home}/")
        expect(page.get_by_role("heading", name="Test tank")).to_be_visible()
        page.goto(f"{reef.home}/t/reef/log/")
        page.get_by_label("What happened").fill("note: without a script")
        page.get_by_role("button", name="Show how it is understood").click()
        page.get_by_role("button", name="Save it").click()
        expect(page.get_by_role("status")).to_contain_text("Saved: without a script")


def test_it_can_be_used_with_the_keyboard_alone(browser: Browser, reef: Server, keeper: str) -> None:
    with watched(browser, reef.home, state=keeper) as page:
        page.goto(f"{reef.home}/t/reef/log/")
        page.keyboard.press("Tab")
        assert page.evaluate("document.activeElement.textContent") == "Skip to the content"
        page.keyboard.press("/")
        page.keyboard.type("note: by keyboard")
        expect(page.locator(".draft")).to_contain_text("By keyboard")
        page.keyboard.press("Tab")
        while page.evaluate("document.activeElement.textContent") != "Save it":
            page.keyboard.press("Tab")
        page.keyboard.press("Enter")
        expect(page.get_by_role("status")).to_contain_text("Saved: by keyboard")


def test_a_wrong_table_changes_nothing(browser: Browser, reef: Server, keeper: str, tmp_path: Path) -> None:
    table = tmp_path / "wrong.csv"
    table.write_text("date,no3\n2026-01-10,many\nsoon,3\n", encoding="utf-8")
    with watched(browser, reef.home, state=keeper) as page:
        page.goto(f"{reef.home}/t/reef/log-table/")
        page.get_by_label("File (CSV)").set_input_files(table)
        page.get_by_role("button", name="Show what it would bring").click()
        expect(page.locator(".faults")).to_contain_text("row 2")
        expect(page.locator(".faults")).to_contain_text("row 3")


def test_a_sitter_ticks_and_sees_nothing_else(browser: Browser, reef: Server, keeper: str) -> None:
    with watched(browser, reef.home, state=keeper) as page:
        page.goto(f"{reef.home}/t/reef/away/")
        page.get_by_label("First day away").fill("2027-01-08")
        page.get_by_label("Day of return").fill("2027-01-20")
        page.get_by_label("Somebody looks in on").fill("Tue, Fri")
        page.get_by_role("button", name="Make a link for the sitter").click()
        address = page.get_by_label("Link", exact=True).input_value()
        with watched(browser, reef.home, width=360) as sitter:
            sitter.goto(address)
            assert Axe().run(sitter).violations_count == 0
            sitter.screenshot(path=SHOTS / "sitter-phone.png", full_page=True)
            sitter.get_by_role("checkbox").first.check()
            sitter.get_by_role("button", name="Keep what I ticked").first.click()
            expect(sitter.get_by_role("status")).to_contain_text("Kept")
            expect(sitter.get_by_role("checkbox").first).to_be_checked()
            sitter.goto(f"{reef.home}/t/reef/plan/")
            expect(sitter.get_by_role("heading", name="Sign in")).to_be_visible()
            page.goto(f"{reef.home}/t/reef/away/")
            page.get_by_role("button", name="Close this link").first.click()
            expect(page.get_by_role("status")).to_contain_text("closed")


def test_a_run_that_was_cut_off_begins_again_after_a_restart(browser: Browser, tmp_path: Path) -> None:
    home = tmp_path / "cut"
    home.mkdir()
    (home / "reef.toml").write_text(
        (EXAMPLES / "reading_room.toml").read_text(encoding="utf-8"), encoding="utf-8"
    )
    with server(home, "--members", "64") as first, watched(browser, first.home) as page:
        page.goto(first.link)
        page.goto(f"{first.home}/t/reef/forecast/")
        page.get_by_role("button", name="Forecast it").click()
        expect(page.locator(".job")).not_to_contain_text("waits for its turn")
        page.goto("about:blank")  # so that it does not ask a server that is gone
        first.stop(signal.SIGKILL)
    with server(home, "--members", "64") as second, watched(browser, second.home) as page:
        page.goto(second.link)
        page.goto(f"{second.home}/t/reef/forecast/")
        expect(page.locator(".job")).to_be_visible()
        expect(page.locator(".job")).not_to_contain_text("waits for its turn", timeout=30_000)
        page.get_by_role("button", name="Stop it").click()
        expect(page.get_by_role("button", name="Forecast it")).to_be_visible(timeout=60_000)
    with sqlite3.connect(home / ".backreef" / "web.sqlite3") as database:
        rows = database.execute("SELECT state, attempt FROM web_job").fetchall()
    assert rows == [("cancelled", 2)]


def test_the_terminal_works_on_the_same_data_meanwhile(
    browser: Browser, reef: Server, keeper: str, folder: Path
) -> None:
    program = command(folder)[:4]
    with watched(browser, reef.home, state=keeper) as page:
        page.goto(f"{reef.home}/t/reef/log/")
        for number in range(3):
            words = [
                *program,
                "log",
                f"note: from the terminal {number}",
                "--yes",
                "--tank",
                str(folder / "reef.toml"),
            ]
            done = subprocess.run(words, capture_output=True, text=True, check=False, cwd=folder)
            assert done.returncode == 0, done.stderr
            page.get_by_label("What happened").fill(f"note: from the page {number}")
            page.get_by_role("button", name="Save it").click()
            expect(page.get_by_role("status")).to_contain_text(f"from the page {number}")
        expect(page.locator("table.log")).to_contain_text("from the terminal 2")
    listed = [*program, "log", "list", "--json", "-", "--tank", str(folder / "reef.toml")]
    done = subprocess.run(listed, capture_output=True, text=True, check=True, cwd=folder)
    assert "from the page 2" in json.dumps(json.loads(done.stdout))


def test_a_second_start_in_the_folder_gives_another_address(
    browser: Browser, reef: Server, folder: Path
) -> None:
    done = subprocess.run(command(folder), capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stderr
    assert "is being served already" in done.stdout
    link = done.stdout.split()[-1]
    assert link.startswith(reef.home)
    with watched(browser, reef.home) as page:
        page.goto(link)
        expect(page.get_by_role("heading", name="Test tank")).to_be_visible()
