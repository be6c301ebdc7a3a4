"""Whatever comes to an address or a form of the page is answered in words: no failure, no hang."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping, Sequence
from io import BytesIO
from itertools import product
from typing import TYPE_CHECKING, Any
from urllib.parse import quote_from_bytes, urlencode

import hypothesis.strategies as st
import pytest
from hypothesis import HealthCheck, given

from tests.cli_world import stand_in
from tests.doors import in_time, trouble_with
from tests.forms_world import Form, World, told_in, world_of
from tests.page_world import serving, signed_in
from tests.searching import bounded, tries
from tests.thrown import ODD

if TYPE_CHECKING:
    from pathlib import Path

    from django.test import Client

SEARCH = tries(33, suppress_health_check=[HealthCheck.too_slow, HealthCheck.data_too_large])
"""A third of what other searches try, for a page costs more than a call."""
HOSTILE = (
    *ODD,
    b"<script>alert(1)</script>",
    b"{{ settings.SECRET_KEY }}",
    b"{% debug %}",
    b"' OR 1=1 --",
    b"//elsewhere.example/",
    b"javascript:alert(1)",
    b"..%2f..%2fetc%2fpasswd",
    b"\\\\host\\share",
    "\u00b2".encode(),
    "\u0967".encode(),
    b"-0",
    b"99999999999999999999",
    b"2027-02-30",
    b"x" * 300,
    b"a\0b",
    b"\r\nSet-Cookie: x=y",
    b"[[animals]]\nspecies = 1\n",
    b"true",
    b"null",
    b"[]",
    b"{}",
)
CHARSETS = ("utf-8", "latin-1", "utf-16", "utf-7", "hex", "idna", "unicode_escape", "no-such-thing", "")
NO_FORM_POSTS = {"forecast-part"}
"""Routes that take a POST only because their view has another one with a form."""
_MARKUP = re.compile(
    rb"<script>alert|(?:href|action|src)=.javascript:|Traceback \(most recent|DoesNotExist|\[Errno"
)


Filled = tuple[list[tuple[str, bytes]], dict[str, bytes]]
"""Fields and files of a form."""


@pytest.fixture(scope="module")
def world(tmp_path_factory: pytest.TempPathFactory) -> Iterator[World]:
    """A folder with something behind every address; long work by a stand-in, short work in this process."""
    from backreef.usecases import forecast as usecase
    from backreef.web import quick, quick_work

    folder: Path = tmp_path_factory.mktemp("served")
    with pytest.MonkeyPatch.context() as patch, serving(folder) as place:
        patch.setattr(usecase, "default_judge", lambda: stand_in)
        patch.setattr(quick, "ask", quick_work.answer)
        yield world_of(place, signed_in())


def sent(world: World, method: str, address: str, **more: Any) -> Any:
    """Send a request as the keeper, in time, and look over the answer."""
    from backreef.web.access import keeper

    world.mend()
    client: Client = world.client
    if "_auth_user_id" not in client.session:
        client.force_login(keeper())
    with in_time():
        response = client.generic(method, address, **more)
    assert response.status_code < 500, (method, address, response.status_code)
    body = b"" if response.streaming else response.content
    assert not _MARKUP.search(body), (method, address)
    location = response.headers.get("Location", "")
    assert not location.startswith(("//", "javascript:")), (address, location)
    for message in told_in(response.context):
        trouble = trouble_with(message)
        assert not trouble or not message, f"{method} {address}: {trouble}: {message!r}"
    return response


def hostile(known: str = "x") -> st.SearchStrategy[bytes]:
    """What leads somewhere, with or without something hostile in or in place of it."""
    typed = st.text(max_size=8).map(lambda one: one.encode())
    nasty = st.one_of(st.sampled_from(HOSTILE), st.binary(max_size=12), typed)
    kept = known.encode()
    longer = nasty.map(lambda one: kept + one)
    return st.one_of(st.just(kept), nasty, longer, nasty.map(lambda one: one + kept))


@st.composite
def addresses(draw: st.DrawFn, world: World) -> str:
    """Any named address, with anything in its open parts and behind its question mark."""
    name = draw(st.sampled_from(sorted(world.routes)))
    address = world.address(name, {key: draw(hostile(value)) for key, value in world.parts(name)})
    asked = {key for form in world.forms if form.route == name for key, _ in form.fields}
    names = st.sampled_from(sorted({*asked, *QUERIES})).map(lambda one: one.encode())
    pairs = draw(st.lists(st.tuples(names | hostile(), hostile()), max_size=3))
    query = "&".join(f"{quote_from_bytes(key)}={quote_from_bytes(value)}" for key, value in pairs)
    return f"{address}?{query}" if query else address


@st.composite
def filled(draw: st.DrawFn, form: Form) -> Filled:
    """A form filled in: what stands in it, up to five things changed, and files."""
    fields = [(name, value.encode()) for name, value in form.fields]
    for _ in range(draw(st.integers(0, 5))):
        at = draw(st.integers(0, max(0, len(fields) - 1)))
        value = draw(hostile(fields[at][1].decode(errors="replace") if fields else ""))
        how = draw(st.sampled_from(("change", "change", "leave", "twice", "more")))
        if how == "more" or not fields:
            fields.append((draw(st.sampled_from(NAMES) | st.text(max_size=9)), value))
        elif how == "leave":
            del fields[at]
        elif how == "twice":
            fields.append((fields[at][0], value))
        else:
            fields[at] = (fields[at][0], value)
    return fields, {name: draw(hostile()) for name in form.files}


NAMES = ("do", "before", "version", "link", "offer", "next", "name", "text", "food-0", "skip")
QUERIES = ("q", "of", "before", "show", "beside", "thing", "list", "line", "at")


def multipart(fields: Sequence[tuple[str, bytes]], files: Mapping[str, bytes], name: str) -> bytes:
    """What a browser sends of a form with files; names of files as hostile as anything else."""
    out = BytesIO()
    for name_sent, value in fields:
        key = (
            name_sent.encode("utf-8", "replace").replace(b'"', b"%22").replace(b"\r", b"").replace(b"\n", b"")
        )
        out.write(b'--edge\r\nContent-Disposition: form-data; name="' + key + b'"\r\n\r\n' + value + b"\r\n")
    for part, held in files.items():
        out.write(
            f'--edge\r\nContent-Disposition: form-data; name="{part}"; filename="{name}"\r\n\r\n'.encode(
                "utf-8", "replace"
            )
        )
        out.write(held + b"\r\n")
    out.write(b"--edge--\r\n")
    return out.getvalue()


def posted(world: World, form: Form, filled: Filled, how: str) -> Any:
    """Send a filled form: as it stands, in parts, or for a piece of a page."""
    fields, files = filled
    headers = {"HX-Request": "true"} if how == "piece" else {}
    if form.method == "get":
        return sent(world, "GET", f"{form.action.partition('?')[0]}?{urlencode(fields)}", headers=headers)
    if files or how == "parts":
        kind = "multipart/form-data; boundary=edge"
        body = multipart(fields, files, "plan.toml" if how == "whole" else "../x" * 90)
    else:
        kind = "application/x-www-form-urlencoded"
        body = urlencode(fields).encode()
    return sent(world, "POST", form.action, data=body, content_type=kind, headers=headers)


HOW = ("whole", "parts", "piece")


def test_every_form_can_be_sent_as_it_stands_and_no_address_takes_anything_without(world: World) -> None:
    for form in world.forms:
        fields = [(name, value.encode()) for name, value in form.fields]
        posted(world, form, (fields, dict.fromkeys(form.files, b"")), "whole")
    without = set(world.routes) - {form.route for form in world.forms if form.method == "post"}
    for name in without - NO_FORM_POSTS:
        address = world.address(name, {key: value.encode() for key, value in world.parts(name)})
        assert sent(world, "POST", address).status_code in (404, 405), name


def test_any_address_is_answered_in_words(world: World) -> None:
    @given(address=addresses(world))
    @SEARCH
    def answers(address: str) -> None:
        sent(world, "GET", address)

    with bounded(answers):
        answers()


def test_any_form_is_answered_in_words(world: World) -> None:
    @given(data=st.data())
    @SEARCH
    def answers(data: st.DataObject) -> None:
        form = data.draw(st.sampled_from(world.forms))
        posted(world, form, data.draw(filled(form)), data.draw(st.sampled_from(HOW)))

    with bounded(answers):
        answers()


@pytest.mark.parametrize("charset", CHARSETS)
def test_a_coding_that_is_none_of_texts_is_refused_before_anything_is_read(
    charset: str, world: World
) -> None:
    from django.core.wsgi import get_wsgi_application
    from django.test import RequestFactory

    from backreef.web.gate import utf8_alone

    said: list[str] = []
    for method, kind in product(("GET", "POST"), ("multipart/form-data; boundary=edge", "text/plain")):
        environ = RequestFactory(SERVER_NAME="localhost")._base_environ(  # type: ignore[attr-defined]  # noqa: SLF001
            REQUEST_METHOD=method,
            PATH_INFO="/sign-in/",
            QUERY_STRING="next=%2F",
            CONTENT_TYPE=f"{kind}; charset={charset}",
        )
        answer = utf8_alone(get_wsgi_application())
        b"".join(answer(environ, lambda status, *_: said.append(status)))  # type: ignore[arg-type]
    known = charset in ("utf-8", "")
    assert {status[:3] for status in said} <= ({"200", "302", "403"} if known else {"400"})
