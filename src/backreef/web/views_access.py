"""Coming in and going out."""

from __future__ import annotations

from typing import TYPE_CHECKING

from django.contrib.auth import authenticate, login, logout
from django.contrib.auth.decorators import login_not_required
from django.shortcuts import redirect, render
from django.utils.http import url_has_allowed_host_and_scheme
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
            "This address was used before, or is too old.",
            "Run 'backreef serve' in the same folder once more; it prints a new one.",
        )
    login(request, access.keeper(), backend="django.contrib.auth.backends.ModelBackend")
    return redirect("tanks")


@login_not_required
@sensitive_post_parameters("password")
@require_http_methods(["GET", "POST"])
def by_password(request: HttpRequest) -> HttpResponse:
    """Let in whoever knows the password; where there is none, say how to come in."""
    after = request.POST.get("next") or request.GET.get("next") or "/"
    if not url_has_allowed_host_and_scheme(
        after, allowed_hosts={request.get_host()}, require_https=request.is_secure()
    ):
        after = "/"
    known = access.has_password()
    words = ""
    if request.method == "POST" and known:
        address = access.address_of(request)
        if access.must_wait(address):
            words = f"Too many tries. Wait {access.ATTEMPTS_MINUTES} minutes, then try again."
        else:
            password = request.POST.get("password", "")
            user = authenticate(request, username=access.KEEPER, password=password)
            if user is not None:
                login(request, user)
                return redirect(after)
            access.note_failure(address)
            words = "That is not the password."
    status = 200 if not words else 429 if words.startswith("Too") else 403
    return render(request, "web/sign_in.html", {"known": known, "words": words, "next": after}, status=status)


@require_POST
def leave(request: HttpRequest) -> HttpResponse:
    """Sign out."""
    logout(request)
    return redirect("sign-in")
