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
MOST_ATTEMPTS = 5
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


def choose_password(password: str) -> None:
    """Give the keeper a password; whoever was signed in has to sign in again.

    Raises
    ------
    ValueError
        If it is too short or too common, with the reasons.
    """
    from django.contrib.auth.password_validation import validate_password
    from django.core.exceptions import ValidationError

    owner = keeper()
    try:
        validate_password(password, owner)
    except ValidationError as refusal:
        raise ValueError(" ".join(refusal.messages)) from None
    owner.set_password(password)
    owner.save()


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


def must_wait(address: str) -> bool:
    """Whether too many sign-ins from an address have failed of late."""
    since = timezone.now() - timedelta(minutes=ATTEMPTS_MINUTES)
    return Attempt.objects.filter(address=address, at__gte=since).count() >= MOST_ATTEMPTS


def note_failure(address: str) -> None:
    """Remember a sign-in that failed, and forget old ones."""
    Attempt.objects.filter(at__lt=timezone.now() - timedelta(days=1)).delete()
    Attempt.objects.create(address=address)


def _hidden(secret: str) -> str:
    return hashlib.sha256(secret.encode("utf-8")).hexdigest()
