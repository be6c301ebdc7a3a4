"""Proposals as one HTML file: the frontier, the plans with their reasons, wishes, what is in the way."""

from __future__ import annotations

from backreef.planning.plans import Proposals
from backreef.planning.reasons import (
    aim_words,
    animal_words,
    as_it_is_words,
    choice_words,
    money_words,
    reached_words,
    rounds_words,
    verdict_words,
    why_not_words,
)
from backreef.plots.frontier import frontier_chart
from backreef.plots.markup import Safe, element, joined
from backreef.plots.words import capital, long_date
from backreef.reports.html import html_page
from backreef.reports.html_parts import bullets, figure, section, table
from backreef.reports.propose_text import (
    collides_words,
    crew_of,
    first_words,
    given_table,
    outcome_table,
    try_words,
    wish_words,
)
from backreef.usecases.propose import Written

TITLE = "Plans that this keeper can keep"


def propose_html(found: Proposals, files: tuple[Written, ...]) -> str:
    """Everything that was found as one HTML document."""
    chart = frontier_chart(found)
    parts = [element("h1", TITLE), element("p", first_words(found), class_="lead")]
    content = [table(outcome_table(found, files))] if found.proposals else []
    if found.as_it_is is not None:
        content.append(element("p", as_it_is_words(found.as_it_is)))
    if chart is not None:
        content.append(figure(chart))
    parts.append(section("plans", "Plans that hold" if found.proposals else "No plan was found", *content))
    parts += [_plan(letter, each, found) for letter, each in zip("abc", files, strict=False)]
    parts.append(section("wishes", "Wishes", bullets(*(wish_words(wish, found) for wish in found.wishes))))
    if found.conflicts:
        parts.append(section("in-the-way", "What stands in the way", *(_conflicts(found))))
    if found.why_not:
        asked = (
            "; ".join([why_not_words(each), *(f"way in: {way.told}" for way in each.ways_in)])
            for each in found.why_not
        )
        parts.append(section("asked", "You asked why not", bullets(*asked)))
    if found.given:
        parts.append(section("given", "If other minutes were given", table(given_table(found))))
    if found.tries:
        parts.append(section("tried", "Tried and not taken", bullets(*map(try_words, found.tries))))
    left_out = (f"{each.what}: {each.why}" for each in found.shortlist.refused)
    parts.append(section("why-not", "Why not", bullets(*left_out)))
    return html_page(TITLE, element("main", joined(parts)), skip_to="plans")


def _plan(letter: str, written: Written, found: Proposals) -> Safe:
    plan = written.proposal
    reasons = [
        f"{long_date(each.on)}: {animal_words(each, found.facts)}"
        for each in plan.picked.coming
        if found.facts is not None
    ]
    if found.facts is not None:
        reasons += [f"Changed: {choice_words(choice, found.facts)}." for choice in plan.picked.choices]
        reasons += [words for words in [money_words(plan, found.facts)] if words]
    reasons += [f"Crew: {words}" for words in crew_of(plan)]
    programme = f"{reached_words(plan, found)}; {rounds_words(plan.rounds)}, gap {plan.gap:.0%}"
    return section(
        f"plan-{letter}",
        f"{letter.upper()}. {capital(aim_words(plan.aim))}: {written.file}",
        element("p", f"The simulation: {verdict_words(plan)}.", class_="holds"),
        element("p", f"The programme: {programme}."),
        bullets(*reasons) if reasons else element("p", "Nobody comes: what is there stays."),
    )


def _conflicts(found: Proposals) -> list[Safe]:
    return [
        joined(
            [
                element("h3", each.wish),
                element("p", f"It collides with: {collides_words(each)}."),
                bullets(*(f"Way out: {way.told}." for way in each.ways_out)) if each.ways_out else Safe(),
            ]
        )
        for each in found.conflicts
    ]
