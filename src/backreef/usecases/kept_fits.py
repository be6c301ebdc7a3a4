"""Reconciles a plan again and again: the answer that stands at once, or on from the fit that stands.

Beside the compiled code, in the cache, lie for each plan the last answer and the last fresh fit with a check
sum of all that they rest on. Whatever is amiss with them, the tank is fitted afresh.
"""

from __future__ import annotations

import hashlib
import io
import json
import os
from collections.abc import Callable, Sequence
from dataclasses import replace
from datetime import date
from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING, Any
from zipfile import BadZipFile

from backreef import kept as shelf
from backreef.usecases.reconcile import MEMBERS, SEED, WEEKS_AHEAD, asked_for

if TYPE_CHECKING:
    from backreef.aquarium.plan import Plan
    from backreef.calibration.outcome import Reconciled
    from backreef.calibration.run import Run
    from backreef.calibration.standing import Standing
    from backreef.logbook.entries import Entry

MOST_FITS = 16
"""So many fits are kept, of some megabytes each; those used last."""
_SUM_LETTERS = 24
_CHANGED = "the plan, what is asked or the program itself is no longer as it was"
Progress = Callable[[str, int, int], None]


def reconcile_again(
    path: str | Path,
    entries: Sequence[Entry],
    *,
    asked: tuple[int, int, int] = (MEMBERS, SEED, WEEKS_AHEAD),
    afresh: bool = False,
    progress: Progress | None = None,
) -> Reconciled:
    """A plan's file and the entries of its tank's log put together, with the least work that is honest.

    Parameters
    ----------
    asked : tuple
        Members, seed and weeks ahead.
    afresh : bool
        Neither an answer nor a fit that stands is looked at.

    Raises
    ------
    InputFaults
        With every fault of the file, or if no reading of the log can be used.
    ValueError
        If members, seed or weeks are out of bounds.
    """
    from backreef.usecases.check import load_plan

    wanted = asked_for(*asked)
    plan = load_plan(path)
    place = _Place(Path(path))
    rests = _rests_on(plan, asked)
    answer_sum = _sum(rests, *(repr(one) for one in entries))
    if not afresh:
        answer = place.answer(answer_sum)
        if answer is not None:
            return replace(answer, origin=replace(answer.origin, kept=True))
    from backreef.calibration.together import reconcile_on
    from backreef.judgement.least_food import with_least_food
    from backreef.usecases.check import catalogue_of

    standing, why_fresh = (None, "that was asked for") if afresh else place.standing(rests)
    catalogue = catalogue_of(plan)
    fed = with_least_food(plan, catalogue)
    found, now = reconcile_on(fed, catalogue, entries, wanted, progress=progress, standing=standing)
    if why_fresh:
        found = replace(found, origin=replace(found.origin, why_fresh=why_fresh))
    if now is not standing:
        place.keep_standing(now, rests)
    place.keep_answer(found, answer_sum)
    return found


def run_again(
    path: str | Path,
    entries: Sequence[Entry],
    *,
    asked: tuple[int, int, int] = (MEMBERS, SEED, WEEKS_AHEAD),
    progress: Progress | None = None,
) -> tuple[Run, int]:
    """The marches behind that answer, and the day of the plan on which the fit begins.

    They are those of the answer that is kept: afresh, or from the fit that stands. Without such an answer it
    is found, and kept.

    Raises
    ------
    InputFaults
        With every fault of the file, or if no reading of the log can be used.
    ValueError
        If members, seed or weeks are out of bounds.
    """
    from backreef.calibration.telling import reconciled_of
    from backreef.calibration.together import run_on
    from backreef.judgement.least_food import with_least_food
    from backreef.usecases.check import catalogue_of, load_plan

    wanted, plan, place = asked_for(*asked), load_plan(path), _Place(Path(path))
    rests, catalogue = _rests_on(plan, asked), catalogue_of(plan)
    answer_sum = _sum(rests, *(repr(one) for one in entries))
    answer = place.answer(answer_sum)
    standing = None if answer is not None and answer.origin.how == "fresh" else place.standing(rests)[0]
    fed = with_least_food(plan, catalogue)
    run, now = run_on(fed, catalogue, entries, wanted, progress=progress, standing=standing)
    if answer is None:
        if now is not standing:
            place.keep_standing(now, rests)
        place.keep_answer(reconciled_of(run), answer_sum)
    return run, now.since_day


def fits_folder() -> Path:
    """Where fits and answers are kept."""
    return shelf.cache_folder() / "fits"


class _Place:
    """Where the answer and the fit of a plan's file lie."""

    def __init__(self, path: Path) -> None:
        self._folder = fits_folder()
        name = _sum(str(path.resolve()))
        self._fit, self._answer = self._folder / f"{name}.npz", self._folder / f"{name}.json"

    def answer(self, answer_sum: str) -> Reconciled | None:
        """The answer that rests on just this, if it was kept."""
        from backreef.calibration.outcome import Reconciled
        from backreef.usecases.kept import NotKept, read_kept

        try:
            head, _, text = self._answer.read_text(encoding="utf-8").partition("\n")
            return read_kept(text, Reconciled) if head == answer_sum else None
        except (OSError, ValueError, NotKept):
            return None

    def keep_answer(self, found: Reconciled, answer_sum: str) -> None:
        """Keep an answer in place of the last one."""
        from backreef.usecases.kept import kept_text

        shelf.keep(self._answer, f"{answer_sum}\n{kept_text(found)}".encode())

    def standing(self, rests: str) -> tuple[Standing | None, str]:
        """The fit that stands; or none, and why it does not stand, if there was one."""
        import numpy as np

        try:
            with self._fit.open("rb") as stream, np.load(stream, allow_pickle=False) as arrays:
                said = json.loads(arrays["said"].tobytes())
                if said.pop("rests") != rests:
                    return None, _CHANGED
                found = _standing(said, {name: arrays[name] for name in arrays.files if name != "said"})
            os.utime(self._fit)
        except (OSError, ValueError, KeyError, TypeError, EOFError, BadZipFile):
            return None, ""
        return found, ""

    def keep_standing(self, standing: Standing, rests: str) -> None:
        """Keep a fit in place of the last one, and throw away those not used for longest."""
        import numpy as np

        said = {name: getattr(standing, name) for name in _SAID} | {
            "last_on": standing.last_on.isoformat(),
            "rests": rests,
        }
        said["steps"] = [[one.names, one.readings, one.transform.shrunk_ratio] for one in standing.steps]
        arrays: dict[str, Any] = {"deviates": standing.deviates}
        arrays |= {
            f"step {number} {part}": getattr(one.transform, part)
            for number, one in enumerate(standing.steps)
            for part in _OF_A_STEP
        }
        arrays |= {f"mornings {which}": state for which, state in standing.mornings.items()}
        arrays |= {f"days {which}": days for which, days in standing.days.items()}
        content = io.BytesIO()
        np.savez(content, said=np.frombuffer(json.dumps(said).encode(), dtype=np.uint8), **arrays)
        shelf.keep(self._fit, content.getvalue())
        self._sweep()

    def _sweep(self) -> None:
        try:
            fits = sorted(self._folder.glob("*.npz"), key=lambda one: -one.stat().st_mtime)
            for one in fits[MOST_FITS:]:
                one.unlink(missing_ok=True)
                one.with_suffix(".json").unlink(missing_ok=True)
        except OSError:
            return


_OF_A_STEP = ("weights", "seen", "foretold", "drawn")
_SAID = (
    "since_day",
    "last_day",
    "seed",
    "readings",
    "doubted",
    "names",
    "log_sum",
    "life_sum",
    "planned_sum",
)


def _standing(said: dict[str, Any], arrays: dict[str, Any]) -> Standing:
    from backreef.calibration.fit import Step
    from backreef.calibration.smoother import Transform
    from backreef.calibration.standing import Standing

    def of(kind: str) -> dict[str, Any]:
        return {name.removeprefix(kind): one for name, one in arrays.items() if name.startswith(kind)}

    for name in ("readings", "doubted", "names"):
        said[name] = tuple(said[name])
    said["last_on"] = date.fromisoformat(said["last_on"])
    steps = tuple(
        Step(
            names=tuple(names),
            readings=tuple(read),
            transform=Transform(
                shrunk_ratio=ratio, **{part: arrays[f"step {number} {part}"] for part in _OF_A_STEP}
            ),
        )
        for number, (names, read, ratio) in enumerate(said.pop("steps"))
    )
    return Standing(
        **said, steps=steps, deviates=arrays["deviates"], mornings=of("mornings "), days=of("days ")
    )


def _rests_on(plan: Plan, asked: tuple[int, int, int]) -> str:
    """A check sum of what a fit rests on beside the log: plan, own entries, program, and what is asked."""
    folder = Path(plan.file).parent / plan.catalogue if plan.catalogue else None
    own = () if folder is None else sorted(folder.rglob("*.toml"))
    texts = (f"{one.name}\n{one.read_text(encoding='utf-8')}" for one in own)
    return _sum(_program(), repr(plan), repr(asked), *texts)


@cache
def _program() -> str:
    """A check sum of the program's files, by their sizes and when they were last written."""
    folder = Path(__file__).resolve().parents[1]
    files = (one for end in ("py", "csv", "toml") for one in folder.rglob(f"*.{end}"))
    stats = sorted((str(one), one.stat()) for one in files)
    return _sum(*(f"{name} {stat.st_size} {stat.st_mtime_ns}" for name, stat in stats))


def _sum(*texts: str) -> str:
    digest = hashlib.sha256()
    for text in texts:
        digest.update(text.encode())
        digest.update(b"\0")
    return digest.hexdigest()[:_SUM_LETTERS]
