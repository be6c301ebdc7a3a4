"""What Django is told where nobody else has told it anything: one app, no web, every moment in UTC."""

from __future__ import annotations

INSTALLED_APPS = ["backreef.logbook.db"]
DATABASES: dict[str, dict[str, object]] = {}
DEFAULT_AUTO_FIELD = "django.db.models.BigAutoField"
USE_TZ = True
TIME_ZONE = "UTC"
USE_I18N = False
