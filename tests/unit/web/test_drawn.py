"""What was drawn once is not drawn again, and never shown when it is stale."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from backreef.web import bootstrap, drawn
from backreef.web.place import Place
from tests.logbook_world import an_entry
from tests.page_world import do_the_work

if TYPE_CHECKING:
    from django.test import Client

    from backreef.web.models import Job


@pytest.fixture
def job(client: Client, place: Place, monkeypatch: pytest.MonkeyPatch) -> Job:
    from backreef.web.models import Job

    client.post("/t/reef/forecast/")
    do_the_work(monkeypatch)
    return Job.objects.get()


def test_the_worker_draws_every_part(job: Job, place: Place) -> None:
    from backreef.web import pieces

    names = {path.name.split("-")[1] for path in place.drawn.glob(f"{job.pk}-*.html")}
    assert names == {"card", *pieces.PARTS}


def test_no_page_draws_what_the_worker_drew(
    job: Job, client: Client, monkeypatch: pytest.MonkeyPatch
) -> None:
    from backreef.web import pieces

    def never(*_: object, **__: object) -> str:
        raise AssertionError("drawn again")

    monkeypatch.setattr(pieces, "_part", never)
    monkeypatch.setattr(pieces, "_card", never)
    for in_hand in (True, False):
        if not in_hand:
            drawn.let_go()
        assert "The plan holds" in client.get("/").content.decode()
        for part in ("", "water/", "mouths/", "hands/", "sure/"):
            assert client.get(f"/t/reef/forecast/{part}").status_code == 200


def test_a_reading_is_on_the_pictures_at_once(job: Job, client: Client, place: Place) -> None:
    from backreef.web import tanks as shelf

    del job, place
    before = client.get("/t/reef/forecast/").content
    store = bootstrap.log_store(create=True)
    assert store is not None
    first = shelf.standing_of(shelf.tank_of("reef")).forecast
    assert first is not None
    at = an_entry("a1").at.replace(year=first.start_on.year, month=first.start_on.month, day=20)
    store.add([an_entry("a1", tank="Test tank", at=at)])
    assert b'class="reading"' not in before
    assert b'class="reading"' in client.get("/t/reef/forecast/").content
    assert b'class="reading"' in client.get("/").content


def test_what_is_drawn_goes_with_its_answer(job: Job, place: Place) -> None:
    drawn.forget(job.pk, place.drawn)
    assert list(place.drawn.glob(f"{job.pk}-*")) == []


def test_only_so_much_is_kept_in_hand(place: Place, monkeypatch: pytest.MonkeyPatch) -> None:
    from backreef.web.models import Job

    monkeypatch.setattr(drawn, "_MOST_IN_HAND_BYTES", 10)
    job = Job.objects.create(kind="forecast", stem="reef", digest="", asked={})
    drawn.let_go()
    times = []

    def draw() -> str:
        times.append(1)
        return "12345678"

    for part in ("a", "b", "a"):
        assert drawn.drawn(job, part, (), draw) == "12345678"
    assert len(times) == 2  # the third time from its file
    for path in place.drawn.iterdir():
        path.unlink()
    drawn.drawn(job, "b", (), draw)
    assert len(times) == 3
