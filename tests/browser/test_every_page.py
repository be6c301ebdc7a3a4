"""Every page in the light, in the dark and on a phone: it fits, axe finds nothing, and nothing complains."""

from __future__ import annotations

from itertools import groupby

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Browser, Page, expect

from tests.browser.pages import KEEPER, LAST, OK, PAGES, RUN_MS, SIGNED_OUT, VIEWER, Ground
from tests.browser.served import Scheme, Server, let_in, watched
from tests.cli_world import ROOT
from tests.page_world import PLAN

SERVED = (
    PLAN.replace('"1 years"', '"0.06 years"')
    + '[[upkeep]]\ntask = "wc_do"\nshare = "10 %"\nevery = "14 days"\n'
    + '[keeper]\nminutes_per_month = "300 min"\n'
)
SHOTS = ROOT / "tests" / "browser" / "screenshots"
LOOKS: dict[str, tuple[int, Scheme, str]] = {
    "light": (1280, "light", "en-GB"),
    "dark phone": (360, "dark", "en-GB"),
    "german phone": (360, "light", "de-DE"),
    "dark": (1280, "dark", "en-GB"),
}
BETWEEN = (600, 760, 1600)
"""Widths on both sides of where the layout changes, and the widest."""
PASSWORD = "a password that is long enough"


@pytest.fixture(scope="module")
def ground(browser: Browser, reef: Server, tmp_path_factory: pytest.TempPathFactory) -> Ground:
    """A keeper with a forecast, a working, a reading, days away that were rehearsed, and people let in."""
    cookies = tmp_path_factory.mktemp("cookies")
    known = {SIGNED_OUT: "", KEEPER: let_in(browser, reef, cookies), VIEWER: str(cookies / "viewer.json")}
    with watched(browser, reef.home, state=known[KEEPER]) as page:
        page.goto(f"{reef.home}/t/reef/forecast/")
        page.get_by_role("button", name="Forecast it").click()
        expect(page.locator("h1.holds, h1.breaks")).to_be_visible(timeout=RUN_MS)
        page.goto(f"{reef.home}{PAGES['why'].path}")
        page.get_by_role("button", name="Work it out").click()
        page.goto(f"{reef.home}/t/reef/log/")
        page.get_by_label("What happened").fill("no3 12 ppm, kh 8, note: all well")
        page.get_by_role("button", name="Save it").click()
        entry = page.locator("table.log a").first.get_attribute("href")
        sitter = _away(page, reef.home)  # and by now the working is there, as one thing is done at a time
        invitation = _let_in(page, reef.home, "cousin")
        with watched(browser, reef.home) as viewer:
            viewer.goto(_let_in(page, reef.home, "neighbour"))
            viewer.get_by_label("New password").fill(PASSWORD)
            viewer.get_by_label("The same again").fill(PASSWORD)
            viewer.get_by_role("button", name="Choose it").click()
            expect(viewer.get_by_role("heading", name="Test tank")).to_be_visible()
            viewer.context.storage_state(path=known[VIEWER])
    return Ground(reef=reef, cookies=known, sitter=sitter, invitation=invitation, entry=f"{reef.home}{entry}")


def _away(page: Page, home: str) -> str:
    """Rehearse some days away; give the address for the sitter."""
    page.goto(f"{home}/t/reef/away/")
    for name in ("Rehearse it", "Make a link for the sitter"):
        page.get_by_label("First day away").fill("2027-01-08")
        page.get_by_label("Day of return").fill("2027-01-16")
        page.get_by_label("Somebody looks in on").fill("Tue, Fri")
        page.get_by_role("button", name=name).click()
    address = page.get_by_label("Link", exact=True).input_value()
    page.goto(f"{home}/t/reef/away/")
    expect(page.locator(".job")).to_have_count(0, timeout=RUN_MS)
    return address


def _let_in(page: Page, home: str, name: str) -> str:
    """Let somebody read; give the address of their invitation."""
    page.goto(f"{home}/t/reef/people/")
    page.get_by_label("Name to sign in with").fill(name)
    page.get_by_label("Viewer").check()
    page.get_by_role("button", name="Save").click()
    return page.get_by_label("Link", exact=True).input_value()


def over_the_edge(page: Page) -> int:
    """How many pixels a page is wider than its window."""
    words = "document.documentElement.scrollWidth - document.documentElement.clientWidth"
    return int(page.evaluate(words))


def looked_at(browser: Browser, ground: Ground, names: list[str], look: str) -> list[str]:
    """What is wrong with pages in a look."""
    found: list[str] = []
    for (by, status), some in groupby(names, lambda name: (PAGES[name].by, PAGES[name].status)):
        width, scheme, locale = LOOKS[look]
        with watched(
            browser,
            ground.reef.home,
            width=width,
            scheme=scheme,
            state=ground.cookies[by],
            status=422 if status == OK else status,
            locale=locale,
        ) as page:
            for name in some:
                found += _trouble(page, ground, name, look)
    return found


def _trouble(page: Page, ground: Ground, name: str, look: str) -> list[str]:
    shown, width = PAGES[name], LOOKS[look][0]
    response = page.goto(shown.address(ground))
    assert response is not None
    assert response.status == shown.status, name
    if shown.then is not None:
        shown.then(page)
    over = over_the_edge(page)
    for other in BETWEEN if look == "light" else ():
        page.set_viewport_size({"width": other, "height": 800})
        over = max(over, over_the_edge(page))
        page.set_viewport_size({"width": width, "height": 800})
    page.screenshot(path=SHOTS / f"{name}-{look.replace(' ', '-')}.png", full_page=True)
    page.evaluate("document.querySelectorAll('details').forEach((one, i) => { one.open = i < 3; })")
    violations = Axe().run(page)
    if over > 0 or violations.violations_count:
        return [f"{name}, {look}: {over} px over; {violations.generate_report()[:1500]}"]
    return []


def test_every_page_fits_and_shuts_nobody_out(browser: Browser, ground: Ground) -> None:
    """Each page in one look, the looks in turn."""
    SHOTS.mkdir(exist_ok=True)
    names, looks = [name for name in PAGES if name not in LAST], list(LOOKS)
    found = []
    for number, look in enumerate(looks):
        found += looked_at(browser, ground, names[number :: len(looks)], look)
    assert found == []


@pytest.mark.long
@pytest.mark.parametrize("look", LOOKS)
def test_every_page_in_every_look(browser: Browser, ground: Ground, look: str) -> None:
    SHOTS.mkdir(exist_ok=True)
    assert looked_at(browser, ground, list(PAGES), look) == []
