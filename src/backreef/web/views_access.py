"""Coming in and going out."""

from __future__ import annotations

from typing import TYPE_CHECKING

from django.conf import settings
from django.contrib.auth import authenticate, login, logout
from django.contrib.auth.decorators import login_not_required
from django.http import HttpResponseRedirect
from django.shortcuts import redirect, render
from django.utils.http import url_has_allowed_host_and_scheme
from django.utils.translation import gettext as _
from django.views.decorators.debug import sensitive_post_parameters
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from backreef.web import access
from backreef.web.models import Link
from backreef.web.refusals import refusal

if TYPE_CHECKING:
    from django.http import HttpRequest, HttpResponse


@login_not_required
@require_GET
def by_link(request: HttpRequest, secret: str) -> HttpResponse:
    """Let in whoever has the address that the terminal printed; it works once."""
    link = access.find_link(Link.SIGN_IN, secret)
    if link is None or not access.use_up(link):
        if request.user.is_authenticated:
            return redirect("tanks")
        return refusal(
            request,
            410,
            _("This address was used before, or is too old."),
            _("Run 'backreef serve' in the same folder once more; it prints a new one."),
        )
    login(request, access.keeper(), backend="django.contrib.auth.backends.ModelBackend")
    return redirect("tanks")


@login_not_required
@sensitive_post_parameters("password")
@require_http_methods(["GET", "POST"])
def by_password(request: HttpRequest) -> HttpResponse:
    """Let in whoever knows the password; where there is none, say how to come in."""
    after = _safe(request, request.POST.get("next") or request.GET.get("next") or "/")
    known = access.anybody_has_password()
    name = request.POST.get("name", "").strip() or access.KEEPER
    words, status = "", 200
    if request.method == "POST" and known:
        address = access.address_of(request)
        if access.must_wait(address, name):
            words, status = _("Too many tries. Wait a quarter of an hour, then try again."), 429
        else:
            user = authenticate(request, username=name, password=request.POST.get("password", ""))
            if user is not None:
                login(request, user)
                return HttpResponseRedirect(after)
            access.note_failure(address, name)
            words, status = _("Name and password do not go together."), 403
    about = {"known": known, "words": words, "next": after, "name": request.POST.get("name", "")}
    return render(request, "web/sign_in.html", about, status=status)


@require_POST
def leave(request: HttpRequest) -> HttpResponse:
    """Sign out."""
    logout(request)
    return redirect("sign-in")


@login_not_required
@require_POST
def language(request: HttpRequest) -> HttpResponse:
    """Remember in which language somebody wants to read, and go back to where they were."""
    after = _safe(request, request.POST.get("next", ""))
    response = HttpResponseRedirect(after)  # never a name of a route, which redirect() would look up
    wanted = request.POST.get("language", "")
    if wanted in dict(settings.LANGUAGES):
        response.set_cookie(
            settings.LANGUAGE_COOKIE_NAME,
            wanted,
            max_age=settings.LANGUAGE_COOKIE_AGE,
            secure=settings.LANGUAGE_COOKIE_SECURE,
            httponly=settings.LANGUAGE_COOKIE_HTTPONLY,
            samesite="Lax",
        )
    return response


def _safe(request: HttpRequest, after: str) -> str:
    """An address of this page; the first page in the place of any other."""
    mine = url_has_allowed_host_and_scheme(
        after, allowed_hosts={request.get_host()}, require_https=request.is_secure()
    )
    return after if mine else "/"
