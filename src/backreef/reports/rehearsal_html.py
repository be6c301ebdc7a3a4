"""A rehearsal as a piece of a page: the verdict, the table of mishaps, what helps."""

from __future__ import annotations

from backreef.judgement.findings import sentence
from backreef.judgement.rehearsal import Mishap, Rehearsal
from backreef.plots.figure import Table
from backreef.plots.markup import Safe, element, joined
from backreef.plots.words import minutes_words, plural, short_date
from backreef.reports.html_parts import bullets, line_glyph, section, table
from backreef.reports.rehearsal_text import (
    HONESTY,
    chance_words,
    hours_words,
    mishap_cells,
    rehearsal_verdict,
    water_words,
)


def rehearsal_content(rehearsal: Rehearsal) -> Safe:
    """What an absence does, in sections."""
    kind = "holds" if rehearsal.holds else "breaks"
    days = (rehearsal.until_on - rehearsal.first_on).days
    runs = plural(rehearsal.members, "member")
    lead = f"{plural(days, 'day')} away, from {short_date(rehearsal.first_on)}; {runs}."
    verdict = element(
        "p", line_glyph(kind), " ", element("strong", rehearsal_verdict(rehearsal), class_=kind)
    )
    rows = tuple(mishap_cells(mishap) for mishap in rehearsal.mishaps)
    mishaps = Table(
        caption="What may go wrong, the soonest harm first",
        columns=("mishap", "chance", "first at risk after"),
        rows=rows,
    )
    told = [
        _told(one) for one in rehearsal.mishaps if one.outcome.hours_to_risk is not None or one.outcome.found
    ]
    return joined(
        [
            section(
                "rehearsal",
                "Rehearsed",
                verdict,
                bullets(*rehearsal.nobody_there_for),
                table(mishaps, stacked=True),
                lead=lead,
            ),
            section("mishaps", "What helps", *told, element("p", HONESTY, class_="note")),
        ]
    )


def _told(mishap: Mishap) -> Safe:
    low, high = (f"{each:.1%}".replace("%", " %") for each in (mishap.chance.low, mishap.chance.high))
    outcome = mishap.outcome
    found = f" On return: {'; '.join(outcome.found)}." if outcome.found else ""
    chance = f"Chance over these days {chance_words(mishap.chance)}, somewhere between {low} and {high}."
    helps = []
    for each in mishap.mitigations:
        device = f" and a device ({each.device.replace('_', ' ')})" if each.device else ""
        after = (
            "nobody at risk" if each.hours_to_risk_after is None else hours_words(each.hours_to_risk_after)
        )
        helps.append(f"{each.what}: {minutes_words(each.minutes)} min{device}; then {after}")
    said = element("p", f"{chance} Water: {water_words(outcome)}.{found}")
    return element(
        "details",
        element("summary", sentence(mishap.what)),
        said,
        bullets(*helps) if helps else element("p", "Nothing that was tried helps."),
    )
