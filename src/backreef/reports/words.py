"""What a forecast says, in sentences: the verdict, each finding, each remedy; shared by page and report."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Sequence

from backreef.judgement.verdict import Assumption, Finding, Forecast, Remedy
from backreef.plots.words import (
    BALANCE_TITLES,
    capital,
    clause,
    first_balance,
    horizon_end,
    interval,
    listed,
    long_date,
    members,
    percent,
    plural,
    reading,
    short_date,
    span_words,
    told_apart,
)
from backreef.units import unit_words

STATUS_WORDS = {
    "published": "published",
    "calc": "worked out here",
    "memory": "from memory",
    "practice": "common practice",
    "default": "our default",
}
_ORDER = ("default", "memory", "practice", "calc", "published")
HUMILITY = (
    "A model is not a vet, an electrician or a lawyer: with sick animals ask a vet, "
    "and follow local rules and permits first."
)


def asking_words(forecast: Forecast) -> str:
    """How to ask why a shown number is what it is; empty where the plan has no file to ask."""
    if not forecast.plan_file:
        return ""
    same = f"--members {forecast.members} --seed {forecast.seed}"
    figures = [f"nitrate_mg_no3_per_l@{forecast.dates[-1]}"] if forecast.dates else []
    figures += [f"{line.task}.minutes_per_month" for line in forecast.minutes.by_chore[:1]]
    examples = f", as {' or '.join(figures)}" if figures else ""
    return (
        f"Why a number is what it is: 'backreef why {forecast.plan_file} FIGURE {same}'{examples}; "
        "without FIGURE all that can be asked is listed."
    )


def plan_title(forecast: Forecast) -> str:
    """Name of the plan, or its file where it has none."""
    return " ".join(forecast.plan_name.split()) or forecast.plan_file or "Plan"


def headline(forecast: Forecast) -> str:
    """Holds or breaks, with the date, in one short sentence."""
    if forecast.holds:
        return f"The plan holds for {span_words(forecast.days)}."
    if forecast.first_break is None:
        return "The plan breaks."
    return f"The plan breaks on {long_date(forecast.first_break)}."


def reason(forecast: Forecast) -> str:
    """The balance that breaks first and why; empty where the plan holds."""
    if forecast.holds:
        return ""
    balance = first_balance(forecast)
    cause = clause(forecast.first_break_cause or (balance.cause if balance else ""))
    if balance is None:
        return f"{cause}." if cause else ""
    where = BALANCE_TITLES[balance.name]
    return f"{where} breaks first: {cause}." if cause else f"{where} breaks first."


def certainty(forecast: Forecast) -> str:
    """How many members hold to the end, with the interval."""
    until = long_date(horizon_end(forecast))
    if forecast.members == 1:
        return f"One member was run, without its uncertainty; it ends on {until}."
    words = capital(members(forecast.share_holding, forecast.members))
    spread = interval(forecast.share_low, forecast.share_high)
    return f"{words} hold to {until}: {percent(forecast.share_holding)}, {spread}."


def rule_of_holding() -> str:
    """What holding means, and what a member is."""
    return (
        "A plan holds when at least 95 % of its members do not break; a member is one run with the uncertain "
        "numbers drawn anew."
    )


def later_breaks(forecast: Forecast) -> str:
    """The other balances that break, or that all others hold."""
    first = first_balance(forecast)
    others = [b for b in forecast.balances if first is not None and b.name != first.name]
    late = sorted((b for b in others if not b.holds), key=lambda b: b.first_break or horizon_end(forecast))
    broken = [f"{BALANCE_TITLES[b.name]} on {long_date(b.first_break)}" for b in late]
    holding = [BALANCE_TITLES[b.name] for b in others if b.holds]
    if broken:
        return f"{listed(broken)} {'follow' if len(broken) > 1 else 'follows'}."
    return f"{listed(holding)} {'hold' if len(holding) > 1 else 'holds'}." if holding else ""


def ranked(forecast: Forecast) -> list[Finding]:
    """Findings that break the plan first, then by harm, then by date."""
    return sorted(
        forecast.findings, key=lambda f: (not f.breaks, -f.harm, f.first_on or horizon_end(forecast))
    )


def split_findings(forecast: Forecast, most: int) -> tuple[list[Finding], list[Finding]]:
    """Findings to be told in full (all that break, and some to watch), and the rest."""
    every = ranked(forecast)
    breaking = sum(f.breaks for f in every)
    return every[: breaking + most], every[breaking + most :]


def finding_kind(finding: Finding) -> str:
    """Breaks the plan, or to watch."""
    return "breaks" if finding.breaks else "to watch"


def finding_place(finding: Finding, forecast: Forecast) -> str:
    """Who, from when, for how long and in how many members."""
    parts = [" ".join(finding.who.split())] if finding.who else []
    if finding.first_on is not None:
        parts.append(f"from {short_date(finding.first_on)}")
    if finding.days:
        parts.append(f"on {plural(finding.days, 'day')}")
    if forecast.members > 1:
        parts.append(f"in {members(finding.share_of_members, forecast.members)}")
    return ", ".join(parts)


def finding_measure(finding: Finding) -> str:
    """The value against its bound, as far as they are known."""
    value = reading(finding.value) if finding.value is not None and math.isfinite(finding.value) else ""
    bound = reading(finding.bound) if finding.bound is not None and math.isfinite(finding.bound) else ""
    if value and bound:
        value, bound = told_apart(finding.value or 0.0, finding.bound or 0.0)
        return f"{value} against a bound of {bound} {unit_words(finding.unit)}".rstrip()
    if bound:
        return f"bound {bound} {unit_words(finding.unit)}".rstrip()
    return f"{value} {unit_words(finding.unit)}".rstrip() if value else ""


def remedy_verdict(remedy: Remedy) -> str:
    """What the simulation showed of a remedy."""
    if remedy.advice:
        return "advice"
    if not remedy.checked:
        return "not simulated"
    if remedy.holds_after is None:
        return "simulated"
    return "simulated: mends this" if remedy.holds_after else "simulated: not enough"


def untried_note(findings: Sequence[Finding]) -> str:
    """How to have the remedies tried that were not; nothing where all were."""
    remedies = [remedy for finding in findings for remedy in finding.remedies]
    if all(remedy.checked or remedy.advice for remedy in remedies):
        return ""
    return "What is marked 'not simulated' can be: forecast the plan with --thorough."


def status_words(status: str) -> str:
    """A status as people read it."""
    return STATUS_WORDS.get(status, status)


def weakest_first(forecast: Forecast) -> list[Assumption]:
    """Assumptions by how little stands behind them."""
    order = {status: i for i, status in enumerate(_ORDER)}
    return sorted(forecast.assumptions, key=lambda a: order.get(a.status, -1))


def assumption_count(forecast: Forecast) -> str:
    """How many assumptions there are, by status."""
    counts = Counter(a.status for a in forecast.assumptions)
    known = [s for s in _ORDER if s in counts] + sorted(s for s in counts if s not in _ORDER)
    parts = [f"{counts[status]} {status_words(status)}" for status in known]
    total = plural(len(forecast.assumptions), "assumption")
    return f"{total}: {', '.join(parts)}" if parts else "No assumption was recorded"


def residual_words(forecast: Forecast) -> str:
    """How well the books of the elements close."""
    worst = forecast.conservation_residual
    words = f"{worst:.1e}" if math.isfinite(worst) else "not known"
    each = [f"{name} {value:.1e}" for name, value in sorted(forecast.conservation_by_element.items())]
    detail = f" ({', '.join(each)})" if each else ""
    return f"The books of the elements close to {words} of what passed through{detail}."
