from __future__ import annotations

from datetime import UTC, datetime, time, timedelta
from typing import TYPE_CHECKING, Any

import pytest

from backreef.web import bootstrap
from backreef.web.place import Place
from tests.cli_world import stand_in
from tests.forecast_parts import START_ON
from tests.logbook_world import an_entry
from tests.page_world import PLAN, do_the_work, text_of

if TYPE_CHECKING:
    from django.test import Client

FORECAST = "/t/reef/forecast/"


def test_it_is_asked_for_watched_and_read(client: Client, monkeypatch: pytest.MonkeyPatch) -> None:
    from backreef.web.models import Job

    assert "no forecast yet" in text_of(client.get(FORECAST))
    assert client.post(FORECAST).status_code == 302
    job = Job.objects.get()
    assert "waits for its turn" in text_of(client.get(FORECAST))
    assert "HX-Refresh" not in client.get(f"/jobs/{job.pk}/").headers
    do_the_work(monkeypatch)
    assert client.get(f"/jobs/{job.pk}/").headers["HX-Refresh"] == "true"
    page = client.get(FORECAST)
    assert "The plan holds" in text_of(page)
    assert '<svg class="chart"' in page.content.decode()
    for part in ("water", "mouths", "hands", "sure"):
        assert client.get(f"{FORECAST}{part}/").status_code == 200
    assert client.get(f"{FORECAST}nothing/").status_code == 404
    report = client.get(f"{FORECAST}report.html")
    assert report.content.decode().startswith("<!doctype html>")


def test_asking_twice_does_the_work_once(client: Client) -> None:
    from backreef.web.models import Job

    client.post(FORECAST)
    client.post(FORECAST)
    assert Job.objects.count() == 1


def test_a_changed_plan_makes_its_forecast_old(
    client: Client, place: Place, monkeypatch: pytest.MonkeyPatch
) -> None:
    client.post(FORECAST)
    do_the_work(monkeypatch)
    assert "has been changed since" not in text_of(client.get(FORECAST))
    (place.folder / "reef.toml").write_text(PLAN.replace("0.2 g", "0.3 g"), encoding="utf-8")
    assert "has been changed since" in text_of(client.get(FORECAST))
    assert "has been changed since" in text_of(client.get("/"))


def test_the_tanks_page_says_why_a_plan_breaks(
    client: Client, place: Place, monkeypatch: pytest.MonkeyPatch
) -> None:
    (place.folder / "reef.toml").write_text(PLAN.replace("Test tank", "breaks"), encoding="utf-8")
    client.post(FORECAST)
    do_the_work(monkeypatch)
    page = text_of(client.get("/"))
    assert "The plan breaks on" in page
    assert "breaks first" in page


def test_readings_lie_on_the_forecast(client: Client, monkeypatch: pytest.MonkeyPatch) -> None:
    client.post(FORECAST)
    do_the_work(monkeypatch)
    assert client.get(f"{FORECAST}water/").content.count(b'class="reading"') == 0
    store = bootstrap.log_store(create=True)
    assert store is not None
    on = datetime.combine(START_ON + timedelta(days=30), time(12), tzinfo=UTC)
    store.add([an_entry(tank="Test tank", at=on)])
    assert client.get(f"{FORECAST}water/").content.count(b'class="reading"') >= 1


def test_where_the_plan_stands_on_the_machine_is_not_told(
    client: Client, place: Place, monkeypatch: pytest.MonkeyPatch
) -> None:
    client.post(FORECAST)
    do_the_work(monkeypatch)
    for page in (client.get(f"{FORECAST}sure/"), client.get(f"{FORECAST}report.html")):
        assert "reef.toml" in page.content.decode()
        assert str(place.folder) not in page.content.decode()


def test_every_remedy_can_be_simulated_from_the_page(client: Client, monkeypatch: pytest.MonkeyPatch) -> None:
    from backreef.web.models import Job

    client.post(FORECAST)
    do_the_work(monkeypatch)
    page = text_of(client.get(FORECAST))
    assert "Simulate every remedy too" in page
    assert "--thorough" not in page
    client.post(FORECAST, {"do": "thorough"})
    asked: list[str] = []
    for waiting in Job.objects.filter(state=Job.QUEUED):
        assert waiting.asked["thorough"]

    def judge(*told: Any, **more: Any) -> Any:
        asked.append(more["remedies"])
        return stand_in(*told, **more)

    do_the_work(monkeypatch, judge)
    assert asked == ["all"]


def test_what_waits_can_be_stopped(client: Client) -> None:
    from backreef.web.models import Job

    client.post(FORECAST)
    job = Job.objects.get()
    client.post(f"/jobs/{job.pk}/")
    job.refresh_from_db()
    assert job.state == Job.CANCELLED


def test_what_runs_stops_when_it_is_told(client: Client, monkeypatch: pytest.MonkeyPatch) -> None:
    from backreef.usecases import forecast as usecase
    from backreef.web import jobs, worker
    from backreef.web.models import Job

    client.post(FORECAST)
    job = jobs.begin(Job.objects.get().pk)
    assert job is not None

    def stubborn(*_: object, progress: worker.Progress, **__: object) -> None:
        progress("marching", 1, 9)
        jobs.cancel(job)
        monkeypatch.setattr(worker, "_BETWEEN_WORDS_S", 0.0)
        progress("marching", 2, 9)
        pytest.fail("it went on")

    monkeypatch.setattr(usecase, "default_judge", lambda: stubborn)
    worker.work(job)
    job.refresh_from_db()
    assert job.state == Job.CANCELLED


def test_a_worker_whose_page_is_gone_leaves_the_job_to_be_begun_anew(
    client: Client, monkeypatch: pytest.MonkeyPatch
) -> None:
    from backreef.usecases import forecast as usecase
    from backreef.web import jobs, worker
    from backreef.web.models import Job

    client.post(FORECAST)
    job = jobs.begin(Job.objects.get().pk)
    assert job is not None
    monkeypatch.setattr(usecase, "default_judge", lambda: stand_in)
    worker.work(job, parent=-1)
    job.refresh_from_db()
    assert job.state == Job.QUEUED


def test_a_failure_is_told_and_can_be_tried_again(client: Client, monkeypatch: pytest.MonkeyPatch) -> None:
    from backreef.usecases import forecast as usecase
    from backreef.web import jobs, worker
    from backreef.web.models import Job

    def failing(*_: object, **__: object) -> None:
        raise ZeroDivisionError("no volume")

    client.post(FORECAST)
    job = jobs.begin(Job.objects.get().pk)
    assert job is not None
    monkeypatch.setattr(usecase, "default_judge", lambda: failing)
    with pytest.raises(ZeroDivisionError):
        worker.work(job)
    page = text_of(client.get(FORECAST))
    assert "The last forecast failed" in page
    assert "no volume" in page
    client.post(FORECAST)
    do_the_work(monkeypatch)
    assert "The plan holds" in text_of(client.get(FORECAST))


def test_a_result_of_another_version_is_no_result(
    client: Client, place: Place, monkeypatch: pytest.MonkeyPatch
) -> None:
    client.post(FORECAST)
    do_the_work(monkeypatch)
    (result,) = (path for path in place.results.iterdir() if path.stem.isdigit())
    result.write_text('{"mark": "backreef.kept/0"}', encoding="utf-8")
    assert "no forecast yet" in text_of(client.get(FORECAST))
