"""What is on the disk stays whole when whoever writes is killed with no warning; docs/trust.md counts it.

Few rounds here; `--long` makes hundreds of each.
"""

from __future__ import annotations

import os
import random
import shutil
import sqlite3
import time
from contextlib import closing
from pathlib import Path

import pytest

from backreef.logbook.db.keeping import look_at
from backreef.logbook.db.store import DjangoStore
from backreef.logbook.store import Wanted
from backreef.usecases.check import load_plan
from backreef.usecases.plan_desk import digest_of
from tests import old_schemas
from tests.cli_world import GOOD_PLAN
from tests.faults import FEW, MANY, command, ended, forked, how_long_s, killed, told
from tests.page_world import PLAN, serving, signed_in
from tests.planning_world import SHORT_PLAN

pytestmark = pytest.mark.skipif(os.name == "nt", reason="forks and signals of POSIX")
SEED = 10
ROUNDS = [pytest.param(FEW, id="few"), pytest.param(MANY, id="many", marks=pytest.mark.long(300))]
SEARCHED = SHORT_PLAN.format(minutes=300, days="Mon-Sun")
SEARCHES = 30
PAGE_S = 0.8
"""The page is killed within so long of its first request."""


def opened(place: Path) -> int:
    """Open a log, which brings its tables up to date."""
    DjangoStore(place).close()
    return 0


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    (tmp_path / "plan.toml").write_text(GOOD_PLAN, encoding="utf-8")
    return tmp_path


@pytest.mark.parametrize("rounds", ROUNDS)
def test_a_forecast_that_is_killed_leaves_whole_files(folder: Path, rounds: int) -> None:
    def start() -> int:
        return command("forecast", "plan.toml", "--html", "f.html", "--json", "f.json", folder=folder)

    usual_s = how_long_s(start)
    whole = {name: (folder / name).read_bytes() for name in ("f.html", "f.json")}
    draws, done, there = random.Random(SEED), 0, 0
    for _ in range(rounds):
        for name in whole:
            (folder / name).unlink(missing_ok=True)
        done += killed(start(), draws, 1.2 * usual_s) == 0
        for name, content in whole.items():
            if (folder / name).exists():
                there += 1
                assert len((folder / name).read_bytes()) == len(content)
        assert (folder / "plan.toml").read_text(encoding="utf-8") == GOOD_PLAN
    assert ended(start()) == 0
    told(rounds, "forecast killed", done=done, files=there, halves=0)


@pytest.mark.long(150)
def test_a_search_that_is_killed_leaves_whole_plans(tmp_path: Path) -> None:
    (tmp_path / "plan.toml").write_text(SEARCHED, encoding="utf-8")
    draws, files = random.Random(SEED), 0

    def start() -> int:
        return forked(lambda: _search(tmp_path))

    longest_s = how_long_s(start)
    names = {path.name for path in tmp_path.glob("*.toml")} - {"plan.toml"}
    assert names
    for _ in range(SEARCHES):
        for name in names:
            (tmp_path / name).unlink(missing_ok=True)
        # so that about half are done when they are killed, however busy the machine becomes
        longest_s *= 0.9 if killed(start(), draws, longest_s) == 0 else 1.1
        for path in tmp_path.glob("*.toml"):
            load_plan(path)
            files += path.name in names
        assert (tmp_path / "plan.toml").read_text(encoding="utf-8") == SEARCHED
    told(SEARCHES, "search killed", plans=files, halves=0)
    assert files


def _search(folder: Path) -> int:
    """Search for plans, few members, with the real simulation."""
    from backreef.cli.app import run

    os.chdir(folder)
    return run(["propose", "plan.toml", "--members", "8", "--json", "p.json", "--html", "p.html"])


@pytest.mark.parametrize("rounds", ROUNDS)
@pytest.mark.parametrize("version", old_schemas.versions("logbook")[:-1])
def test_a_log_whose_tables_are_being_changed_survives_being_killed(
    tmp_path: Path, version: str, rounds: int
) -> None:
    old = old_schemas.rebuilt(old_schemas.FOLDER / f"logbook-{version}.sql", tmp_path / "old.sqlite3")
    place = tmp_path / "log.sqlite3"

    def start() -> int:
        return forked(lambda: opened(place))

    shutil.copy(old, place)
    usual_s = how_long_s(start)
    draws, changed = random.Random(SEED), 0
    for _ in range(rounds):
        for stale in tmp_path.glob("log*"):
            stale.unlink()
        shutil.copy(old, place)
        killed(start(), draws, usual_s)
        changed += any(tmp_path.glob("log-before-update-*"))
        store = DjangoStore(place)
        assert store.entries(Wanted()) == old_schemas.ENTRIES
        assert look_at(store).faults == ()
        store.close()
    told(rounds, f"migration from {version} killed", backups=changed, lost=0)


@pytest.mark.parametrize("rounds", ROUNDS)
def test_a_page_that_is_killed_loses_nothing_that_it_said_was_kept(tmp_path: Path, rounds: int) -> None:
    """It saves plans, logs lines and asks for forecasts until it is killed; then it is opened again."""
    (tmp_path / "reef.toml").write_text(PLAN, encoding="utf-8")
    said = tmp_path / "said"
    draws, logged, plans = random.Random(SEED), 0, 0
    with serving(tmp_path) as place:
        for _ in range(rounds):
            said.write_text("", encoding="utf-8")
            pid = forked(lambda: _page_at_work(tmp_path, said))
            _wait_for_the_first(said)
            killed(pid, draws, PAGE_S)
            lines = said.read_text(encoding="utf-8").split("\n")[:-1]
            kept = [line.removeprefix("plan ") for line in lines if line.startswith("plan ")]
            stands = (tmp_path / "reef.toml").read_text(encoding="utf-8")
            load_plan(tmp_path / "reef.toml")
            if kept:
                assert _number(stands) >= int(kept[-1])
            entries = [line.removeprefix("log ") for line in lines if line.startswith("log ")]
            with closing(DjangoStore(place.log)) as store:
                assert look_at(store).faults == ()
                notes = " ".join(str(entry.what) for entry in store.entries(Wanted()))
            assert all(one in notes for one in entries)
            with closing(sqlite3.connect(place.database)) as database:
                assert database.execute("PRAGMA integrity_check").fetchone() == ("ok",)
            logged, plans = logged + len(entries), plans + len(kept)
        assert signed_in().get("/").status_code == 200
    told(rounds, "page killed", logged=logged, plans=plans, lost=0)
    assert logged
    assert plans


def _number(text: str) -> int:
    first = text.partition("\n")[0]
    return int(first.rpartition(" ")[2]) if first.startswith("# change") else 0


def _wait_for_the_first(said: Path) -> None:
    until = time.monotonic() + 60
    while not said.stat().st_size and time.monotonic() < until:
        time.sleep(0.005)


def _page_at_work(folder: Path, said: Path) -> int:
    """Answer a keeper who never rests; say what was answered with 'kept'."""
    from django.db import connections

    connections.close_all()
    client = signed_in()
    draws = random.Random()
    with said.open("a", encoding="utf-8", buffering=1) as file:
        file.write("there\n")
        while True:
            stands = (folder / "reef.toml").read_text(encoding="utf-8")
            number = _number(stands) + 1
            body = stands.partition("\n")[2] if _number(stands) else stands
            form = {"text": f"# change {number}\n{body}", "before": digest_of(stands), "do": "save"}
            if client.post("/t/reef/plan/text/", form).status_code == 302:
                file.write(f"plan {number}\n")
            word = f"w{draws.getrandbits(40):x}"
            if client.post("/t/reef/log/", {"line": f"note {word}", "do": "save"}).status_code == 302:
                file.write(f"log {word}\n")
            client.post("/t/reef/forecast/", {})
