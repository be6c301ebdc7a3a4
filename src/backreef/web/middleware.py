"""What every answer carries, and how a refusal of our own reaches the reader."""

from __future__ import annotations

from collections.abc import Callable, Iterator

from django.core.exceptions import BadRequest
from django.http import HttpRequest, HttpResponse, QueryDict
from django.utils.translation import get_language

from backreef.tongue.door import OWN, speaker_of, speaking

Answer = Callable[[HttpRequest], HttpResponse]

POLICY = (
    "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' data:; connect-src 'self'; "
    "form-action 'self'; base-uri 'none'; frame-ancestors 'none'"
)
_HEADERS = {
    "Content-Security-Policy": POLICY,
    "Permissions-Policy": "camera=(), microphone=(), geolocation=(), payment=(), usb=(), interest-cohort=()",
    "Cross-Origin-Resource-Policy": "same-origin",
}


def strict_headers(answer: Answer) -> Answer:
    """Add the headers that keep everything foreign out, and keep pages out of shared caches."""

    def answered(request: HttpRequest) -> HttpResponse:
        response = answer(request)
        for name, value in _HEADERS.items():
            response.headers.setdefault(name, value)
        response.headers.setdefault("Cache-Control", "no-store")
        return response

    return answered


def only_what_can_be_kept(answer: Answer) -> Answer:
    """Refuse the null character, which no table on a server can keep."""

    class Whole:
        def __call__(self, request: HttpRequest) -> HttpResponse:
            asked = (request.path_info, *_words_of(request.GET))
            return _refused(request) if any("\0" in word for word in asked) else answer(request)

        def process_view(
            self, request: HttpRequest, _view: Answer, _args: tuple[object, ...], _kwargs: dict[str, object]
        ) -> HttpResponse | None:
            return _refused(request) if any("\0" in word for word in _words_of(request.POST)) else None

    return Whole()


def _refused(request: HttpRequest) -> HttpResponse:
    from backreef.web.refusals import bad_request

    return bad_request(request, BadRequest())


def _words_of(sent: QueryDict) -> Iterator[str]:
    for name, values in sent.lists():
        yield name
        yield from map(str, values)


def only_who_may(answer: Answer) -> Answer:
    """Nothing around a request; before its view, whoever is signed in must have the role that it needs."""

    class Gate:
        def __call__(self, request: HttpRequest) -> HttpResponse:
            return answer(request)

        def process_view(
            self, request: HttpRequest, view: Answer, _args: tuple[object, ...], kwargs: dict[str, object]
        ) -> None:
            from backreef.web.roles import let_pass

            if getattr(view, "login_required", True):
                let_pass(request, kwargs)

    return Gate()


def plain_refusals(answer: Answer) -> Answer:
    """Nothing around a request; it shows what our own errors say as a page instead of failing."""

    class Refusals:
        def __call__(self, request: HttpRequest) -> HttpResponse:
            return answer(request)

        def process_exception(self, request: HttpRequest, error: Exception) -> HttpResponse | None:
            from backreef.web.refusals import told

            return told(request, error)

    return Refusals()


def in_the_language_of_the_reader(answer: Answer) -> Answer:
    """Let what the rooms say be said in the language that Django has found for a request."""

    def answered(request: HttpRequest) -> HttpResponse:
        with speaking(speaker_of(get_language() or OWN)):
            return answer(request)

    return answered
