"""Who may come in: the people of a tank, everybody of the folder, invitations and passwords."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from django.contrib import messages
from django.contrib.auth import login, update_session_auth_hash
from django.contrib.auth.decorators import login_not_required
from django.contrib.auth.models import User
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy
from django.views.decorators.debug import sensitive_post_parameters
from django.views.decorators.http import require_http_methods

from backreef.web import access, people
from backreef.web import tanks as shelf
from backreef.web.models import Grant, Link
from backreef.web.refusals import refusal

if TYPE_CHECKING:
    from django.http import HttpRequest, HttpResponse

    from backreef.usecases.plan_desk import PlanFile

ROLE_WORDS = {
    Grant.VIEWER: (gettext_lazy("viewer"), gettext_lazy("reads everything of this tank")),
    Grant.CARER: (
        gettext_lazy("carer"),
        gettext_lazy("writes into the log too, and asks for forecasts and rehearsals"),
    ),
    Grant.OWNER: (
        gettext_lazy("owner"),
        gettext_lazy("changes the plan too, shares links, and lets others in"),
    ),
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Known:
    """Somebody who may come in, and what to."""

    person: User
    tanks: tuple[tuple[PlanFile, object], ...]
    """Tank and role in words."""
    waits: bool
    """Whether an invitation of theirs is still to be used."""


@require_http_methods(["GET", "POST"])
def tank_people(request: HttpRequest, stem: str) -> HttpResponse:
    """Who may do what with a tank; POST lets somebody in, changes a role, or takes it back."""
    tank = shelf.tank_of(stem)
    said = {key: request.POST.get(key, "").strip() for key in ("do", "name", "role")}
    secret, fault = "", ""
    if said["do"] == "take":
        Grant.objects.filter(person__username=said["name"], stem=stem).delete()
        messages.success(request, _("%(name)s no longer sees this tank.") % {"name": said["name"]})
        themselves = said["name"] == request.user.get_username()
        return redirect("tanks") if themselves else redirect("tank-people", stem=stem)
    if said["do"] == "give":
        try:
            person, secret = people.let_in(said["name"], said["role"], stem)
        except people.NotLetIn as refused:
            fault = str(refused)
        else:
            if not secret:
                words = _("%(name)s is now %(role)s of this tank.")
                names = {"name": person.get_username(), "role": ROLE_WORDS[said["role"]][0]}
                messages.success(request, words % names)
                return redirect("tank-people", stem=stem)
    about = {
        "tank": tank,
        "here": "people",
        "grants": [
            (one, ROLE_WORDS[one.role][0]) for one in Grant.objects.filter(stem=stem).select_related("person")
        ],
        "roles": ROLE_WORDS,
        "said": said if fault else {},
        "fault": fault,
        "address": _invitation(request, secret),
        "invited": said["name"],
    }
    return render(request, "web/tank_people.html", about, status=422 if fault else 200)


@require_http_methods(["GET", "POST"])
def everybody(request: HttpRequest) -> HttpResponse:
    """Everybody who may come in; POST closes an account, opens it again, or makes a new invitation."""
    person = people.person_of(request.POST.get("name", ""))
    secret = ""
    if person is not None:
        do = request.POST.get("do", "")
        if do == "close":
            people.shut_out(person)
            words = _("The account of %(name)s is closed; they are signed out everywhere.")
            messages.success(request, words % {"name": person.get_username()})
            return redirect("people")
        if do == "invite":
            secret = people.let_back(person)
    tanks = {one.stem: one for one in shelf.all_tanks()}
    known = [
        Known(
            person=one,
            tanks=tuple(
                (tanks[grant.stem], ROLE_WORDS[grant.role][0])
                for grant in Grant.objects.filter(person=one).order_by("stem")
                if grant.stem in tanks
            ),
            waits=bool(people.invitations(one)),
        )
        for one in User.objects.exclude(username=access.KEEPER).order_by("username")
    ]
    about = {
        "here": "people",
        "known": known,
        "tanks": tanks.values(),
        "address": _invitation(request, secret),
        "invited": "" if person is None else person.get_username(),
    }
    return render(request, "web/people.html", about)


def _invitation(request: HttpRequest, secret: str) -> str:
    return request.build_absolute_uri(reverse("invitation", args=[secret])) if secret else ""


@login_not_required
@sensitive_post_parameters("password", "again")
@require_http_methods(["GET", "POST"])
def invitation(request: HttpRequest, secret: str) -> HttpResponse:
    """Let somebody choose a password, once, and sign them in."""
    link = access.find_link(Link.INVITATION, secret)
    person = None if link is None else people.invited(link)
    if link is None or person is None:
        return refusal(
            request,
            410,
            _("This invitation was used before, or is too old."),
            _("Ask whoever keeps these tanks for a new one."),
        )
    fault = ""
    if request.method == "POST":
        fault = _fault_of(request, person)
        if not fault and access.use_up(link):
            access.choose_password(request.POST["password"], person)
            login(request, person, backend="django.contrib.auth.backends.ModelBackend")
            return redirect("tanks")
    about = {"name": person.get_username(), "fault": fault, "invitation": True}
    return render(request, "web/password.html", about, status=422 if fault else 200)


@sensitive_post_parameters("old", "password", "again")
@require_http_methods(["GET", "POST"])
def password(request: HttpRequest) -> HttpResponse:
    """Choose another password; whoever else is signed in with the old one has to sign in again."""
    person = User.objects.get(username=request.user.get_username())
    fault = ""
    if request.method == "POST":
        address = access.address_of(request)
        if access.must_wait(address, person.get_username()):
            fault = _("Too many tries. Wait a quarter of an hour, then try again.")
        elif person.has_usable_password() and not person.check_password(request.POST.get("old", "")):
            access.note_failure(address, person.get_username())
            fault = _("That is not your password of now.")
        else:
            fault = _fault_of(request, person)
        if not fault:
            access.choose_password(request.POST["password"], person)
            update_session_auth_hash(request, person)
            messages.success(request, _("Your password is changed; it was asked for nowhere else."))
            return redirect("tanks")
    about = {"name": person.get_username(), "fault": fault, "has_one": person.has_usable_password()}
    return render(request, "web/password.html", about, status=422 if fault else 200)


def _fault_of(request: HttpRequest, person: User) -> str:
    """What is wrong with a password that was typed twice."""
    first, again = request.POST.get("password", ""), request.POST.get("again", "")
    return _("The two are not the same.") if first != again else access.weakness_of(first, person)
