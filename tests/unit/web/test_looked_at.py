"""No page is forgotten where pages are looked at for whom they would shut out."""

from __future__ import annotations

import pytest

from tests.browser.pages import NO_PAGE, PAGES

pytestmark = pytest.mark.usefixtures("client")
HANDLERS = ("handler400", "handler403", "handler404", "handler500")


def test_every_address_is_looked_at_or_gives_no_page() -> None:
    from backreef.web import urls

    addresses = {pattern.name for pattern in urls.urlpatterns} | set(HANDLERS)
    looked_at = {shown.route for shown in PAGES.values()}
    assert looked_at | set(NO_PAGE) == addresses
    assert not looked_at & set(NO_PAGE)
    assert all(NO_PAGE.values())


def test_what_is_looked_at_is_what_it_says() -> None:
    from django.urls import resolve

    for name, shown in PAGES.items():
        if isinstance(shown.path, str) and shown.route not in HANDLERS:
            assert resolve(shown.path.partition("?")[0]).url_name == shown.route, name
