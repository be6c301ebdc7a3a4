"""What comes too large, and what a proxy with TLS before the page changes."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import pytest

from backreef.web import settings
from tests.page_world import PLAN, serving, text_of

if TYPE_CHECKING:
    from django.test import Client

TLS = {"X-Forwarded-Proto": "https"}
AWAY = {"first": "2027-08-02", "until": "2027-08-16", "sitter": "", "calls": "", "do": "share"}


def test_a_text_that_is_too_large_is_refused(client: Client) -> None:
    response = client.post("/t/reef/log/", {"line": "x" * (settings.DATA_UPLOAD_MAX_MEMORY_SIZE + 1)})
    assert response.status_code == 400
    assert "cannot be read" in text_of(response)


def test_too_many_fields_are_refused(client: Client) -> None:
    fields = {f"field{number}": "" for number in range(settings.DATA_UPLOAD_MAX_NUMBER_FIELDS + 1)}
    assert client.post("/t/reef/log/", fields).status_code == 400


def test_too_many_files_are_refused(client: Client) -> None:
    from django.core.files.uploadedfile import SimpleUploadedFile

    count = settings.DATA_UPLOAD_MAX_NUMBER_FILES + 1
    files = {f"file{number}": SimpleUploadedFile(f"{number}.csv", b"date") for number in range(count)}
    assert client.post("/t/reef/log-table/", files).status_code == 400


@pytest.fixture
def behind(tmp_path: Path) -> Client:
    """A browser that reaches the page through a proxy with TLS, and came in with the printed address."""
    from django.test import Client

    return Client(HTTP_HOST="localhost", headers=TLS)


def test_behind_tls_cookies_and_addresses_are_for_tls_alone(tmp_path: Path, behind: Client) -> None:
    from backreef.web.access import sign_in_secret

    (tmp_path / "reef.toml").write_text(PLAN, encoding="utf-8")
    with serving(tmp_path, behind_tls=True):
        response = behind.get(f"/sign-in/{sign_in_secret()}/")
        assert response.cookies["backreef_session"]["secure"]
        assert "max-age=" in response.headers["Strict-Transport-Security"]
        page = behind.post("/t/reef/away/", AWAY).content.decode()
        assert 'value="https://localhost/sheet/' in page
        assert behind.post("/language/", {"language": "de"}).cookies["backreef_language"]["secure"]


def test_behind_tls_nobody_is_served_without_it(tmp_path: Path) -> None:
    from django.test import Client

    with serving(tmp_path, behind_tls=True):
        response = Client(SERVER_NAME="localhost").get("/sign-in/")
        assert response.status_code == 301
        assert response.headers["Location"] == "https://localhost/sign-in/"


def test_without_a_proxy_nobody_can_claim_tls(client: Client) -> None:
    page = client.post("/t/reef/away/", AWAY, headers=TLS).content.decode()
    assert 'value="http://localhost/sheet/' in page
