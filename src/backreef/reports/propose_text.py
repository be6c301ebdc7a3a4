"""The page of proposals for a terminal."""

from __future__ import annotations

from backreef.planning.feeding import ration_words
from backreef.planning.plans import Conflict, Proposal, Proposals, Try
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
from backreef.planning.wishes import ReadWish
from backreef.plots.crew_seasons import grazer_words
from backreef.plots.figure import Table
from backreef.plots.words import NBSP, long_date
from backreef.reports.text_layout import Style, heading, paragraph, text_table
from backreef.usecases.offers import offer_asked
from backreef.usecases.propose import Written

MOST_LEFT_OUT = 12
MOST_TRIED = 6


def propose_page(
    found: Proposals,
    files: tuple[Written, ...],
    width: int = 80,
    *,
    colour: bool = False,
    ascii_only: bool = False,
) -> str:
    """The whole page as text of at most `width` columns, ending with a line break."""
    style = Style(width=width, colour=colour, ascii_only=ascii_only)
    lines = paragraph(first_words(found), style)
    if found.proposals:
        lines += heading("Plans that hold", style)
        content = outcome_table(found, files)
        lines += text_table(content.columns, content.rows, style)
    for each in files:
        lines += _one(each, found, style)
    lines += _none(found, style)
    lines += _wishes(found, style)
    lines += _conflicts(found, style)
    lines += _asked(found, style)
    lines += _given(found, style)
    lines += _tried(found, style)
    lines += _left_out(found, style)
    return "\n".join(line.rstrip() for line in lines).replace(NBSP, " ") + "\n"


def first_words(found: Proposals) -> str:
    """How many plans were found, and how they were looked at."""
    name = found.plan.name or found.plan.file
    counted = len(found.proposals)
    if found.status == "none":
        return f"{name}: no plan was found that holds."
    if not counted:
        return f"{name}: stopped before a plan was found."
    plans = {0: "no plan", 1: "one plan"}.get(counted, f"{counted} plans")
    stopped = "Stopped. " if found.status == "stopped" else ""
    said = f"{stopped}{name}: {plans} found, each simulated {found.members} times (seed {found.seed})."
    best = found.asked_for
    if best is None or counted == 1:
        return said
    return f"{said} The plan's goals ask for the {aim_words(best.aim)}."


def _columns(files: tuple[Written, ...]) -> tuple[str, ...]:
    return tuple(aim_words(each.proposal.aim) for each in files)


def outcome_table(found: Proposals, files: tuple[Written, ...]) -> Table:
    """The plans side by side."""
    rows = _rows(found, files)
    return Table(
        caption="Plans side by side",
        columns=("", *_columns(files)),
        rows=tuple(row for row, _ in rows),
        asks=tuple(
            ("", *(offer_asked(place, ask) if ask else "" for place in range(len(files)))) for _, ask in rows
        ),
    )


def _rows(found: Proposals, files: tuple[Written, ...]) -> list[tuple[tuple[str, ...], str]]:
    """Each row with the figure that its numbers are asked as; empty for none."""
    plans = [each.proposal for each in files]
    held = (f"{round(p.forecast.share_holding * p.forecast.members)} of {p.forecast.members}" for p in plans)
    nitrate = (f"{p.forecast.series['nitrate_mg_no3_per_l'].p95.max():.1f} mg/L" for p in plans)
    return [
        (("wishes met", *(f"{found.wishes_share(plan):.0%}" for plan in plans)), ""),
        (
            ("minutes a month", *(f"{plan.forecast.minutes.per_month_p50:.0f}" for plan in plans)),
            "minutes.per_month",
        ),
        (("holds in", *held), "share_holding"),
        (("nitrate, most", *nitrate), ""),
        (("food a day", *(ration_words(plan.plan) for plan in plans)), ""),
        (("newcomers", *(str(sum(each.count for each in plan.picked.coming)) for plan in plans)), ""),
    ]


def _one(written: Written, found: Proposals, style: Style) -> list[str]:
    plan = written.proposal
    lines = heading(f"{aim_words(plan.aim).capitalize()}: {written.file}", style)
    lines += paragraph(f"The simulation: {verdict_words(plan)}.", style, first="  ", rest="  ")
    words = f"The programme: {reached_words(plan, found)}; {rounds_words(plan.rounds)}, gap {plan.gap:.0%}."
    lines += paragraph(words, style, first="  ", rest="  ")
    if not plan.picked.coming:
        lines += paragraph("Nobody comes: what is there stays.", style, first="  - ", rest="    ")
    if found.facts is not None:
        for each in plan.picked.coming:
            text = f"{long_date(each.on)}: {animal_words(each, found.facts)}"
            lines += paragraph(text, style, first="  - ", rest="    ")
        for choice in plan.picked.choices:
            words = f"Changed: {choice_words(choice, found.facts)}."
            lines += paragraph(words, style, first="  - ", rest="    ")
        bought = money_words(plan, found.facts)
        lines += paragraph(bought, style, first="  ", rest="  ") if bought else []
    for words in crew_of(plan):
        lines += paragraph(f"Crew: {words}", style, first="  - ", rest="    ")
    return lines


def crew_of(plan: Proposal) -> list[str]:
    """Of each grazer, how many the tank feeds when."""
    comes = {entry.id: entry.arrives_on for entry in plan.plan.animals}
    return [grazer_words(size, comes.get(size.animal_id)) for size in plan.forecast.crew_sizes]


def _none(found: Proposals, style: Style) -> list[str]:
    if found.as_it_is is None:
        return []
    words = as_it_is_words(found.as_it_is)
    return [*heading("As it is", style), *paragraph(words, style, first="  ", rest="  ")]


def _wishes(found: Proposals, style: Style) -> list[str]:
    lines = heading("Wishes", style)
    for wish in found.wishes:
        lines += paragraph(wish_words(wish, found), style, first="  - ", rest="    ")
    return lines


def wish_words(wish: ReadWish, found: Proposals) -> str:
    """A wish and which plans meet it."""
    by = [aim_words(p.aim) for p in found.proposals if wish.id in {one.id for one in p.picked.wishes}]
    if not wish.counted:
        words = "not counted: it names no animal that the catalogue knows by these words"
    else:
        words = f"met by: {', '.join(by)}" if by else "met by none"
    return f"'{wish.text}', weight {wish.weight:g}: {words}"


def _conflicts(found: Proposals, style: Style) -> list[str]:
    if not found.conflicts:
        return []
    lines = heading("What stands in the way", style)
    for each in found.conflicts:
        words = f"'{each.wish}' collides with: {collides_words(each)}"
        lines += paragraph(words, style, first="  - ", rest="    ")
        for way in each.ways_out:
            lines += paragraph(f"way out: {way.told}", style, first="      ", rest="      ")
    return lines


def collides_words(conflict: Conflict) -> str:
    """What a wish collides with; where the programme knows nothing, it was the simulation that said no."""
    return "; ".join(conflict.collides_with) or "what the simulation refused"


def _asked(found: Proposals, style: Style) -> list[str]:
    if not found.why_not:
        return []
    lines = heading("You asked why not", style)
    for each in found.why_not:
        lines += paragraph(why_not_words(each), style, first="  - ", rest="    ")
        for way in each.ways_in:
            lines += paragraph(f"way in: {way.told}", style, first="      ", rest="      ")
    return lines


def given_table(found: Proposals) -> Table:
    """What could be had for other minutes."""
    rows = []
    for each in found.given:
        plan = each.proposal
        share = "no plan holds" if plan is None else f"{found.wishes_share(plan):.0%}"
        who = "" if plan is None else str(sum(one.count for one in plan.picked.coming))
        rows.append((f"{each.minutes_per_month:.0f}", share, who))
    return Table(
        caption="If other minutes were given",
        columns=("minutes given", "wishes met", "newcomers"),
        rows=tuple(rows),
    )


def _given(found: Proposals, style: Style) -> list[str]:
    if not found.given:
        return []
    content = given_table(found)
    return [*heading(content.caption, style), *text_table(content.columns, content.rows, style)]


def try_words(tried: Try) -> str:
    """A plan that was asked about on the way, and why it was not taken."""
    words = f"{tried.what}: {tried.why}"
    if tried.share_holding is None:
        return words
    return f"{words} (holds in {tried.share_holding:.0%} of the weakest members)"


def _tried(found: Proposals, style: Style) -> list[str]:
    if not found.tries:
        return []
    lines = heading("Tried and not taken", style)
    for each in found.tries[:MOST_TRIED]:
        lines += paragraph(try_words(each), style, first="  - ", rest="    ")
    if len(found.tries) > MOST_TRIED:
        lines.append(f"  and {len(found.tries) - MOST_TRIED} more; the JSON document has them all")
    return lines


def _left_out(found: Proposals, style: Style) -> list[str]:
    refused = found.shortlist.refused
    if not refused:
        return []
    lines = heading("Why not", style)
    for each in refused[:MOST_LEFT_OUT]:
        lines += paragraph(f"{each.what}: {each.why}", style, first="  - ", rest="    ")
    if len(refused) > MOST_LEFT_OUT:
        lines.append(f"  and {len(refused) - MOST_LEFT_OUT} more; the JSON document has them all")
    return lines
