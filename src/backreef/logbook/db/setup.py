"""Gets Django ready for a store, once, and gives each store a connection of its own."""

from __future__ import annotations

from itertools import count
from pathlib import Path
from typing import Any
from urllib.parse import parse_qsl, unquote, urlsplit

from backreef.logbook.store import StoreTrouble

POSTGRES = ("postgresql", "postgres")
BUSY_TIMEOUT_S = 20
SQLITE_OPTIONS: dict[str, Any] = {
    "timeout": BUSY_TIMEOUT_S,
    "transaction_mode": "IMMEDIATE",
    "init_command": "PRAGMA journal_mode=WAL; PRAGMA synchronous=FULL; PRAGMA foreign_keys=ON;",
}
"""Writers wait for each other from the beginning on, and what is acknowledged is on the disk."""
MAKERS_LOCK = 0x6261636B72656566
"""Number of the lock on a server that only one maker of tables holds."""
_COUNTER = count(1)


def is_address(place: str) -> bool:
    """Whether a place is the address of a server and not a path."""
    return place.partition("://")[0] in POSTGRES and "://" in place


def shown(place: str) -> str:
    """The place without a password, for messages."""
    if not is_address(place):
        return place
    parts = urlsplit(place)
    host = parts.hostname or ""
    port = f":{parts.port}" if parts.port else ""
    return f"{parts.scheme}://{host}{port}{parts.path}"


def register(place: str) -> str:
    """Make the database known to Django under a name of its own, which is given back."""
    prepare_django()
    from django.db import connections

    alias = f"log{next(_COUNTER)}"
    settings = postgres_settings(place) if is_address(place) else _sqlite(Path(place))
    connections.settings[alias] = connections.configure_settings({"default": settings})["default"]
    return alias


def forget(alias: str) -> None:
    """Close the connection and let Django forget the database."""
    from django.db import connections

    if alias in connections.settings:
        connections[alias].close()
        del connections[alias]
        del connections.settings[alias]


def prepare_django() -> None:
    """Let Django know what the store needs, unless it was told more already."""
    import django
    from django.apps import apps
    from django.conf import settings

    if not settings.configured:
        from backreef.logbook.db import settings as ours

        settings.configure(**{name: getattr(ours, name) for name in dir(ours) if name.isupper()})
    if not apps.ready:
        django.setup()


def _sqlite(path: Path) -> dict[str, Any]:
    return {"ENGINE": "django.db.backends.sqlite3", "NAME": str(path), "OPTIONS": dict(SQLITE_OPTIONS)}


def postgres_settings(address: str) -> dict[str, Any]:
    """What Django is told of a database on a server.

    Raises
    ------
    StoreTrouble
        If the address names none, or what is needed for servers is not installed.
    """
    try:
        import psycopg  # noqa: F401  only whether it is there
    except ImportError:
        raise StoreTrouble(
            "a PostgreSQL server needs the extra 'firm'; install it with pip install 'backreef[firm]'"
        ) from None
    parts = urlsplit(address)
    name = unquote(parts.path.removeprefix("/"))
    if not name:
        raise StoreTrouble(f"{shown(address)} names no database; write postgresql://user@host/database")
    return {
        "ENGINE": "django.db.backends.postgresql",
        "NAME": name,
        "USER": unquote(parts.username or ""),
        "PASSWORD": unquote(parts.password or ""),
        "HOST": unquote(parts.hostname or ""),
        "PORT": str(parts.port or ""),
        "OPTIONS": dict(parse_qsl(parts.query)),
    }
