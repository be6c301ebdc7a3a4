"""A real browser for the tests of this folder: the distribution's Chromium, driven by its path."""

from __future__ import annotations

import os
import shutil
from collections.abc import Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Browser, expect, sync_playwright

from tests.browser.served import Server, let_in, served_plan

NAMES = ("chromium", "chromium-browser", "google-chrome")
PATIENCE_MS = 30_000
"""How long something may take to be seen on a machine that is busy with other things."""
QUIET = (
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
)


@pytest.fixture(scope="session")
def browser() -> Iterator[Browser]:
    program = next((found for name in NAMES if (found := shutil.which(name))), None)
    if program is None:
        missing = "no Chromium here: the report was NOT looked at in a browser (install the package chromium)"
        if os.environ.get("CI") == "true":
            pytest.fail(missing)
        pytest.skip(missing)
    expect.set_options(timeout=PATIENCE_MS)
    with sync_playwright() as play:
        started = play.chromium.launch(executable_path=program, args=list(QUIET))
        yield started
        started.close()


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The folder that is served to the tests of a file."""
    return tmp_path_factory.mktemp("served")


@pytest.fixture(scope="module")
def reef(folder: Path, request: pytest.FixtureRequest) -> Iterator[Server]:
    """A page with one plan: the text that the file of tests calls `SERVED`."""
    with served_plan(folder, request.module.SERVED) as started:
        yield started


@pytest.fixture(scope="module")
def keeper(browser: Browser, reef: Server, tmp_path_factory: pytest.TempPathFactory) -> str:
    """The cookies of the keeper, who has done nothing yet."""
    return let_in(browser, reef, tmp_path_factory.mktemp("cookies"))
