"""The page of a rehearsal: whole, without requests, every picture with words and a table behind it."""

from __future__ import annotations

import re
from dataclasses import replace
from functools import cache

import pytest

from backreef.judgement.rehearsal import Chance, Rehearsal
from backreef.plots.hours import hour_chart
from backreef.plots.markup import element
from backreef.plots.mishaps import at_risk, mishap_chart, mishap_table
from backreef.plots.rehearsal_words import chance_words, percent_words
from backreef.reports.html import policy, style_sheet
from backreef.reports.html_parts import WhyPage
from backreef.reports.rehearsal_html import rehearsal_content, rehearsal_html
from backreef.reports.rehearsal_text import rehearsal_page
from backreef.reports.text_layout import Style
from tests.number_census import Shown, named_numbers, shown_numbers
from tests.rehearsal_world import august, small
from tests.text_census import faults_of_text
from tests.unit.reports.test_html import Page


@cache
def pages() -> dict[str, str]:
    hurt = august()
    calm = replace(hurt, mishaps=tuple(each for each in hurt.mishaps if each not in at_risk(hurt)))
    return {
        "reading room": rehearsal_html(hurt),
        "work undone": rehearsal_html(small("")),
        "nothing at risk": rehearsal_html(calm),
        "nothing to go wrong": rehearsal_html(replace(hurt, mishaps=())),
        "odd names": rehearsal_html(replace(hurt, plan_name="<script>alert(1)</script> & \u202e")),
    }


@pytest.mark.parametrize("name", list(pages()))
def test_it_is_whole_and_asks_nobody_for_anything(name: str) -> None:
    source = pages()[name]
    page = Page(source)
    assert page.complaints == []
    assert page.open == []
    assert not any(tag in ("script", "iframe", "object") for tag, _ in page.elements)
    assert all(link.startswith(("#", "data:")) for link in page.attributes("href"))
    assert not page.attributes("src")
    assert policy(style_sheet()) in page.attributes("content")


@pytest.mark.parametrize("name", list(pages()))
def test_ids_are_unique_and_links_lead_somewhere(name: str) -> None:
    page = Page(pages()[name])
    ids = page.attributes("id")
    assert len(set(ids)) == len(ids)
    targets = [link[1:] for link in page.attributes("href") if link.startswith("#")]
    assert set(targets) <= set(ids)


def test_every_picture_has_words_and_a_table_behind_it() -> None:
    page = Page(pages()["reading room"])
    pictures = [attrs for tag, attrs in page.elements if tag == "svg" and attrs.get("role") == "img"]
    assert len(pictures) == 2 * (1 + sum(1 for each in at_risk(august()) if each.outcome.line is not None))
    assert all(attrs.get("aria-labelledby") for attrs in pictures)
    tables = [attrs for tag, attrs in page.elements if tag == "table"]
    assert len(tables) == len(pictures) / 2


def test_it_says_what_the_terminal_says() -> None:
    text = Page(pages()["reading room"]).text
    assert "This absence holds" in text
    for mishap in august().mishaps:
        assert mishap.what[1:] in text
        for each in mishap.mitigations:
            assert each.what[1:] in text
        assert all(line in text for line in mishap.outcome.found)


def test_a_chart_names_the_moment_and_its_bound() -> None:
    worst = next(each for each in at_risk(august()) if each.id == "mains_off_48h")
    chart = hour_chart(august(), worst, ident="x")
    assert chart is not None
    assert "Oxygen" in chart.title
    assert "first animal is at risk after" in chart.description
    assert "first at risk" in chart.wide
    assert "harm" in chart.narrow
    assert len(chart.table.rows) == 14, "a row for each day"


def test_what_harms_nobody_has_no_chart() -> None:
    calm = next(each for each in august().mishaps if each.outcome.hours_to_risk is None)
    assert hour_chart(august(), calm, ident="x") is None
    assert mishap_chart(replace(august(), mishaps=(calm,))) is None
    assert mishap_table(replace(august(), mishaps=(calm,))).rows[0][3] == "–"


def test_a_chance_that_nobody_knows_is_not_zero() -> None:
    assert chance_words(Chance(low=0.0, value=None, high=1.0)) == "not known"
    assert [percent_words(share) for share in (0.0, 0.0004, 0.02, 0.5)] == [
        "0.0 %",
        "under 0.1 %",
        "2.0 %",
        "50 %",
    ]


def test_without_a_holding_absence_the_first_thing_said_is_why() -> None:
    text = Page(pages()["work undone"]).text
    assert "This absence does not hold" in text
    assert "Top off by hand" in text


def _unknown(rehearsal: Rehearsal) -> Rehearsal:
    first = rehearsal.mishaps[0]
    return replace(rehearsal, mishaps=(replace(first, chance=Chance(low=0.0, value=None, high=1.0)),))


def test_an_unknown_chance_is_told_on_the_page() -> None:
    assert "not known" in Page(rehearsal_html(_unknown(august()))).text


@cache
def shown() -> list[Shown]:
    return shown_numbers(element("main", rehearsal_content(august(), WhyPage("/why/"))))


def test_every_number_of_the_page_leads_to_its_working_or_is_named() -> None:
    rules = [rule["where"] for rule in named_numbers("away")]
    places = {one.where for one in shown() if not one.figure}
    assert not [place for place in places if not any(re.fullmatch(rule, place) for rule in rules)]
    assert not [rule for rule in rules if not any(re.fullmatch(rule, place) for place in places)]
    assert sum(len(one.numbers) for one in shown() if one.figure) > 200


def test_every_number_for_a_terminal_stands_on_the_page_or_is_named() -> None:
    """In the same words, which lead to its working there."""
    words = sorted({one.text.rstrip(".") for one in shown() if one.figure}, key=len, reverse=True)

    def draw() -> str:
        return rehearsal_page(august(), Style(width=10_000))

    faults, _ = faults_of_text(draw, (), "text_of_absence", words)
    assert not faults, "\n".join(faults)
