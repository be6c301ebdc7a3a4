"""A served folder for tests of the page: no network, and a stand-in for the simulation."""

from __future__ import annotations

import re
import shutil
from collections.abc import Iterator
from contextlib import contextmanager
from functools import cache
from pathlib import Path
from tempfile import mkdtemp
from typing import TYPE_CHECKING, Any

import pytest

from backreef.usecases import forecast as usecase
from backreef.web import bootstrap
from backreef.web.bootstrap import Doors
from backreef.web.place import Place
from tests.cli_world import stand_in

if TYPE_CHECKING:
    from django.test import Client

PLAN = """\
# a remark that must stay
start_on = 2027-01-04

[tank]
name = "Test tank"   # and this one
display = "300 L"

[[animals]]
id = "clowns"
species = "ocellaris_clown"
count = 2

[[animals]]
id = "urchin"
species = "tuxedo_urchin"

[[meals]]
id = "pellets"
food = "pellet_small"
amount = "0.2 g"

[goals]
horizon = "1 years"
"""


@contextmanager
def serving(folder: Path, *, tables: str = "", **doors: Any) -> Iterator[Place]:
    """The folder served in this process, whatever Django was told before; its tables perhaps on a server."""
    from django.conf import settings
    from django.db import connections
    from django.test import override_settings
    from django.utils import translation

    from backreef.logbook.db.setup import prepare_django

    prepare_django()
    settings.SECRET_KEY = "of tests"  # Django asks for it when the override ends
    place = Place(folder=folder, log=str(folder / "backreef-log.sqlite3"), tables=tables)
    place.prepare()
    told = bootstrap.settings_for(place, Doors(**doors))
    told.pop("DATABASES")
    with override_settings(**told):
        assert settings.configured
        if not tables:
            shutil.copy(_empty_database(), place.database)
        _use(connections, bootstrap.tables_settings(place))
        if tables:
            bootstrap.bring_up_to_date()
        bootstrap.serve(place, Doors(**{"members": 4, **doors}))
        translation._trans.__dict__.clear()  # type: ignore[attr-defined]  # noqa: SLF001  it remembers what was before
        try:
            yield place
        finally:
            connections.close_all()


def _use(connections: Any, settings: dict[str, Any]) -> None:
    connections.settings["default"] = connections.configure_settings({"default": settings})["default"]
    connections["default"].close()
    del connections["default"]


@cache
def _empty_database() -> Path:
    """The page's tables, made once for all tests of this process."""
    from django.core.management import call_command
    from django.db import connections

    path = Path(mkdtemp(prefix="page-tables-")) / "web.sqlite3"
    _use(connections, bootstrap.database_settings(path))
    for app in ("contenttypes", "auth", "sessions", "web"):
        call_command("migrate", app, verbosity=0, interactive=False)
    connections["default"].cursor().execute("PRAGMA wal_checkpoint(TRUNCATE)")
    connections.close_all()
    return path


def signed_in(**extra: Any) -> Client:
    """A browser in which the printed address was opened."""
    from django.test import Client

    from backreef.web.access import sign_in_secret

    client = Client(SERVER_NAME="localhost", **extra)
    assert client.get(f"/sign-in/{sign_in_secret()}/").status_code == 302
    return client


def text_of(response: Any) -> str:
    """What stands on a page, without its markup."""
    page = re.sub(r"<[^>]+>", " ", response.content.decode("utf-8"))
    return " ".join(page.replace("&#x27;", "'").replace("&quot;", '"').split())


def do_the_work(monkeypatch: pytest.MonkeyPatch, judge: Any = stand_in) -> None:
    """Do everything that waits, with a stand-in for the simulation."""
    from backreef.web import jobs, worker
    from backreef.web.models import Job

    monkeypatch.setattr(usecase, "default_judge", lambda: judge)
    for waiting in Job.objects.filter(state=Job.QUEUED):
        job = jobs.begin(waiting.pk)
        assert job is not None
        worker.work(job)


def look_here(monkeypatch: pytest.MonkeyPatch) -> None:
    """Do short work in this process, with the stand-in for the simulation."""
    from backreef.usecases import preview
    from backreef.web import quick, quick_work

    preview.forget()
    monkeypatch.setattr(usecase, "default_judge", lambda: stand_in)
    monkeypatch.setattr(quick, "ask", quick_work.answer)
