"""What a page costs: processor time of every page, ten tanks with five years of log beside a folder with one.

    python -m bench.pages [LANGUAGE]

Prints the milliseconds of processor time of each page: the first look at it, the middle, and the 95 % point;
and its ratio to the same page of a folder with one tank and no log. Wall time would measure whatever else the
machine does. The log begins with the plan, so that three of its five years lie on the forecast.
"""

from __future__ import annotations

import os
import sys
import tempfile
import time
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import numpy as np

TANKS, YEARS, ROUNDS, MEMBERS = 10, 5, 12, 8
OK = 200
PAGES = {
    "tanks": "/",
    "forecast": "/t/{stem}/forecast/",
    "water": "/t/{stem}/forecast/water/",
    "mouths": "/t/{stem}/forecast/mouths/",
    "hands": "/t/{stem}/forecast/hands/",
    "how sure": "/t/{stem}/forecast/sure/",
    "season": "/t/{stem}/forecast/season/2027-7/",
    "day": "/t/{stem}/forecast/day/2027-09-14/",
    "what if": "/t/{stem}/what-if/",
    "why": "/t/{stem}/why/?of=tank.rock_kg",
    "all whys": "/t/{stem}/why/",
    "propose": "/t/{stem}/propose/",
    "add": "/t/{stem}/plan/add/animals/?q=tang",
    "add one": "/t/{stem}/plan/add/animals/?q=tang&thing=yellow_tang",
    "versions": "/t/{stem}/plan/versions/",
    "plan": "/t/{stem}/plan/",
    "an animal": "/t/{stem}/plan/animals/5/",
    "tank": "/t/{stem}/plan/part/tank/",
    "as text": "/t/{stem}/plan/text/",
    "further plan": "/t/{stem}/plan/copy/",
    "own entries": "/t/{stem}/own/",
    "own numbers": "/t/{stem}/own/foods/pellet_small/",
    "log": "/t/{stem}/log/",
    "table in": "/t/{stem}/log-table/",
    "calendar": "/t/{stem}/calendar/",
    "who may": "/t/{stem}/people/",
    "away": "/t/{stem}/away/",
    "reconcile": "/t/{stem}/reconcile/",
    "catalogue": "/catalogue/?q=snail",
    "an entry": "/catalogue/species/ocellaris_clown/",
    "new plan": "/start/",
    "people": "/people/",
}


def main(language: str = "en") -> None:
    """Fill a folder, look at every page often, print what it cost."""
    os.environ.pop("DJANGO_ALLOW_ASYNC_UNSAFE", None)
    with tempfile.TemporaryDirectory() as name:
        stems = _filled(Path(name))
        full = _measured(stems[0], language)
        for path in Path(name).glob("*.toml"):
            if path.stem != stems[0]:
                path.unlink()
        _empty_log()
        alone = _measured(stems[0], language)
    print(
        f"{TANKS} tanks with {YEARS} years of log each, beside one tank without a log; ms of processor time"
    )
    print(f"{'page':12} {'first':>7} {'p50':>7} {'p95':>7} {'alone p50':>10} {'ratio':>6}")
    for page, spent_ms in full.items():
        later = spent_ms[1:]
        p50, p95, one = np.median(later), np.quantile(later, 0.95), np.median(alone[page][1:])
        print(f"{page:12} {spent_ms[0]:7.1f} {p50:7.1f} {p95:7.1f} {one:10.1f} {p50 / one:6.2f}")


def _filled(folder: Path) -> list[str]:
    from backreef.usecases.examples import example_plan
    from backreef.usecases.forecast import forecast_plan
    from backreef.usecases.kept import kept_text
    from backreef.usecases.plan_desk import digest_of
    from backreef.web import bootstrap
    from backreef.web.bootstrap import Doors
    from backreef.web.place import Place

    place = Place(folder=folder, log=str(folder / "backreef-log.sqlite3"))
    bootstrap.prepare(place, Doors(members=MEMBERS))
    from backreef.web.models import Job

    source = example_plan()
    kept = kept_text(forecast_plan(source, members=MEMBERS))
    stems = []
    for number in range(TANKS):
        path = folder / f"tank_{number}.toml"
        name = f"Tank {number}"
        text = source.read_text(encoding="utf-8").replace("Reading-room reef, Harbour Street library", name)
        path.write_text(text, encoding="utf-8")
        job = Job.objects.create(
            kind="forecast", stem=path.stem, digest=digest_of(text), state=Job.DONE, asked={}
        )
        (place.results / job.file_name).write_text(kept, encoding="utf-8")
        _written(name)
        stems.append(path.stem)
    _drawn_by_the_worker()
    return stems


def _drawn_by_the_worker() -> None:
    """Draw what the worker draws when it has found a forecast; the pages measured read it from files."""
    from backreef.usecases.day_book import day_book
    from backreef.usecases.plan_desk import plan_of_text, text_of
    from backreef.web import drawn, jobs, pieces, tanks
    from backreef.web.models import Job

    for job in Job.objects.all():
        tank = tanks.tank_of(job.stem)
        jobs.keep_beside(job, day_book(*plan_of_text(text_of(tank.path), tank.path)))
        pieces.draw_all(job, tank)
    drawn.let_go()


def _written(tank: str) -> None:
    """Five years of a line a week: three readings, a chore, a note."""
    from backreef.catalogue.load import load_catalogue
    from backreef.logbook.changes import Hand, Moment, new_entries
    from backreef.logbook.line import read_line
    from backreef.logbook.vocabulary import Vocabulary
    from backreef.web import bootstrap

    words = Vocabulary(catalogue=load_catalogue(), animals=())
    store = bootstrap.log_store(create=True)
    assert store is not None
    first = datetime(2027, 1, 5, 9, tzinfo=UTC)
    for week in range(52 * YEARS):
        at = first + timedelta(weeks=week)
        line = (
            f"no3 {5 + week % 9} ppm, po4 0.0{1 + week % 8}, kh 8.{week % 10}, water change 10 %, note: well"
        )
        entries = new_entries(
            read_line(line, words), tank=tank, moment=Moment(at=at), hand=Hand(who="keeper", now=at)
        )
        store.add(entries)


def _empty_log() -> None:
    from backreef.web import bootstrap

    place = bootstrap.served()
    for beside in ("", "-wal", "-shm"):
        Path(place.log + beside).unlink(missing_ok=True)
    bootstrap.serve(place, bootstrap.doors())


def _measured(stem: str, language: str) -> dict[str, list[float]]:
    from django.test import Client

    from backreef.web.access import sign_in_secret

    client: Any = Client(SERVER_NAME="localhost", headers={"accept-language": language})
    client.get(f"/sign-in/{sign_in_secret()}/")
    spent_ms: dict[str, list[float]] = {page: [] for page in PAGES}
    for _ in range(ROUNDS):
        for page, address in PAGES.items():
            begun = time.process_time()
            response = client.get(address.format(stem=stem))
            spent_ms[page].append(1000 * (time.process_time() - begun))
            assert response.status_code == OK, (page, response.status_code)
    return spent_ms


if __name__ == "__main__":
    main(*sys.argv[1:2])
