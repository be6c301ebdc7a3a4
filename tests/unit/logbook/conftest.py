from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest

from backreef.aquarium.load import load_plan
from backreef.catalogue.entries import Catalogue
from backreef.catalogue.load import load_catalogue
from backreef.logbook.db.store import DjangoStore
from backreef.logbook.memory import MemoryStore
from backreef.logbook.store import LogbookStore
from backreef.logbook.vocabulary import Vocabulary
from backreef.usecases.examples import example_plan
from tests.postgres_world import a_database


@pytest.fixture(scope="session")
def catalogue() -> Catalogue:
    return load_catalogue()


@pytest.fixture(scope="session")
def reading_room(catalogue: Catalogue) -> Vocabulary:
    """The words of the reading room: two clownfish, an urchin, ceriths, and what is to come."""
    return Vocabulary(catalogue=catalogue, animals=load_plan(example_plan(), catalogue).animals)


@pytest.fixture(scope="session")
def no_plan(catalogue: Catalogue) -> Vocabulary:
    return Vocabulary(catalogue=catalogue)


@pytest.fixture(params=["sqlite", "postgres"])
def place(request: pytest.FixtureRequest, tmp_path: Path) -> str:
    """Where a log in a database may be made: a file, and a server."""
    if request.param == "sqlite":
        return str(tmp_path / "log.sqlite3")
    return a_database(request.getfixturevalue("postgres"))


@pytest.fixture(params=["memory", "sqlite", "postgres"])
def store(request: pytest.FixtureRequest, tmp_path: Path) -> Iterator[LogbookStore]:
    """An empty store of each kind."""
    if request.param == "memory":
        yield MemoryStore()
        return
    sqlite = request.param == "sqlite"
    where = str(tmp_path / "log.sqlite3") if sqlite else a_database(request.getfixturevalue("postgres"))
    opened = DjangoStore(where)
    yield opened
    opened.close()
