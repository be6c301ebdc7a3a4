"""Starts a worker for each job in turn, ends one that does not stop by itself, notices one that died."""

from __future__ import annotations

import subprocess
import sys
import threading
import time
from typing import TYPE_CHECKING

from backreef.web.place import Place

if TYPE_CHECKING:
    from backreef.web.models import Job

_LOOK_EVERY_S = 0.3
_PATIENCE_S = 5.0


class Foreman(threading.Thread):
    """One worker at a time; a forecast fills the machine anyway."""

    def __init__(self, place: Place) -> None:
        super().__init__(name="foreman", daemon=True)
        self._place = place
        self._leaving = threading.Event()
        self._process: subprocess.Popen[bytes] | None = None
        self._job_pk = 0
        self._told_to_stop_at_s: float | None = None

    def run(self) -> None:
        """Look after the jobs until the page stops."""
        from django.db import connection

        from backreef.web import jobs

        jobs.pick_up_what_was_cut_off()
        while not self._leaving.is_set():
            try:
                self._look()
            finally:
                connection.close()
            self._leaving.wait(_LOOK_EVERY_S)
        if self._process is not None:
            self._process.terminate()
            self._process.wait(_PATIENCE_S)

    def leave(self) -> None:
        """Stop; what runs is begun anew when the page is next started."""
        self._leaving.set()
        self.join(2 * _PATIENCE_S)

    def _look(self) -> None:
        from backreef.web.models import Job

        if self._process is None:
            waiting = Job.objects.filter(state=Job.QUEUED).first()
            if waiting is not None:
                self._start(waiting)
        elif self._process.poll() is not None:
            self._over(self._process.returncode)
        elif Job.objects.filter(pk=self._job_pk, cancel=True).exists():
            self._hurry()

    def _start(self, job: Job) -> None:
        command = [sys.executable, "-P", "-m", "backreef.web.worker"]
        self._process = subprocess.Popen(  # noqa: S603  our own program with our own words
            [*command, str(self._place.folder), self._place.log, str(job.pk)], stdin=subprocess.DEVNULL
        )
        self._job_pk, self._told_to_stop_at_s = job.pk, None

    def _over(self, code: int) -> None:
        """Close the books on a worker that ended; one that ended well has closed them itself."""
        from django.utils import timezone

        from backreef.web.models import Job

        left = Job.objects.filter(pk=self._job_pk, state__in=Job.WAITING)
        stopped = left.filter(cancel=True).update(state=Job.CANCELLED, ended_at=timezone.now())
        if not stopped:
            words = f"the worker ended before its work was done (code {code})"
            left.update(state=Job.FAILED, trouble=words, ended_at=timezone.now())
        self._process = None

    def _hurry(self) -> None:
        """A worker that was told to stop gets a few seconds, then it is ended."""
        now_s = time.monotonic()
        if self._told_to_stop_at_s is None:
            self._told_to_stop_at_s = now_s
        elif now_s - self._told_to_stop_at_s > _PATIENCE_S and self._process is not None:
            self._process.kill()
