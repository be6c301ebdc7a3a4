from __future__ import annotations

import logging
from datetime import timedelta
from typing import TYPE_CHECKING

import pytest

from backreef.web.place import Place
from tests.page_world import signed_in, text_of

if TYPE_CHECKING:
    from django.test import Client

PAGES = (
    "/",
    "/start/",
    "/catalogue/",
    "/t/reef/forecast/",
    "/t/reef/plan/",
    "/t/reef/plan/text/",
    "/t/reef/log/",
    "/t/reef/away/",
    "/t/reef/calendar/",
)


@pytest.fixture
def stranger(place: Place) -> Client:
    from django.test import Client

    return Client(SERVER_NAME="localhost")


@pytest.mark.parametrize("page", PAGES)
def test_it_shows_nothing_to_a_stranger(stranger: Client, page: str) -> None:
    response = stranger.get(page)
    assert response.status_code == 302
    assert response.headers["Location"].startswith("/sign-in/")


@pytest.mark.parametrize("page", PAGES)
def test_it_lets_the_keeper_read(client: Client, page: str) -> None:
    assert client.get(page).status_code == 200


@pytest.mark.parametrize("page", ["/", "/sign-in/", "/nothing/here/", "/sheet/x/", "/assets/0/page.css"])
def test_every_answer_keeps_strangers_out_of_the_page(stranger: Client, page: str) -> None:
    headers = stranger.get(page).headers
    policy = headers["Content-Security-Policy"]
    assert "default-src 'none'" in policy
    assert "frame-ancestors 'none'" in policy
    assert "unsafe" not in policy
    assert "http" not in policy
    assert headers["X-Frame-Options"] == "DENY"
    assert headers["X-Content-Type-Options"] == "nosniff"
    assert headers["Referrer-Policy"] == "same-origin"
    assert headers["Cross-Origin-Opener-Policy"] == "same-origin"
    assert "camera=()" in headers["Permissions-Policy"]


def test_pages_are_not_kept_by_caches_but_the_style_sheet_is(client: Client) -> None:
    from backreef.web.assets import address

    assert client.get("/").headers["Cache-Control"] == "no-store"
    assert "immutable" in client.get(address("page.css")).headers["Cache-Control"]


def test_the_printed_address_works_once(place: Place) -> None:
    from django.test import Client

    from backreef.web.access import sign_in_secret

    address = f"/sign-in/{sign_in_secret()}/"
    first, second = Client(SERVER_NAME="localhost"), Client(SERVER_NAME="localhost")
    assert first.get(address).status_code == 302
    assert first.get("/").status_code == 200
    assert second.get(address).status_code == 410
    assert second.get("/").status_code == 302


def test_the_printed_address_grows_old(place: Place, stranger: Client) -> None:
    from backreef.web.access import make_link
    from backreef.web.models import Link

    secret, _ = make_link(Link.SIGN_IN, life=timedelta(seconds=-1))
    assert stranger.get(f"/sign-in/{secret}/").status_code == 410


def test_secrets_are_kept_as_check_sums_only(place: Place) -> None:
    from backreef.web.access import sign_in_secret

    secret = sign_in_secret()
    assert secret.encode() not in place.database.read_bytes()
    wal = place.database.with_name("web.sqlite3-wal")
    assert not wal.exists() or secret.encode() not in wal.read_bytes()


def test_another_host_name_is_refused(place: Place) -> None:
    from django.test import Client

    assert Client(SERVER_NAME="elsewhere.example").get("/sign-in/").status_code == 400


def test_a_form_of_somebody_else_is_refused(place: Place) -> None:
    client = signed_in(enforce_csrf_checks=True)
    response = client.post("/t/reef/forecast/")
    assert response.status_code == 403
    assert "too old" in text_of(response)


def test_a_password_lets_in_and_guessing_is_slow(place: Place, stranger: Client) -> None:
    from backreef.web import access

    access.choose_password("a long walk to the reef")
    assert "Password" in text_of(stranger.get("/sign-in/"))
    for _ in range(access.MOST_ATTEMPTS):
        assert stranger.post("/sign-in/", {"password": "guess"}).status_code == 403
    refused = stranger.post("/sign-in/", {"password": "a long walk to the reef"})
    assert refused.status_code == 429
    from backreef.web.models import Attempt

    Attempt.objects.all().delete()
    assert stranger.post("/sign-in/", {"password": "a long walk to the reef"}).status_code == 302
    assert stranger.get("/").status_code == 200


@pytest.mark.parametrize("password", ["short", "password1234"])
def test_a_weak_password_is_refused_with_its_reason(place: Place, password: str) -> None:
    from backreef.web import access

    with pytest.raises(ValueError, match="too"):
        access.choose_password(password)
    assert not access.has_password()


def test_it_leads_nobody_to_another_host_after_signing_in(place: Place, stranger: Client) -> None:
    from backreef.web import access

    access.choose_password("a long walk to the reef")
    said = {"password": "a long walk to the reef", "next": "https://elsewhere.example/"}
    assert stranger.post("/sign-in/", said).headers["Location"] == "/"


def test_signing_out_ends_it(client: Client) -> None:
    client.post("/sign-out/")
    assert client.get("/").status_code == 302


def test_cookies_are_for_the_server_alone(client: Client) -> None:
    cookie = client.cookies["backreef_session"]
    assert cookie["httponly"]
    assert cookie["samesite"] == "Lax"


def test_the_state_of_the_page_is_for_its_owner_alone(place: Place) -> None:
    assert place.state.stat().st_mode & 0o077 == 0
    assert (place.state / "secret-key").stat().st_mode & 0o077 == 0


def test_what_is_logged_holds_no_secret() -> None:
    from backreef.web.logs import NoSecrets

    secret = "/sheet/abcdefghijklmnopqrstuvwx/"
    record = logging.LogRecord("page", logging.ERROR, "", 1, "failed at %s", (secret,), None)
    assert NoSecrets().filter(record)
    assert record.getMessage() == "failed at /sheet/.../"
