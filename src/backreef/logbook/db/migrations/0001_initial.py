"""The table of revisions."""

from __future__ import annotations

from typing import ClassVar

from django.db import migrations, models


class Migration(migrations.Migration):
    """The first form of the log."""

    initial = True
    dependencies: ClassVar = []
    operations: ClassVar = [
        migrations.CreateModel(
            name="Revision",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                ("entry_id", models.CharField(max_length=64)),
                ("revision", models.PositiveIntegerField()),
                ("current", models.BooleanField()),
                ("tank", models.CharField(max_length=200)),
                ("kind", models.CharField(max_length=20)),
                ("series", models.CharField(blank=True, max_length=60)),
                ("at", models.DateTimeField()),
                ("content", models.TextField()),
                ("digest", models.CharField(max_length=64)),
                ("withdrawn", models.BooleanField()),
                ("batch", models.CharField(max_length=64)),
                ("undoes", models.CharField(blank=True, max_length=64)),
            ],
            options={
                "db_table": "logbook_revision",
                "indexes": [
                    models.Index(
                        condition=models.Q(("current", True)), fields=["tank", "at"], name="current_by_moment"
                    ),
                    models.Index(
                        condition=models.Q(("current", True)),
                        fields=["tank", "series", "at"],
                        name="current_by_series",
                    ),
                    models.Index(fields=["batch"], name="by_batch"),
                ],
                "constraints": [
                    models.UniqueConstraint(
                        fields=("entry_id", "revision"), name="one_revision_of_each_number"
                    ),
                    models.UniqueConstraint(
                        condition=models.Q(("current", True)),
                        fields=("entry_id",),
                        name="one_current_revision",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(("revision__gte", 1)), name="the_first_revision_is_one"
                    ),
                ],
            },
        ),
    ]
