"""Pages that say no: what was wrong and what to do, never a bare number."""

from __future__ import annotations

from typing import TYPE_CHECKING

from django.contrib.auth.decorators import login_not_required
from django.shortcuts import render
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy as _lazy

from backreef.errors import BackreefError, InputFaults

if TYPE_CHECKING:
    from django.http import HttpRequest, HttpResponse

_WORDS = {
    400: (_lazy("This request cannot be read."), _lazy("Go back and try it again.")),
    403: (_lazy("This is not for you."), _lazy("Sign in, or ask whoever keeps these tanks.")),
    404: (_lazy("There is no such page."), _lazy("It may have been renamed, or its link was taken back.")),
    500: (
        _lazy("backreef itself failed."),
        _lazy("Nothing was saved. What happened stands in the terminal that serves this."),
    ),
}


def told(request: HttpRequest, error: Exception) -> HttpResponse | None:
    """Our own errors as a page; None for what is not ours."""
    if not isinstance(error, BackreefError):
        return None
    known = isinstance(error, InputFaults)
    reasons = [fault.message for fault in error.faults] if isinstance(error, InputFaults) else [str(error)]
    about = {"title": _("This cannot be done."), "reasons": reasons, "english": True}
    return render(request, "web/refusal.html", about, status=422 if known else 409)


def refusal(request: HttpRequest, code: int, title: str, *reasons: str) -> HttpResponse:
    """A page with a reason."""
    return render(request, "web/refusal.html", {"title": title, "reasons": reasons}, status=code)


@login_not_required
def csrf_refused(request: HttpRequest, reason: str = "") -> HttpResponse:  # noqa: ARG001  Django's
    """A form that did not come from a page of ours, or from one that was open for too long."""
    return refusal(request, 403, _("This form is too old."), _("Open the page anew and send it again."))


@login_not_required
def bad_request(request: HttpRequest, exception: Exception) -> HttpResponse:  # noqa: ARG001  Django's
    """A request that cannot be read."""
    return refusal(request, 400, *map(str, _WORDS[400]))


@login_not_required
def forbidden(request: HttpRequest, exception: Exception) -> HttpResponse:  # noqa: ARG001  Django's
    """Something that this person may not do."""
    return refusal(request, 403, *map(str, _WORDS[403]))


@login_not_required
def not_found(request: HttpRequest, exception: Exception) -> HttpResponse:  # noqa: ARG001  Django's
    """Nothing is there."""
    return refusal(request, 404, *map(str, _WORDS[404]))


@login_not_required
def failed(request: HttpRequest) -> HttpResponse:
    """Our own failure."""
    return refusal(request, 500, *map(str, _WORDS[500]))
