"""Why each line of a proposal is there, in sentences: for the comments of its file and for its page."""

from __future__ import annotations

from backreef.aquarium.plan import Plan
from backreef.judgement.verdict import Forecast
from backreef.planning.choices import Choice
from backreef.planning.facts import PINNED, Facts
from backreef.planning.feeding import ration_g_per_d
from backreef.planning.plans import AIM_WORDS, Aim, Proposal, Proposals, WhyNot, kept_frac
from backreef.planning.problem import lines_of
from backreef.planning.responses import Response
from backreef.planning.writing import Coming, commented
from backreef.simulation.layout import LANES
from backreef.simulation.tables import InItsUnit

LEAST_SHOWN_G = 0.001
LEAST_SHOWN_MIN = 0.5
MOST_CHORES = 4
LEAST_FELT_FRAC = 0.05
"""Of the way between the two bounds of a quantity: what less is not told."""
LEAST_SHOWN_MG_NO3_PER_L = 0.05
"""Not seen with any kit."""
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
        f"{_arrival_words(response)}{_chore_words(coming, facts)}{risk_words(response.risk_share)}."
    )
    if one.species.social_rule:
        parts.append(f"Kept: {one.species.social_rule}.")
    parts += [f"Mind: {finding.what}." for finding in one.cautions]
    return " ".join(part for part in parts if part)


def _arrival_words(response: Response) -> str:
    if response.arrival_min < LEAST_SHOWN_MIN:
        return "its arrival takes none of the keeper's minutes"
    return f"the day of arrival takes about {_minutes(response.arrival_min)} if nobody else comes"


def _chore_words(coming: Coming, facts: Facts) -> str:
    one = coming.candidate
    response = facts.responses[one.id]
    later = response.minutes_per_month * one.least_count - response.arrival_min / facts.months
    return f", and its care about {_minutes(later)} a month" if later >= LEAST_SHOWN_MIN else ""


def _minutes(minutes: InItsUnit) -> str:
    return f"{minutes:.0f} minute{'' if round(minutes) == 1 else 's'}"


def choice_words(choice: Choice, facts: Facts) -> str:
    """What a choice is, and what it costs or saves in minutes, nitrate and risk."""
    response = facts.responses[choice.id]
    minutes = response.minutes_per_month
    if abs(minutes) < LEAST_SHOWN_MIN:
        time = "hardly any time"
    else:
        time = f"{_minutes(abs(minutes))} a month {'more' if minutes > 0 else 'less'}"
    if choice.kind == "oftener":
        return f"{choice.words}: {time}; what it does for the water is in the simulation alone"
    nitrate = _change_words(response.water.get(NITRATE, 0.0))
    felt = _felt_words(response, facts)
    return f"{choice.words}: {time}; {nitrate}{felt}{risk_words(response.risk_share)}"


def _felt_words(response: Response, facts: Facts) -> str:
    """What a choice does most of all, of what is bounded, if that is not nitrate and can be seen."""
    moved = {limit.name: abs(response.water[limit.name]) / limit.span for limit in facts.limits}
    most = max(facts.limits, key=lambda limit: moved[limit.name], default=None)
    if most is None or most.series in NITRATE or moved[most.name] < LEAST_FELT_FRAC:
        return ""
    change = response.water[most.name]
    side = "higher" if change > 0 else "lower"
    worst = "highest" if most.upper else "lowest"
    words = f"{most.label[0].lower()}{most.label[1:]}" if most.label[1:2].islower() else most.label
    return f"; {words} at its {worst} is {abs(change):.2g} {most.unit} {side}".replace("  ", " ")


def risk_words(share: InItsUnit) -> str:
    """How many more or fewer members break; nothing where that is the same."""
    members = round(share * LANES)
    if not members:
        return ""
    return f"; {abs(members)} {'more' if members > 0 else 'fewer'} of {LANES} members tried break with it"


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
    return f"at the same ration {_change_words(change)}"


def _change_words(change_mg_no3_per_l: InItsUnit) -> str:
    if abs(change_mg_no3_per_l) < LEAST_SHOWN_MG_NO3_PER_L:
        return "nitrate hardly changes"
    side = "higher" if change_mg_no3_per_l > 0 else "lower"
    return f"nitrate is {abs(change_mg_no3_per_l):.1f} mg/L NO3 {side}"


def why_not_words(asked: WhyNot) -> str:
    """Why an animal is in no plan, and what it would cost."""
    costs = f"; with it: {', '.join(asked.costs)}" if asked.costs else ""
    share = (
        ""
        if asked.share_holding is None
        else f"; simulated with it: holds in {asked.share_holding:.0%} of the members tried"
    )
    return f"{asked.name}: {asked.what}{costs}{share}"


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
            f"{_kept_words(proposal.aim)}"
        )
    return (
        f"every balance keeps at least {proposal.reached:.0%} of the way from its bound to where it is at "
        f"ease, {_kept_words(proposal.aim)}; the programme's bound is {proposal.bound:.0%}"
    )


def _kept_words(aim: Aim) -> str:
    return f"with at least {kept_frac(aim):.0%} of the wishes of the first plan by weight"


def money_words(proposal: Proposal, facts: Facts) -> str:
    """What is bought with what money; nothing where money is no matter."""
    if facts.money is None:
        return ""
    picked = proposal.picked
    spent = facts.prices.get(PINNED, 0.0) + facts.prices.get(picked.feeding.id, 0.0)
    spent += sum(facts.prices[each.candidate.id] * each.count for each in picked.coming)
    spent += sum(facts.prices.get(each.id, 0.0) for each in picked.choices)
    return f"Bought for {spent:g} of {facts.money:g}, by the plan's own prices."


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


def as_it_is_words(forecast: Forecast) -> str:
    """What becomes of the plan with nobody new, and where its minutes go if there are too few."""
    if forecast.holds:
        return "With the animals that stay and nobody new the plan holds."
    words = f"Even with nobody new the plan breaks: {forecast.first_break_cause}."
    minutes = forecast.minutes
    if next(one for one in forecast.balances if one.name == "hands").holds:
        return words
    work = sorted(
        (line for line in minutes.by_chore if not line.look), key=lambda line: -line.minutes_per_month_p50
    )
    most = ", ".join(f"{each.name} ({each.minutes_per_month_p50:.0f})" for each in work[:MOST_CHORES])
    return (
        f"{words} It takes {minutes.per_month_p50:.0f} minutes a month on average, where "
        f"{minutes.budget_per_month:.0f} are given, most of them for: {most}. "
        "What a helper is asked to do takes none of them."
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
    changed = [choice for choice in proposal.picked.choices if choice.id in facts.responses]
    before = lines_of(found.plan)
    after = lines_of(proposal.plan)
    for line_id in (*(line.id for line in proposal.plan.upkeep), *(one.id for one in proposal.plan.devices)):
        if after[line_id] != before.get(line_id):
            words = [choice_words(each, facts) for each in changed if _touches(each, line_id, found.plan)]
            comments[line_id] = f"Proposed: {'; '.join(words) or _portion_words(proposal)}."
    return commented(proposal.text, comments, _heading(proposal, found))


def _touches(choice: Choice, line_id: str, plan: Plan) -> bool:
    """Whether a choice, alone, adds or changes a line of a plan."""
    return lines_of(choice.applied(plan)).get(line_id) != lines_of(plan).get(line_id)


def _portion_words(proposal: Proposal) -> str:
    """Why a feeder is another one although no choice speaks of it."""
    words, ratio = proposal.picked.feeding.words, proposal.picked.ration_ratio
    return words if ratio == 1.0 else f"{words}, in portions of {ratio:.0%} of what they were"


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
    if found.facts is not None:
        lines += [f"Changed: {choice_words(choice, found.facts)}." for choice in picked.choices]
        lines += [words for words in [money_words(proposal, found.facts)] if words]
    lines.append("Animals are bought by nobody's clock: each comes only when its gate is open.")
    return "\n".join(lines)


def _wish_words(counted: bool, met: bool) -> str:  # noqa: FBT001  two marks of one wish
    if not counted:
        return "not counted, as it names no animal that the catalogue knows by these words"
    return "met" if met else "not met"
