"""A rehearsal as a page for a terminal: the verdict, the table of mishaps, what helps."""

from __future__ import annotations

from backreef.judgement.findings import sentence
from backreef.judgement.rehearsal import Mishap, Rehearsal
from backreef.plots.rehearsal_words import (
    ADVICE_ORDER,
    HONESTY,
    NOBODY,
    advice_words,
    away_words,
    chance_ends,
    chance_words,
    first_words,
    hours_words,
    mitigation_words,
    verdict_words,
    water_words,
    without_help_words,
)
from backreef.plots.words import plural, short_date
from backreef.reports.text_layout import Style, heading, paragraph, text_table


def rehearsal_page(rehearsal: Rehearsal, style: Style) -> str:
    """The whole page, ending with a line break."""
    role = "sea" if rehearsal.holds else "break"
    title = f"{rehearsal.plan_name}: {away_words(rehearsal)}, from {short_date(rehearsal.first_on)}"
    lines = [style.paint(line, "strong") for line in paragraph(title, style)]
    lines += [style.paint(line, role) for line in paragraph(verdict_words(rehearsal), style)]
    lines += [f"  - {style.plain(chore)}" for chore in rehearsal.nobody_there_for]
    lines += heading("What may go wrong, the soonest harm first", style)
    lines += text_table(
        ("mishap", "chance", "first at risk after"),
        [_row(mishap) for mishap in rehearsal.mishaps],
        style,
    )
    for mishap in rehearsal.mishaps:
        if mishap.outcome.hours_to_risk is not None or mishap.outcome.found:
            lines += _told(mishap, style)
    if rehearsal.advice:
        lines += heading("What helps most, over all of them by their chances", style)
        lines += paragraph(ADVICE_ORDER, style)
        for one in rehearsal.advice:
            lines += paragraph(": ".join(advice_words(one)), style, first="  - ", rest="    ")
    lines.append("")
    runs = f"{plural(rehearsal.members, 'member')}, seed {rehearsal.seed}."
    lines += paragraph(f"{runs} {HONESTY}", style)
    return "\n".join(lines) + "\n"


def _row(mishap: Mishap) -> tuple[str, str, str]:
    outcome = mishap.outcome
    if outcome.hours_to_risk is None:
        return sentence(mishap.what), chance_words(mishap.chance), NOBODY
    words = f"{hours_words(outcome.hours_to_risk)}: {first_words(outcome)}"
    return sentence(mishap.what), chance_words(mishap.chance), words


def _told(mishap: Mishap, style: Style) -> list[str]:
    lines = ["", *(style.paint(line, "strong") for line in paragraph(sentence(mishap.what), style))]
    words = f"Chance over these days {chance_words(mishap.chance)}, {chance_ends(mishap.chance)}."
    lines += paragraph(words, style, first="  ", rest="  ")
    outcome = mishap.outcome
    lines += paragraph(f"Water: {water_words(outcome)}.", style, first="  ", rest="  ")
    if outcome.found:
        lines += paragraph(f"On return: {'; '.join(outcome.found)}.", style, first="  ", rest="  ")
    if without := without_help_words(mishap):
        lines += paragraph(without, style, first="  ", rest="  ")
    for each in mishap.mitigations:
        words = ": ".join(mitigation_words(each))
        lines += paragraph(words, style, first="  - ", rest="    ")
    return lines
