"""Proposals as what a page keeps of them."""

from __future__ import annotations

from dataclasses import replace

from backreef.aquarium.differences import differences
from backreef.planning.plans import Proposals
from backreef.planning.reasons import aim_words, animal_words, as_it_is_words, verdict_words
from backreef.plots.frontier import frontier_chart
from backreef.plots.markup import joined
from backreef.plots.words import capital, long_date
from backreef.reports.html_parts import WhyPage, figure, table
from backreef.reports.propose_text import collides_words, first_words, outcome_table, try_words, wish_words
from backreef.reports.side_by_side import difference_words
from backreef.usecases.offers import Offer, Offers
from backreef.usecases.propose import Written

WHY = "../why/"
"""Where the page answers why, from where proposals stand."""
THEN, NOW = "this one", "the plan as it is"


def offers_of(found: Proposals, files: tuple[Written, ...]) -> Offers:
    """Each plan that was found with its text and reasons, and why there are no more."""
    chart = frontier_chart(found)
    beside = outcome_table(found, files)
    named = replace(beside, columns=(beside.columns[0] or "question", *beside.columns[1:]))
    outcomes = [table(named, told=WhyPage(WHY))] if files else []
    outcomes += [figure(chart)] if chart is not None else []
    return Offers(
        status=found.status,
        words=first_words(found),
        plans=tuple(_offer(each, found) for each in files),
        outcomes=joined(outcomes),
        wishes=tuple(wish_words(wish, found) for wish in found.wishes),
        conflicts=tuple(
            (
                each.wish,
                " ".join(
                    [
                        f"It collides with {collides_words(each)}.",
                        *(f"Way out: {way.told}." for way in each.ways_out),
                    ]
                ),
            )
            for each in found.conflicts
        ),
        as_it_is="" if found.as_it_is is None else as_it_is_words(found.as_it_is),
        tried=tuple(map(try_words, found.tries)),
        left_out=tuple(f"{each.what}: {each.why}" for each in found.shortlist.refused),
    )


def _offer(written: Written, found: Proposals) -> Offer:
    plan = written.proposal
    reasons = [
        f"{long_date(each.on)}: {animal_words(each, found.facts)}"
        for each in plan.picked.coming
        if found.facts is not None
    ]
    reasons += [f"Changed: {choice.words}." for choice in plan.picked.choices]
    said = differences(found.plan, plan.plan)
    return Offer(
        aim=plan.aim,
        title=capital(aim_words(plan.aim)),
        text=written.text,
        verdict=verdict_words(plan),
        reasons=tuple(reasons),
        differences=tuple(difference_words(one, NOW, THEN) for one in said),
    )
