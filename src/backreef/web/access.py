"""Who may come in: links that are used once, a password for other machines, slow guessing."""

from __future__ import annotations

import hashlib
import secrets
from datetime import timedelta
from typing import TYPE_CHECKING, Any

from django.utils import timezone

from backreef.web.models import Attempt, Link

if TYPE_CHECKING:
    from django.contrib.auth.models import User
    from django.http import HttpRequest

KEEPER = "keeper"
SIGN_IN_MINUTES = 10
INVITATION_DAYS = 7
MOST_ATTEMPTS = 5
"""Of one address."""
MOST_ATTEMPTS_AT_A_NAME = 25
"""From all addresses together."""
ATTEMPTS_MINUTES = 15
_SECRET_BYTES = 24


def keeper() -> User:
    """The one who owns the folder."""
    from django.contrib.auth.models import User

    found, made = User.objects.get_or_create(username=KEEPER)
    if made:
        found.set_unusable_password()
        found.save()
    return found


def has_password() -> bool:
    """Whether the keeper has chosen a password."""
    return bool(keeper().has_usable_password())


def anybody_has_password() -> bool:
    """Whether somebody could sign in with a password."""
    from django.contrib.auth.models import User

    return any(one.has_usable_password() for one in User.objects.filter(is_active=True))


def choose_password(password: str, person: User | None = None) -> None:
    """Give somebody a password, the keeper if nobody is named; whoever was signed in has to sign in again.

    Raises
    ------
    ValueError
        If it is too short, too common or too like their name, with the reasons.
    """
    owner = person or keeper()
    weak = weakness_of(password, owner)
    if weak:
        raise ValueError(weak)
    owner.set_password(password)
    owner.save()


def weakness_of(password: str, person: User) -> str:
    """Why a password is refused; empty where it is not."""
    from django.contrib.auth.password_validation import validate_password
    from django.core.exceptions import ValidationError

    try:
        validate_password(password, person)
    except ValidationError as refusal:
        return " ".join(refusal.messages)
    return ""


def make_link(
    kind: str, *, stem: str = "", says: dict[str, Any] | None = None, life: timedelta | None
) -> tuple[str, Link]:
    """A new secret address; only this once is the secret known."""
    secret = secrets.token_urlsafe(_SECRET_BYTES)
    ends_at = None if life is None else timezone.now() + life
    link = Link.objects.create(
        kind=kind, secret_sha256=_hidden(secret), stem=stem, says=says or {}, ends_at=ends_at
    )
    return secret, link


def sign_in_secret() -> str:
    """A secret that lets the keeper in, once, within minutes."""
    return make_link(Link.SIGN_IN, life=timedelta(minutes=SIGN_IN_MINUTES))[0]


def find_link(kind: str, secret: str) -> Link | None:
    """The open link of a secret."""
    link = Link.objects.filter(kind=kind, secret_sha256=_hidden(secret), closed_at=None).first()
    over = link is not None and link.ends_at is not None and link.ends_at < timezone.now()
    return None if over else link


def use_up(link: Link) -> bool:
    """Close a link; False if somebody else was faster."""
    return bool(Link.objects.filter(pk=link.pk, closed_at=None).update(closed_at=timezone.now()))


def address_of(request: HttpRequest) -> str:
    """Where a request comes from, as far as this machine can tell."""
    return str(request.META.get("REMOTE_ADDR", ""))[:64]


def must_wait(address: str, name: str = KEEPER) -> bool:
    """Whether too many sign-ins from an address, or with a name, have failed of late."""
    since = timezone.now() - timedelta(minutes=ATTEMPTS_MINUTES)
    late = Attempt.objects.filter(at__gte=since)
    of_address = late.filter(address=address).count()
    return of_address >= MOST_ATTEMPTS or late.filter(name=name).count() >= MOST_ATTEMPTS_AT_A_NAME


def note_failure(address: str, name: str = KEEPER) -> None:
    """Remember a sign-in that failed, and forget old ones."""
    Attempt.objects.filter(at__lt=timezone.now() - timedelta(days=1)).delete()
    Attempt.objects.create(address=address, name=name[:150])


def _hidden(secret: str) -> str:
    return hashlib.sha256(secret.encode("utf-8")).hexdigest()
