"""A real server for the browser tests: a process of its own, and pages that may not complain."""

from __future__ import annotations

import os
import re
import signal
import subprocess
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import IO, Literal

from playwright.sync_api import Browser, BrowserContext, Page

PROGRAM = "import sys; from backreef.cli.main import main; sys.exit(main())"
_ADDRESS = re.compile(r"http://localhost:\d+/sign-in/\S+/")
_LEAVING_S = 90
_PATIENCE_MS = 180_000
"""Of a browser on a machine that has other things to do as well; nothing here measures how fast a page is."""
Scheme = Literal["light", "dark"]


@dataclass(frozen=True)
class Server:
    """A server and the address that lets somebody in, once."""

    process: subprocess.Popen[str]
    link: str

    @property
    def home(self) -> str:
        return self.link.partition("/sign-in/")[0]

    def stop(self, how: signal.Signals = signal.SIGINT) -> None:
        if self.process.poll() is None:
            self.process.send_signal(how)
            self.process.wait(_LEAVING_S)


def command(folder: Path, *more: str) -> list[str]:
    return [sys.executable, "-P", "-c", PROGRAM, "serve", str(folder), "--port", "0", *more]


@contextmanager
def server(folder: Path, *more: str) -> Iterator[Server]:
    """Serve a folder until the block ends."""
    environment = os.environ | {"PYTHONUNBUFFERED": "1"}
    environment.pop("DJANGO_ALLOW_ASYNC_UNSAFE", None)
    log = (folder.parent / f"{folder.name}-server.txt").open("a", encoding="utf-8")
    process = subprocess.Popen(
        command(folder, *more), stdout=subprocess.PIPE, stderr=log, text=True, env=environment
    )
    started = Server(process, _link(process.stdout, log.name))
    try:
        yield started
    finally:
        started.stop()
        log.close()
        if process.stdout is not None:
            process.stdout.close()


@contextmanager
def served_plan(folder: Path, plan: str) -> Iterator[Server]:
    """Serve a folder with one plan, forecast by two members, until the block ends."""
    (folder / "reef.toml").write_text(plan, encoding="utf-8")
    with server(folder, "--members", "2") as started:
        yield started


def let_in(browser: Browser, reef: Server, folder: Path) -> str:
    """The file of the cookies of the keeper, who opened the printed address."""
    path = folder / "keeper.json"
    with watched(browser, reef.home) as page:
        page.goto(reef.link)
        page.context.storage_state(path=path)
    return str(path)


def _link(out: IO[str] | None, log: str) -> str:
    assert out is not None
    for line in out:
        found = _ADDRESS.search(line)
        if found:
            return found[0]
    raise AssertionError(Path(log).read_text(encoding="utf-8"))


@contextmanager
def watched(
    browser: Browser,
    home: str,
    *,
    width: int = 1280,
    scheme: Scheme = "light",
    script: bool = True,
    state: str = "",
    status: int = 422,
    locale: str = "en-GB",
) -> Iterator[Page]:
    """A page of a browser; it fails on any complaint, any foreign request and any failure of the server.

    `status` is a refusal that is no trouble of the page: a form that came back with its faults, where nothing
    else is said.
    """
    context: BrowserContext = browser.new_context(
        viewport={"width": width, "height": 800},
        color_scheme=scheme,
        java_script_enabled=script,
        storage_state=state or None,
        locale=locale,
    )
    context.set_default_timeout(_PATIENCE_MS)
    page = context.new_page()
    trouble: list[str] = []
    page.on(
        "console",
        lambda said: None if f"status of {status}" in said.text else trouble.append(f"console: {said.text}"),
    )
    page.on("pageerror", lambda error: trouble.append(f"error: {error}"))
    page.on(
        "request", lambda asked: None if asked.url.startswith((home, "about:")) else trouble.append(asked.url)
    )
    page.on("response", lambda got: trouble.append(f"{got.status}: {got.url}") if got.status >= 500 else None)
    try:
        yield page
        assert not trouble, trouble
    finally:
        context.close()
