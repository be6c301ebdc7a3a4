"""Whom the keeper lets in beside themselves: people with a name, and what they may do with which tank."""

from __future__ import annotations

from datetime import timedelta
from typing import TYPE_CHECKING

from django.contrib.auth.models import User
from django.core.exceptions import ValidationError
from django.core.validators import MaxLengthValidator
from django.utils.translation import gettext as _

from backreef.web import access
from backreef.web.models import Grant, Link

if TYPE_CHECKING:
    from collections.abc import Sequence

RESERVED = (access.KEEPER, "sitter", "nobody")
"""Names that stand for something else in the log."""
_LONGEST_NAME = 40


class NotLetIn(ValueError):
    """A name or a role that cannot be given, with the reason."""


def person_of(name: str) -> User | None:
    """Somebody who was let in, by name."""
    return User.objects.filter(username=name).exclude(username=access.KEEPER).first()


def let_in(name: str, role: str, stem: str) -> tuple[User, str]:
    """Give somebody a role in a tank; who is new gets an invitation, whose secret is known only this once.

    Raises
    ------
    NotLetIn
        If the name is no name, or the role no role.
    """
    wanted = name.strip()
    if role not in Grant.ROLES:
        raise NotLetIn(_("Choose what they may do: owner, carer or viewer."))
    known = person_of(wanted)
    secret = ""
    if known is None:
        known = _newcomer(wanted)
        secret = invitation(known)
    Grant.objects.update_or_create(person=known, stem=stem, defaults={"role": role})
    return known, secret


def _newcomer(name: str) -> User:
    if name.casefold() in RESERVED:
        raise NotLetIn(_("The name %(name)s is taken by the page itself; choose another.") % {"name": name})
    if User.objects.filter(username__iexact=name).exists():
        words = _("Somebody with the name %(name)s is there already, written in other letters.")
        raise NotLetIn(words % {"name": name})
    person = User(username=name)
    person.set_unusable_password()
    try:
        person.full_clean(exclude=["password"])
        MaxLengthValidator(_LONGEST_NAME)(name)
    except ValidationError:
        words = _("'%(name)s' is no name; use up to 40 letters, digits and . - _ + @, without spaces.")
        raise NotLetIn(words % {"name": name}) from None
    person.save()
    return person


def invitation(person: User) -> str:
    """The secret of a new invitation to choose a password; older ones are closed."""
    for old in invitations(person):
        access.use_up(old)
    life = timedelta(days=access.INVITATION_DAYS)
    return access.make_link(Link.INVITATION, says={"person": person.pk}, life=life)[0]


def invitations(person: User) -> Sequence[Link]:
    """The invitations of somebody that are not used yet."""
    return list(Link.objects.filter(kind=Link.INVITATION, closed_at=None, says__person=person.pk))


def invited(link: Link) -> User | None:
    """Whom an invitation is for; nobody where their account was closed."""
    return User.objects.filter(pk=link.says.get("person"), is_active=True).first()


def shut_out(person: User) -> None:
    """Close an account: its sessions end with the next request, its invitations and roles are gone."""
    for old in invitations(person):
        access.use_up(old)
    Grant.objects.filter(person=person).delete()
    person.is_active = False
    person.set_unusable_password()
    person.save()


def let_back(person: User) -> str:
    """Open a closed account again, without roles, and give the secret of a new invitation."""
    person.is_active = True
    person.save()
    return invitation(person)
