"""Versions of plans: what stood before a change is kept, and can be brought back."""

from __future__ import annotations

from contextlib import suppress
from dataclasses import dataclass
from typing import TYPE_CHECKING

from backreef.errors import Fault, InputFaults
from backreef.usecases.log_desk import tank_name_in
from backreef.usecases.plan_desk import digest_of, keep_text, plans_in, text_of
from backreef.web.models import Version

if TYPE_CHECKING:
    from pathlib import Path

    from backreef.usecases.plan_desk import PlanFile

_LONGEST_WHY = 200
FIRST_SEEN, CHANGED_ELSEWHERE = "as it was first seen here", "changed outside of this page"
"""Reasons of versions that nobody made here; they are kept without a name."""
UNDONE = "undone: "
"""How the reason of a version begins that took the last change back."""


def keep(tank: PlanFile, text: str, *, before: str, who: str, why: str) -> None:
    """Put a text in the place of a plan file; what stood there is kept, and so is the new text.

    Raises
    ------
    InputFaults
        With every fault of the text, or if another plan of the folder has a tank of this name: the log goes
        by names, and who owns one tank must not come to read another's. The file then stays as it is.
    Overtaken
        If the file holds another text by now.
    """
    _refuse_the_name_of_another(tank, text)
    old = text_of(tank.path)
    keep_text(tank.path, text, before=before)
    _notice(tank.stem, old)
    Version.objects.create(stem=tank.stem, text=text, digest=digest_of(text), who=who, why=why[:_LONGEST_WHY])


def notice(folder: Path) -> None:
    """Keep a version of each plan of a folder that is new here or was changed elsewhere."""
    for tank in plans_in(folder):
        with suppress(InputFaults):  # what is no text any more has no version
            text = text_of(tank.path)
            if "\0" not in text:
                _notice(tank.stem, text)


def _notice(stem: str, text: str) -> None:
    """Keep a text that stands in a plan file, unless it is what was last kept of it."""
    newest = Version.objects.filter(stem=stem).order_by("-pk").values_list("digest", flat=True).first()
    digest = digest_of(text)
    if newest != digest:
        words = FIRST_SEEN if newest is None else CHANGED_ELSEWHERE
        Version.objects.create(stem=stem, text=text, digest=digest, who="", why=words)


@dataclass(frozen=True, slots=True, kw_only=True)
class Undo:
    """What taking the last change back would bring."""

    what: str
    """The change that would be taken back."""
    text: str


def undoable(tank: PlanFile) -> Undo | None:
    """The last change that was made here and still stands; None where the file is not what was last kept.

    Taking back once more goes one change further back, and not forward again.
    """
    rows = list(Version.objects.filter(stem=tank.stem).order_by("-pk"))
    if not rows or not rows[0].who or rows[0].digest != digest_of(text_of(tank.path)):
        return None
    at = 0
    while at < len(rows) and rows[at].why.startswith(UNDONE):
        stood = rows[at].digest
        at += 1
        while at < len(rows) and (rows[at].digest != stood or rows[at].why.startswith(UNDONE)):
            at += 1
    if at + 1 >= len(rows):
        return None
    return Undo(what=rows[at].why, text=rows[at + 1].text)


def _refuse_the_name_of_another(tank: PlanFile, text: str) -> None:
    name = tank_name_in(text, tank.stem)
    others = {one.tank for one in plans_in(tank.path.parent) if one.stem != tank.stem}
    if name is not None and name != tank.tank and name in others:
        message = (
            f"another plan of this folder has a tank called '{name}', and logs go by names; take another"
        )
        raise InputFaults([Fault(file=tank.path.name, line=None, key="tank.name", message=message)])
