"""All words of the page's own can be translated, and German is there whole."""

from __future__ import annotations

import re
from datetime import timedelta
from importlib import resources
from typing import TYPE_CHECKING

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.utils import translation

from backreef.usecases.plan_desk import digest_of
from backreef.web.place import Place
from scripts import write_translations as files
from tests.forecast_parts import START_ON
from tests.page_words import BEGIN, END, literal_words, odd_speaker, untranslated
from tests.page_world import PLAN, do_the_work, look_here, text_of

if TYPE_CHECKING:
    from babel.messages.catalog import Message
    from django.test import Client

AWAY = {"first": "2027-08-02", "until": "2027-08-16", "sitter": "Tue, Fri", "calls": ""}
NAMES = (
    "animals clowns",
    *("backreef", "Test tank", "keeper", "mate", "wrong.csv", "empty.csv", "reef", "clowns", "pellets"),
    *("'no3", "'much", "Amphiprion ocellaris", "Pomacentridae", "Tuxedo (blue)", "no toml"),
    "Expected '=' after a key in a key/value pair, column",
    "also false percula clownfish, also false clownfish",
)
"""What somebody called something, and what a library says."""


def templates() -> dict[str, str]:
    folder = resources.files("backreef.web") / "templates" / "web"
    return {one.name: one.read_text(encoding="utf-8") for one in folder.iterdir()}


@pytest.mark.parametrize("language", files.languages())
def test_the_file_of_a_language_holds_what_the_page_says_and_nothing_else(language: str) -> None:
    """After a change of words: run scripts/write_translations.py, and translate what is empty."""
    assert files.po_bytes(files.brought_up_to_date(language)) == files.po_file(language).read_bytes()


@pytest.mark.parametrize("language", files.languages())
def test_what_the_program_reads_is_made_from_that_file(language: str) -> None:
    made = files.mo_bytes(files.translations(language))
    assert made == files.po_file(language).with_suffix(".mo").read_bytes()


@pytest.mark.parametrize("language", files.languages())
def test_every_word_is_translated_with_its_blanks_and_marks(language: str) -> None:
    wrong = []
    for message in files.translations(language):
        if not message.id:
            continue
        for asked, answer in pairs(message):
            if not answer or message.fuzzy or blanks(asked) != blanks(answer):
                wrong.append(asked)
    assert wrong == []


def pairs(message: Message) -> list[tuple[str, str]]:
    if isinstance(message.id, str):
        return [(message.id, str(message.string))]
    return list(zip(message.id, message.string or ("",), strict=True))


def blanks(text: str) -> list[str]:
    return sorted(re.findall(r"%\(\w+\)[sd]|</?\w+[^>]*>", text))


def test_no_template_holds_words_that_cannot_be_translated() -> None:
    found = {name: literal_words(text) for name, text in templates().items()}
    assert {name: words for name, words in found.items() if words} == {}


@pytest.mark.parametrize(
    ("page", "words"),
    [
        ("<p>⟦Good⟧ day</p>", ["⟦Good⟧ day"]),
        ('<p>⟦Good ⟦January⟧⟧ 12 <b lang="en">day</b></p>', []),
        ('<input placeholder="day"><p translate="no">Hall</p>', ["day"]),
        ("<script>let day;</script><textarea>mine</textarea>", []),
        ("<p>Hall reef</p>", []),
    ],
)
def test_words_without_a_translation_are_noticed(page: str, words: list[str]) -> None:
    assert untranslated(page, ("Hall reef",)) == words


@pytest.fixture
def odd(monkeypatch: pytest.MonkeyPatch) -> None:
    """A language in which everything that is translated stands in brackets."""
    for module in ("middleware", "quick_work"):
        monkeypatch.setattr(f"backreef.web.{module}.speaker_of", lambda _: odd_speaker())
    for name in ("gettext", "ngettext", "pgettext", "npgettext"):
        plain = getattr(translation._trans, name)  # type: ignore[attr-defined]  # noqa: SLF001

        def marked(*said: object, plain: object = plain) -> str:
            return f"{BEGIN}{plain(*said)}{END}"  # type: ignore[operator]

        monkeypatch.setattr(translation._trans, name, marked)  # type: ignore[attr-defined]  # noqa: SLF001


def test_every_page_says_nothing_that_is_not_translated(client: Client, place: Place, odd: None) -> None:
    from django.test import Client as Browser

    from backreef.web import access, jobs, people

    client.post("/t/reef/log/", {"line": "no3 12", "do": "save"})
    entry = re.search(r'/t/reef/log/([^/"]+)/"', client.get("/t/reef/log/").content.decode())
    assert entry is not None
    stranger = Browser(SERVER_NAME="localhost")
    shared = client.post("/t/reef/away/", {**AWAY, "do": "share"})
    secret = re.search(r"http://localhost(/sheet/[^\"]+)", shared.content.decode())
    assert secret is not None
    access.choose_password("a long walk to the reef")
    client.force_login(access.keeper())
    mate, invitation = people.let_in("mate", "carer", "reef")
    wrong = SimpleUploadedFile("wrong.csv", b"date,no3\n2026-01-10,many\n")
    right = SimpleUploadedFile("right.csv", b"date,no3\n2026-01-10,5\n")
    empty = SimpleUploadedFile("empty.csv", b"")
    twice = {"password": "one", "again": "two"}
    pages = {
        "tanks": client.get("/"),
        "start": client.get("/start/"),
        "no start": client.post("/start/", {"tank.name": "", "start_on": "2027-01-04"}),
        "people": client.get("/people/"),
        "invite": client.post("/people/", {"do": "invite", "name": "mate"}),
        "tank people": client.get("/t/reef/people/"),
        "let in": client.post("/t/reef/people/", {"do": "give", "name": "two words", "role": "viewer"}),
        "password": client.get("/password/"),
        "no password": client.post("/password/", twice),
        "log": client.get("/t/reef/log/"),
        "looked": client.post("/t/reef/log/", {"line": "no3 13", "do": "look"}),
        "saved": client.post("/t/reef/log/", {"line": "no3 13", "do": "save"}, follow=True),
        "taken back": client.post("/t/reef/log/", {"do": "undo"}, follow=True),
        "entry": client.get(f"/t/reef/log/{entry[1]}/"),
        "corrected": client.post(f"/t/reef/log/{entry[1]}/", {"line": "no3 14"}, follow=True),
        "table": client.get("/t/reef/log-table/"),
        "no table": client.post("/t/reef/log-table/"),
        "wrong table": client.post("/t/reef/log-table/", {"table": wrong}),
        "right table": client.post("/t/reef/log-table/", {"table": right}),
        "no picture": client.post("/t/reef/photographs/", follow=True),
        "away": client.get("/t/reef/away/"),
        "shared": shared,
        "no day": client.post("/t/reef/away/", {**AWAY, "first": "soon", "do": "share"}),
        "calendar": client.post("/t/reef/calendar/", {"do": "make"}),
        "calendar closed": client.post("/t/reef/calendar/", {"do": "close"}, follow=True),
        "reconcile": client.get("/t/reef/reconcile/"),
        "catalogue": client.get("/catalogue/"),
        "nothing": client.get("/catalogue/?q=zzzzzz"),
        "near": client.get("/catalogue/?q=oceliaris+clown"),
        "thing": client.get("/catalogue/species/ocellaris_clown/"),
        "own": client.get("/t/reef/own/"),
        "own numbers": client.post("/t/reef/own/foods/pellet_small/", {"protein_frac.value": "much"}),
        "own kept": client.post(
            "/t/reef/own/foods/pellet_small/", {"protein_frac.value": "0.47"}, follow=True
        ),
        "own taken": client.post("/t/reef/own/foods/pellet_small/", {"do": "take"}, follow=True),
        "nowhere": client.get("/nowhere/"),
        "no plan": client.post("/start/open/", {"plan": empty}, follow=True),
        "sitter": stranger.get(secret[1]),
        "told": stranger.post(secret[1], {"do": "log", "line": "all is well"}, follow=True),
        "sign in": stranger.get("/sign-in/"),
        "not in": stranger.post("/sign-in/", {"name": "mate", "password": "guess"}),
        "used": stranger.get("/sign-in/of-another-day/"),
        "invitation": stranger.get(f"/invitation/{people.invitation(mate)}/"),
        "invitation used": stranger.get(f"/invitation/{invitation}/"),
    }
    jobs.ask(jobs.REHEARSAL, "reef", digest="")
    jobs.ask(jobs.RECONCILE, "reef", digest="")
    pages |= {"rehearsing": client.get("/t/reef/away/"), "putting": client.get("/t/reef/reconcile/")}
    client.force_login(mate)
    pages |= {"mate": client.get("/"), "not for mate": client.get("/start/")}
    found = {name: untranslated(page.content.decode(), NAMES) for name, page in pages.items()}
    assert {name: words for name, words in found.items() if words} == {}
    assert [name for name, page in pages.items() if BEGIN not in page.content.decode()] == []


def test_no_page_of_plan_forecast_and_proposals_says_what_is_not_translated(
    client: Client, place: Place, odd: None, monkeypatch: pytest.MonkeyPatch
) -> None:
    look_here(monkeypatch)
    plan = PLAN.replace("2027-01-04", START_ON.isoformat()).replace('"1 years"', '"3 years"')
    (place.folder / "reef.toml").write_text(plan, encoding="utf-8")
    on = START_ON + timedelta(days=40)
    pages = {"no forecast": client.get("/t/reef/forecast/")}
    client.post("/t/reef/forecast/")
    pages["waits"] = client.get("/t/reef/forecast/")
    do_the_work(monkeypatch)
    animal = {"animals[0].count": "3", "before": digest_of(plan)}
    pages |= {
        "forecast": client.get("/t/reef/forecast/"),
        "water": client.get("/t/reef/forecast/water/"),
        "season": client.get(f"/t/reef/forecast/season/{on.year}-{(on.month - 1) // 3 * 3 + 1}/"),
        "day": client.get(f"/t/reef/forecast/day/{on}/"),
        "why": client.get("/t/reef/why/"),
        "why list": client.get("/t/reef/why/?list=now"),
        "why one": client.get("/t/reef/why/?of=tank.rock_kg"),
        "what if": client.get("/t/reef/what-if/"),
        "what if more": client.get("/t/reef/what-if/?more=0"),
        "what if nothing": client.post("/t/reef/what-if/", follow=True),
        "propose": client.get("/t/reef/propose/"),
        "propose wrong": client.post("/t/reef/propose/", {"do": "search", "before": "of another day"}),
        "plan": client.get("/t/reef/plan/"),
        "animal": client.get("/t/reef/plan/animals/0/"),
        "keeper part": client.get("/t/reef/plan/part/keeper/"),
        "animal wrong": client.post("/t/reef/plan/animals/0/", {**animal, "animals[0].count": "9000"}),
        "animal elsewhere": client.post("/t/reef/plan/animals/0/", {**animal, "before": "of another day"}),
        "animal tried": client.post("/t/reef/plan/animals/0/", {**animal, "do": "try"}),
        "text": client.get("/t/reef/plan/text/"),
        "text looked": client.post("/t/reef/plan/text/", {"text": plan, "do": "look"}),
        "text wrong": client.post("/t/reef/plan/text/", {"text": "no toml", "do": "save"}),
        "no versions": client.get("/t/reef/plan/versions/"),
        "add": client.get("/t/reef/plan/add/animals/?q=tang&thing=yellow_tang"),
        "add nothing": client.get("/t/reef/plan/add/animals/?q=zzzzzz"),
        "further": client.get("/t/reef/plan/copy/"),
        "further wrong": client.post("/t/reef/plan/copy/", {"name": "  "}),
        "saved": client.post("/t/reef/plan/animals/0/", animal, follow=True),
        "versions": client.get("/t/reef/plan/versions/"),
        "old": client.get("/t/reef/forecast/"),
        "undone": client.post(
            "/t/reef/plan/versions/",
            {"do": "undo", "before": digest_of(stands(place))},
            follow=True,
        ),
        "further made": client.post("/t/reef/plan/copy/", {"name": "reef 2"}, follow=True),
        "beside": client.get("/t/reef/what-if/?beside=plan:reef_2"),
    }
    found = {name: untranslated(page.content.decode(), NAMES) for name, page in pages.items()}
    assert {name: words for name, words in found.items() if words} == {}
    assert [name for name, page in pages.items() if page.status_code not in (200, 422)] == []


def stands(place: Place) -> str:
    return (place.folder / "reef.toml").read_text(encoding="utf-8")


def test_a_german_keeper_reads_the_plan_and_its_days_in_german(
    client: Client, place: Place, monkeypatch: pytest.MonkeyPatch
) -> None:
    client.post("/language/", {"language": "de"})
    plan = PLAN.replace("2027-01-04", START_ON.isoformat()).replace('"1 years"', '"3 years"')
    (place.folder / "reef.toml").write_text(plan, encoding="utf-8")
    client.post("/t/reef/forecast/")
    do_the_work(monkeypatch)
    on = START_ON + timedelta(days=40)
    day = text_of(client.get(f"/t/reef/forecast/day/{on}/"))
    assert f"{on.day}. " in day
    assert "0,2 g angeboten" in day
    assert "Tiere hinzufügen" in text_of(client.get("/t/reef/plan/"))
    assert "Was wäre wenn" in text_of(client.get("/t/reef/what-if/"))
    saved = {"tank.sump": "60 L", "before": digest_of(plan)}
    assert "Gespeichert: Becken." in text_of(client.post("/t/reef/plan/part/tank/", saved, follow=True))
    versions = text_of(client.get("/t/reef/plan/versions/"))
    assert "Geändert: Becken" in versions  # kept in one language, said in that of the reader


def test_it_speaks_the_language_that_the_browser_asks_for(client: Client) -> None:
    page = client.get("/t/reef/log/", headers={"Accept-Language": "de-AT,de;q=0.9"})
    assert '<html lang="de">' in page.content.decode()
    assert "Was geschehen ist" in text_of(page)
    assert page.headers["Content-Language"] == "de"
    assert "Accept-Language" in page.headers["Vary"]


def test_a_chosen_language_stays(client: Client) -> None:
    response = client.post("/language/", {"language": "de", "next": "/t/reef/log/"})
    assert response.headers["Location"] == "/t/reef/log/"
    assert "Tagebuch" in text_of(client.get("/t/reef/log/"))
    cookie = client.cookies["backreef_language"]
    assert cookie["httponly"]
    assert cookie["samesite"] == "Lax"
    client.post("/language/", {"language": "xx", "next": "https://elsewhere.example/"})
    assert "Tagebuch" in text_of(client.get("/t/reef/log/"))


def test_another_host_is_no_way_back_from_a_choice_of_language(client: Client) -> None:
    response = client.post("/language/", {"language": "de", "next": "https://elsewhere.example/"})
    assert response.headers["Location"] == "/"


def test_each_language_is_called_by_its_own_name(client: Client) -> None:
    client.post("/language/", {"language": "de"})
    page = text_of(client.get("/"))
    assert "English" in page
    assert "Englisch" not in page


def test_dates_are_written_as_the_language_does(client: Client) -> None:
    client.post("/t/reef/away/", {**AWAY, "do": "share"})
    assert "2 Aug 2027 – 16 Aug 2027" in text_of(client.get("/t/reef/away/"))
    client.post("/language/", {"language": "de"})
    assert "2.8.2027 – 16.8.2027" in text_of(client.get("/t/reef/away/"))


def test_a_german_sitter_reads_german(client: Client) -> None:
    from django.test import Client as Browser

    page = client.post("/t/reef/away/", {**AWAY, "do": "share"}).content.decode()
    address = page.partition('readonly value="http://localhost')[2].partition('"')[0]
    got = Browser(SERVER_NAME="localhost", headers={"Accept-Language": "de"}).get(address)
    assert "Nach Test tank sehen" in text_of(got)
    assert "Kein Salzwasser" in text_of(got)
