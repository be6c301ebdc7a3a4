"""Who may do what with which tank: every request passes here before its view; what is not named is closed."""

from __future__ import annotations

from dataclasses import dataclass
from enum import IntEnum
from typing import TYPE_CHECKING

from django.core.exceptions import PermissionDenied
from django.http import Http404

from backreef.logbook.store import Wanted
from backreef.usecases.plan_desk import plans_in
from backreef.web import bootstrap
from backreef.web.access import KEEPER
from backreef.web.models import Grant, Job

if TYPE_CHECKING:
    from django.contrib.auth.base_user import AbstractBaseUser
    from django.contrib.auth.models import AnonymousUser
    from django.http import HttpRequest

_READING = ("GET", "HEAD", "OPTIONS")


class Role(IntEnum):
    """What somebody is to a tank or, where a page is about no tank, to the folder."""

    STRANGER = 0
    GUEST = 1
    """Signed in, and nothing to this tank."""
    VIEWER = 2
    """Reads everything of it."""
    CARER = 3
    """Writes into its log too, and asks for forecasts and rehearsals."""
    OWNER = 4
    """Changes its plan too, shares links to it, and says who else may do what."""
    KEEPER = 5
    """Owner of every tank of the folder; makes new plans."""


_OF_GRANT = {Grant.VIEWER: Role.VIEWER, Grant.CARER: Role.CARER, Grant.OWNER: Role.OWNER}


@dataclass(frozen=True, slots=True)
class Needs:
    """The least role for reading a page, and for sending it something."""

    read: Role
    write: Role


_UNNAMED_OF_TANK = Needs(Role.VIEWER, Role.OWNER)
_UNNAMED = Needs(Role.KEEPER, Role.KEEPER)
_LOGGED = Needs(Role.VIEWER, Role.CARER)
_FOR_ALL = Needs(Role.GUEST, Role.KEEPER)
_OWNERS = Needs(Role.OWNER, Role.OWNER)
NEEDS = {
    "tanks": _FOR_ALL,
    "catalogue": _FOR_ALL,
    "thing": _FOR_ALL,
    "password": Needs(Role.GUEST, Role.GUEST),
    "sign-out": Needs(Role.GUEST, Role.GUEST),
    "job": _LOGGED,
    "picture": Needs(Role.VIEWER, Role.VIEWER),
    "forecast": _LOGGED,
    "forecast-part": _LOGGED,
    "why": _LOGGED,
    "reconcile": _LOGGED,
    "log": _LOGGED,
    "log-entry": _LOGGED,
    "log-table": Needs(Role.CARER, Role.CARER),
    "photograph": _LOGGED,
    "away": _LOGGED,
    "away-sheet": Needs(Role.VIEWER, Role.VIEWER),
    "plan-entry": _OWNERS,
    "plan-part": _OWNERS,
    "plan-add": _OWNERS,
    "plan-copy": _OWNERS,
    "own-entry": _OWNERS,
    "tank-people": _OWNERS,
}
"""Address by its name -> what it needs. Of any other address of a tank reading takes a viewer and sending an
owner; any other address is the keeper's alone."""
OWNERS_DEEDS = {"away": ("share", "revoke")}
"""What only an owner may ask of a page that others may ask other things of."""


def role_of(person: AbstractBaseUser | AnonymousUser, stem: str | None) -> Role:
    """What somebody is to a tank, or to the folder where no tank is named."""
    if not person.is_authenticated:
        return Role.STRANGER
    if person.get_username() == KEEPER:
        return Role.KEEPER
    if stem is None:
        return Role.GUEST
    found = Grant.objects.filter(person_id=person.pk, stem=stem).values_list("role", flat=True).first()
    return Role.GUEST if found is None else _OF_GRANT[found]


def stems_of(person: AbstractBaseUser | AnonymousUser, at_least: Role = Role.VIEWER) -> frozenset[str] | None:
    """The tanks in which somebody has at least a role; None for every tank there is."""
    if role_of(person, None) is Role.KEEPER:
        return None
    grants = Grant.objects.filter(person_id=person.pk).values_list("stem", "role")
    return frozenset(stem for stem, role in grants if _OF_GRANT[role] >= at_least)


def needed(request: HttpRequest, name: str, *, of_tank: bool) -> Role:
    """The least role for a request."""
    needs = NEEDS.get(name, _UNNAMED_OF_TANK if of_tank else _UNNAMED)
    if request.method in _READING:
        return needs.read
    return Role.OWNER if request.POST.get("do") in OWNERS_DEEDS.get(name, ()) else needs.write


def let_pass(request: HttpRequest, kwargs: dict[str, object]) -> None:
    """Let a request of somebody who is signed in pass to its view, and note their role for the page.

    Raises
    ------
    Http404
        If it is about a tank in which they have no role: they do not learn whether it is there.
    PermissionDenied
        If their role is too low.
    """
    name = "" if request.resolver_match is None else str(request.resolver_match.url_name)
    stem = _stem_of(name, kwargs)
    if name == "picture":
        role = _role_of_picture(request, str(kwargs["sha256"]))
    else:
        role = role_of(request.user, stem)
    request.backreef_role = role  # type: ignore[attr-defined]
    if role >= needed(request, name, of_tank=stem is not None):
        return
    if (stem is not None or name == "picture") and role <= Role.GUEST:
        raise Http404
    raise PermissionDenied


def _stem_of(name: str, kwargs: dict[str, object]) -> str | None:
    if name == "job":
        found = Job.objects.filter(pk=int(str(kwargs["pk"]))).values_list("stem", flat=True).first()
        if found is None:
            raise Http404
        return found
    return str(kwargs["stem"]) if "stem" in kwargs else None


def _role_of_picture(request: HttpRequest, sha256: str) -> Role:
    """The role in a tank of whose log the photograph is."""
    stems = stems_of(request.user)
    store = bootstrap.log_store()
    if stems is None:
        return Role.KEEPER
    names = {one.tank for one in plans_in(bootstrap.served().folder) if one.stem in stems}
    for tank in names:
        if store is None:
            break
        kept = store.entries(Wanted(tank=tank, kinds=("photograph",), with_withdrawn=True))
        if any(getattr(entry.what, "sha256", "") == sha256 for entry in kept):
            return Role.VIEWER
    return Role.GUEST


def of_page(request: HttpRequest) -> dict[str, dict[str, bool]]:
    """What the reader of a page may do there, for its buttons."""
    role: Role = getattr(request, "backreef_role", Role.STRANGER)
    return {
        "may": {
            "log": role >= Role.CARER,
            "own": role >= Role.OWNER,
            "keep": role_of(request.user, None) is Role.KEEPER if hasattr(request, "user") else False,
        }
    }
