"""The process that does one piece of long work: `python -m backreef.web.worker JOB`, its place told by PLACE.

It says how far it is a few times a second, and stops when it is told to, when the job is no longer its own,
or when the page that started it is gone. Beside the work a thread says that the job is still held, however
long a step of it takes.
"""

from __future__ import annotations

import gc
import os
import sys
import threading
import time
from collections.abc import Callable, Sequence
from dataclasses import replace
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, Any

from backreef.errors import BackreefError, InputFaults
from backreef.tongue.door import OWN, speaker_of, speaking
from backreef.web import bootstrap
from backreef.web.place import Place

if TYPE_CHECKING:
    from backreef.logbook.entries import Entry
    from backreef.web.models import Job

PLACE = "BACKREEF_PLACE"
"""Where a worker is told what is served; a command line could be read by everybody on the machine."""
_BETWEEN_WORDS_S = 0.3
_BETWEEN_BEATS_S = 0.25
_BEATS_OF_A_LEASE = 6
_OBJECTS_BETWEEN_COLLECTIONS = 200_000
Progress = Callable[[str, int, int], None]


class Stopped(BackreefError):
    """Somebody cancelled the work."""


class Orphaned(BackreefError):
    """The page that started this is gone; when it is back, the work begins anew."""


def main(arguments: list[str]) -> int:
    """Do one job."""
    gc.set_threshold(_OBJECTS_BETWEEN_COLLECTIONS)
    bootstrap.prepare(Place.from_words(os.environ[PLACE]))
    from backreef.web import jobs

    job = jobs.begin(int(arguments[0]))
    if job is not None:
        parent = os.getppid()
        Heartbeat(job, parent=parent).start()
        work(job, parent=parent)
    return 0


class Heartbeat(threading.Thread):
    """Holds a job for as long as this process lives, and ends the process when the page is gone."""

    def __init__(self, job: Job, *, parent: int) -> None:
        super().__init__(name="heartbeat", daemon=True)
        self._job, self._parent = job, parent

    def run(self) -> None:
        """Look a few times a second, renew the lease now and then."""
        from contextlib import suppress

        from django.db import Error

        from backreef.web import jobs

        renewed_at_s = time.monotonic()
        while True:
            time.sleep(_BETWEEN_BEATS_S)
            if os.getppid() != self._parent:
                with suppress(Error):  # then its lease runs out
                    jobs.give_back(self._job)
                os._exit(0)
            if time.monotonic() - renewed_at_s > jobs.LEASE.total_seconds() / _BEATS_OF_A_LEASE:
                renewed_at_s = time.monotonic()
                with suppress(Error):  # the next one is in time still
                    jobs.renew(self._job)


def _in_words(trouble: Exception) -> str:
    """A line for each fault, with the file's name: where its folder is, is nobody's business on the page."""
    if isinstance(trouble, InputFaults):
        return "\n".join(str(replace(fault, file=Path(fault.file).name)) for fault in trouble.faults)
    return str(trouble)


def work(job: Job, *, parent: int | None = None) -> None:
    """Do a job that this process holds, and keep what it finds."""
    from backreef.web import jobs
    from backreef.web.models import Job as Jobs

    place = bootstrap.served()
    try:
        answer = _done(job, _teller(job, parent))
        jobs.write_kept(place.results / job.file_name, answer)
        jobs.end(job, Jobs.DONE)
        _draw(job)
        jobs.sweep(place.results)
    except Orphaned:
        jobs.give_back(job)
    except Stopped:
        jobs.end(job, Jobs.CANCELLED)
    except (BackreefError, ValueError) as trouble:
        jobs.end(job, Jobs.FAILED, _in_words(trouble))
    except Exception as trouble:
        jobs.end(job, Jobs.FAILED, f"backreef itself failed: {type(trouble).__name__}: {trouble}")
        raise


def _draw(job: Job) -> None:
    """Draw what the pages will show of it, so that nobody waits for that."""
    from backreef.usecases.plan_desk import plans_in
    from backreef.web import jobs, pieces

    if job.kind == jobs.FORECAST:
        job.refresh_from_db()
        tank = next((one for one in plans_in(bootstrap.served().folder) if one.stem == job.stem), None)
        if tank is not None:
            with speaking(speaker_of(job.asked.get("language", OWN))):
                pieces.draw_all(job, tank)


def _teller(job: Job, parent: int | None) -> Progress:
    from backreef.web import jobs

    told_at_s = 0.0

    def tell(phrase: str, done: int, total: int) -> None:
        nonlocal told_at_s
        now_s = time.monotonic()
        if now_s - told_at_s < _BETWEEN_WORDS_S:
            return
        told_at_s = now_s
        if parent is not None and os.getppid() != parent:
            raise Orphaned("nobody waits for this")
        if not jobs.tell(job, phrase, done, total):
            raise Stopped("stopped")

    return tell


def _done(job: Job, progress: Progress) -> Any:  # noqa: ANN401  each kind of job finds its own
    from backreef.usecases import forecast, plan_desk, rehearse
    from backreef.usecases.day_book import day_book
    from backreef.web import jobs

    path = next((p.path for p in plan_desk.plans_in(bootstrap.served().folder) if p.stem == job.stem), None)
    if path is None:
        raise Stopped("the plan is gone")
    if job.kind == jobs.RECONCILE:
        return _reconciled(path, progress)
    if job.kind == jobs.PROPOSE:
        return _proposed(path, job, progress)
    if job.kind == jobs.WHY:
        from backreef.usecases.told_numbers import FIT

        if str(job.asked["figure"]).startswith(FIT):
            return _answered_of_fit(path, job.asked["figure"], progress)
        return _answered(path, job.asked, progress)
    plan, catalogue = plan_desk.plan_of_text(plan_desk.text_of(path), path)
    if job.kind == jobs.REHEARSAL:
        away = rehearse.absence_of(
            date.fromisoformat(job.asked["first_on"]),
            date.fromisoformat(job.asked["until_on"]),
            tuple(job.asked["sitter_weekdays"]),
        )
        return rehearse.rehearse(plan, away, members=job.asked["members"], progress=progress)
    jobs.keep_beside(job, day_book(plan, catalogue))
    thorough = bool(job.asked.get("thorough"))
    found = forecast.forecast_plan(plan, members=job.asked["members"], thorough=thorough, progress=progress)
    return replace(found, plan_file=path.name)  # where it stands on this machine is nobody else's business


def _proposed(path: Path, job: Job, progress: Progress) -> Any:  # noqa: ANN401  as above
    """The plans that were found; all that were until then, where somebody stopped the search."""
    from backreef.reports.offers_html import offers_of
    from backreef.usecases import forecast
    from backreef.usecases.offers import SoFar
    from backreef.usecases.propose import propose_plans, written
    from backreef.web import jobs

    known = SoFar()
    simulate = forecast.default_judge()

    def tell(phrase: str, done: int, total: int) -> None:
        try:
            progress(phrase, done, total)
        except Stopped:
            raise KeyboardInterrupt from None  # the search gives what it has

    def judge(*told: Any, **more: Any) -> Any:  # noqa: ANN401  whatever a judge is asked
        nonlocal known
        judged = simulate(*told, **more)
        known = known.with_another(judged)
        jobs.keep_beside(job, known)
        return judged

    found = propose_plans(path, members=job.asked["members"], progress=tell, judge=judge)
    if found.status == "stopped" and not found.proposals:
        raise Stopped("stopped")
    return offers_of(found, written(found))


def _answered(path: Path, asked: dict[str, Any], progress: Progress) -> Any:  # noqa: ANN401  as above
    from backreef.reports.why_html import answers
    from backreef.usecases.offers import asked_of_offer, offer_asked
    from backreef.usecases.why import workings_beside
    from backreef.usecases.why_answers import WhyAnswers

    figure, of, text = asked["figure"], "", None
    offer = asked_of_offer(figure)
    if offer is not None:
        place, figure = offer
        of, text = offer_asked(place), asked["text"]
        path = path.with_name(f"{path.stem}, plan {place + 1} that was found.toml")
    found = workings_beside(path, figure, members=asked["members"], progress=progress, text=text)
    return WhyAnswers(by_figure=answers(found, of))


def _answered_of_fit(path: Path, figure: str, progress: Progress) -> Any:  # noqa: ANN401  as above
    from backreef.reports.why_html import answers
    from backreef.usecases.why import why_fit
    from backreef.usecases.why_answers import WhyAnswers

    return WhyAnswers(by_figure=answers({figure: why_fit(path, _log_of(path), figure, progress=progress)}))


def _reconciled(path: Path, progress: Progress) -> Any:  # noqa: ANN401  as above
    from backreef.usecases import kept_fits

    return kept_fits.reconcile_again(path, _log_of(path), progress=progress)


def _log_of(path: Path) -> Sequence[Entry]:
    """Everything that the log of a plan's tank holds."""
    from backreef.logbook.store import Wanted
    from backreef.usecases import plan_desk

    tank = next(one.tank for one in plan_desk.plans_in(path.parent) if one.path == path)
    store = bootstrap.log_store()
    return () if store is None else store.entries(Wanted(tank=tank))


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
