"""The style sheet, the two scripts and the sign of the house, under addresses that change with them."""

from __future__ import annotations

import hashlib
from functools import cache
from importlib import resources
from typing import TYPE_CHECKING

from django.contrib.auth.decorators import login_not_required
from django.http import Http404, HttpResponse

from backreef.reports.html import style_sheet

if TYPE_CHECKING:
    from django.http import HttpRequest

_KINDS = {"css": "text/css", "js": "text/javascript", "svg": "image/svg+xml"}
_YEAR_S = 365 * 24 * 3600
_DIGEST_LETTERS = 12


@cache
def content(name: str) -> bytes:
    """The bytes of an asset."""
    ours = resources.files("backreef.web") / "data"
    if name == "page.css":
        return (style_sheet() + (ours / name).read_text(encoding="utf-8")).encode("utf-8")
    if name == "htmx.js":
        return (resources.files("django_htmx") / "static" / "django_htmx" / "htmx-2.min.js").read_bytes()
    return (ours / name).read_bytes()


@cache
def address(name: str) -> str:
    """Where an asset of just this content is found."""
    digest = hashlib.sha256(content(name)).hexdigest()[:_DIGEST_LETTERS]
    return f"/assets/{digest}/{name}"


def addresses(_request: HttpRequest) -> dict[str, str]:
    """The addresses for every page."""
    return {
        "page_css": address("page.css"),
        "page_js": address("page.js"),
        "htmx_js": address("htmx.js"),
        "page_icon": address("icon.svg"),
    }


@login_not_required
def asset(_request: HttpRequest, digest: str, name: str) -> HttpResponse:
    """An asset; it may be kept for a year, for another content has another address."""
    if name not in ("page.css", "page.js", "htmx.js", "icon.svg") or address(name).split("/")[2] != digest:
        raise Http404
    kind = _KINDS[name.rpartition(".")[2]]
    return HttpResponse(
        content(name),
        content_type=f"{kind}; charset=utf-8",
        headers={"Cache-Control": f"public, max-age={_YEAR_S}, immutable"},
    )
