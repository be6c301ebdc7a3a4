"""Every mishap with the hours until the first animal is at risk, the soonest first."""

from __future__ import annotations

from backreef.aquarium.phrases import write_weekdays
from backreef.judgement.findings import sentence
from backreef.judgement.rehearsal import Mishap, Rehearsal
from backreef.plots.bars import Bar, bar_figure
from backreef.plots.figure import Figure, Table
from backreef.plots.rehearsal_words import (
    NOBODY,
    chance_words,
    first_words,
    hours_words,
    mitigation_words,
    percent_words,
)
from backreef.plots.words import plural


def mishap_chart(rehearsal: Rehearsal, *, ident: str = "mishaps") -> Figure | None:
    """A bar for each mishap that brings somebody to risk; None where none does."""
    risky = at_risk(rehearsal)
    if not risky:
        return None
    title = "How long it takes until the first animal is at risk"
    first = risky[0]
    description = (
        f"{len(risky)} of {plural(len(rehearsal.mishaps), 'mishap')} bring an animal to risk before the "
        f"return; the soonest after {hours_words(first.outcome.hours_to_risk)}: {first.what}."
    )
    bars = [_bar(mishap) for mishap in risky]

    return bar_figure(bars, (ident, title, description), table=mishap_table(rehearsal), caption=description)


def at_risk(rehearsal: Rehearsal) -> tuple[Mishap, ...]:
    """The mishaps that bring an animal to risk, the soonest first."""
    return tuple(mishap for mishap in rehearsal.mishaps if mishap.outcome.hours_to_risk is not None)


def mishap_table(rehearsal: Rehearsal) -> Table:
    """Every mishap in a row."""
    return Table(
        caption="What may go wrong, the soonest harm first",
        columns=("mishap", "chance", "between", "first at risk after", "who, and of what", "cheapest help"),
        rows=tuple(_row(mishap) for mishap in rehearsal.mishaps),
        asks=tuple(
            (
                "",
                "" if mishap.chance.value is None else asked_of(mishap, rehearsal, "chance"),
                "" if mishap.chance.value is None else asked_of(mishap, rehearsal, "chance"),
                hours_asked(mishap, rehearsal),
                asked_of(mishap, rehearsal, "share_at_risk"),
                "",
            )
            for mishap in rehearsal.mishaps
        ),
    )


def hours_asked(mishap: Mishap, rehearsal: Rehearsal) -> str:
    """What explains the hours until harm; nothing where there is none."""
    if mishap.outcome.hours_to_risk is None:
        return ""
    return asked_of(mishap, rehearsal, "hours_to_risk")


def asked_of(mishap: Mishap, rehearsal: Rehearsal, what: str) -> str:
    """What explains a number of a mishap in the absence that was rehearsed."""
    return asked_away(f"{mishap.id}.{what}", rehearsal)


def asked_away(figure: str, rehearsal: Rehearsal) -> str:
    """A figure as it is asked of the absence that was rehearsed."""
    sitter = rehearsal.sitter_weekdays
    looks = f"+{write_weekdays(sitter)}" if sitter else ""
    return f"{figure}@{rehearsal.first_on}..{rehearsal.until_on}{looks}"


def _bar(mishap: Mishap) -> Bar:
    hours = mishap.outcome.hours_to_risk
    return Bar(name=sentence(mishap.what), value=hours, words=f"{hours_words(hours)}, {mishap.outcome.who}")


def _row(mishap: Mishap) -> tuple[str, ...]:
    outcome, chance = mishap.outcome, mishap.chance
    risky = outcome.hours_to_risk is not None
    return (
        sentence(mishap.what),
        chance_words(chance),
        f"{percent_words(chance.low)} to {percent_words(chance.high)}",
        hours_words(outcome.hours_to_risk) if risky else "–",
        first_words(outcome) if risky else NOBODY,
        mitigation_words(mishap.mitigations[0])[0] if mishap.mitigations else "–",
    )
