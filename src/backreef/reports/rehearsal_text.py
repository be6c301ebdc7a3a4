"""A rehearsal as a page for a terminal: the verdict, the table of mishaps, what helps."""

from __future__ import annotations

from backreef.judgement.findings import sentence
from backreef.judgement.rehearsal import Chance, Mishap, Outcome, Rehearsal
from backreef.plots.words import minutes_words, plural, short_date
from backreef.reports.text_layout import Style, heading, paragraph, text_table

RARE, DAY_H = 0.001, 24.0
HONESTY = (
    "Each mishap is simulated with the same draws, from the same morning. Chances are guesses from common "
    "practice; your own log should replace them. A sick animal needs a vet, a faulty device an electrician."
)


def rehearsal_page(rehearsal: Rehearsal, style: Style) -> str:
    """The whole page, ending with a line break."""
    days = (rehearsal.until_on - rehearsal.first_on).days
    role = "sea" if rehearsal.holds else "break"
    title = f"{rehearsal.plan_name}: {plural(days, 'day')} away, from {short_date(rehearsal.first_on)}"
    lines = [style.paint(line, "strong") for line in paragraph(title, style)]
    lines += [style.paint(line, role) for line in paragraph(rehearsal_verdict(rehearsal), style)]
    lines += [f"  - {style.plain(chore)}" for chore in rehearsal.nobody_there_for]
    lines += heading("What may go wrong, the soonest harm first", style)
    lines += text_table(
        ("mishap", "chance", "first at risk after"),
        [mishap_cells(mishap) for mishap in rehearsal.mishaps],
        style,
    )
    for mishap in rehearsal.mishaps:
        if mishap.outcome.hours_to_risk is not None or mishap.outcome.found:
            lines += _told(mishap, style)
    lines.append("")
    runs = f"{plural(rehearsal.members, 'member')}, seed {rehearsal.seed}."
    lines += paragraph(f"{runs} {HONESTY}", style)
    return "\n".join(lines) + "\n"


def rehearsal_verdict(rehearsal: Rehearsal) -> str:
    """Whether the absence harms anybody if nothing goes wrong."""
    calm = rehearsal.nothing_wrong
    if rehearsal.nobody_there_for:
        return "Even if nothing goes wrong this does not hold: chores fall where nobody can do them."
    if not rehearsal.holds:
        words = f"{calm.who} {calm.why} after {hours_words(calm.hours_to_risk)}"
        return f"Even if nothing goes wrong: {words}, in {_share(calm)} of the members."
    return "With nothing going wrong it holds: no animal comes to risk before the return."


def mishap_cells(mishap: Mishap) -> tuple[str, str, str]:
    """A mishap, its chance, and who is at risk first and when."""
    outcome = mishap.outcome
    if outcome.hours_to_risk is None:
        return sentence(mishap.what), chance_words(mishap.chance), "nobody before the return"
    words = f"{hours_words(outcome.hours_to_risk)}: {outcome.who} {outcome.why}, in {_share(outcome)}"
    return sentence(mishap.what), chance_words(mishap.chance), words


def _told(mishap: Mishap, style: Style) -> list[str]:
    lines = ["", *(style.paint(line, "strong") for line in paragraph(sentence(mishap.what), style))]
    low, high = (f"{each:.1%}".replace("%", " %") for each in (mishap.chance.low, mishap.chance.high))
    words = f"Chance over these days {chance_words(mishap.chance)}, somewhere between {low} and {high}."
    lines += paragraph(words, style, first="  ", rest="  ")
    outcome = mishap.outcome
    lines += paragraph(f"Water: {water_words(outcome)}.", style, first="  ", rest="  ")
    if outcome.found:
        lines += paragraph(f"On return: {'; '.join(outcome.found)}.", style, first="  ", rest="  ")
    for each in mishap.mitigations:
        device = f" and a device ({each.device.replace('_', ' ')})" if each.device else ""
        after = (
            "nobody at risk" if each.hours_to_risk_after is None else hours_words(each.hours_to_risk_after)
        )
        words = f"{each.what}: {minutes_words(each.minutes)} min{device}; then {after}"
        lines += paragraph(words, style, first="  - ", rest="    ")
    return lines


def water_words(outcome: Outcome) -> str:
    """How far the water goes while nobody is there."""
    worst = outcome.extremes
    return (
        f"oxygen down to {worst['oxygen_mg_per_l.low']:.1f} mg/L, toxic ammonia up to "
        f"{worst['ammonia_unionised_mg_n_per_l.high']:.3f} mg/L N, {worst['temperature_c.low']:.1f} to "
        f"{worst['temperature_c.high']:.1f} degC, salinity {worst['salinity_psu.low']:.1f} to "
        f"{worst['salinity_psu.high']:.1f} psu"
    )


def hours_words(hours: float | None) -> str:
    """Hours up to two days, then days."""
    if hours is None:
        return "never"
    return f"{hours:.0f} h" if hours < 2 * DAY_H else f"{hours / DAY_H:.1f} days"


def chance_words(chance: Chance) -> str:
    """A chance in percent."""
    return "under 0.1 %" if chance.value < RARE else f"{chance.value:.1%}".replace("%", " %")


def _share(outcome: Outcome) -> str:
    return f"{outcome.share_at_risk:.0%}".replace("%", " %")
