"""What the page keeps for itself: long work, versions of plans, links that let somebody in."""

from __future__ import annotations

from typing import ClassVar

from django.conf import settings
from django.db import models

DIGEST_LETTERS = 64


class Job(models.Model):
    """A piece of long work: who asked for it, how far it is, and what it found."""

    QUEUED, RUNNING, DONE, FAILED, CANCELLED = "queued", "running", "done", "failed", "cancelled"
    WAITING: ClassVar[tuple[str, ...]] = (QUEUED, RUNNING)

    kind = models.CharField(max_length=20)
    stem = models.CharField(max_length=200, db_index=True)
    """The plan file's name without its ending."""
    asked = models.JSONField(default=dict)
    """What exactly was asked for."""
    digest = models.CharField(max_length=DIGEST_LETTERS)
    """Check sum of the plan's text that it is about."""
    state = models.CharField(max_length=10, default=QUEUED)
    phrase = models.CharField(max_length=200, default="")
    done_count = models.PositiveIntegerField(default=0)
    total_count = models.PositiveIntegerField(default=0)
    cancel = models.BooleanField(default=False)
    attempt = models.PositiveIntegerField(default=0)
    """How often it was begun; one that was cut off is begun once more."""
    asked_at = models.DateTimeField(auto_now_add=True)
    told_at = models.DateTimeField(null=True)
    """When the worker last said how far it is."""
    holder = models.CharField(max_length=120, default="")
    """Which process works at it, as machine:number."""
    leased_until = models.DateTimeField(null=True)
    """Until when it is that process's; it says so anew as long as it lives."""
    ended_at = models.DateTimeField(null=True)
    trouble = models.TextField(default="")

    class Meta:
        """Newest last."""

        ordering = ("pk",)

    @property
    def waits(self) -> bool:
        """Whether it is still to end."""
        return self.state in self.WAITING

    @property
    def file_name(self) -> str:
        """Where its result stands among the results."""
        return f"{self.pk}.json"


class Version(models.Model):
    """A plan as it stood after a change."""

    stem = models.CharField(max_length=200, db_index=True)
    text = models.TextField()
    digest = models.CharField(max_length=DIGEST_LETTERS)
    kept_at = models.DateTimeField(auto_now_add=True)
    who = models.CharField(max_length=150)
    why = models.CharField(max_length=200, default="")

    class Meta:
        """Newest last."""

        ordering = ("pk",)


class Link(models.Model):
    """An address that lets somebody in without a password; only the check sum of its secret is kept."""

    SIGN_IN, SHEET, FEED, INVITATION = "sign-in", "sheet", "feed", "invitation"

    kind = models.CharField(max_length=10)
    secret_sha256 = models.CharField(max_length=DIGEST_LETTERS, unique=True)
    stem = models.CharField(max_length=200, default="")
    says = models.JSONField(default=dict)
    """What it shows, as the days of an absence; or whom it invites."""
    made_at = models.DateTimeField(auto_now_add=True)
    ends_at = models.DateTimeField(null=True)
    closed_at = models.DateTimeField(null=True)
    """When it was used up or taken back."""

    class Meta:
        """Newest last."""

        ordering = ("pk",)


class Tick(models.Model):
    """A step of a sheet that a sitter has ticked."""

    link = models.ForeignKey(Link, on_delete=models.CASCADE)
    on = models.DateField()
    step = models.CharField(max_length=400)
    at = models.DateTimeField(auto_now_add=True)

    class Meta:
        """A step of a day is ticked once."""

        constraints: ClassVar[list[models.BaseConstraint]] = [
            models.UniqueConstraint(fields=("link", "on", "step"), name="ticked_once")
        ]


class Attempt(models.Model):
    """A sign-in that failed, so that guessing is slow."""

    address = models.CharField(max_length=64, db_index=True)
    name = models.CharField(max_length=150, db_index=True, default="")
    """Whose password was guessed at."""
    at = models.DateTimeField(auto_now_add=True)


class Grant(models.Model):
    """What somebody may do with a tank; without one they do not see it."""

    OWNER, CARER, VIEWER = "owner", "carer", "viewer"
    ROLES: ClassVar[tuple[str, ...]] = (OWNER, CARER, VIEWER)

    person = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.CASCADE, related_name="+")
    stem = models.CharField(max_length=200, db_index=True)
    """The plan file's name without its ending."""
    role = models.CharField(max_length=10)

    class Meta:
        """One role for a person and a tank, and none but the three."""

        ordering = ("person__username",)
        constraints: ClassVar[list[models.BaseConstraint]] = [
            models.UniqueConstraint(fields=("person", "stem"), name="one_role_in_a_tank"),
            models.CheckConstraint(condition=models.Q(role__in=("owner", "carer", "viewer")), name="a_role"),
        ]
