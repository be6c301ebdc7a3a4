"""The log's tables as a Django app."""

from __future__ import annotations

from django.apps import AppConfig


class LogbookConfig(AppConfig):
    """Its label begins the names of the tables."""

    name = "backreef.logbook.db"
    label = "logbook"
    default_auto_field = "django.db.models.BigAutoField"
