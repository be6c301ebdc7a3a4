from __future__ import annotations

from dataclasses import replace
from datetime import date, datetime
from pathlib import Path
from typing import TYPE_CHECKING

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile

from backreef.judgement.rehearsal import Chance, Mishap, Mitigation, Outcome, Rehearsal
from backreef.usecases.examples import example_plan
from backreef.web import bootstrap
from backreef.web.place import Place
from tests.page_world import PLAN, do_the_work, serving, signed_in, text_of

if TYPE_CHECKING:
    from django.test import Client

FIRST = {
    "start_on": "2027-01-04",
    "tank.name": "Living-room reef",
    "tank.display": "120 x 50 x 50 cm",
    "tank.rock": "",
    "tank.start.kind": "live_rock",
    "keeper.minutes_per_month": "240 min",
    "keeper.presence": "Mon-Fri 18:00-22:00\nSat 9:00-20:00",
}
AWAY = {"first": "2027-08-02", "until": "2027-08-16", "sitter": "Tue, Fri", "calls": "the caretaker"}

WORST = {
    "oxygen_mg_per_l.low": 2.1,
    "ammonia_unionised_mg_n_per_l.high": 0.012,
    "temperature_c.low": 21.0,
    "temperature_c.high": 27.5,
    "salinity_psu.low": 34.0,
    "salinity_psu.high": 36.0,
}
CALM = Outcome(
    hours_to_risk=None,
    share_at_risk=0.0,
    who="",
    why="",
    harm_heads=0.0,
    lost_heads=0.0,
    extremes=WORST,
    found=(),
)
REHEARSED = Rehearsal(
    plan_name="Test tank",
    plan_file="reef.toml",
    first_on=date(2027, 8, 2),
    until_on=date(2027, 8, 16),
    members=4,
    seed=1,
    nothing_wrong=CALM,
    nobody_there_for=(),
    mishaps=(
        Mishap(
            id="pump",
            what="the return pump stops",
            begins_at=datetime(2027, 8, 2, 3, 0),  # noqa: DTZ001  the clock of the place
            lasts_h=48.0,
            chance=Chance(low=0.001, value=0.01, high=0.1),
            chance_from="common practice",
            outcome=replace(CALM, hours_to_risk=9.0, share_at_risk=0.75, who="Clownfish", why="gasps"),
            mitigations=(
                Mitigation(
                    id="battery",
                    what="a battery for the stream pump",
                    minutes=30.0,
                    device="battery",
                    harm_avoided_heads=2.0,
                    hours_to_risk_after=None,
                    share_at_risk_after=0.0,
                ),
            ),
        ),
    ),
)


def test_an_empty_folder_leads_to_a_first_plan(tmp_path: Path) -> None:
    with serving(tmp_path):
        client = signed_in()
        assert client.get("/").headers["Location"] == "/start/"
        response = client.post("/start/", FIRST)
        assert response.headers["Location"] == "/t/living_room_reef/plan/"
        text = (tmp_path / "living_room_reef.toml").read_text(encoding="utf-8")
        assert 'display = "120 x 50 x 50 cm"' in text
        assert "rock =" not in text
        assert "Sat 9:00-20:00" in text


def test_a_first_plan_with_faults_is_not_made(tmp_path: Path) -> None:
    with serving(tmp_path):
        wrong = FIRST | {"tank.display": "big", "start_on": "soon", "keeper.presence": "often"}
        response = signed_in().post("/start/", wrong)
        assert response.status_code == 422
        page = text_of(response)
        assert "'big'" in page
        assert "soon" in response.content.decode()
        assert "often" in page
        assert list(tmp_path.glob("*.toml")) == []


def test_the_example_is_opened_and_forecast(tmp_path: Path) -> None:
    from backreef.web.models import Job

    with serving(tmp_path):
        client = signed_in()
        assert client.post("/start/example/").headers["Location"] == "/t/reading_room/forecast/"
        assert (tmp_path / "reading_room.toml").read_bytes() == example_plan().read_bytes()
        assert Job.objects.get().stem == "reading_room"
        client.post("/start/example/")
        assert len(list(tmp_path.glob("*.toml"))) == 1


def test_a_plan_file_is_opened_or_refused(client: Client, place: Place) -> None:
    good = SimpleUploadedFile("my reef.toml", PLAN.encode())
    assert client.post("/start/open/", {"plan": good}).headers["Location"] == "/t/my_reef/plan/"
    bad = SimpleUploadedFile("bad.toml", b"start_on = 2027-01-04\n[tank]\ndisplay = '3 X'\n")
    page = text_of(client.post("/start/open/", {"plan": bad}, follow=True))
    assert "bad.toml: line 3, tank.display" in page
    assert not (place.folder / "bad.toml").exists()


def test_the_catalogue_is_searched_and_read(client: Client) -> None:
    assert "Cerith snail" in text_of(client.get("/catalogue/?q=snail"))
    assert "Ocellaris clownfish" in text_of(client.get("/catalogue/?q=oceliaris+clown"))
    assert "Did you mean" in text_of(client.get("/catalogue/?q=oceliaris+clown"))
    for kind, ident in (
        ("species", "ocellaris_clown"),
        ("foods", "pellet_small"),
        ("devices", "refugium"),
        ("tasks", "wc_do"),
    ):
        page = client.get(f"/catalogue/{kind}/{ident}/")
        assert page.status_code == 200
        assert "Add to Test tank" in text_of(page)
    assert client.get("/catalogue/species/nobody/").status_code == 404
    assert client.get("/catalogue/persons/ocellaris_clown/").status_code == 404


def test_days_away_are_rehearsed(client: Client, monkeypatch: pytest.MonkeyPatch) -> None:
    from backreef.usecases import rehearse as usecase
    from backreef.web.models import Job

    assert client.post("/t/reef/away/", {**AWAY, "do": "rehearse"}).status_code == 302
    assert Job.objects.get().asked["sitter_weekdays"] == [1, 4]
    monkeypatch.setattr(usecase, "rehearse", lambda *_, **__: REHEARSED)
    do_the_work(monkeypatch)
    page = text_of(client.get("/t/reef/away/"))
    assert "no animal comes to risk before the return" in page
    assert "9 h: Clownfish gasps, in 75 %" in page
    assert "a battery for the stream pump" in page


@pytest.mark.parametrize(
    ("changed", "words"),
    [
        ({"first": "in summer"}, "'in summer' is no date"),
        ({"until": "2027-08-01"}, "is not after"),
        ({"sitter": "sometimes"}, "sometimes"),
        ({"first": "2026-08-02"}, "before the plan begins"),
    ],
)
def test_impossible_days_away_are_refused(client: Client, changed: dict[str, str], words: str) -> None:
    response = client.post("/t/reef/away/", {**AWAY, **changed, "do": "share"})
    assert response.status_code == 422
    assert words in text_of(response)


def shared(client: Client) -> str:
    page = client.post("/t/reef/away/", {**AWAY, "do": "share"}).content.decode()
    return page.partition('readonly value="http://localhost')[2].partition('"')[0]


def test_a_sitter_sees_one_page_ticks_and_writes(client: Client, place: Place) -> None:
    from django.test import Client as Browser

    from backreef.logbook.store import Wanted
    from backreef.web.models import Tick

    address = shared(client)
    sitter = Browser(SERVER_NAME="localhost")
    page = sitter.get(address)
    assert page.status_code == 200
    assert "Looking after Test tank" in text_of(page)
    for other in ("/", "/t/reef/plan/", "/t/reef/log/", "/catalogue/"):
        assert sitter.get(other).status_code == 302
    text = page.content.decode()
    day = text.partition('name="on" value="')[2].partition('"')[0]
    from html import unescape

    step = unescape(text.partition('name="step" value="')[2].partition('"')[0])
    sitter.post(address, {"on": day, "step": step})
    sitter.post(address, {"on": day, "step": [step, "something that stands nowhere"]})
    assert Tick.objects.count() == 1
    assert "checked" in sitter.get(address).content.decode()
    sitter.post(address, {"do": "log", "line": "the big fish hides behind the rock"})
    store = bootstrap.log_store()
    assert store is not None
    (entry,) = store.entries(Wanted(tank="Test tank"))
    assert entry.who == "sitter"
    assert step in text_of(client.get("/t/reef/away/"))


def test_a_closed_link_shows_nothing(client: Client) -> None:
    from django.test import Client as Browser

    from backreef.web.models import Link

    address = shared(client)
    client.post("/t/reef/away/", {"do": "revoke", "link": Link.objects.get(kind=Link.SHEET).pk})
    assert Browser(SERVER_NAME="localhost").get(address).status_code == 404


def test_the_sheet_for_paper_allows_only_its_own_style(client: Client) -> None:
    response = client.post("/t/reef/away/sheet.html", AWAY)
    assert "Looking after Test tank" in text_of(response)
    policy = response.headers["Content-Security-Policy"]
    assert "style-src 'sha256-" in policy
    assert "script-src" not in policy


def test_a_calendar_reads_a_secret_address_until_it_is_closed(client: Client) -> None:
    from django.test import Client as Browser

    page = client.post("/t/reef/calendar/", {"do": "make"}).content.decode()
    address = page.partition('readonly value="http://localhost')[2].partition('"')[0]
    reader = Browser(SERVER_NAME="localhost")
    assert reader.get(address).content.startswith(b"BEGIN:VCALENDAR")
    client.post("/t/reef/calendar/", {"do": "make"})
    assert reader.get(address).status_code == 404
