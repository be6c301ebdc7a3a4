"""What Django is told about the web room, whatever folder is served; `bootstrap` adds what depends on it."""

from __future__ import annotations

from pathlib import Path

MOST_UPLOADED_BYTES = 45_000_000
"""The largest request that is taken; a photograph is the largest thing that anybody sends."""
_MOST_WRITTEN_BYTES = 4_000_000
_MOST_FIELDS = 6_000
_FORTNIGHT_S = 14 * 24 * 3600
_YEAR_S = 365 * 24 * 3600

INSTALLED_APPS = [
    "django.contrib.auth",
    "django.contrib.contenttypes",
    "django.contrib.sessions",
    "django.contrib.messages",
    "backreef.logbook.db",
    "backreef.web",
]
MIDDLEWARE = [
    "django.middleware.security.SecurityMiddleware",
    "backreef.web.middleware.strict_headers",
    "django.contrib.sessions.middleware.SessionMiddleware",
    "django.middleware.locale.LocaleMiddleware",
    "backreef.web.middleware.in_the_language_of_the_reader",
    "django.middleware.common.CommonMiddleware",
    "django.middleware.csrf.CsrfViewMiddleware",
    "django.contrib.auth.middleware.AuthenticationMiddleware",
    "django.contrib.auth.middleware.LoginRequiredMiddleware",
    "backreef.web.middleware.only_what_can_be_kept",
    "backreef.web.middleware.only_who_may",
    "django.contrib.messages.middleware.MessageMiddleware",
    "django.middleware.clickjacking.XFrameOptionsMiddleware",
    "backreef.web.middleware.plain_refusals",
]
ROOT_URLCONF = "backreef.web.urls"
TEMPLATES = [
    {
        "BACKEND": "django.template.backends.django.DjangoTemplates",
        "APP_DIRS": True,
        "OPTIONS": {
            "builtins": ["backreef.web.templatetags.tongue"],
            "context_processors": [
                "django.template.context_processors.request",
                "django.contrib.auth.context_processors.auth",
                "django.contrib.messages.context_processors.messages",
                "django.template.context_processors.i18n",
                "backreef.web.assets.addresses",
                "backreef.web.roles.of_page",
            ],
        },
    }
]
DATABASES: dict[str, dict[str, object]] = {}
DEFAULT_AUTO_FIELD = "django.db.models.BigAutoField"
USE_TZ = True
TIME_ZONE = "UTC"
USE_I18N = True
LANGUAGE_CODE = "en"
LANGUAGES = [("en", "English"), ("de", "Deutsch")]
"""Each by its own name; the first is the one that the page is written in."""
LOCALE_PATHS = [str(Path(__file__).parent / "locale")]
FORMAT_MODULE_PATH = "backreef.web.formats"
LANGUAGE_COOKIE_NAME = "backreef_language"
LANGUAGE_COOKIE_AGE = _YEAR_S
LANGUAGE_COOKIE_HTTPONLY = True
LANGUAGE_COOKIE_SAMESITE = "Lax"
DEBUG = False
SECRET_KEY = ""
ALLOWED_HOSTS: list[str] = []
LOGIN_URL = "/sign-in/"
LOGIN_REDIRECT_URL = "/"

SESSION_COOKIE_NAME = "backreef_session"
SESSION_COOKIE_AGE = _FORTNIGHT_S
SESSION_COOKIE_HTTPONLY = True
SESSION_COOKIE_SAMESITE = "Lax"
SESSION_SAVE_EVERY_REQUEST = False
CSRF_COOKIE_NAME = "backreef_csrf"
CSRF_COOKIE_HTTPONLY = True
CSRF_COOKIE_SAMESITE = "Lax"
CSRF_FAILURE_VIEW = "backreef.web.refusals.csrf_refused"
MESSAGE_STORAGE = "django.contrib.messages.storage.session.SessionStorage"
X_FRAME_OPTIONS = "DENY"
SECURE_CONTENT_TYPE_NOSNIFF = True
SECURE_REFERRER_POLICY = "same-origin"
SECURE_CROSS_ORIGIN_OPENER_POLICY = "same-origin"
DATA_UPLOAD_MAX_MEMORY_SIZE = _MOST_WRITTEN_BYTES
DATA_UPLOAD_MAX_NUMBER_FIELDS = _MOST_FIELDS
DATA_UPLOAD_MAX_NUMBER_FILES = 4
FILE_UPLOAD_HANDLERS = ["django.core.files.uploadhandler.TemporaryFileUploadHandler"]
FILE_UPLOAD_PERMISSIONS = 0o600
PASSWORD_HASHERS = ["django.contrib.auth.hashers.ScryptPasswordHasher"]
AUTH_PASSWORD_VALIDATORS = [
    {"NAME": "django.contrib.auth.password_validation.UserAttributeSimilarityValidator"},
    {
        "NAME": "django.contrib.auth.password_validation.MinimumLengthValidator",
        "OPTIONS": {"min_length": 12},
    },
    {"NAME": "django.contrib.auth.password_validation.CommonPasswordValidator"},
]
LOGGING = {
    "version": 1,
    "disable_existing_loggers": False,
    "filters": {"no_secrets": {"()": "backreef.web.logs.NoSecrets"}},
    "handlers": {"errors": {"class": "logging.StreamHandler", "level": "ERROR", "filters": ["no_secrets"]}},
    "loggers": {"django": {"handlers": ["errors"], "level": "ERROR", "propagate": False}},
}
