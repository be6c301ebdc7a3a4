"""Before Django reads a request: what it could not even take apart is refused here, in words."""

from __future__ import annotations

from collections.abc import Iterable
from email.message import Message
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from wsgiref.types import StartResponse, WSGIApplication, WSGIEnvironment

_WORDS = b"This request cannot be read: it is not in UTF-8. Open the page anew and send it again.\n"

_HEADERS = [("Content-Type", "text/plain; charset=utf-8"), ("Cache-Control", "no-store")]


def utf8_alone(application: WSGIApplication) -> WSGIApplication:
    """The same application for requests in UTF-8; any other is refused.

    Django takes a request apart in whatever coding it names, also where Python's codec of that name is none
    for texts, and fails.
    """

    def answered(environ: WSGIEnvironment, start: StartResponse) -> Iterable[bytes]:
        if names_another_coding(str(environ.get("CONTENT_TYPE", ""))):
            start(
                "400 Bad Request",
                [("Content-Type", "text/plain; charset=utf-8"), ("Cache-Control", "no-store")],
            )
            return [_WORDS]
        return application(environ, start)

    return answered


def names_another_coding(content_type: str) -> bool:
    """Whether the kind of a request's content says that its letters are not in UTF-8."""
    header = Message()
    header["Content-Type"] = content_type.replace("\r", " ").replace("\n", " ")
    charset = header.get_param("charset")
    if charset is None:
        return False
    return not isinstance(charset, str) or charset.strip().lower() not in ("", "utf-8", "utf8")
