"""The one table of the log: every revision of every entry, added and never changed.

Only `current` is ever updated, when a later revision takes its place; triggers of the database refuse any
other update, and every deletion (migration 0002).
"""

from __future__ import annotations

from django.db import models


class Revision(models.Model):
    """One revision of one entry."""

    entry_id = models.CharField(max_length=64)
    revision = models.PositiveIntegerField()
    current = models.BooleanField()
    tank = models.CharField(max_length=200)
    kind = models.CharField(max_length=20)
    series = models.CharField(max_length=60, blank=True)
    at = models.DateTimeField()
    content = models.TextField()
    """The whole revision as JSON, moments with the clock of their place."""
    digest = models.CharField(max_length=64)
    """SHA-256 of the content, so that a changed letter is noticed."""
    withdrawn = models.BooleanField()
    batch = models.CharField(max_length=64)
    undoes = models.CharField(max_length=64, blank=True)

    class Meta:
        """One revision of each number, one current one of each entry, indexes for the usual questions."""

        db_table = "logbook_revision"
        constraints = (
            models.UniqueConstraint(fields=["entry_id", "revision"], name="one_revision_of_each_number"),
            models.UniqueConstraint(
                fields=["entry_id"], condition=models.Q(current=True), name="one_current_revision"
            ),
            models.CheckConstraint(condition=models.Q(revision__gte=1), name="the_first_revision_is_one"),
        )
        indexes = (
            models.Index(fields=["tank", "at"], condition=models.Q(current=True), name="current_by_moment"),
            models.Index(
                fields=["tank", "series", "at"], condition=models.Q(current=True), name="current_by_series"
            ),
            models.Index(fields=["batch"], name="by_batch"),
        )

    def __str__(self) -> str:
        return f"{self.entry_id} revision {self.revision}"
