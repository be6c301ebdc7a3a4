"""The web room as a Django app."""

from __future__ import annotations

from django.apps import AppConfig


class WebConfig(AppConfig):
    """Its label begins the names of its tables."""

    name = "backreef.web"
    label = "web"
    default_auto_field = "django.db.models.BigAutoField"
