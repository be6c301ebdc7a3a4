"""What is on the disk stays whole, whatever happens to whoever writes; docs/trust.md counts it.

Few rounds here; `--long` makes hundreds of each.
"""

from __future__ import annotations

import os
import random
import sqlite3
import subprocess
import sys
from contextlib import closing
from pathlib import Path

import pytest

from backreef.logbook.db.keeping import look_at
from backreef.logbook.db.prepare import _backup
from backreef.logbook.db.store import DjangoStore
from backreef.logbook.store import StoreTrouble, Wanted
from tests import old_schemas
from tests.cli_world import GOOD_PLAN
from tests.faults import FEW, MANY, damaged, told
from tests.logbook_world import an_entry

pytestmark = pytest.mark.skipif(os.name == "nt", reason="forks and signals of POSIX")
SEED = 10
PAGE = """\
from pathlib import Path
from backreef.web import bootstrap
from backreef.web.place import Place
folder = Path({folder!r})
bootstrap.prepare(Place(folder=folder, log=str(folder / "log.sqlite3")))
from backreef.web.models import Job
Job.objects.create(kind="forecast", stem="plan", digest="0")
"""
ROUNDS = [pytest.param(FEW, id="few"), pytest.param(MANY, id="many", marks=pytest.mark.long)]


@pytest.mark.parametrize("app", ["logbook"])
def test_a_log_of_every_version_is_brought_up_to_date(tmp_path: Path, app: str) -> None:
    assert [path.stem for path in old_schemas.kept(app)] == [
        f"{app}-{one}" for one in old_schemas.versions(app)
    ]
    for path in old_schemas.kept(app):
        store = DjangoStore(old_schemas.rebuilt(path, tmp_path / f"{path.stem}.sqlite3"))
        assert store.entries(Wanted()) == old_schemas.ENTRIES
        assert len(store.backups) == (path != old_schemas.kept(app)[-1])
        with pytest.raises(Exception, match="never overwritten"):
            store.rows().filter(entry_id="kept0").update(tank="another")
        store.close()


def test_the_page_opens_its_database_of_every_version(tmp_path: Path) -> None:
    newest = old_schemas.versions("web")[-1]
    missing = {f"web-{one}" for one in old_schemas.versions("web")} - {
        one.stem for one in old_schemas.kept("web")
    }
    assert missing <= {f"web-{newest}"}, "python -m tests.old_schemas writes what lacks"
    (tmp_path / "plan.toml").write_text(GOOD_PLAN, encoding="utf-8")
    (tmp_path / ".backreef").mkdir()
    for path in old_schemas.kept("web"):
        old_schemas.rebuilt(path, tmp_path / ".backreef" / "web.sqlite3")
        code = PAGE.format(folder=str(tmp_path))
        assert subprocess.run([sys.executable, "-P", "-c", code], check=False).returncode == 0
        with closing(sqlite3.connect(tmp_path / ".backreef" / "web.sqlite3")) as database:
            applied = [
                row[0] for row in database.execute("SELECT name FROM django_migrations WHERE app = 'web'")
            ]
        assert newest in applied
        (tmp_path / ".backreef" / "web.sqlite3").unlink()


@pytest.mark.parametrize("rounds", ROUNDS)
def test_a_damaged_log_never_gives_what_was_not_written(tmp_path: Path, rounds: int) -> None:
    place = tmp_path / "log.sqlite3"
    store = DjangoStore(place)
    written = {
        entry.id: entry for entry in (an_entry(f"e{number}", batch=f"b{number}") for number in range(40))
    }
    store.add(list(written.values()))
    store.close()
    whole, draws, noticed, harmless, unhelpful = place.read_bytes(), random.Random(SEED), 0, 0, 0
    for number in range(rounds):
        copy = tmp_path / f"damaged{number}.sqlite3"
        copy.write_bytes(whole)
        damaged(copy, draws)
        try:
            opened = DjangoStore(copy, create=False)
            try:
                given, faults = opened.entries(Wanted()), look_at(opened).faults
            finally:
                opened.close()
        except StoreTrouble as trouble:
            noticed += 1
            unhelpful += not any(words in str(trouble) for words in ("restore", "another file"))
            continue
        assert all(written[entry.id] == entry for entry in given)
        assert faults or len(given) == len(written), "entries are gone and nobody says so"
        noticed += bool(faults)
        harmless += not faults
        for beside in tmp_path.glob(f"{copy.name}*"):
            beside.unlink()
    told(rounds, "log damaged", noticed=noticed, harmless=harmless, wrong=0)
    assert noticed
    assert not unhelpful


@pytest.mark.parametrize("moment", [b"\xb8F\x06\x97 00:00", b"2027-13-40 00:00:00"])
def test_a_moment_that_nobody_wrote_is_told_as_damage(tmp_path: Path, moment: bytes) -> None:
    place = tmp_path / "log.sqlite3"
    store = DjangoStore(place)
    store.add([an_entry("first")])
    store.close()
    with closing(sqlite3.connect(place)) as database, database:
        for (name,) in database.execute("SELECT name FROM sqlite_master WHERE type = 'trigger'").fetchall():
            database.execute(f"DROP TRIGGER {name}")
        database.execute(f"UPDATE logbook_revision SET at = CAST(x'{moment.hex()}' AS TEXT)")
    spoiled = DjangoStore(place, create=False)
    for ask in (lambda: spoiled.entries(Wanted()), lambda: look_at(spoiled)):
        with pytest.raises(StoreTrouble, match="restore"):
            ask()
    spoiled.close()


def test_letters_that_nobody_wrote_are_told_as_damage_and_not_repeated(tmp_path: Path) -> None:
    place = tmp_path / "log.sqlite3"
    store = DjangoStore(place)
    store.add([an_entry("first")])
    store.close()
    place.write_bytes(place.read_bytes().replace(b'"kind":"reading"', b'"kind":"\xb8eading"'))
    spoiled = DjangoStore(place, create=False)
    with pytest.raises(StoreTrouble, match="restore") as told_so:
        spoiled.entries(Wanted())
    spoiled.close()
    assert len(str(told_so.value)) < 200 + len(str(place))


def test_two_backups_of_one_second_stand_beside_each_other(tmp_path: Path) -> None:
    place = old_schemas.rebuilt(old_schemas.kept("logbook")[0], tmp_path / "log.sqlite3")
    made = {_backup(str(place)) for _ in range(3)}
    assert len(made) == 3
    assert all(path.is_file() for (path,) in made)
