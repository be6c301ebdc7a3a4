"""Who works at what: jobs are taken by one process only, and taken from one that is gone; on a server too."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
import time
from collections.abc import Iterator
from datetime import timedelta
from functools import partial
from pathlib import Path
from unittest.mock import Mock

import pytest
from django.db import connections
from django.utils import timezone

from backreef.web.place import Place
from tests.faults import ended, forked
from tests.page_world import PLAN, serving, signed_in
from tests.postgres_world import a_database


@pytest.fixture(params=["sqlite", "postgres"])
def place(request: pytest.FixtureRequest, tmp_path: Path) -> Iterator[Place]:
    """A folder served with the page's tables in a file, and on a server."""
    (tmp_path / "reef.toml").write_text(PLAN, encoding="utf-8")
    tables = "" if request.param == "sqlite" else a_database(request.getfixturevalue("postgres"))
    with serving(tmp_path, tables=tables) as served:
        yield served


@pytest.fixture
def job(place: Place) -> int:
    """Number of a forecast that was asked for on the page."""
    from backreef.web.models import Job

    assert signed_in().post("/t/reef/forecast/").status_code == 302
    return Job.objects.get().pk


def state_of(job: int) -> str:
    from backreef.web.models import Job

    return Job.objects.get(pk=job).state


def later() -> None:
    """A lease and a moment later, some other server looks after the jobs."""
    from backreef.web import jobs

    jobs.pick_up_what_was_cut_off(timezone.now() + jobs.LEASE + timedelta(seconds=1))


def test_a_job_is_taken_by_one_only(job: int) -> None:
    from backreef.web import jobs

    assert jobs.begin(job) is not None
    assert jobs.begin(job) is None


def test_another_server_leaves_what_somebody_works_at(job: int) -> None:
    from backreef.web import jobs

    mine = jobs.begin(job)
    jobs.pick_up_what_was_cut_off()
    assert mine is not None
    assert state_of(job) == "running"
    assert jobs.tell(mine, "marching", 1, 2)


def test_a_lease_that_is_renewed_goes_on(job: int, monkeypatch: pytest.MonkeyPatch) -> None:
    from backreef.web import jobs

    mine = jobs.begin(job)
    assert mine is not None
    monkeypatch.setattr(jobs, "LEASE", 2 * jobs.LEASE)
    assert jobs.renew(mine)
    monkeypatch.undo()
    later()
    assert state_of(job) == "running"


def test_what_was_cut_off_begins_once_more_and_no_oftener(job: int) -> None:
    from backreef.web import jobs

    for state in ("queued", "failed"):
        mine = jobs.begin(job)
        assert mine is not None
        later()
        assert state_of(job) == state
        assert not jobs.tell(mine, "late words of the first worker", 1, 2)
        assert not jobs.renew(mine)


def test_a_process_of_this_machine_that_is_gone_holds_nothing(job: int) -> None:
    from backreef.web import jobs
    from backreef.web.models import Job

    gone = subprocess.run(
        [sys.executable, "-c", "import os; print(os.getpid())"], capture_output=True, check=True
    )
    assert jobs.begin(job) is not None
    Job.objects.filter(pk=job).update(holder=jobs.holder(int(gone.stdout)))
    jobs.pick_up_what_was_cut_off()
    assert state_of(job) == "queued"


def test_of_another_machine_only_the_lease_tells(job: int) -> None:
    from backreef.web import jobs
    from backreef.web.models import Job

    assert jobs.begin(job) is not None
    Job.objects.filter(pk=job).update(holder=f"elsewhere:{os.getpid()}")
    jobs.pick_up_what_was_cut_off()
    assert state_of(job) == "running"
    later()
    assert state_of(job) == "queued"


def test_a_worker_whose_job_was_begun_anew_changes_nothing(job: int) -> None:
    from backreef.web import jobs

    old = jobs.begin(job)
    later()
    new = jobs.begin(job)
    assert old is not None
    assert new is not None
    jobs.end(old, "failed", "stale")
    jobs.give_back(old)
    assert state_of(job) == "running"


def test_a_foreman_leaves_a_job_alone_that_another_ones_worker_took(
    job: int, place: Place, monkeypatch: pytest.MonkeyPatch
) -> None:
    from backreef.web import foreman, jobs

    monkeypatch.setattr(sys, "executable", "/bin/true")  # a worker that came too late
    here = foreman.Foreman(place)
    here._look()  # noqa: SLF001
    assert jobs.begin(job) is not None
    here._workers[0].process.wait()  # noqa: SLF001
    here._look()  # noqa: SLF001
    assert here._workers == []  # noqa: SLF001
    assert state_of(job) == "running"


def test_a_worker_that_cannot_even_begin_fails_its_job(
    job: int, place: Place, monkeypatch: pytest.MonkeyPatch
) -> None:
    from backreef.web import foreman

    monkeypatch.setattr(sys, "executable", "/bin/false")
    here = foreman.Foreman(place)
    here._look()  # noqa: SLF001
    here._workers[0].process.wait()  # noqa: SLF001
    here._look()  # noqa: SLF001
    assert state_of(job) == "failed"


def test_a_foreman_outlives_a_database_that_is_away(
    place: Place, monkeypatch: pytest.MonkeyPatch, caplog: pytest.LogCaptureFixture
) -> None:
    from django.db import OperationalError

    from backreef.web import foreman

    looks: list[int] = []

    def look(self: foreman.Foreman) -> None:
        looks.append(1)
        if len(looks) > 1:
            self._leaving.set()
        raise OperationalError("the server closed the connection")

    monkeypatch.setattr(foreman.Foreman, "_look", look)
    monkeypatch.setattr(foreman, "_LOOK_EVERY_S", 0.01)
    foreman.Foreman(place).run()
    assert len(looks) == 2
    assert "again in a moment" in caplog.text


def test_several_workers_take_a_job_each(place: Place, monkeypatch: pytest.MonkeyPatch) -> None:
    from backreef.web import foreman, jobs

    started: list[str] = []

    def busy(command: list[str], **_: object) -> Mock:
        started.append(command[-1])
        return Mock(poll=lambda: None)

    asked = [jobs.ask(kind, "reef", digest="") for kind in (jobs.FORECAST, jobs.RECONCILE, jobs.REHEARSAL)]
    monkeypatch.setattr(subprocess, "Popen", busy)
    here = foreman.Foreman(place, workers=2)
    for _ in range(3):
        here._look()  # noqa: SLF001
    assert started == [str(one.pk) for one in asked[:2]]


def test_a_place_is_told_to_a_worker_whole(place: Place) -> None:
    assert Place.from_words(place.in_words()) == place


JOBS = 30


@pytest.mark.skipif(os.name == "nt", reason="forks and signals of POSIX")
def test_two_servers_do_each_job_once_though_one_is_killed_at_work(place: Place, tmp_path: Path) -> None:
    from backreef.web.models import Job

    for number in range(JOBS):
        Job.objects.create(kind="forecast", stem=f"tank{number}", digest="0")
    said = [tmp_path / name for name in ("first", "second")]
    for one in said:
        one.touch()
    connections.close_all()
    first = forked(partial(_serve, said[0], dies_with=3))
    until = time.monotonic() + 60
    while not said[0].read_text() and time.monotonic() < until:
        time.sleep(0.001)
    second = forked(partial(_serve, said[1]))
    assert os.waitpid(first, 0)[1] == signal.SIGKILL
    assert ended(second) == 0
    lines = [line for one in said for line in one.read_text().split("\n")]
    taken = [line for line in lines if line.startswith("taken")]
    done = sorted(int(line.split()[1]) for line in lines if line.startswith("done"))
    assert len(taken) == len(set(taken)), "no attempt is two servers' at once"
    assert {Job.objects.get(pk=one).state for one in Job.objects.values_list("pk", flat=True)} == {"done"}
    assert len(done) == len(set(done))
    assert all(any(line.startswith("done") for line in one.read_text().split("\n")) for one in said)
    again = Job.objects.filter(attempt__gt=1).count()
    assert again == 1, "only what the killed one held is begun anew"


def _serve(said: Path, dies_with: int = 0) -> int:
    """Take what waits, do it and say so, until there is nothing left; what a killed server held too.

    Where it is said, the process is killed with its job of that number in hand.
    """
    from backreef.web import jobs
    from backreef.web.models import Job

    connections.close_all()
    held = 0
    with said.open("a", encoding="utf-8", buffering=1) as file:
        while Job.objects.exclude(state=Job.DONE).exists():
            jobs.pick_up_what_was_cut_off()
            waiting = Job.objects.filter(state=Job.QUEUED).first()
            mine = jobs.begin(waiting.pk) if waiting else None
            if mine is not None:
                file.write(f"taken {mine.pk} {mine.attempt}\n")
                held += 1
                jobs.tell(mine, "marching", 1, 2)
                if held == dies_with:
                    os.kill(os.getpid(), signal.SIGKILL)
                jobs.end(mine, Job.DONE)
                file.write(f"done {mine.pk}\n")
    return 0
