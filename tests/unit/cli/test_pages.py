from __future__ import annotations

from dataclasses import replace

import pytest

from backreef.catalogue.load import load_catalogue
from backreef.cli.catalogue_page import list_page, nothing_text, overview_page, portrait_page
from backreef.cli.check_page import TITLES, check_page
from backreef.company.findings import CheckFinding, Weight
from backreef.reports.text_layout import Style, seen_width
from backreef.usecases.browse import browse_catalogue
from backreef.usecases.check import CheckResult, check_plan
from backreef.usecases.portrait_things import portrait_of
from tests.cli_world import EXAMPLES

STYLES = [Style(), Style(width=60), Style(ascii_only=True), Style(width=100)]


@pytest.fixture(scope="module")
def result() -> CheckResult:
    return check_plan(EXAMPLES / "reading_room.toml")


def finding(weight: Weight, what: str) -> CheckFinding:
    return CheckFinding(
        id=what,
        balance="water",
        weight=weight,
        who="all",
        what=what,
        why="because",
        source="Smith",
        status="published",
    )


@pytest.mark.parametrize("style", STYLES, ids=str)
def test_a_check_fits_its_width(result: CheckResult, style: Style) -> None:
    page = check_page(replace(result, file="plan.toml"), style)
    assert max(map(seen_width, page.splitlines())) <= style.width
    assert page.isascii() or not style.ascii_only


def test_a_check_puts_the_gravest_under_its_own_heading(result: CheckResult) -> None:
    page = check_page(replace(result, findings=(finding("serious", "one"), finding("note", "two"))), Style())
    assert (
        page.index(TITLES["serious"]) < page.index("- one") < page.index(TITLES["note"]) < page.index("- two")
    )
    assert "(Smith)" in page


def test_a_check_says_so_where_nothing_stands_out(result: CheckResult) -> None:
    assert "Nothing stands out." in check_page(replace(result, findings=()), Style())


def test_a_check_has_no_page_for_a_plan_with_faults(result: CheckResult) -> None:
    assert check_page(replace(result, plan=None), Style()) == ""


@pytest.mark.parametrize("style", STYLES, ids=str)
def test_every_entry_has_a_page_that_fits(style: Style) -> None:
    catalogue = load_catalogue()
    for entry in browse_catalogue(catalogue=catalogue).matches:
        page = portrait_page(portrait_of(entry, catalogue), style)
        assert max(map(seen_width, page.splitlines())) <= style.width, page
        assert page.isascii() or not style.ascii_only
        assert "On whose word" in page


@pytest.mark.parametrize("style", STYLES, ids=str)
def test_the_overview_and_the_whole_list_fit(style: Style) -> None:
    everything = browse_catalogue().matches
    for page in (overview_page(everything, style, program="backreef"), list_page(everything, style)):
        assert max(map(seen_width, page.splitlines())) <= style.width


def test_it_names_what_may_have_been_meant() -> None:
    found = browse_catalogue("yelow tang", "species")
    assert found.entry is None
    assert "Did you mean" in nothing_text(found, Style())
