"""A change of a plan as a piece of a page: what becomes of each balance, both plans in one picture."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from backreef.company.findings import CheckFinding
from backreef.judgement.verdict import BalanceName, Forecast
from backreef.plots.markup import Safe, element, joined
from backreef.plots.overlay import overlay
from backreef.plots.words import (
    BALANCE_TITLES,
    balance_of,
    capital,
    clause,
    members,
    plural,
    short_date,
    span_words,
)
from backreef.reports.html_parts import bullets, figure, line_glyph, table
from backreef.reports.side_by_side import difference_words, outcome_table
from backreef.usecases.compare import Comparison
from backreef.usecases.preview import Preview

_MOST_FINDINGS = 5


def change_content(found: Preview, *, ident: str = "change") -> Safe:
    """What a change would do, and how much of it was looked at."""
    return joined(
        [
            balances_changed(found.before, found.after),
            _standing_out("New in what stands out", found.new),
            _standing_out("No longer stands out", found.gone),
            side_by_side(found.comparison, ident=ident),
            element("p", looked_words(found), class_="small quiet"),
        ]
    )


def looked_words(found: Preview) -> str:
    """How much was simulated, so that nobody takes a look for a forecast."""
    span = "the whole horizon" if found.whole else f"the first {span_words(found.days)}"
    both = plural(found.before.members, "member")
    return (
        f"A quick look: {both} with the same luck for both plans, over {span}. "
        "A forecast runs many more members over the whole horizon, and decides."
    )


def side_by_side(comparison: Comparison, *, ident: str) -> Safe:
    """Both plans in one picture, what they say otherwise, and their outcomes in a table."""
    first, other = comparison.plans
    said = [difference_words(one, first.letter, other.letter) for one in other.differences]
    picture = overlay(first.forecast, other.forecast, (first.letter, other.letter), ident=ident)
    beside = outcome_table(comparison)
    outcomes = table(replace(beside, columns=(beside.columns[0] or "question", *beside.columns[1:])))
    return joined(
        [
            figure(picture, heading=""),
            element("details", element("summary", "Outcomes side by side"), outcomes, class_="behind"),
            element(
                "details",
                element("summary", f"What is said otherwise ({len(said)})"),
                bullets(*said),
                class_="behind",
            )
            if said
            else Safe(),
        ]
    )


def balances_changed(before: Forecast, after: Forecast) -> Safe:
    """Each balance before and after, in a line."""
    lines = [_balance(name, before, after) for name in BALANCE_TITLES]
    minutes = after.minutes.per_month_p50 - before.minutes.per_month_p50
    words = f"{after.minutes.per_month_p50:.0f} minutes a month"
    if abs(minutes) >= 1:
        words += f", {abs(minutes):.0f} {'more' if minutes > 0 else 'fewer'} than before"
    else:
        words += ", as before"
    return element("ul", *lines, element("li", f"{words}."), class_="changed")


def _balance(name: BalanceName, before: Forecast, after: Forecast) -> Safe:
    was, now = balance_of(before, name), balance_of(after, name)
    kind = "holds" if now.holds else "breaks"
    words = f"holds in {members(now.share_holding, after.members)}"
    if now.share_holding == was.share_holding:
        words += ", as before"
    else:
        way = "better" if now.share_holding > was.share_holding else "worse"
        words += f", before in {members(was.share_holding, before.members)}: {way}"
    if now.first_break is not None and now.first_break != was.first_break:
        cause = f" ({clause(now.cause)})" if now.cause else ""
        words += f"; first break {short_date(now.first_break)}{cause}"
    title = element("b", BALANCE_TITLES[name])
    return element("li", line_glyph(kind), element("span", title, f" {words}."))


def _standing_out(title: str, found: Sequence[CheckFinding]) -> Safe:
    if not found:
        return Safe()
    told = [
        element(
            "li", element("b", capital(one.weight), ": "), capital(clause(one.what)), ".", class_=one.weight
        )
        for one in found[:_MOST_FINDINGS]
    ]
    more = len(found) - _MOST_FINDINGS
    rest = [element("p", f"And {more} more.", class_="small quiet")] if more > 0 else []
    return joined([element("h3", title), element("ul", *told, class_="beside"), *rest])
