"""Every page that is looked at for whom it would shut out; the addresses that give none, each with why."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

from playwright.sync_api import Page, expect

from tests.browser.served import Server

RUN_MS = 300_000
OK = 200
SIGNED_OUT, KEEPER, VIEWER = "nobody", "keeper", "viewer"


@dataclass(frozen=True, kw_only=True)
class Ground:
    """What is served, and the secret addresses in it."""

    reef: Server
    cookies: dict[str, str]
    """Who -> file of their cookies."""
    sitter: str
    invitation: str
    entry: str


@dataclass(frozen=True, kw_only=True)
class Shown:
    """A page as somebody sees it."""

    route: str
    """Name of its address, or the handler of a refusal."""
    path: str | Callable[[Ground], str]
    then: Callable[[Page], Any] | None = None
    """What is done on it before it is looked at."""
    by: str = KEEPER
    status: int = OK

    def address(self, ground: Ground) -> str:
        """Where it is."""
        if callable(self.path):
            return self.path(ground)
        return f"{ground.reef.home}{self.path}"


def _wrong_table(page: Page) -> None:
    given: Any = {
        "name": "wrong.csv",
        "mimeType": "text/csv",
        "buffer": b"date,no3\n2026-01-10,many\nsoon,3\n",
    }
    page.locator("input[type=file]").set_input_files(given)
    page.locator("form:has(input[type=file]) button.first").click()
    expect(page.locator(".faults li")).to_have_count(2)


def _draft(page: Page) -> None:
    page.locator("#line").fill("no3 12 ppm, kh 8")
    expect(page.locator(".draft")).to_be_visible()


def _fault(page: Page) -> None:
    page.locator("[name='animals[0].count']").fill("9000")
    expect(page.locator(".fault", has_text="9000")).to_be_visible()


def _looked(page: Page) -> None:
    expect(page.locator(".changed").first).to_be_visible(timeout=RUN_MS)


def _wondered(page: Page) -> None:
    page.evaluate("document.querySelectorAll('fieldset details').forEach(one => { one.open = true; })")
    page.locator("input[name=skip]").first.check()
    expect(page.locator("#look .changed")).to_be_visible(timeout=RUN_MS)


def _asked(page: Page) -> None:
    expect(page.locator(".plainly")).to_contain_text("clowns.mass_g", timeout=RUN_MS)


def _search(page: Page) -> None:
    page.locator("form:has([value=search]) button.first").click(force=True)
    expect(page.locator(".job")).to_be_visible()


def _found(page: Page) -> None:
    expect(page.locator(".job")).to_have_count(0, timeout=RUN_MS)


PAGES = {
    "tanks": Shown(route="tanks", path="/"),
    "sign in": Shown(route="sign-in", path="/sign-in/", by=SIGNED_OUT),
    "sign in by an old link": Shown(
        route="sign-in-link", path="/sign-in/used-long-ago/", by=SIGNED_OUT, status=410
    ),
    "invitation": Shown(route="invitation", path=lambda ground: ground.invitation, by=SIGNED_OUT),
    "sitter": Shown(route="sitter", path=lambda ground: ground.sitter, by=SIGNED_OUT),
    "password": Shown(route="password", path="/password/"),
    "people": Shown(route="people", path="/people/"),
    "start": Shown(route="start", path="/start/"),
    "forecast": Shown(route="forecast", path="/t/reef/forecast/"),
    "water": Shown(route="forecast-part", path="/t/reef/forecast/water/"),
    "mouths": Shown(route="forecast-part", path="/t/reef/forecast/mouths/"),
    "hands": Shown(route="forecast-part", path="/t/reef/forecast/hands/"),
    "sure": Shown(route="forecast-part", path="/t/reef/forecast/sure/"),
    "season": Shown(route="season", path="/t/reef/forecast/season/2027-1/"),
    "day": Shown(route="day", path="/t/reef/forecast/day/2027-01-14/"),
    "why": Shown(route="why", path="/t/reef/why/?of=nitrate_mg_no3_per_l@2027-01-14"),
    "all that can be asked": Shown(route="why", path="/t/reef/why/", then=_asked),
    "plan": Shown(route="plan", path="/t/reef/plan/"),
    "animal": Shown(route="plan-entry", path="/t/reef/plan/animals/0/"),
    "animal with a fault": Shown(route="plan-entry", path="/t/reef/plan/animals/0/", then=_fault),
    "meal": Shown(route="plan-entry", path="/t/reef/plan/meals/0/"),
    "tank": Shown(route="plan-part", path="/t/reef/plan/part/tank/"),
    "goals": Shown(route="plan-part", path="/t/reef/plan/part/goals/"),
    "keeper": Shown(route="plan-part", path="/t/reef/plan/part/keeper/"),
    "text": Shown(route="plan-text", path="/t/reef/plan/text/"),
    "versions": Shown(route="plan-versions", path="/t/reef/plan/versions/"),
    "add": Shown(route="plan-add", path="/t/reef/plan/add/animals/?q=shrimp"),
    "newcomer": Shown(
        route="plan-add", path="/t/reef/plan/add/animals/?q=tang&thing=yellow_tang", then=_looked
    ),
    "add a chore": Shown(route="plan-add", path="/t/reef/plan/add/upkeep/"),
    "further": Shown(route="plan-copy", path="/t/reef/plan/copy/"),
    "log": Shown(route="log", path="/t/reef/log/"),
    "draft": Shown(route="log", path="/t/reef/log/", then=_draft),
    "entry": Shown(route="log-entry", path=lambda ground: ground.entry),
    "table": Shown(route="log-table", path="/t/reef/log-table/"),
    "wrong table": Shown(route="log-table", path="/t/reef/log-table/", then=_wrong_table),
    "reconcile": Shown(route="reconcile", path="/t/reef/reconcile/"),
    "what if": Shown(route="what-if", path="/t/reef/what-if/"),
    "what if, wondered": Shown(route="what-if", path="/t/reef/what-if/", then=_wondered),
    "away": Shown(route="away", path="/t/reef/away/"),
    "calendar": Shown(route="calendar", path="/t/reef/calendar/"),
    "catalogue": Shown(route="catalogue", path="/catalogue/?q=snail"),
    "species": Shown(route="thing", path="/catalogue/species/ocellaris_clown/"),
    "food": Shown(route="thing", path="/catalogue/foods/pellet_small/"),
    "own": Shown(route="own", path="/t/reef/own/"),
    "own numbers": Shown(route="own-entry", path="/t/reef/own/foods/pellet_small/"),
    "tank people": Shown(route="tank-people", path="/t/reef/people/"),
    "nothing here": Shown(route="handler404", path="/nothing/here/", status=404),
    "not for you": Shown(route="handler403", path="/people/", by=VIEWER, status=403),
    "propose": Shown(route="propose", path="/t/reef/propose/"),
    "propose, searching": Shown(route="propose", path="/t/reef/propose/", then=_search),
    "propose, found": Shown(route="propose", path="/t/reef/propose/", then=_found),
}
"""Name -> page."""
LAST = ("propose, searching", "propose, found")
"""What takes a search; test_propose_page.py looks at what one has found every time."""
NO_PAGE = {
    "job": "a piece of a page that waits, as that of a search does",
    "asset": "styles, scripts and fonts",
    "language": "only leads back to the page from which it was asked",
    "sign-out": "only leads to the sign-in",
    "start-example": "only leads to the plan that it made",
    "start-open": "leads to the plan, or shows the page of the start with what is wrong",
    "forecast-report": "a page of its own, in all looks in test_report.py",
    "away-sheet": "a page for paper, in all looks in test_sheet.py",
    "plan-file": "a file to be taken",
    "log-export": "a file to be taken",
    "photograph": "only leads back to the log",
    "picture": "a photograph",
    "feed": "a calendar",
    "handler400": "the page of handler404 in other words",
    "handler500": "the page of handler404 in other words; whatever fails ends every walk",
}
"""Address or handler -> why there is no page to look at."""
