"""Serves the pages of a folder: one process with threads, and a foreman for long work."""

from __future__ import annotations

import os
import socket
from collections.abc import Callable
from contextlib import suppress
from pathlib import Path
from typing import IO, TYPE_CHECKING, Any

from backreef.errors import BackreefError
from backreef.web import bootstrap, quick
from backreef.web.bootstrap import Doors
from backreef.web.gate import utf8_alone
from backreef.web.place import Place
from backreef.web.settings import MOST_UPLOADED_BYTES

if TYPE_CHECKING:
    from waitress.server import BaseWSGIServer

LOOPBACK, EVERYWHERE = "127.0.0.1", "0.0.0.0"  # noqa: S104  only with --lan, after a password was chosen
_THREADS = 8


class PortTaken(BackreefError):
    """Another program listens there."""

    def __init__(self, port: int) -> None:
        super().__init__(f"port {port} is taken by another program; choose another with --port")


class Served:
    """A folder being served."""

    def __init__(self, place: Place, doors: Doors, *, host: str, port: int) -> None:
        """Get everything ready, and listen.

        Raises
        ------
        PortTaken
            If another program listens on the port.
        """
        from django.core.wsgi import get_wsgi_application
        from waitress import create_server

        from backreef.web.foreman import Foreman

        bootstrap.prepare(place, doors)
        self.place = place
        self._foreman = Foreman(place, workers=doors.workers)
        listener = _listener(host, port)
        self.port: int = listener.getsockname()[1]
        proxy: dict[str, Any] = {}
        if doors.behind_tls:
            proxy = {
                "trusted_proxy": LOOPBACK,
                "trusted_proxy_headers": {"x-forwarded-proto", "x-forwarded-for"},
            }
        self._server: BaseWSGIServer = create_server(
            utf8_alone(get_wsgi_application()),
            sockets=[listener],
            threads=_THREADS,
            max_request_body_size=MOST_UPLOADED_BYTES,
            ident=None,
            clear_untrusted_proxy_headers=True,
            **proxy,
        )

    def run(self) -> None:
        """Serve until somebody interrupts."""
        self._foreman.start()
        try:
            with suppress(KeyboardInterrupt, SystemExit):
                self._server.run()
        finally:
            self._server.close()
            self._foreman.leave()
            quick.leave()


def get_ready() -> None:
    """Begin to load what a look at a change needs, beside everything else; for a server that goes on."""
    quick.serve()
    quick.wake()


def sign_in_address(port: int, host: str = "localhost") -> str:
    """An address that lets the keeper in, once."""
    from backreef.web.access import sign_in_secret

    return f"http://{host}:{port}/sign-in/{sign_in_secret()}/"


def _listener(host: str, port: int) -> socket.socket:
    listener = socket.socket(socket.AF_INET, socket.SOCK_STREAM)
    if os.name != "nt":
        listener.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
    try:
        listener.bind((host, port))
    except OSError:
        listener.close()
        raise PortTaken(port) from None
    return listener


class OnlyOne:
    """A lock on the folder that ends with the process; it says on which port the other one serves."""

    def __init__(self, place: Place) -> None:
        self._path: Path = place.state / "serving"
        self._file: IO[str] | None = None

    def taken_on(self) -> int | None:
        """Take the lock; or give the port on which somebody else serves this folder already."""
        file = self._path.open("a+", encoding="utf-8")
        if _lock(file):
            self._file = file
            return None
        file.seek(0)
        port = file.read().strip()
        file.close()
        return int(port) if port.isdigit() else 0

    def say(self, port: int) -> None:
        """Leave the port for whoever comes next."""
        if self._file is not None:
            self._file.truncate(0)
            self._file.write(str(port))
            self._file.flush()


def _lock(file: IO[str]) -> bool:
    try:
        import fcntl
    except ImportError:  # a system without it has no such lock; the port still keeps two apart
        return True
    lock: Callable[..., Any] = fcntl.flock
    try:
        lock(file, fcntl.LOCK_EX | fcntl.LOCK_NB)
    except OSError:
        return False
    return True
