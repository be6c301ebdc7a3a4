"""Every address, asked by everybody: what stands in `EXPECTED` is written by hand, and the rest is closed."""

from __future__ import annotations

from datetime import UTC, datetime
from typing import TYPE_CHECKING, Any

import pytest
from django.urls import URLPattern, get_resolver, reverse

from backreef.logbook.store import Wanted
from backreef.web import bootstrap
from backreef.web.place import Place
from tests.page_world import PLAN, text_of

if TYPE_CHECKING:
    from django.test import Client

NOW = datetime(2027, 1, 10, 18, 0, tzinfo=UTC)
LADDER = ("stranger", "guest", "viewer", "carer", "owner", "keeper")
OPEN = {"asset", "sign-in", "sign-in-link", "invitation", "sitter", "feed", "language"}
"""For whoever has the address: each asks for a secret itself, or shows none."""
EXPECTED = {
    "tanks": ("guest", "keeper"),
    "catalogue": ("guest", "keeper"),
    "thing": ("guest", "keeper"),
    "password": ("guest", "guest"),
    "sign-out": ("guest", "guest"),
    "people": ("keeper", "keeper"),
    "start": ("keeper", "keeper"),
    "start-example": ("keeper", "keeper"),
    "start-open": ("keeper", "keeper"),
    "job": ("viewer", "carer"),
    "picture": ("viewer", "viewer"),
    "forecast": ("viewer", "carer"),
    "forecast-part": ("viewer", "carer"),
    "forecast-report": ("viewer", "owner"),
    "season": ("viewer", "owner"),
    "day": ("viewer", "owner"),
    "why": ("viewer", "carer"),
    "what-if": ("viewer", "owner"),
    "propose": ("viewer", "owner"),
    "reconcile": ("viewer", "carer"),
    "log": ("viewer", "carer"),
    "log-entry": ("viewer", "carer"),
    "log-table": ("carer", "carer"),
    "log-export": ("viewer", "owner"),
    "photograph": ("viewer", "carer"),
    "away": ("viewer", "carer"),
    "away-sheet": ("viewer", "viewer"),
    "calendar": ("viewer", "owner"),
    "plan": ("viewer", "owner"),
    "plan-text": ("viewer", "owner"),
    "plan-file": ("viewer", "owner"),
    "plan-versions": ("viewer", "owner"),
    "plan-add": ("owner", "owner"),
    "plan-copy": ("owner", "owner"),
    "plan-part": ("owner", "owner"),
    "plan-entry": ("owner", "owner"),
    "own": ("viewer", "owner"),
    "own-entry": ("owner", "owner"),
    "tank-people": ("owner", "owner"),
}
"""Address by its name -> who may read it, who may send it something."""
OF_TANK, OTHER = ("viewer", "owner"), ("keeper", "keeper")
SAMPLES = {"stem": "reef", "part": "water", "name": "tank", "section": "animals", "kind": "species"}
SHA256 = "a" * 64


def addresses() -> list[tuple[str, URLPattern]]:
    found = [one for one in get_resolver("backreef.web.urls").url_patterns if isinstance(one, URLPattern)]
    assert len(found) == len(get_resolver("backreef.web.urls").url_patterns)
    return [(str(one.name), one) for one in found]


def address_of(name: str, pattern: URLPattern, known: dict[str, Any]) -> str:
    converters = getattr(pattern.pattern, "converters", {})
    filled = {
        key: known.get(f"{name}.{key}", SAMPLES.get(key, 0 if "Int" in type(one).__name__ else "x"))
        for key, one in converters.items()
    }
    return reverse(name, kwargs=filled)


@pytest.fixture
def known(place: Place) -> dict[str, Any]:
    """A job, an entry and a photograph of the tank, so that every address leads somewhere."""
    from backreef.logbook.changes import Hand, Moment, new_entries
    from backreef.logbook.entries import Photograph
    from backreef.web import jobs

    store = bootstrap.log_store(create=True)
    assert store is not None
    shot = Photograph(sha256=SHA256, media_type="image/png", width_count=1, height_count=1)
    hand = Hand(who="keeper", now=NOW)
    (entry,) = store.add(new_entries([shot], tank="Test tank", moment=Moment(at=NOW), hand=hand))
    return {
        "job.pk": jobs.ask(jobs.FORECAST, "reef", digest="").pk,
        "log-entry.ident": entry.id,
        "picture.sha256": SHA256,
        "thing.ident": "ocellaris_clown",
        "own-entry.ident": "ocellaris_clown",
        "day.on": NOW.date(),
    }


@pytest.fixture
def browsers(place: Place) -> dict[str, Client]:
    """A browser of each sort of person; the guest owns another tank."""
    from django.contrib.auth.models import User
    from django.test import Client

    from backreef.web import access
    from backreef.web.models import Grant

    found = {}
    for who in LADDER:
        found[who] = Client(SERVER_NAME="localhost")
        if who == "stranger":
            continue
        person = access.keeper() if who == "keeper" else User.objects.create(username=who)
        if who in Grant.ROLES:
            Grant.objects.create(person=person, stem="reef", role=who)
        if who == "guest":
            Grant.objects.create(person=person, stem="other", role=Grant.OWNER)
        found[who].force_login(person)
    return found


def test_every_address_is_open_to_whom_it_should_be_and_to_nobody_else(
    browsers: dict[str, Client], known: dict[str, Any], place: Place
) -> None:
    wrong = []
    for name, pattern in addresses():
        if name in OPEN:
            continue
        address = address_of(name, pattern, known)
        read, write = EXPECTED.get(name, OF_TANK if "stem" in str(pattern.pattern) else OTHER)
        for method, least in (("get", read), ("post", write), ("delete", write)):
            for who in LADDER:
                browser = browsers[who]
                before = browser.cookies.get("backreef_session")
                status = getattr(browser, method)(address).status_code
                if name == "sign-out" and before:
                    browser.cookies["backreef_session"] = before.value
                    _sign_in_again(browser, who)
                may = LADDER.index(who) >= LADDER.index(least)
                if not (_let_in(status) if may else status == _refusal(who, name, str(pattern.pattern))):
                    wrong.append(f"{who} {method} {address}: {status}")
    assert wrong == []


def _sign_in_again(browser: Client, who: str) -> None:
    from django.contrib.auth.models import User

    browser.force_login(User.objects.get(username=who))


def _let_in(status: int) -> bool:
    return status < 500 and status != 403


def _refusal(who: str, name: str, pattern: str) -> int:
    if who == "stranger":
        return 302
    of_tank = "stem" in pattern or name in ("job", "picture")
    return 404 if who == "guest" and of_tank else 403


def test_only_these_addresses_ask_for_no_sign_in() -> None:
    found = {name for name, one in addresses() if not getattr(one.callback, "login_required", True)}
    assert found == OPEN


def test_what_is_allowed_is_really_there(browsers: dict[str, Client], known: dict[str, Any]) -> None:
    """The walk above would pass on a page that is nowhere; so each is found at least by the keeper."""
    missing = []
    for name, pattern in addresses():
        if name in OPEN or name not in EXPECTED:
            continue
        got = browsers["keeper"].get(address_of(name, pattern, known)).status_code
        leads_on = name in ("away-sheet", "season", "day")  # to the page on which one asks for it
        sends_only = name in ("sign-out", "start-example", "start-open", "photograph")
        absent = name in (
            "forecast-report",
            "picture",
        )  # there is no forecast yet, and no file of that photograph
        if got != (405 if sends_only else 404 if absent else 302 if leads_on else 200):
            missing.append(f"{name}: {got}")
    assert missing == []


@pytest.mark.parametrize("do", ["share", "revoke"])
def test_a_carer_rehearses_but_shares_nothing(browsers: dict[str, Client], do: str) -> None:
    away = {"first": "2027-08-02", "until": "2027-08-16", "sitter": "", "calls": ""}
    assert browsers["carer"].post("/t/reef/away/", {**away, "do": do}).status_code == 403
    assert browsers["carer"].post("/t/reef/away/", {**away, "do": "rehearse"}).status_code == 302
    assert browsers["owner"].post("/t/reef/away/", {**away, "do": do}).status_code in (200, 302)


def test_the_first_page_shows_each_their_own_tanks(browsers: dict[str, Client], place: Place) -> None:
    other = PLAN.replace("Test tank", "Other tank")
    (place.folder / "other.toml").write_text(other, encoding="utf-8")
    assert "Other tank" in text_of(browsers["guest"].get("/"))
    assert "Test tank" not in text_of(browsers["guest"].get("/"))
    assert "Other tank" not in text_of(browsers["viewer"].get("/"))
    both = text_of(browsers["keeper"].get("/"))
    assert "Other tank" in both
    assert "Test tank" in both


def test_an_entry_of_another_tank_is_not_reached_through_ones_own(
    browsers: dict[str, Client], known: dict[str, Any], place: Place
) -> None:
    (place.folder / "other.toml").write_text(PLAN.replace("Test tank", "Other tank"), encoding="utf-8")
    address = f"/t/other/log/{known['log-entry.ident']}/"
    assert browsers["guest"].get(address).status_code == 404
    assert browsers["guest"].post(address, {"do": "withdraw"}).status_code == 404
    assert browsers["keeper"].get(address).status_code == 404


def test_a_photograph_of_another_tank_is_not_shown(
    browsers: dict[str, Client], known: dict[str, Any]
) -> None:
    assert browsers["guest"].get(f"/photographs/{SHA256}/").status_code == 404
    assert "This is not for you" not in text_of(browsers["guest"].get(f"/photographs/{SHA256}/"))


def test_nobody_takes_the_name_of_anothers_tank_and_so_its_log(
    browsers: dict[str, Client], place: Place
) -> None:
    from backreef.usecases.plan_desk import digest_of

    other = PLAN.replace("Test tank", "Other tank")
    (place.folder / "other.toml").write_text(other, encoding="utf-8")
    said = {"before": digest_of(other), "tank.name": "Test tank"}
    response = browsers["guest"].post("/t/other/plan/part/tank/", said)
    assert response.status_code == 422
    assert "another plan of this folder" in text_of(response)
    assert (place.folder / "other.toml").read_text(encoding="utf-8") == other


def test_the_log_says_who_wrote(browsers: dict[str, Client]) -> None:
    browsers["carer"].post("/t/reef/log/", {"line": "no3 12", "do": "save"})
    store = bootstrap.log_store()
    assert store is not None
    assert [one.who for one in store.entries(Wanted(tank="Test tank"))] == ["carer"]


def test_buttons_are_shown_to_those_who_may_press_them(browsers: dict[str, Client]) -> None:
    assert "People" not in text_of(browsers["carer"].get("/t/reef/log/"))
    assert "People" in text_of(browsers["owner"].get("/t/reef/log/"))
    assert "New plan" not in text_of(browsers["owner"].get("/"))
    assert "New plan" in text_of(browsers["keeper"].get("/"))


def test_a_viewer_lays_no_plan_of_another_tank_over_their_own(
    browsers: dict[str, Client], place: Place
) -> None:
    other = PLAN.replace("Test tank", "Other tank")
    (place.folder / "other.toml").write_text(other, encoding="utf-8")
    address = "/t/reef/what-if/?beside=plan:other"
    assert browsers["viewer"].get(address).status_code == 404
    assert "Other tank" not in text_of(browsers["viewer"].get("/t/reef/what-if/"))
    assert browsers["keeper"].get(address).status_code == 200
