"""Every number of the report and of the pages of a forecast can be asked why, or it is said why not."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Mapping
from dataclasses import replace

import pytest

from backreef.reports import html_sections as sections
from backreef.reports.html_parts import WhyPage
from backreef.reports.text import fluxes_page, forecast_page
from backreef.usecases.asked import Asking, Figure
from backreef.usecases.asked_by_name import plan_figures
from backreef.usecases.asked_told import told_figures, told_numbers
from backreef.working.number import Worked
from backreef.working.steps import About
from backreef.working.tree import literals_of, tree_of
from tests.cli_world import EXAMPLES
from tests.number_census import (
    Shown,
    check_tree,
    faults_of,
    forecast_of_asked,
    groups,
    named_numbers,
    shown_numbers,
)
from tests.text_census import faults_of_text

MEMBERS = 8


@pytest.fixture(scope="module")
def asking() -> Asking:
    return Asking(EXAMPLES / "reading_room.toml", members=MEMBERS, seed=1)


@pytest.fixture(scope="module")
def shown(asking: Asking) -> list[Shown]:
    """Everything with a number on the pages of the forecast, each page as the worker draws it."""
    found, why = forecast_of_asked(asking), WhyPage("/why/")
    pages = (
        sections.head(found, (), why),
        sections.findings(found, told=why),
        sections.water(found, (), why),
        *(one(found, why) for one in (sections.mouths, sections.hands, sections.additions, sections.crew)),
        *(one(found, why) for one in (sections.doors, sections.sureness)),
        sections.cautions(found, why),
        sections.assumptions(found),
    )
    foods = [food.name for food in asking.catalogue.foods.values()]
    return [one for page in pages for one in shown_numbers(page, foods)]


@pytest.fixture(scope="module")
def known(asking: Asking) -> Mapping[str, Figure]:
    """Every figure that can be asked of the plan, by its name."""
    return {one.name: one for one in (*told_figures(asking), *plan_figures(asking))}


def test_every_number_leads_to_its_working_or_is_named(shown: list[Shown]) -> None:
    used: Counter[str] = Counter()
    faults = []
    for one in shown:
        if one.figure:
            continue
        rules = [rule["where"] for rule in named_numbers("shown") if re.fullmatch(rule["where"], one.where)]
        used.update(rules)
        if not rules:
            faults.append(f"{one.where}: {one.text}")
    assert not faults
    assert not [rule["where"] for rule in named_numbers("shown") if not used[rule["where"]]], (
        "no longer needed"
    )
    assert sum(len(one.numbers) for one in shown if one.figure) > 5000


def test_every_number_of_the_page_for_a_terminal_is_a_figure_or_is_named(
    asking: Asking, known: Mapping[str, Figure], shown: list[Shown]
) -> None:
    """Cells of the water by season are those of the page, where each leads on."""
    cells = [one.text for one in shown if one.figure and one.where.startswith("water/table/Water by season")]
    foods = [food.name for food in asking.catalogue.foods.values()]

    def draw() -> str:
        told = asking.told
        return forecast_page(told, 10_000) + fluxes_page(told, 10_000)

    def values(pattern: str) -> list[float]:
        found = [one.find(asking, None) for name, one in known.items() if re.fullmatch(pattern, name)]
        return [one.tree.root.value for one in found]

    words = [*sorted(cells, key=len)[::-1], *foods]
    faults, figures = faults_of_text(draw, told_numbers(asking), "text", words, values)
    assert not faults, "\n".join(faults)
    assert figures > 400


def test_what_a_remedy_does_is_asked_by_trying_it(asking: Asking, known: Mapping[str, Figure]) -> None:
    names = [name for name in known if name.endswith(".has_share")]
    found = known[names[0]].find(asking, None)
    check_tree(found.tree)
    assert 0.0 <= found.tree.root.value <= 1.0
    had = known[names[0].replace("has_share", "had_share")].find(asking, None)
    assert had.tree.root.value > 0.0
    assert had.shown.endswith("of 8")
    finding = next(one for one in asking.told.findings if f"finding.{one.id}.remedy." in names[0])
    remedy = replace(finding.remedies[0], checked=True, effect="3 of the 8 members tried had it")
    told = replace(asking.told, findings=(replace(finding, remedies=(remedy,)),))
    assert f"?of={names[0]}" in sections.findings(told, told=WhyPage("/why/"))


def test_a_number_leads_to_what_it_is(
    asking: Asking, known: Mapping[str, Figure], shown: list[Shown]
) -> None:
    linked = [one for one in shown if one.figure]
    assert {one.figure.partition("@")[0] for one in linked} <= set(known)
    faults = []
    for _, pieces in groups([_of_kind(one) for one in linked]):
        for one in {id(piece): piece for piece in (pieces[0], pieces[-1])}.values():
            faults += faults_of(asking, known, one)
    assert not faults


def _of_kind(one: Shown) -> Shown:
    """Tables alike by month or by quarter count as one kind."""
    where = re.sub(r"table/.*by (month|quarter)[^/]*/", r"table/by \1/", one.where)
    return Shown(where, one.text, one.numbers, one.figure)


def test_every_number_of_a_forecast_carries_its_working(asking: Asking) -> None:
    used: Counter[str] = Counter()
    faults, names = [], Counter[str]()
    for number in asking.told_numbers:
        names[number.name] += 1
        if isinstance(number.value, Worked) and number.title:
            check_tree(tree_of(number.value, About(symbol="value", key=number.name, kind="law")))
            odd = {one for one in literals_of(number.value) if not one.is_integer()}
            faults += [f"{number.name} has numbers without a name: {odd}"] if odd else []
            continue
        rules = [rule["name"] for rule in named_numbers("field") if re.fullmatch(rule["name"], number.field)]
        used.update(rules)
        faults += [] if rules else [f"{number.field} ({number.name}) cannot be asked"]
    assert not faults
    assert not [rule["name"] for rule in named_numbers("field") if not used[rule["name"]]], "no longer needed"
    assert max(names.values()) == 1, [name for name, times in names.items() if times > 1]
