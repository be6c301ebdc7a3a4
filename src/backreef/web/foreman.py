"""Starts workers for the jobs in turn, ends one that does not stop by itself, notices one that died."""

from __future__ import annotations

import logging
import os
import subprocess
import sys
import threading
import time
from dataclasses import dataclass
from typing import TYPE_CHECKING

from backreef.web.place import Place
from backreef.web.worker import PLACE

if TYPE_CHECKING:
    from backreef.web.models import Job

_LOG = logging.getLogger("django.jobs")
_LOOK_EVERY_S = 0.3
_PICK_UP_EVERY_S = 3.0
_NOTICE_EVERY_S = 60.0
"""How often plans are looked at that may have been changed elsewhere."""
_PATIENCE_S = 5.0


@dataclass(slots=True, kw_only=True)
class _Worker:
    """A process and the job that it was started for."""

    process: subprocess.Popen[bytes]
    job_pk: int
    told_to_stop_at_s: float | None = None


class Foreman(threading.Thread):
    """A few workers at a time, by default one: a forecast fills the machine anyway.

    Foremen of several servers may look after the same jobs: a job is taken by the worker, and by one only.
    """

    def __init__(self, place: Place, *, workers: int = 1) -> None:
        super().__init__(name="foreman", daemon=True)
        self._place = place
        self._most = workers
        self._leaving = threading.Event()
        self._workers: list[_Worker] = []
        self._picked_up_at_s = -_PICK_UP_EVERY_S
        self._noticed_at_s = -_NOTICE_EVERY_S

    def run(self) -> None:
        """Look after the jobs until the page stops."""
        from django.db import Error, connection

        while not self._leaving.is_set():
            try:
                self._look()
            except (Error, OSError):  # a server that is away, a full disk: the jobs wait until it is back
                _LOG.exception("the jobs could not be looked after just now; they are again in a moment")
            finally:
                connection.close()
            self._leaving.wait(_LOOK_EVERY_S)
        for one in self._workers:
            one.process.terminate()
        for one in self._workers:
            one.process.wait(_PATIENCE_S)

    def leave(self) -> None:
        """Stop; what runs is begun anew when a page is next started."""
        self._leaving.set()
        self.join(2 * _PATIENCE_S)

    def _look(self) -> None:
        from backreef.web import jobs, versions
        from backreef.web.models import Job

        for one in tuple(self._workers):
            if one.process.poll() is not None:
                self._over(one)
            elif Job.objects.filter(pk=one.job_pk, cancel=True).exists():
                self._hurry(one)
        if time.monotonic() - self._picked_up_at_s >= _PICK_UP_EVERY_S:
            self._picked_up_at_s = time.monotonic()
            jobs.pick_up_what_was_cut_off()
        if time.monotonic() - self._noticed_at_s >= _NOTICE_EVERY_S:
            self._noticed_at_s = time.monotonic()
            versions.notice(self._place.folder)
        if len(self._workers) < self._most:
            known = [one.job_pk for one in self._workers]
            waiting = Job.objects.filter(state=Job.QUEUED).exclude(pk__in=known).first()
            if waiting is not None:
                self._start(waiting)

    def _start(self, job: Job) -> None:
        command = [sys.executable, "-P", "-m", "backreef.web.worker", str(job.pk)]
        process = subprocess.Popen(  # noqa: S603  our own program with our own words
            command, stdin=subprocess.DEVNULL, env=os.environ | {PLACE: self._place.in_words()}
        )
        self._workers.append(_Worker(process=process, job_pk=job.pk))

    def _over(self, one: _Worker) -> None:
        """Close the books on a worker that ended; one that ended well has closed them itself."""
        from django.db.models import Q
        from django.utils import timezone

        from backreef.web import jobs
        from backreef.web.models import Job

        self._workers.remove(one)
        code = one.process.returncode
        its = Q(state=Job.RUNNING, holder=jobs.holder(one.process.pid))
        if code != 0:
            its |= Q(state=Job.QUEUED)  # it ended before it could take the job, and so would the next one
        left = Job.objects.filter(its, pk=one.job_pk)
        if not left.filter(cancel=True).update(state=Job.CANCELLED, ended_at=timezone.now()):
            words = f"the worker ended before its work was done (code {code})"
            left.update(state=Job.FAILED, trouble=words, ended_at=timezone.now())

    def _hurry(self, one: _Worker) -> None:
        """A worker that was told to stop gets a few seconds, then it is ended."""
        now_s = time.monotonic()
        if one.told_to_stop_at_s is None:
            one.told_to_stop_at_s = now_s
        elif now_s - one.told_to_stop_at_s > _PATIENCE_S:
            one.process.kill()
