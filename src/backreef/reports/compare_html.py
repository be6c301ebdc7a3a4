"""A comparison as one HTML file: verdicts, the ribbons under each other, the table, what differs."""

from __future__ import annotations

from backreef.plots.markup import Safe, element, joined
from backreef.plots.ribbon import ribbon
from backreef.reports.html import html_page
from backreef.reports.html_parts import behind, bullets, figure, section, table
from backreef.reports.side_by_side import (
    difference_words,
    outcome_table,
    pairing_words,
    plan_name,
)
from backreef.reports.words import headline, reason
from backreef.usecases.compare import Compared, Comparison

TITLE = "Plans side by side"


def compare_html(comparison: Comparison) -> str:
    """The whole comparison as one HTML document."""
    first = comparison.plans[0]
    main = [
        element("h1", TITLE),
        *(_plan(compared) for compared in comparison.plans),
        section("outcomes", "Outcomes", table(outcome_table(comparison))),
        *(_against(first, other) for other in comparison.plans[1:]),
    ]
    return html_page(TITLE, element("main", joined(main)), skip_to="outcomes")


def _plan(compared: Compared) -> Safe:
    drawn = ribbon(compared.forecast, ident=f"ribbon-{compared.letter.lower()}")
    said = [words] if (words := reason(compared.forecast)) else []
    return section(
        f"plan-{compared.letter.lower()}",
        plan_name(compared),
        element("p", headline(compared.forecast), class_="holds" if compared.forecast.holds else "breaks"),
        *(element("p", words) for words in said),
        figure(drawn, heading="", folded=False),
        behind(drawn.table),
    )


def _against(first: Compared, other: Compared) -> Safe:
    said = [difference_words(one, first.letter, other.letter) for one in other.differences]
    return section(
        f"{other.letter.lower()}-beside-{first.letter.lower()}",
        f"{other.letter} beside {first.letter}",
        element("p", pairing_words(first, other)),
        bullets(*said) if said else element("p", "The plans say the same."),
    )
