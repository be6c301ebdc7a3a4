"""Long work: asked for here, done by a worker process, looked at while it runs."""

from __future__ import annotations

import json
import os
import platform
from datetime import timedelta
from typing import TYPE_CHECKING, Any

from django.db.models import F
from django.utils import timezone

from backreef.usecases.kept import Answer, NotKept, kept_text, read_kept
from backreef.usecases.offers import SoFar
from backreef.web import bootstrap
from backreef.web.drawn import forget
from backreef.web.models import Job

if TYPE_CHECKING:
    from datetime import datetime
    from pathlib import Path

FORECAST, REHEARSAL, RECONCILE, WHY, PROPOSE = "forecast", "rehearsal", "reconcile", "why", "propose"
PAGES = {FORECAST: "forecast", REHEARSAL: "away", RECONCILE: "reconcile", WHY: "why", PROPOSE: "propose"}
"""Kind of work -> the page on which it is read."""
MOST_ATTEMPTS = 2
LEASE = timedelta(seconds=60)
"""How long a job is a process's after the last word of it; it says one far oftener."""
_LONGEST_NODE = 100
_KEPT_ANSWERS = 12
_ANSWERS: dict[tuple[str, float], Any] = {}


def ask(kind: str, stem: str, *, digest: str, asked: dict[str, Any] | None = None) -> Job:
    """Ask for long work; if the very same waits already, it is that one."""
    same = Job.objects.filter(kind=kind, stem=stem, digest=digest, state__in=Job.WAITING, asked=asked or {})
    return same.first() or Job.objects.create(kind=kind, stem=stem, digest=digest, asked=asked or {})


def cancel(job: Job) -> None:
    """Ask the worker to stop; what has not begun is over at once."""
    Job.objects.filter(pk=job.pk, state=Job.QUEUED).update(state=Job.CANCELLED, ended_at=timezone.now())
    Job.objects.filter(pk=job.pk, state=Job.RUNNING).update(cancel=True)


def pick_up_what_was_cut_off(now: datetime | None = None) -> None:
    """What nobody works at any more begins once more, and fails if it was cut off before.

    That is what a process of this machine held that is gone, and what any other has not renewed in time; so
    several servers may look after the same jobs.
    """
    now = now or timezone.now()
    for job in Job.objects.filter(state=Job.RUNNING):
        if job.leased_until is None or job.leased_until < now or is_gone(job.holder):
            give_back(job)


def give_back(job: Job) -> None:
    """Let a job begin once more, unless somebody else has it by now."""
    held = Job.objects.filter(pk=job.pk, attempt=job.attempt, state=Job.RUNNING)
    words = "the page was stopped twice while this ran; ask for it again"
    held.filter(attempt__gte=MOST_ATTEMPTS).update(state=Job.FAILED, trouble=words, ended_at=timezone.now())
    held.update(state=Job.QUEUED, done_count=0, phrase="begun anew after the page was stopped")


def begin(job_pk: int) -> Job | None:
    """Take a job for this process; None if somebody else has it, or it was cancelled."""
    now = timezone.now()
    taken = Job.objects.filter(pk=job_pk, state=Job.QUEUED).update(
        state=Job.RUNNING,
        attempt=F("attempt") + 1,
        told_at=now,
        cancel=False,
        holder=holder(os.getpid()),
        leased_until=now + LEASE,
    )
    return Job.objects.get(pk=job_pk) if taken else None


def renew(job: Job) -> bool:
    """Say that this process still works at a job; False if the job is no longer its own."""
    mine = Job.objects.filter(pk=job.pk, attempt=job.attempt, state=Job.RUNNING)
    return bool(mine.update(leased_until=timezone.now() + LEASE))


def holder(pid: int) -> str:
    """A name for a process, on whatever machine."""
    return f"{platform.node()[:_LONGEST_NODE]}:{pid}"


def is_gone(name: str) -> bool:
    """Whether a process of this machine has ended; of another machine only the lease can tell."""
    node, _, pid = name.rpartition(":")
    if os.name == "nt" or holder(0) != f"{node}:0" or not pid.isdigit():
        return False
    try:
        os.kill(int(pid), 0)
    except ProcessLookupError:
        return True
    except PermissionError:
        return False
    return False


def tell(job: Job, phrase: str, done: int, total: int) -> bool:
    """Say how far a job is; False if it is to stop, or is no longer this process's."""
    mine = Job.objects.filter(pk=job.pk, attempt=job.attempt, state=Job.RUNNING, cancel=False)
    return bool(mine.update(phrase=phrase[:200], done_count=done, total_count=total, told_at=timezone.now()))


def end(job: Job, state: str, trouble: str = "") -> None:
    """Close a job that this process holds."""
    mine = Job.objects.filter(pk=job.pk, attempt=job.attempt, state=Job.RUNNING)
    mine.update(state=state, trouble=trouble, ended_at=timezone.now())


def latest(kind: str, stem: str) -> Job | None:
    """The newest job of a kind that has ended well."""
    return Job.objects.filter(kind=kind, stem=stem, state=Job.DONE).order_by("-pk").first()


def waiting(kind: str, stem: str) -> Job | None:
    """The newest job of a kind that is still to end."""
    return Job.objects.filter(kind=kind, stem=stem, state__in=Job.WAITING).order_by("-pk").first()


def last_failed(kind: str, stem: str) -> Job | None:
    """The newest job of a kind, if it failed."""
    newest = Job.objects.filter(kind=kind, stem=stem).order_by("-pk").first()
    return newest if newest is not None and newest.state == Job.FAILED else None


def answer_of(job: Job, kind: type[Answer]) -> Answer | None:
    """What a job has found; None where its file is gone or of another version."""
    return _read(bootstrap.served().results / job.file_name, kind)


def _read(path: Path, kind: type[Answer]) -> Answer | None:
    try:
        known = (str(path), path.stat().st_mtime)
        if known not in _ANSWERS:
            _remember(known, read_kept(path.read_text(encoding="utf-8"), kind))
        found = _ANSWERS[known]
        return found if isinstance(found, kind) else None
    except (OSError, NotKept, json.JSONDecodeError):
        return None


def beside(job: Job, kind: type[Answer]) -> Answer | None:
    """What was kept beside an answer; None where nothing was."""
    return _read(bootstrap.served().results / f"{job.pk}.{kind.__name__.lower()}.json", kind)


def keep_beside(job: Job, answer: object) -> None:
    """Keep something beside the answer of a job."""
    path = bootstrap.served().results / f"{job.pk}.{type(answer).__name__.lower()}.json"
    write_kept(path, answer)


def so_far(job: Job) -> SoFar | None:
    """What a search has found so far."""
    path = bootstrap.served().results / f"{job.pk}.{SoFar.__name__.lower()}.json"
    try:
        return read_kept(path.read_text(encoding="utf-8"), SoFar)
    except (OSError, NotKept, json.JSONDecodeError):
        return None


def write_kept(path: Path, answer: object) -> None:
    """Write an answer whole or not at all."""
    unfinished = path.with_suffix(f".{os.getpid()}.part")
    unfinished.write_text(kept_text(answer), encoding="utf-8")
    unfinished.replace(path)


def has_answer(job: Job) -> bool:
    """Whether the file with what a job has found is there."""
    return (bootstrap.served().results / job.file_name).exists()


def _remember(known: tuple[str, float], answer: object) -> None:
    while len(_ANSWERS) >= _KEPT_ANSWERS:
        del _ANSWERS[next(iter(_ANSWERS))]
    _ANSWERS[known] = answer


def sweep(results: Path, kept_per_plan: int = 6) -> None:
    """Throw away the files of all but the newest answers of each plan."""
    done = Job.objects.filter(state=Job.DONE).order_by("-pk").values_list("pk", "kind", "stem")
    counts: dict[tuple[str, str], int] = {}
    for pk, kind, stem in done:
        counts[kind, stem] = counts.get((kind, stem), 0) + 1
        if counts[kind, stem] > kept_per_plan:
            for path in (results / f"{pk}.json", *results.glob(f"{pk}.*.json")):
                path.unlink(missing_ok=True)
            forget(pk, results.parent / "drawn")
