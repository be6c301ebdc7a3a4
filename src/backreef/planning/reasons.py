"""Why each line of a proposal is there, in sentences: for the comments of its file and for its page."""

from __future__ import annotations

from backreef.planning.choices import ration_g_per_d
from backreef.planning.numbers import number
from backreef.planning.plans import AIM_WORDS, Aim, Proposal, Proposals
from backreef.planning.problem import lines_of
from backreef.planning.stock import Facts
from backreef.planning.writing import Coming, commented

LEAST_SHOWN_G = 0.001
LEAST_SHOWN_MIN = 0.5
NITRATE = "nitrate_mg_no3_per_l.high"


def animal_words(coming: Coming, facts: Facts) -> str:
    """Why an animal, why so many, and what it costs."""
    one = coming.candidate
    response = facts.responses[one.id]
    why = (
        "for " + " and ".join(f"'{wish.text}'" for wish in coming.wishes)
        if coming.wishes
        else "not wished for: it helps the rest of the plan"
    )
    parts = [f"{coming.count} × {one.species.common_name}, {why}."]
    parts.append(_number_words(coming))
    grams = response.eaten_g_per_d * coming.count
    subject = "Together they take" if coming.count > 1 else "It takes"
    food = f"about {grams:.2g} g" if grams >= LEAST_SHOWN_G else "next to nothing"
    parts.append(
        f"{subject} {food} of the food given in a day; {_nitrate_words(coming, facts)}; "
        f"the day of arrival takes about {response.arrival_min:.0f} minutes if nobody else comes"
        f"{_chore_words(coming, facts)}."
    )
    if one.species.social_rule:
        parts.append(f"Kept: {one.species.social_rule}.")
    parts += [f"Mind: {finding.what}." for finding in one.cautions]
    return " ".join(part for part in parts if part)


def _chore_words(coming: Coming, facts: Facts) -> str:
    one = coming.candidate
    response = facts.responses[one.id]
    later = response.minutes_per_month * one.least_count - response.arrival_min / facts.months
    return f", and its care about {later:.0f} minutes a month" if later >= LEAST_SHOWN_MIN else ""


def _number_words(coming: Coming) -> str:
    one, count = coming.candidate, coming.count
    least = max((wish.least_count for wish in coming.wishes), default=1)
    if count == least and least > one.least_count:
        return f"{count}, because the wish takes so many."
    if count == one.least_count and count > 1:
        return f"{count}, because it lives in at least so many."
    if count == one.most_count and one.most_count > one.least_count:
        return f"{count}, because more would not live in peace or find enough here."
    return ""


def _nitrate_words(coming: Coming, facts: Facts) -> str:
    change = facts.responses[coming.candidate.id].water.get(NITRATE, 0.0) * coming.count
    if abs(change) < 0.05:  # noqa: PLR2004  not seen with any kit
        return "at the same ration nitrate hardly changes"
    return f"at the same ration nitrate is {abs(change):.1f} mg/L NO3 {'higher' if change > 0 else 'lower'}"


def aim_words(aim: Aim) -> str:
    """What a plan is best at."""
    return AIM_WORDS[aim]


def reached_words(proposal: Proposal, found: Proposals) -> str:
    """What a plan reaches of its aim, and what nobody could better."""
    if proposal.aim == "most_wishes":
        total = found.counted_weight
        return (
            f"wishes of weight {proposal.reached:g} of {total:g}; the programme's bound is {proposal.bound:g}"
        )
    if proposal.aim == "fewest_minutes":
        return (
            f"{proposal.reached:.0f} minutes a month by the programme, whose bound is {proposal.bound:.0f}, "
            f"with at least {number('wishes_kept_frac'):.0%} of the wishes of the first plan"
        )
    return (
        f"no balance closer to its bound than {proposal.reached:.0%} of the way; the programme's bound is "
        f"{proposal.bound:.0%}"
    )


def rounds_words(rounds: int) -> str:
    """How often the programme was solved and the simulation asked."""
    return "found in the first round" if rounds == 1 else f"found in round {rounds}"


def verdict_words(proposal: Proposal) -> str:
    """What the simulation said."""
    forecast = proposal.forecast
    holding = round(forecast.share_holding * forecast.members)
    return (
        f"{'holds' if forecast.holds else 'breaks'} in {holding} of {forecast.members} members (seed "
        f"{forecast.seed}; {forecast.share_low:.0%} to {forecast.share_high:.0%}), "
        f"{forecast.minutes.per_month_p50:.0f} minutes a month of {forecast.minutes.budget_per_month:.0f}"
    )


def plan_file(proposal: Proposal, found: Proposals) -> str:
    """The text of a proposal's file, with comments that say why."""
    facts = found.facts
    if facts is None:
        return proposal.text
    comments = {}
    by_species = {each.candidate.id: each for each in proposal.picked.coming}
    old = {entry.id for entry in found.plan.animals}
    for entry in proposal.plan.animals:
        if entry.id not in old and entry.species in by_species:
            comments[entry.id] = animal_words(by_species[entry.species], facts)
    for meal in proposal.plan.meals:
        comments[meal.id] = _food_words(proposal)
        break
    before = lines_of(found.plan)
    words = {choice.id: choice.words for choice in proposal.picked.choices}
    added = [line.id for line in proposal.plan.upkeep] + [line.id for line in proposal.plan.devices]
    for line_id in added:
        if line_id not in before:
            comments[line_id] = f"Proposed: {_line_words(proposal, words)}."
    return commented(proposal.text, comments, _heading(proposal, found))


def _line_words(proposal: Proposal, words: dict[str, str]) -> str:
    said = [*words.values()]
    return "; ".join(said) if said else proposal.picked.feeding.words


def _food_words(proposal: Proposal) -> str:
    if any(meal.grams_as_fed is None for meal in proposal.plan.meals):
        return f"Fed: {proposal.picked.feeding.words}, sized to the animals as the plan says."
    return (
        f"Fed: {proposal.picked.feeding.words}, {ration_g_per_d(proposal.plan):.2g} g a day in all, which is "
        f"{proposal.picked.ration_ratio:.0%} of the ration that the responses were taken with: all mouths "
        "get of it what they eat when there is enough."
    )


def _heading(proposal: Proposal, found: Proposals) -> str:
    picked = proposal.picked
    met = {wish.id for wish in picked.wishes}
    lines = [
        f"Proposed by backreef from {found.plan.name or 'a plan'}: {aim_words(proposal.aim)}.",
        f"The simulation: {verdict_words(proposal)}.",
        f"The programme: {reached_words(proposal, found)}; {rounds_words(proposal.rounds)}.",
    ]
    lines += [
        f"Wish '{wish.text}' (weight {wish.weight:g}): {_wish_words(wish.counted, wish.id in met)}."
        for wish in found.wishes
    ]
    lines += [f"Changed: {choice.words}." for choice in picked.choices]
    lines.append("Animals are bought by nobody's clock: each comes only when its gate is open.")
    return "\n".join(lines)


def _wish_words(counted: bool, met: bool) -> str:  # noqa: FBT001  two marks of one wish
    if not counted:
        return "not counted, as it names no animal that the catalogue knows by these words"
    return "met" if met else "not met"
