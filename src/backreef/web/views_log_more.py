"""Single entries of the log, tables in and out, photographs."""

from __future__ import annotations

import re
import secrets
from pathlib import Path
from typing import TYPE_CHECKING

from django.contrib import messages
from django.http import FileResponse, Http404, HttpResponse
from django.shortcuts import redirect, render
from django.utils.translation import gettext as _
from django.utils.translation import ngettext
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from backreef.catalogue.load import load_catalogue
from backreef.errors import BackreefError, InputFaults
from backreef.logbook.photographs import KEPT_AS, NotTaken, small_copy
from backreef.logbook.store import Wanted
from backreef.logbook.table_write import table_of
from backreef.usecases.log import (
    Correction,
    NothingToDo,
    Shot,
    draft_correction,
    history_of,
    log_photograph,
    photograph_folder,
    save,
)
from backreef.usecases.log_table import DateOrder, draft_table, incoming, layout_of
from backreef.web import bootstrap
from backreef.web import tanks as shelf
from backreef.web.views_log import said_of

if TYPE_CHECKING:
    from django.core.files.uploadedfile import UploadedFile
    from django.http import HttpRequest

_TOKEN = re.compile(r"[A-Za-z0-9_-]{20,60}")
_SHOWN_ROWS = 8


@require_http_methods(["GET", "POST"])
def entry(request: HttpRequest, stem: str, ident: str) -> HttpResponse:
    """One entry with everything that it once said; POST corrects or withdraws it."""
    tank = shelf.tank_of(stem)
    store = bootstrap.log_store()
    if store is None:
        raise Http404
    try:
        history = history_of(store, ident)
    except NothingToDo:
        raise Http404 from None
    if history[-1].tank != tank.tank:
        raise Http404
    faults: list[str] = []
    if request.method == "POST":
        wanted = Correction(
            line=request.POST.get("line", ""),
            at=request.POST.get("at", ""),
            why=request.POST.get("why", ""),
            withdraw=request.POST.get("do") == "withdraw",
        )
        try:
            hand = shelf.hand_of(request, tank)
            save(store, draft_correction(store, ident, wanted, plan=tank.path, hand=hand))
            messages.success(request, _("Saved; what stood before is kept."))
            return redirect("log", stem=stem)
        except InputFaults as refusal:
            faults = [fault.message for fault in refusal.faults]
        except BackreefError as refusal:
            faults = [str(refusal)]
    catalogue = load_catalogue()
    said = [(said_of([one], catalogue)[0], one) for one in history]
    about = {
        "tank": tank,
        "here": "log",
        "said": said,
        "last": said[-1][0],
        "faults": faults,
        "entry": history[-1],
    }
    return render(request, "web/log_entry.html", about, status=422 if faults else 200)


@require_http_methods(["GET", "POST"])
def table(request: HttpRequest, stem: str) -> HttpResponse:
    """Bring a table in: first what it would bring, and every fault; then, if agreed to, all of it."""
    tank = shelf.tank_of(stem)
    about: dict[str, object] = {"tank": tank, "here": "log", "faults": [], "posted": request.POST}
    if request.method == "GET":
        return render(request, "web/log_table.html", about)
    token = request.POST.get("token", "")
    upload = request.FILES.get("table")
    waiting = bootstrap.served().waiting
    if upload is not None:
        token = secrets.token_urlsafe()
        _put(upload, waiting / f"{token}.csv")
    path = waiting / f"{token}.csv"
    if not _TOKEN.fullmatch(token) or not path.is_file():
        about["faults"] = [_("Choose a file first.")]
        return render(request, "web/log_table.html", about, status=422)
    try:
        layout = layout_of(
            *(
                [one.strip() for one in request.POST.get(key, "").split(",") if one.strip()]
                for key in ("mapped", "ignored")
            )
        )
        chosen = request.POST.get("dates")
        dates: DateOrder | None = "dmy" if chosen == "dmy" else "mdy" if chosen == "mdy" else None
        draft = draft_table(
            path,
            layout,
            tank=tank.tank,
            plan=tank.path,
            dates=dates,
            hand=shelf.hand_of(request, tank),
        )
    except InputFaults as refusal:
        name = _("the table") if upload is None else upload.name
        about["faults"] = [
            _("%(name)s, row %(row)s: %(message)s") % {"name": name, "row": f.line, "message": f.message}
            if f.line
            else f"{name}: {f.message}"
            for f in refusal.faults
        ]
        about["token"] = token
        return render(request, "web/log_table.html", about, status=422)
    found = incoming(draft, bootstrap.log_store())
    if request.POST.get("do") == "save":
        store = bootstrap.log_store(create=True)
        assert store is not None  # noqa: S101  made just now
        saved = save(store, found.draft) if found.draft.entries else ()
        path.unlink(missing_ok=True)
        words = ngettext("%(count)d entry is saved.", "%(count)d entries are saved.", len(saved))
        messages.success(request, words % {"count": len(saved)})
        return redirect("log", stem=stem)
    shown = said_of(found.draft.entries[:_SHOWN_ROWS], draft.catalogue)
    about |= {"incoming": found, "token": token, "shown": shown, "new": len(found.draft.entries)}
    return render(request, "web/log_table.html", about)


def _put(upload: UploadedFile[bytes], target: Path) -> None:
    with target.open("xb") as file:
        target.chmod(0o600)
        for chunk in upload.chunks():
            file.write(chunk)


@require_GET
def export(request: HttpRequest, stem: str) -> HttpResponse:  # noqa: ARG001  Django's
    """The whole log of a tank as a table."""
    tank = shelf.tank_of(stem)
    store = bootstrap.log_store()
    entries = () if store is None else store.entries(Wanted(tank=tank.tank))
    return HttpResponse(
        table_of(entries, load_catalogue()),
        content_type="text/csv; charset=utf-8",
        headers={"Content-Disposition": f'attachment; filename="{stem}-log.csv"'},
    )


@require_POST
def photograph(request: HttpRequest, stem: str) -> HttpResponse:
    """Keep a photograph, without what the camera wrote into it."""
    tank = shelf.tank_of(stem)
    upload = request.FILES.get("picture")
    if upload is None:
        messages.error(request, _("Choose a picture first."))
        return redirect("log", stem=stem)
    path = bootstrap.served().waiting / f"{secrets.token_urlsafe()}.picture"
    try:
        _put(upload, path)
        store = bootstrap.log_store(create=True)
        assert store is not None  # noqa: S101  made just now
        shot = Shot(file=path, caption=request.POST.get("caption", ""), at=request.POST.get("at", ""))
        folder = photograph_folder(bootstrap.served().log)
        log_photograph(store, shot, folder, tank=tank.tank, hand=shelf.hand_of(request, tank))
        messages.success(request, _("The photograph is in the log."))
    except BackreefError as refusal:
        words = str(refusal).replace(str(path), str(upload.name))
        messages.error(request, words, extra_tags="english")
    finally:
        path.unlink(missing_ok=True)
    return redirect("log", stem=stem)


@require_GET
def picture(request: HttpRequest, sha256: str) -> FileResponse:
    """A photograph of the log; with `small` in the address a small copy, as lists show it."""
    if not re.fullmatch(r"[0-9a-f]{64}", sha256):
        raise Http404
    folder = photograph_folder(bootstrap.served().log)
    for media_type, ending in KEPT_AS.values():
        path = folder / f"{sha256}{ending}"
        if path.is_file():
            if "small" in request.GET:
                path = _small(path)
            headers = {"Cache-Control": "private, max-age=86400, immutable"}
            return FileResponse(path.open("rb"), content_type=media_type, headers=headers)
    raise Http404


def _small(path: Path) -> Path:
    """The small copy, which the page keeps for itself; where none can be made the photograph itself."""
    try:
        return small_copy(path, bootstrap.served().small)
    except NotTaken:
        return path
