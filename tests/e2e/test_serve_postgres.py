"""The page with its own tables on a server: signed in, a forecast asked for, done by a worker, read."""

from __future__ import annotations

import re
import time
from http.cookiejar import CookieJar
from pathlib import Path
from urllib.parse import urlencode
from urllib.request import HTTPCookieProcessor, Request, build_opener

import pytest

from tests.browser.served import server
from tests.page_world import PLAN
from tests.postgres_world import NoServer, a_database, a_server

LONGEST_S = 180


def test_a_folder_is_served_with_the_pages_tables_on_a_server(tmp_path: Path) -> None:
    home = tmp_path / "home"
    home.mkdir()
    (home / "reef.toml").write_text(PLAN.replace('"1 years"', '"0.06 years"'), encoding="utf-8")
    made = a_server()
    try:
        postgres = made.__enter__()
    except NoServer as reason:
        pytest.skip(str(reason))
    tables = a_database(postgres)
    with server(home, "--members", "2", "--workers", "2", "--tables", tables) as reef:
        browser = build_opener(HTTPCookieProcessor(CookieJar()))
        browser.open(reef.link)
        address = f"{reef.home}/t/reef/forecast/"

        def page() -> str:
            text: str = browser.open(address).read().decode("utf-8")
            return text

        token = re.search(r'csrfmiddlewaretoken" value="([^"]+)"', page())
        assert token is not None
        said = urlencode({"csrfmiddlewaretoken": token[1]}).encode()
        browser.open(Request(address, data=said, headers={"Referer": reef.home}))
        until = time.monotonic() + LONGEST_S
        while "The plan holds" not in page() and time.monotonic() < until:
            time.sleep(0.5)
        assert "The plan holds" in page()
        assert not (home / ".backreef" / "web.sqlite3").exists()
    made.__exit__(None, None, None)
