"""The page of a check: whether the file can be forecast, and what stands out, gravest first."""

from __future__ import annotations

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
        for finding in group:
            lines += _finding(finding, style)
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
        if step.gate:
            whose = "gate" if step.gate_in_plan else "gate, by the catalogue only"
            lines += paragraph(f"{whose}: {step.gate}", style, first="    ", rest="    ")
        for lead in step.leads:
            late = "" if lead.in_time else ", before the first day of this plan"
            lines += paragraph(f"from {lead.begins_on}{late}: {lead.what}", style, first="    ", rest="    ")
    return lines


def _plan_words(plan: Plan) -> str:
    head = sum(entry.count for entry in plan.animals)
    animals = f"{head} animals in {len(plan.animals)} entries" if head else "no animals"
    return (
        f"{plan.tank.name}, {plan.tank.display_gross_l:.0f} L display, {plan.tank.water_volume_l:.0f} L of "
        f"water: {animals}, {len(plan.meals)} meals, {len(plan.upkeep)} kinds of upkeep, "
        f"{plan.keeper.minutes_per_month:.0f} minutes a month."
    )


def _finding(finding: CheckFinding, style: Style) -> list[str]:
    role = "break" if finding.weight == "serious" else "strong"
    lines = [style.paint(line, role) for line in paragraph(finding.what, style, first="  - ", rest="    ")]
    lines += paragraph(finding.why, style, first="    ", rest="    ")
    if finding.condition:
        lines += paragraph(finding.condition, style, first="    mind: ", rest="    ")
    for remedy in finding.remedies if finding.weight != "note" else ():
        lines += paragraph(remedy, style, first="    try: ", rest="    ")
    words = {str(status): meaning for status, meaning in STATUS_MEANING.items()}
    source = finding.source if finding.status == "published" else words.get(finding.status, finding.source)
    return lines + [
        style.paint(line, "quiet") for line in paragraph(f"({source})", style, first="    ", rest="    ")
    ]


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
