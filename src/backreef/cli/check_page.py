"""The page of a check: whether the file can be forecast, and what stands out, gravest first."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import groupby

from backreef.aquarium.plan import Plan
from backreef.catalogue.sources import STATUS_MEANING
from backreef.company.findings import CheckFinding, Weight
from backreef.company.order import Step
from backreef.reports.text_layout import Style, heading, paragraph
from backreef.usecases.check import CheckResult

TITLES: dict[Weight, str] = {
    "serious": "Better not so",
    "caution": "To know, and to decide",
    "note": "Good to know",
}


def check_page(result: CheckResult, style: Style) -> str:
    """The whole page, ending with a line break."""
    if result.plan is None:
        return ""
    lines = paragraph(f"{result.file}: no faults.", style)
    lines += paragraph(_plan_words(result.plan), style)
    for weight, group in groupby(result.findings, key=lambda finding: finding.weight):
        lines += heading(TITLES[weight], style)
        for _, alike in groupby(group, key=lambda finding: (finding.rule, finding.remedies, _word(finding))):
            lines += _group(tuple(alike), style)
    if not result.findings:
        lines += ["", "Nothing stands out."]
    lines += _additions(result.steps, style)
    lines.append("")
    lines += paragraph(_assumption_words(result.plan), style)
    return "\n".join(lines) + "\n"


def _additions(steps: tuple[Step, ...], style: Style) -> list[str]:
    """Who comes when, behind which gate, and what begins before."""
    if not steps:
        return []
    lines = heading("Who comes when, and why then", style)
    for step in steps:
        more = step.more_food_frac
        food = f" ({100 * more:.0f} % more food from this day on)" if more is not None else ""
        lines += paragraph(f"{step.on}: {step.who}{food}", style, first="  ", rest="    ")
        lines += paragraph(step.why_here, style, first="    ", rest="    ")
        alive = (
            f"of 100 that come, about {100 * step.alive_share_p50:.0f} ({100 * step.alive_share_low:.0f} to "
            f"{100 * step.alive_share_high:.0f}) live a year as far as company and moving in go"
        )
        lines += paragraph(alive, style, first="    ", rest="    ")
        if step.out_of_quarantine_shares is not None:
            low, middle, high = (100 * share for share in step.out_of_quarantine_shares)
            apart = f"of 100 bought, about {middle:.0f} ({low:.0f} to {high:.0f}) come out of quarantine"
            lines += paragraph(apart, style, first="    ", rest="    ")
        if step.gate:
            whose = "gate" if step.gate_in_plan else "not in the plan, but look for"
            lines += paragraph(f"{whose}: {step.gate}", style, first="    ", rest="    ")
        for lead in step.leads:
            late = "" if lead.in_time else ", before the first day of this plan"
            lines += paragraph(f"from {lead.begins_on}{late}: {lead.what}", style, first="    ", rest="    ")
    return lines


def _plan_words(plan: Plan) -> str:
    head = sum(entry.count for entry in plan.animals)
    entries = f"in {_some(len(plan.animals), 'entry', 'entries')}"
    animals = f"{_some(head, 'animal')} {entries}" if head else "no animals"
    return (
        f"{plan.tank.name}, {plan.tank.display_gross_l:.0f} L display, {plan.tank.water_volume_l:.0f} L of "
        f"water: {animals}, {_some(len(plan.meals), 'meal')}, "
        f"{_some(len(plan.upkeep), 'kind of upkeep', 'kinds of upkeep')}, "
        f"{plan.keeper.minutes_per_month:.0f} minutes a month."
    )


def _some(count: int, one: str, many: str = "") -> str:
    """1 meal, 2 meals; the words of charts say the same, but bring numpy along."""
    return f"{count} {one if count == 1 else many or one + 's'}"


def _group(findings: Sequence[CheckFinding], style: Style) -> list[str]:
    """Findings of one rule: what each is about; what they have in common, once."""
    lines: list[str] = []
    shared = findings[0].condition if len({each.condition for each in findings}) == 1 else ""
    for (why, condition), same in groupby(findings, key=lambda each: (each.why, each.condition)):
        for finding in same:
            role = "break" if finding.weight == "serious" else "strong"
            what = paragraph(finding.what, style, first="  - ", rest="    ")
            lines += [style.paint(line, role) for line in what]
        lines += paragraph(why, style, first="    ", rest="    ")
        if condition and not shared:
            lines += paragraph(condition, style, first="    mind: ", rest="    ")
    if shared:
        lines += paragraph(shared, style, first="    mind: ", rest="    ")
    for remedy in findings[0].remedies if findings[0].weight != "note" else ():
        lines += paragraph(remedy, style, first="    try: ", rest="    ")
    source = paragraph(f"({_word(findings[0])})", style, first="    ", rest="    ")
    return lines + [style.paint(line, "quiet") for line in source]


def _word(finding: CheckFinding) -> str:
    """On whose word it stands."""
    words = {str(status): meaning for status, meaning in STATUS_MEANING.items()}
    return finding.source if finding.status == "published" else words.get(finding.status, finding.source)


def _assumption_words(plan: Plan) -> str:
    count = len(plan.assumptions)
    words = "The file says everything; no default was taken."
    if count:
        values = (
            "One value that the file does not give was"
            if count == 1
            else f"{count} values that the file does not give were"
        )
        words = f"{values} taken from our defaults; the report of a forecast lists each."
    return f"{words} Whether the plan holds, a forecast tells."
