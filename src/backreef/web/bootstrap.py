"""Gets Django ready for a folder, and joins the page to the log's store; the only place that does."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING, Any

from backreef.errors import BackreefError
from backreef.logbook.store import StoreTrouble
from backreef.usecases.fleet import PlanText
from backreef.web.place import Place

if TYPE_CHECKING:
    from backreef.logbook.db.store import DjangoStore


class CannotServe(BackreefError):
    """A folder cannot be served as it is."""


LOCAL_HOSTS = ("localhost", "127.0.0.1", "[::1]")
_BUSY_S = 20


@dataclass(frozen=True, slots=True, kw_only=True)
class Doors:
    """How the page may be reached."""

    hosts: tuple[str, ...] = LOCAL_HOSTS
    """Names under which it answers."""
    behind_tls: bool = False
    """A proxy speaks TLS before it and says so with X-Forwarded-Proto."""
    members: int = 64
    """Runs of each forecast."""
    workers: int = 1
    """How many pieces of long work are done at a time."""


@dataclass(slots=True)
class _Served:
    """What this process serves; set once."""

    place: Place | None = None
    doors: Doors = field(default_factory=Doors)


_SERVED = _Served()


def settings_for(place: Place, doors: Doors) -> dict[str, Any]:
    """Everything that Django is told."""
    from backreef.web import settings as ours

    told = {name: getattr(ours, name) for name in dir(ours) if name.isupper()}
    told |= {
        "SECRET_KEY": place.secret_key(),
        "ALLOWED_HOSTS": list(doors.hosts),
        "DATABASES": {"default": tables_settings(place)},
        "FILE_UPLOAD_TEMP_DIR": str(place.waiting),
    }
    if doors.behind_tls:
        told |= {
            "SECURE_PROXY_SSL_HEADER": ("HTTP_X_FORWARDED_PROTO", "https"),
            "SECURE_SSL_REDIRECT": True,
            "SECURE_HSTS_SECONDS": 31_536_000,
            "SECURE_HSTS_INCLUDE_SUBDOMAINS": True,
            "SECURE_HSTS_PRELOAD": True,
            "SESSION_COOKIE_SECURE": True,
            "CSRF_COOKIE_SECURE": True,
            "LANGUAGE_COOKIE_SECURE": True,
        }
    return told


def tables_settings(place: Place) -> dict[str, Any]:
    """Where the page's own tables stand: in a file of the folder, or on a server.

    Raises
    ------
    StoreTrouble
        If what is said of the server is no address of one.
    """
    from backreef.logbook.db.setup import is_address, postgres_settings

    if place.tables and not is_address(place.tables):
        words = "the page's own tables stand in the folder or on a PostgreSQL server"
        raise StoreTrouble(f"{words}; write postgresql://user@host/database")
    return postgres_settings(place.tables) if place.tables else database_settings(place.database)


def database_settings(path: Path) -> dict[str, Any]:
    """The page's own database: writers wait for each other, readers for nobody."""
    return {
        "ENGINE": "django.db.backends.sqlite3",
        "NAME": str(path),
        "OPTIONS": {
            "timeout": _BUSY_S,
            "transaction_mode": "IMMEDIATE",
            "init_command": "PRAGMA journal_mode=WAL; PRAGMA synchronous=NORMAL; PRAGMA foreign_keys=ON;",
        },
    }


def prepare(place: Place, doors: Doors | None = None) -> None:
    """Get Django ready to serve a folder, with the page's tables brought up to date.

    Raises
    ------
    StoreTrouble
        If the server that is to keep the tables is none, or does not answer.
    """
    import django
    from django.apps import apps
    from django.conf import settings
    from django.db.utils import OperationalError

    from backreef.logbook.db.setup import shown

    doors = doors or Doors()
    place.prepare()
    if not settings.configured:
        settings.configure(**settings_for(place, doors))
    if not apps.ready:
        django.setup()
    serve(place, doors)
    try:
        bring_up_to_date()
    except OperationalError as refusal:
        if not place.tables:
            raise
        raise StoreTrouble(f"{shown(place.tables)} does not take the page's tables: {refusal}") from None
    forget_old_sessions()


@contextmanager
def hindered(place: Place) -> Iterator[None]:
    """Say what hinders the page from keeping its own things, and what to do.

    Raises
    ------
    CannotServe
        If the folder is closed, the disk is full, or the page's own database is damaged.
    """
    from django.db import Error as DatabaseError

    from backreef.logbook.db.trouble import hindrance

    try:
        yield
    except (DatabaseError, OSError, UnicodeDecodeError) as trouble:  # SQLite repeats damage as it is
        words = hindrance(trouble)
        if words:
            raise CannotServe(f"{place.state}: {words}") from trouble
        raise CannotServe(_damaged(place, trouble)) from trouble


def _damaged(place: Place, trouble: Exception) -> str:
    """What is wrong with the page's own database, and what to do."""
    from backreef.logbook.db.setup import shown

    said = " ".join(str(trouble).split())
    keeps = "where the page keeps sign-ins, accounts and what it has forecast, is damaged"
    if place.tables:
        return (
            f"{shown(place.tables)}, {keeps} ({said}); stop every page that uses it, restore a backup of "
            "that database with the server's own tools, or name an empty one with --tables and serve again: "
            "these begin anew then; plans and photographs are not in it"
        )
    return (
        f"{place.database}, {keeps} ({said}); stop every page of this folder, move the file away and serve "
        "again: these begin anew then; plans and log are not in it"
    )


def serve(place: Place, doors: Doors) -> None:
    """Make a folder the one that this process serves."""
    _SERVED.place, _SERVED.doors = place, doors
    _store.cache_clear()


def bring_up_to_date() -> None:
    """Bring the page's own tables up to date; the log's stand in a database of their own."""
    from django.db import connection, transaction

    from backreef.logbook.db.setup import MAKERS_LOCK

    if not _missing():
        return
    if connection.vendor != "postgresql":
        _migrate()
        return
    with (
        transaction.atomic(),
        connection.cursor() as cursor,
    ):  # one maker at a time; killed, it leaves nothing
        cursor.execute("SELECT pg_advisory_xact_lock(%s)", [MAKERS_LOCK])
        if _missing():
            _migrate()


def _missing() -> bool:
    executor, leaves = _executor()
    return bool(executor.migration_plan(leaves))


def _migrate() -> None:
    executor, leaves = _executor()
    executor.migrate(leaves)


def _executor() -> tuple[Any, list[tuple[str, str]]]:
    from django.db import connection
    from django.db.migrations.executor import MigrationExecutor

    executor = MigrationExecutor(connection)
    return executor, [leaf for leaf in executor.loader.graph.leaf_nodes() if leaf[0] != "logbook"]


def forget_old_sessions() -> None:
    """Throw away sessions whose time is over."""
    from django.contrib.sessions.backends.db import SessionStore

    SessionStore.clear_expired()


def newest_plans(place: str) -> tuple[PlanText, ...]:
    """The newest text of each plan that a page has kept in a database, by its name.

    Raises
    ------
    StoreTrouble
        If there is no such database, it does not answer, or no page keeps its tables there.
    """
    from django.db import Error as DatabaseError
    from django.db import connections

    from backreef.logbook.db.prepare import closing_alias
    from backreef.logbook.db.setup import is_address, shown

    if not is_address(place) and not Path(place).is_file():
        raise StoreTrouble(f"{place} is neither a folder nor a database")
    newest = "SELECT MAX(id) FROM web_version GROUP BY stem"
    with closing_alias(place) as alias:
        try:
            with connections[alias].cursor() as cursor:
                cursor.execute(f"SELECT stem, text FROM web_version WHERE id IN ({newest}) ORDER BY stem")  # noqa: S608
                rows = cursor.fetchall()
        except (DatabaseError, UnicodeDecodeError) as refusal:
            said = " ".join(str(refusal).split())
            raise StoreTrouble(
                f"{shown(place)} has no plans of a page, or does not answer ({said}); a page keeps them "
                "there that is served with --tables"
            ) from None
    return tuple(PlanText(name=f"{stem}.toml", text=text) for stem, text in rows)


def served() -> Place:
    """The folder that this process serves."""
    if _SERVED.place is None:
        raise RuntimeError("no folder is served yet; call prepare first")
    return _SERVED.place


def doors() -> Doors:
    """How the page may be reached."""
    return _SERVED.doors


def log_store(*, create: bool = False) -> DjangoStore | None:
    """The log beside the plans; None where there is none yet and none is to be made."""
    from backreef.logbook.db.prepare import is_there

    place = served().log
    if not create and not is_there(place):
        return None
    return _store(place)


@cache
def _store(place: str) -> DjangoStore:
    from backreef.logbook.db.store import DjangoStore

    return DjangoStore(place)
